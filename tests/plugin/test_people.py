"""Where people are: zones by the tape, by hand and by height, and people who cannot stand where they are said to."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.people import Zone
from flightsim.plugin.hookspecs import BayPieces, BaySetup
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim.scenario.reading.problems import ScenarioError, Severity
from flightsim.study.run.open_bay import open_bay
from flightsim_plugins.people import AGES, HEIGHTS, MAN, flightsim_parts

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"

PLUGINS = with_plugins()
BAY = """\
name: Test
units: metric
room:
  length: 7 m
  width: 4 m
  roof: {kind: flat, height: 2.7 m}
  turf_height: 20 mm
  openings:
    - {name: side door, wall: right, from_end_wall: 5.5 m, width: 800 mm, height: 2 m}
    - {name: back door, wall: back, from_left_wall: 500 mm, width: 900 mm, height: 2 m}
    - {name: rear hatch, wall: end, from_left_wall: 1.5 m, width: 900 mm, height: 2 m}
    - {name: left door, wall: left, from_end_wall: 1 m, width: 700 mm, height: 2 m, closed: true}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.9 m, mat: {height: 50 mm, length: 1.4 m, width: 1.4 m}}
screen: {width: 3 m, height: 2.4 m, gap_behind: 400 mm}
"""


def pieces(people: str = "", bay: str = BAY) -> BayPieces:
    scenario = scenario_of(bay + (f"people: {people}\n" if people else ""), PLUGINS)
    return flightsim_parts(BaySetup(scenario.entries("people"), scenario))


def problems_of(people: str, severity: Severity = Severity.ERROR, bay: str = BAY) -> list[tuple[str, str]]:
    return [(p.key, p.found) for p in pieces(people, bay).problems if p.severity is severity]


def zone(found: BayPieces, name: str) -> Zone:
    (found_zone,) = [zone for zone in found.zones if zone.name == name]
    return found_zone


def bounds(found: BayPieces, name: str) -> list[float]:
    lower, upper = zone(found, name).seen.bounds()
    return [*lower, *upper]


def test_without_the_section_the_hitter_is_there_for_both_hands() -> None:
    found = pieces()
    assert [(z.name, z.person, z.head, z.own_spot, z.own_hand) for z in found.zones] == [
        ("right-hander at tee", "right-hander at tee", False, "tee", "right"),
        ("right-hander at tee, head", "right-hander at tee", True, "tee", "right"),
        ("left-hander at tee", "left-hander at tee", False, "tee", "left"),
        ("left-hander at tee, head", "left-hander at tee", True, "tee", "left"),
    ]
    assert not found.problems
    assert {z.owner for z in found.zones} == {"people"}


def test_a_right_hander_stands_to_the_left_of_the_ball_seen_toward_the_screen() -> None:
    found = pieces()
    half = 0.129 * 1.76 + 0.15  # half the shoulders, and the sway
    assert bounds(found, "right-hander at tee") == pytest.approx([-half, 0.35, 0.05, half, 1.2, 0.05 + 0.737 * 1.76])
    head = half - (0.129 - 0.065) * 1.76
    assert bounds(found, "right-hander at tee, head")[0::3] == pytest.approx([-head, head])
    assert bounds(found, "left-hander at tee")[1::3] == pytest.approx([-1.2, -0.35])


def test_the_two_hands_are_mirror_images() -> None:
    found = pieces()
    for end in ("", ", head"):
        right, left = (np.reshape(bounds(found, f"{hand}-hander at tee{end}"), (2, 3)) for hand in ("right", "left"))
        assert np.sort(right * (1, -1, 1), axis=0) == pytest.approx(left)


def test_the_head_is_above_the_shoulders_and_ends_at_the_stature_above_the_mat() -> None:
    found = pieces("{hitter: {height: 1.9 m}}")
    body, head = bounds(found, "right-hander at tee"), bounds(found, "right-hander at tee, head")
    assert head[5] == pytest.approx(0.05 + 1.9)
    assert head[2] == body[5] == pytest.approx(0.05 + 0.737 * 1.9)
    assert body[2] == pytest.approx(0.05)


def test_every_tee_spot_has_hitters_of_its_own() -> None:
    spots = ("spots: [{name: near, share: 0.5, from_end_wall: 3.2 m, from_left_wall: 1.9 m},"
             " {name: far, share: 0.5, from_end_wall: 3.9 m, from_left_wall: 1.9 m}]")  # fmt: skip
    found = pieces(bay=BAY.replace("mat:", f"{spots}, mat:"))
    assert {(z.own_spot, z.own_hand) for z in found.zones} == {
        (spot, hand) for spot in ("near", "far") for hand in ("right", "left")
    }
    half = 0.129 * 1.76 + 0.15
    assert bounds(found, "right-hander at near")[0::3] == pytest.approx([0.4 - half, 0.4 + half])
    assert bounds(found, "right-hander at far")[0::3] == pytest.approx([-0.3 - half, -0.3 + half])


@settings(deadline=None, max_examples=40)
@given(st.floats(1.0, 2.4), st.floats(0.0, 3.0), st.floats(-30.0, 30.0), st.floats(0.0, 60.0))
def test_a_ball_toward_the_screen_does_not_cross_its_hitter(
    stature: float, ahead: float, aside: float, up: float
) -> None:
    found = pieces(f"{{hitter: {{height: {stature} m}}}}")
    y, z = ahead * np.tan(np.radians(aside)), 0.05 + 0.021335 + ahead * np.tan(np.radians(up))
    assert min(zone.shape.distance(np.array([[ahead], [y], [z]]))[0][0] for zone in found.zones) > 0.021335


def test_an_onlooker_is_a_body_and_a_head_on_the_floor() -> None:
    found = pieces("{onlookers: [{name: friend, from_end_wall: 6 m, from_left_wall: 2 m}]}")
    half = 0.129 * MAN + 0.07
    expected = [-2.4 - half, -0.1 - half, 0.02, -2.4 + half, -0.1 + half, 0.02 + 0.818 * MAN]
    assert bounds(found, "friend") == pytest.approx(expected)
    assert bounds(found, "friend, head")[2::3] == pytest.approx([0.02 + 0.818 * MAN, 0.02 + MAN])
    assert (zone(found, "friend").head, zone(found, "friend, head").head) == (False, True)
    assert zone(found, "friend, head").person == "friend"
    assert zone(found, "friend").own_hand == ""
    assert not found.problems


def test_a_bench_has_heads_along_all_of_it_and_lower_than_standing_ones() -> None:
    found = pieces("{onlookers: [{name: bench, from_end_wall: 6.2 m, from_left_wall: 2 m, posture: seated,"
                   " seat: 400 mm, width: 1.8 m}]}")  # fmt: skip
    head = bounds(found, "bench, head")
    assert head[4] - head[1] == pytest.approx(1.8 - 2 * (0.129 - 0.065) * MAN)  # within the shoulders of the last
    assert head[2::3] == pytest.approx([0.02 + 0.4 + 0.34 * MAN, 0.02 + 0.4 + 0.52 * MAN])


@pytest.mark.parametrize(
    ("words", "tall"), [("posture: child", 1.15), ("age: 8", 1.28), ("age: 9", 1.33), ("height: 0.9 m", 0.9)]
)
def test_children_are_as_tall_as_their_age_or_height_says(words: str, tall: float) -> None:
    found = pieces(f"{{onlookers: [{{name: child, from_end_wall: 6 m, from_left_wall: 2 m, {words}}}]}}")
    assert bounds(found, "child, head")[5] == pytest.approx(0.02 + tall)


def test_older_children_are_taller() -> None:
    assert (np.diff(AGES) > 0).all()
    assert (np.diff(HEIGHTS) > 0).all()


@pytest.mark.parametrize(
    ("opening", "plan"),
    [
        ("side door", [3.6 - 6.3, 1.9 - 4.0, 3.6 - 5.5, 1.9 - 3.2]),
        ("back door", [3.6 - 7.0, 1.9 - 1.4, 3.6 - 6.1, 1.9 - 0.5]),
        ("left door", [3.6 - 1.7, 1.9 - 0.7, 3.6 - 1.0, 1.9]),
    ],
)
def test_a_door_that_may_open_covers_the_floor_that_it_sweeps(opening: str, plan: list[float]) -> None:
    found = pieces(f"{{doors: [{{opening: {opening}}}]}}")
    lower, upper = zone(found, f"somebody at the {opening}").shape.bounds()
    assert [*lower[:2], *upper[:2]] == pytest.approx(plan)
    assert zone(found, f"somebody at the {opening}, head").head
    assert not [p for p in found.problems if p.severity is Severity.ERROR]


def test_a_door_may_be_a_place_of_its_own() -> None:
    found = pieces("{doors: [{name: curtain, from_end_wall: 6 m, from_left_wall: 1 m, width: 1 m, depth: 600 mm}]}")
    lower, upper = zone(found, "somebody at the curtain").shape.bounds()
    assert [*lower[:2], *upper[:2]] == pytest.approx([-2.7, 0.4, -2.1, 1.4])


@pytest.mark.parametrize(
    ("people", "key", "words"),
    [
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 100 mm}]}",
         "people.onlookers.0.from_left_wall", "a reaches 197 mm into or past the left wall"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 9 m}]}",
         "people.onlookers.0.from_left_wall", "a reaches 5.30 m into or past the right wall"),
        ("{onlookers: [{name: a, from_end_wall: 6.9 m, from_left_wall: 2 m}]}",
         "people.onlookers.0.from_end_wall", "a reaches 197 mm into or past the back"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 2 m, posture: seated, seat: 2 m}]}",
         "people.onlookers.0.height", "a reaches 235 mm into the roof"),
        ("{onlookers: [{name: a, from_end_wall: 310 mm, from_left_wall: 2 m}]}",
         "people.onlookers.0", "a is behind the screen, which balls strike"),
        ("{onlookers: [{name: a, from_end_wall: 600 mm, from_left_wall: 2 m}]}",
         "people.onlookers.0", "a is in the screen, which balls strike"),
        ("{doors: [{opening: rear hatch}]}",
         "people.doors.0", "somebody at the rear hatch is in the screen, which balls strike"),
        ("{doors: [{opening: rear hatch, depth: 400 mm}]}",
         "people.doors.0", "somebody at the rear hatch is behind the screen, which balls strike"),
        ("{doors: [{opening: front door}]}",
         "people.doors.0.opening", "the room has no opening called 'front door'"),
        ("{doors: [{opening: side door}, {opening: side door}]}",
         "people.doors.1.opening", "'somebody at the side door' is already somebody's name"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 1 m},"
         " {name: a, from_end_wall: 6 m, from_left_wall: 3 m}]}",
         "people.onlookers.1.name", "'a' is already somebody's name"),
    ],
)  # fmt: skip
def test_somebody_who_cannot_be_there_is_an_error_at_their_key(people: str, key: str, words: str) -> None:
    assert problems_of(people) == [(key, words)]


def test_every_error_says_what_is_allowed_and_gives_a_way_out_and_a_line() -> None:
    people = ("{onlookers: [{name: a, from_end_wall: 9 m, from_left_wall: 100 mm, height: 2.5 m},"
              " {name: a, from_end_wall: 200 mm, from_left_wall: 2 m}], doors: [{opening: no}]}")  # fmt: skip
    problems = pieces(people).problems
    assert len(problems) >= 4
    assert all(p.allowed and p.fix and p.line for p in problems)


@pytest.mark.parametrize(
    ("people", "words"),
    [
        ("{onlookers: [{name: a, from_end_wall: 4.4 m, from_left_wall: 2 m}]}", "a is on the mat"),
        ("{onlookers: [{name: a, from_end_wall: 3.6 m, from_left_wall: 900 mm}]}",
         "a is where the right-hander at tee stands"),
        ("{onlookers: [{name: a, from_end_wall: 310 mm, from_left_wall: 3.75 m, width: 400 mm}]}",
         "a is beyond the screen, beside it"),
    ],
)  # fmt: skip
def test_somebody_in_the_way_of_the_swing_or_beside_the_screen_is_a_warning(people: str, words: str) -> None:
    bay = BAY.replace("width: 1.4 m}", "width: 1 m}")
    assert words in [found for _, found in problems_of(people, Severity.WARNING, bay)]
    assert not problems_of(people, bay=bay)


def test_a_hitter_too_tall_for_the_roof_is_an_error_where_the_file_says_how_tall() -> None:
    low = BAY.replace("height: 2.7 m", "height: 2 m").replace("height: 2.4 m", "height: 1.9 m")
    assert problems_of("{hitter: {height: 2.1 m}}", bay=low) == [
        ("people.hitter.height", "right-hander at tee reaches 150 mm into the roof")
    ]
    assert not problems_of("{hitter: {height: 1.9 m}}", bay=low)


@pytest.mark.parametrize(
    ("people", "key"),
    [
        ("{hitter: {height: 40 cm}}", "people.hitter.height"),
        ("{hitter: {height: -1.8 m}}", "people.hitter.height"),
        ("{hitter: {height: 1.8}}", "people.hitter.height"),
        ("{hitter: {from_ball: 0 m}}", "people.hitter.from_ball"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: -1 m}]}", "people.onlookers.0.from_left_wall"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 1 m, height: 9 m}]}",
         "people.onlookers.0.height"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 1 m, posture: lying}]}",
         "people.onlookers.0.posture"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 1 m, age: 40}]}", "people.onlookers.0.age"),
        ("{onlookers: [{name: a, from_end_wall: 6 m, from_left_wall: 1 m, age: 4, height: 1 m}]}",
         "people.onlookers.0"),
        ("{doors: [{name: a}]}", "people.doors.0"),
        ("{doors: [{opening: side door, name: a}]}", "people.doors.0"),
    ],
)  # fmt: skip
def test_what_no_person_is_gets_refused_with_line_and_key(people: str, key: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        pieces(people)
    (problem,) = caught.value.problems
    assert problem.key == key
    assert problem.line is not None
    assert problem.found


# How tall they are, and where that is a head


def zones_of(tmp_path, people: str):
    text = GARAGE.read_text(encoding="utf-8") + f"\npeople:\n{people}"
    path = tmp_path / "bay.yaml"
    path.write_text(text, encoding="utf-8")
    return {zone.name: zone for zone in open_bay(path).bay.zones}


def test_heads_are_from_the_shortest_to_the_tallest_who_may_stand_there(tmp_path):
    """A junior's head is at an adult's chest: .818 of stature is the shoulders (standing)."""
    zones = zones_of(tmp_path, "  onlookers:\n  - {name: queue, shortest: 1.4 m, from_end_wall: 5.9 m, "
                               "from_left_wall: 2.6 m}\n  hitter: {height: 1.8 m, shortest: 1.5 m}\n")  # fmt: skip
    low, high = zones["queue, head"].shape.bounds()
    assert (low[2], high[2]) == pytest.approx((0.02 + 0.818 * 1.4, 0.02 + 1.76))
    assert zones["queue"].seen.bounds()[1][2] == pytest.approx(low[2])
    hitter = zones["right-hander at tee, head"].shape.bounds()
    assert hitter[0][2] == pytest.approx(0.045 + 0.737 * 1.5)
    assert not zones["queue"].delicate
    assert zones["queue, head"].delicate


def test_whoever_comes_through_a_door_may_be_a_small_child_unless_it_is_said_who(tmp_path):
    zones = zones_of(tmp_path, "  doors:\n  - {opening: side door}\n")
    body, head = zones["somebody at the side door"], zones["somebody at the side door, head"]
    assert body.small
    assert body.delicate
    assert head.shape.bounds()[0][2] == pytest.approx(0.02 + 0.818 * 0.75)
    grown = zones_of(tmp_path, "  doors:\n  - {opening: side door, height: 1.8 m}\n")["somebody at the side door"]
    assert not grown.delicate


def test_a_child_is_harmed_anywhere_as_at_the_head(tmp_path):
    zones = zones_of(tmp_path, "  onlookers:\n  - {name: kid, posture: child, from_end_wall: 5.9 m, "
                               "from_left_wall: 2.6 m}\n")  # fmt: skip
    assert zones["kid"].delicate


# What a person is: a capsule as wide as the body, and one as wide as the head


def gap(shape, x: float, y: float, z: float) -> float:
    return float(shape.distance(np.array([[x], [y], [z]]))[0][0])


@pytest.mark.parametrize("tall", [1.15, 1.5, 1.9])
def test_somebody_who_stands_is_as_wide_as_the_shoulders_and_sways_at_every_height_up_to_them(tall: float) -> None:
    found = pieces(f"{{onlookers: [{{name: friend, from_end_wall: 6 m, from_left_wall: 2 m, height: {tall} m}}]}}")
    body, half = zone(found, "friend").shape, 0.129 * tall + 0.07
    for z in (0.02, 0.5 * tall, 0.818 * tall):
        for turn in np.linspace(0.0, 2 * np.pi, 8, endpoint=False):
            outline = -2.4 + half * np.cos(turn), -0.1 + half * np.sin(turn)
            assert gap(body, *outline, z) == pytest.approx(0.0, abs=1e-9)  # round: as wide any way


def test_a_head_is_as_wide_as_a_head_and_its_sway_and_ends_at_the_stature() -> None:
    found = pieces("{onlookers: [{name: friend, from_end_wall: 6 m, from_left_wall: 2 m, sway: 0.2 m}]}")
    head, half = zone(found, "friend, head").shape, 0.065 * MAN + 0.2
    middle = 0.02 + 0.5 * (0.818 + 1.0) * MAN
    assert gap(head, -2.4 + half, -0.1, middle) == pytest.approx(0.0, abs=1e-9)
    assert gap(head, -2.4, -0.1, 0.02 + MAN) == pytest.approx(0.0, abs=1e-9)


def test_between_body_and_head_no_ball_gets_through_a_person() -> None:
    found = pieces("{onlookers: [{name: friend, from_end_wall: 6 m, from_left_wall: 2 m, shortest: 1.2 m}]}")
    shapes = [zone(found, name).shape for name in ("friend", "friend, head")]
    for z in np.linspace(0.02, 0.02 + MAN - 1e-3, 60):
        assert min(gap(shape, -2.4, -0.1, float(z)) for shape in shapes) < 0.0
        assert min(gap(shape, -2.4 + 0.1, -0.1, float(z)) for shape in shapes) < 0.03


def test_whoever_is_in_a_doorway_may_be_anywhere_in_it_up_to_its_corners() -> None:
    found = pieces("{doors: [{name: curtain, from_end_wall: 6 m, from_left_wall: 1 m, width: 1 m, depth: 600 mm}]}")
    inside = zone(found, "somebody at the curtain").shape
    assert inside.corner_radius == 0.0


CAR = """\
obstacles:
  - {name: car, kind: box, from_end_wall: 4.6 m, from_left_wall: 300 mm, above_floor: 0 m,
     length: 2.3 m, width: 1.8 m, height: 1.45 m}
"""


def who_is_inside(tmp_path: Path, people: str, tall: str = "1.45 m") -> list[tuple[str, str]]:
    path = tmp_path / "bay.yaml"
    path.write_text(f"{BAY}{CAR.replace('1.45 m', tall)}people: {people}\nlaunches: {{use: [driver]}}\n")
    return [(p.key, p.found) for p in open_bay(path).warnings if "inside" in p.found]


def test_somebody_inside_a_thing_whom_no_ball_could_reach_is_told(tmp_path: Path) -> None:
    kim = "{onlookers: [{name: Kim, posture: child, from_end_wall: 5.6 m, from_left_wall: 1.2 m}]}"
    assert who_is_inside(tmp_path, kim) == [("people.onlookers.0", "Kim is inside the car: no ball can come there")]


def test_somebody_who_sits_on_a_thing_or_stands_half_in_it_is_not(tmp_path: Path) -> None:
    beside = "{onlookers: [{name: Kim, posture: child, from_end_wall: 4.7 m, from_left_wall: 1.2 m}]}"
    assert who_is_inside(tmp_path, beside) == []
    seated = "{onlookers: [{name: Lena, posture: seated, from_end_wall: 5.6 m, from_left_wall: 1.2 m}]}"
    assert who_is_inside(tmp_path, seated, "850 mm") == []
