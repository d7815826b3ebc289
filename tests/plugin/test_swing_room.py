"""Who swings what, what it hits or nears, and when that is refused."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.parts import Bay
from flightsim.bay.swing import INCH, TOLERANCE
from flightsim.plugin.hookspecs import BaySetup, BayView, FinishedRun
from flightsim.plugin.testing import shuffled, with_plugins
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.problems import Problem, ScenarioError, Severity
from flightsim.scenario.reading.written import Written
from flightsim.study.run.open_bay import all_sections, open_bay
from flightsim_plugins.swing_room import (
    MARGIN,
    Clearance,
    clearances,
    flightsim_checks,
    flightsim_figures,
    flightsim_judge,
    flightsim_measures,
    flightsim_parts,
    smallest,
    swingers,
)
from flightsim_plugins.swing_room_drawing import APART, apart, beyond, within

PLUGINS = with_plugins()
BAY = """\
name: Test
units: metric
room: {length: 8 m, width: 7 m, roof: {kind: flat, height: 3.4 m}}
tee: {from_end_wall: 3.8 m, from_left_wall: 3.5 m, mat: {height: 40 mm}}
screen: {width: 3 m, height: 2.4 m, gap_behind: 400 mm}
"""
LAUNCHES = "launches: {use: [driver, mid_iron, wedge]}\n"
ANN = "swing_room: {players: [{name: Ann, height: 1.76 m, club_length: 45 in}]}\n"
DEEP = "canopy: {depth: 3 m, height: 2.45 m, side_overhang: 1.2 m}\n"
SHALLOW = "canopy: {depth: 1 m, height: 2.45 m}\n"


def view(tmp: Path, text: str, *sets: str) -> BayView:
    path = tmp / "bay.yaml"
    path.write_text(text)
    scenario = load_scenario(path, all_sections(PLUGINS), sets)
    pieces = PLUGINS.parts(scenario)
    assert not [p for p in pieces.problems if p.severity is Severity.ERROR]
    assert pieces.bounds is not None
    bay = Bay(tuple(pieces.parts), tuple(pieces.openings), *pieces.bounds, tuple(pieces.zones))
    return BayView(scenario.entries("swing_room"), scenario, bay, 0.021335, 0.04593, MappingProxyType({}))


def finished(seen: BayView) -> FinishedRun:
    return FinishedRun(seen.entries, seen.scenario, seen.bay)


def to(found: list[Clearance], thing: str) -> Clearance:
    return next(one for one in found if one.thing == thing)


def problem_with(problems: list[Problem] | tuple[Problem, ...], thing: str) -> Problem:
    (problem,) = (problem for problem in problems if f"the {thing}" in problem.found)
    return problem


def test_the_gap_to_a_flat_roof_is_its_height_less_the_top_of_the_swing(tmp_path: Path) -> None:
    found = clearances(view(tmp_path, BAY + ANN))
    by_club = {one.club: one.gap for one in found if one.thing == "roof"}
    tops = {"club of 45 in": 2.63, "mid iron": 2.63, "wedge": 2.67}  # reference: 2.63; by its formulae
    assert {club: 3.4 - 0.04 - gap for club, gap in by_club.items()} == pytest.approx(tops, abs=0.01)


def test_without_the_section_a_middle_man_swings_what_the_shots_are_hit_with(tmp_path: Path) -> None:
    (hitter,) = swingers(view(tmp_path, BAY + LAUNCHES))
    assert (hitter.name, hitter.height, hitter.hand) == ("the hitter", 1.76, "right")
    assert [name for name, _ in hitter.clubs] == ["driver", "mid iron", "wedge"]


def test_without_shots_or_with_shots_of_unknown_clubs_a_whole_bag_is_swung(tmp_path: Path) -> None:
    grid = "launches: {grid: {ball_speed: 60 m/s, elevation: 12 deg, azimuth: 0 deg, spin_rate: 2700 rpm}}\n"
    for shots in ("", grid):
        (hitter,) = swingers(view(tmp_path, BAY + shots))
        assert dict(hitter.clubs) == {"driver": 45 * INCH, "mid iron": 37 * INCH, "wedge": 35.5 * INCH}


def test_players_and_clubs_of_the_shots_and_the_hitters_height_are_taken(tmp_path: Path) -> None:
    shots = """\
people: {hitter: {height: 1.9 m}}
shots:
  players: [{player: mid, share: 0.5, hand: left}, {player: tour, share: 0.5}]
  clubs: [{club: 7-iron, share: 0.6}, {club: long one, share: 0.4}]
  own_clubs:
    long one: {kind: driver, loft: 9 deg, length: 48 in, lie: 58 deg, head_mass: 200 g, cg_depth: 38 mm,
      moi_vertical: 4700, moi_heel_toe: 2900, third_moment: 2843, speed_of_driver: 1.0}
"""
    found = swingers(view(tmp_path, BAY + shots))
    assert [(one.hand, one.height) for one in found] == [("right", 1.9), ("left", 1.9)]
    assert dict(found[0].clubs) == pytest.approx({"long one": 48 * INCH, "7-iron": 37 * INCH})


def test_every_player_hand_spot_and_club_is_tried_and_the_nearest_is_first(tmp_path: Path) -> None:
    spots = ("spots: [{name: near, share: 0.5, from_end_wall: 3.8 m, from_left_wall: 3.5 m},"
             " {name: aside, share: 0.5, from_end_wall: 3.8 m, from_left_wall: 2.9 m}], mat:")  # fmt: skip
    players = ("swing_room: {players: [{name: Ann, height: 1.6 m, hand: both, clubs: [driver]},"
               " {name: Bo, height: 1.9 m, clubs: [driver, 7-iron]}]}\n")  # fmt: skip
    found = clearances(view(tmp_path, BAY.replace("mat:", spots) + players))
    tried = {(one.player.name, one.player.hand, one.spot, one.club) for one in found}
    assert tried == {
        *(("Ann", hand, spot, "driver") for hand in ("right", "left") for spot in ("near", "aside")),
        *(("Bo", "right", spot, club) for spot in ("near", "aside") for club in ("driver", "7-iron")),
    }
    assert [one.gap for one in found] == sorted(one.gap for one in found)
    wall = to(found, "left wall")
    assert (wall.player.name, wall.spot, wall.club) == ("Bo", "aside", "driver")
    assert smallest(view(tmp_path, BAY.replace("mat:", spots) + players)).gap == found[0].gap


def test_a_canopy_that_the_club_hits_is_refused_where_room_is_required_and_warned_of_elsewhere(tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    path.write_text(BAY + DEEP + LAUNCHES + ANN.replace("players", "required: true, players"))
    with pytest.raises(ScenarioError) as raised:
        open_bay(path)
    problem = problem_with(raised.value.problems, "canopy")
    assert (problem.file, problem.line, problem.key) == (str(path), 8, "swing_room.players.0")
    assert "Ann (right-hander, 1.76 m) with the wedge at the tee: the club hits the canopy" in problem.found
    assert "too near" in problem.found
    assert problem.allowed == "150 mm or more clear of the swing, which is known to +-100 mm"
    assert "make the canopy" in problem.fix
    assert "shorter" in problem.fix
    path.write_text(BAY + DEEP + LAUNCHES + ANN)
    assert problem_with(open_bay(path).warnings, "canopy").severity is Severity.WARNING


def test_what_is_only_too_near_is_never_refused(tmp_path: Path) -> None:
    text = BAY + "canopy: {depth: 3 m, height: 2.75 m, side_overhang: 1.2 m}\n"
    problems = flightsim_checks(view(tmp_path, text + ANN.replace("players", "required: true, players")))
    problem = problem_with(tuple(problems), "canopy")
    assert problem.severity is Severity.WARNING
    assert "passes the canopy at" in problem.found


def test_a_bay_with_room_has_nothing_to_tell(tmp_path: Path) -> None:
    seen = view(tmp_path, BAY + SHALLOW + ANN)
    assert flightsim_checks(seen) == []
    (finding,) = flightsim_judge(finished(seen))
    assert finding.level == "note"
    assert finding.text.startswith("Nearest to the swing: Ann")
    assert "Taken from the shots" not in finding.text


def test_the_margin_may_be_larger(tmp_path: Path) -> None:
    nearest = smallest(view(tmp_path, BAY + SHALLOW + ANN))
    wider = ANN.replace("players", f"margin: {nearest.gap + 0.01:.3f} m, players")
    (problem,) = flightsim_checks(view(tmp_path, BAY + SHALLOW + wider))
    assert f"the {nearest.thing}" in problem.found


def test_each_way_out_that_is_told_leaves_the_margin(tmp_path: Path) -> None:
    text = BAY + ANN + "obstacles: [{name: shelf, kind: box, from_end_wall: 2.7 m, from_left_wall: 0.9 m,"
    text += " above_floor: 2.2 m, length: 300 mm, width: 400 mm, height: 100 mm}]\n"
    seen = view(tmp_path, text)
    assert to(clearances(seen), "shelf").gap < MARGIN
    ways = problem_with(tuple(flightsim_checks(seen)), "shelf").fix.split(", or ")
    assert len(ways) == 2
    for way in ways:
        number, unit = next((a, b) for a, b in pairwise(way.split()) if b in ("m", "mm"))
        move = float(number) * (1e-3 if unit == "mm" else 1.0) + 0.005  # told to the centimetre
        key, place = MOVES[next(words for words in MOVES if words in way)]
        after = view(tmp_path, text, f"obstacles.0.{key}={place(move)} m")
        assert to(clearances(after), "shelf").gap >= MARGIN - 2 * TOLERANCE


MOVES = {
    "raise": ("above_floor", lambda move: 2.2 + move),
    "toward the screen": ("from_end_wall", lambda move: 2.7 - move),
    "to the left": ("from_left_wall", lambda move: 0.9 - move),
}


def test_people_count_and_hitters_and_the_floor_do_not(tmp_path: Path) -> None:
    people = """\
people:
  onlookers:
    - {name: child, from_end_wall: 5.2 m, from_left_wall: 3.2 m, age: 6}
    - {name: bench, from_end_wall: 7.2 m, from_left_wall: 3.5 m, posture: seated, width: 1.5 m}
  doors: [{name: curtain, from_end_wall: 4.2 m, from_left_wall: 1.6 m}]
"""
    seen = view(tmp_path, BAY + people + ANN)
    found = clearances(seen)
    assert {one.thing for one in found if one.kind == "person"} == {"child", "bench", "somebody at the curtain"}
    assert not {"mat", "slab", "turf"} & {one.thing for one in found}
    assert to(found, "child").gap < 0.0 < to(found, "bench").gap
    problems = flightsim_checks(seen)
    assert "hits the child" in problem_with(tuple(problems), "child").found
    assert "raise" not in problem_with(tuple(problems), "child").fix
    assert any("hits somebody at the curtain" in problem.found for problem in problems)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_left_hander_in_the_mirrored_bay_has_the_same_room(hand: str, tmp_path: Path) -> None:
    other = {"right": "left", "left": "right"}[hand]
    nets = "side_nets: {{{}: {{depth: 1.9 m, height: 2.4 m, offset: 100 mm}}}}\nswing_room: {{players: [{}]}}\n"
    as_it_is, mirrored = (
        flightsim_measures(view(tmp_path, BAY + nets.format(side, f"{{name: Ann, height: 1.7 m, hand: {which}}}")))
        for side, which in ((hand, hand), (other, other))
    )
    assert as_it_is["swing_room"] == pytest.approx(mirrored["swing_room"], abs=2 * TOLERANCE)
    assert as_it_is[f"swing_room.{hand}_side_net"] == pytest.approx(mirrored[f"swing_room.{other}_side_net"], abs=5e-3)


@settings(deadline=None, max_examples=12)
@given(height=st.floats(1.2, 2.0), more=st.floats(0.02, 0.2), mat=st.floats(0.0, 0.1))
def test_who_is_taller_or_stands_higher_has_less_room_under_a_flat_roof(
    height: float, more: float, mat: float, tmp_path_factory: pytest.TempPathFactory
) -> None:
    def room(tall: float, mat_height: float) -> float:
        text = BAY.replace("height: 40 mm", f"height: {mat_height:.6f} m")
        player = f"swing_room: {{players: [{{name: A, height: {tall:.6f} m, clubs: [driver]}}]}}\n"
        return flightsim_measures(view(tmp_path_factory.mktemp("bay"), text + player))["swing_room.roof"]

    here = room(height, 0.04)
    assert room(height + more, 0.04) < here
    assert room(height, 0.04 + mat) == pytest.approx(here - mat, abs=2 * TOLERANCE)


def test_measures_name_each_thing_and_the_least_of_all(tmp_path: Path) -> None:
    found = flightsim_measures(view(tmp_path, BAY + DEEP + ANN))
    assert found["swing_room"] == min(found.values()) < 0.0
    assert {"swing_room.canopy", "swing_room.left_wall", "swing_room.roof", "swing_room.screen"} < set(found)
    assert found["swing_room.canopy"] < 0.0 < found["swing_room.screen"]


def test_the_deeper_the_canopy_the_less_room(tmp_path: Path) -> None:
    rooms = [
        flightsim_measures(view(tmp_path, BAY + DEEP.replace("3 m", f"{depth} m") + ANN))["swing_room.canopy"]
        for depth in (0.8, 1.5, 2.0, 2.5, 3.0)
    ]
    assert all(np.diff(rooms) < 0.0)


def test_the_order_of_plugins_changes_no_measure(tmp_path: Path) -> None:
    seen = view(tmp_path, BAY + DEEP + ANN)
    pieces = shuffled(PLUGINS, 2).parts(seen.scenario)
    assert pieces.bounds is not None
    bay = Bay(tuple(pieces.parts), tuple(pieces.openings), *pieces.bounds, tuple(pieces.zones))
    assert flightsim_measures(BayView(seen.entries, seen.scenario, bay, 0.02, 0.04, {})) == flightsim_measures(seen)


@pytest.mark.parametrize(
    ("player", "key", "words"),
    [
        ("{name: A, height: -1.7 m}", "players.0.height", "'-1.7 m' is out of range; allowed: at least 0.5 m"),
        ("{name: A, height: 0 m}", "players.0.height", "'0 m' is out of range"),
        ("{name: A, height: 1.7 m, club_length: 0 in}", "players.0.club_length", "at least 0.3 m"),
        ("{name: A, height: 1.7 m, club_length: 45}", "players.0.club_length", "45 has no unit"),
        ("{name: A, height: 1.7 m, clubs: [driver], club_length: 44 in}", "players.0", "both clubs and club_length"),
        ("{name: A, height: 1.7 m, hand: either}", "players.0.hand", "either"),
        ("{height: 1.7 m}", "players.0.name", ""),
    ],
)
def test_sizes_that_nobody_has_are_refused_with_file_line_and_key(
    player: str, key: str, words: str, tmp_path: Path
) -> None:
    with pytest.raises(ScenarioError) as raised:
        view(tmp_path, BAY + f"swing_room:\n  players:\n    - {player}\n")
    (problem,) = raised.value.problems
    assert (problem.key, problem.line) == (f"swing_room.{key}", 8)
    assert problem.file.endswith("bay.yaml")
    assert words in str(problem).replace("\n  ", "; ")


@pytest.mark.parametrize(
    ("players", "key", "found", "fix"),
    [
        ("[{name: A, height: 1.7 m, clubs: [drivr]}]", "players.0.clubs.0", "there is no club 'drivr'", "driver"),
        ("[{name: A, height: 1.7 m, clubs: []}]", "players.0.clubs", "no clubs", "clubs: [driver]"),
        ("[]", "players", "no players", "[{name: Ann, ...}]"),
        ("[{name: A, height: 1.7 m}, {name: A, height: 1.6 m}]", "players.1.name", "'A' is already a player", "A 2"),
    ],
)
def test_players_that_cannot_be_are_told(players: str, key: str, found: str, fix: str, tmp_path: Path) -> None:
    path = tmp_path / "bay.yaml"
    path.write_text(BAY + f"swing_room: {{players: {players}}}\n")
    scenario = load_scenario(path, all_sections(PLUGINS))
    (problem,) = flightsim_parts(BaySetup(scenario.entries("swing_room"), scenario)).problems
    assert (problem.key, problem.found, problem.fix) == (f"swing_room.{key}", found, fix)
    assert problem.severity is Severity.ERROR
    assert problem.line == 6


def test_where_nobody_says_who_swings_check_and_run_tell_what_a_middle_man_would_hit(tmp_path: Path) -> None:
    seen = view(tmp_path, BAY + DEEP + LAUNCHES)
    (problem,) = flightsim_checks(seen)
    assert problem.severity is Severity.WARNING
    assert "the hitter (right-hander, 1.76 m) with the wedge at the tee: the club hits the canopy" in problem.found
    (finding,) = flightsim_judge(finished(seen))
    assert finding.level == "warning"
    assert "the hitter (right-hander, 1.76 m) with the wedge at the tee: the club hits the canopy" in finding.text
    assert finding.text.endswith("Taken from the shots: the section swing_room says who swings.")


def test_the_picture_is_a_png_that_says_whose_swing_it_is_and_is_the_same_each_time(tmp_path: Path) -> None:
    seen = finished(view(tmp_path, BAY + DEEP + ANN))
    (first,), (second,) = flightsim_figures(seen), flightsim_figures(seen)
    assert first.data.startswith(b"\x89PNG")
    assert first.data == second.data
    assert "Ann (right-hander, 1.76 m)" in first.caption


SQUARE = np.array([[-1.0, 0.0, -1.0], [1.0, 0.0, -1.0], [1.0, 0.0, 1.0], [-1.0, 0.0, 1.0]])


def test_what_of_the_swing_is_drawn_whole_is_inside_the_building_and_the_rest_is_beyond_a_wall() -> None:
    low, high = np.array([-2.0, -1.0, -2.0]), np.array([0.5, 1.0, 0.25])
    inside = within(SQUARE, low, high)
    assert (inside >= low - 1e-12).all()
    assert (inside <= high + 1e-12).all()
    assert np.ptp(inside, axis=0) == pytest.approx([1.5, 0.0, 1.25])
    end, roof = beyond(SQUARE, low, high)
    assert end[:, 0].min() == pytest.approx(0.5)
    assert roof[:, 2].min() == pytest.approx(0.25)
    assert beyond(SQUARE, low, np.array([2.0, 1.0, 2.0])) == []
    assert len(within(SQUARE + np.array([0.0, 5.0, 0.0]), low, high)) == 0


def test_numbers_stand_apart() -> None:
    taken: list[np.ndarray] = []
    for _ in range(8):
        taken.append(apart(np.zeros(2), taken))
    gaps = [np.hypot(*(one - other)) for k, one in enumerate(taken) for other in taken[:k]]
    assert min(gaps) >= APART


def test_under_a_flat_roof_no_place_of_the_tee_helps_and_none_is_proposed():
    low = "room: {length: 6 m, width: 3.6 m, roof: {kind: flat, height: 2.3 m}}\n"
    bay = open_bay(Written(f"name: Basement\n{low}tee: {{from_end_wall: 3.3 m, from_left_wall: 1.9 m}}\n"
                           "launches: {use: [wedge]}\n"))  # fmt: skip
    (warning,) = [problem for problem in bay.warnings if problem.key == "swing_room" and "roof" in problem.found]
    assert "more height, or hit no full swing here" in warning.fix
    assert "move the tee" not in warning.fix


def test_all_that_the_club_hits_is_told_first_and_the_worst_of_it_before_all_else() -> None:
    opened = open_bay(Path(__file__).parents[2] / "scenarios/single_garage.yaml", ["obstacles.0.height=400mm"])
    hits = [one for one in opened.warnings if one.key == "swing_room"]
    told_of = [one.found.split("the club hits the ")[1].split(",")[0] for one in hits]
    assert told_of == ["left wall", "left side net", "roof"]
    assert [one.urgent for one in hits] == sorted((one.urgent for one in hits), reverse=True)
    assert opened.warnings[: len(hits)] == tuple(hits)
    assert len(opened.warnings) > len(hits)  # and what was told before it by the file's lines comes after


def test_nobody_is_told_to_move_whoever_comes_in_by_a_door(tmp_path: Path) -> None:
    door = "openings: [{name: hatch, wall: left, from_end_wall: 3.6 m, width: 900 mm, height: 2 m}]"
    text = BAY.replace("width: 7 m, ", f"width: 3.5 m, {door}, ").replace(
        "from_left_wall: 3.5 m", "from_left_wall: 1.7 m"
    )
    seen = view(tmp_path, text.replace("width: 3 m", "width: 2 m") + "people: {doors: [{opening: hatch}]}\n" + LAUNCHES)
    assert problem_with(flightsim_checks(seen), "hatch").fix == "let nobody in by the hatch while a club is swung"


def test_somebody_with_a_name_has_no_article(tmp_path: Path) -> None:
    lena = "people: {onlookers: [{name: Lena, posture: child, from_end_wall: 5 m, from_left_wall: 3.5 m}]}\n"
    (problem,) = (one for one in flightsim_checks(view(tmp_path, BAY + lena + LAUNCHES)) if "Lena" in one.found)
    assert "the club hits Lena, which" in problem.found
    assert "the Lena" not in problem.found + problem.fix


NARROW = """\
name: Half of a garage
room: {length: 5.5 m, width: 5.2 m, roof: {kind: flat, height: 3.2 m}}
tee: {from_end_wall: 2.9 m, from_left_wall: 1.3 m}
screen: {width: 2.3 m, height: 2.3 m, gap_behind: 300 mm}
swing_room: {players: [{name: Ann, height: 1.85 m, hand: both, clubs: [driver]}]}
"""
NET = "side_nets: {right: {depth: 1.8 m, height: 2.3 m}}\n"
CAR = "obstacles: [{name: car, kind: box, from_end_wall: 0.4 m, from_left_wall: 3 m, above_floor: 0 m,"
CAR += " length: 4.3 m, width: 1.8 m, height: 1.45 m}]\n"


def test_no_way_out_takes_the_tee_out_of_the_room(tmp_path: Path) -> None:
    ways = problem_with(flightsim_checks(view(tmp_path, NARROW)), "left wall").fix
    assert ways.startswith("move the tee")
    assert "to the right" in ways
    assert "to the left" not in ways  # it would take 1.46 m, and the wall is 1.30 m away


def test_no_way_out_takes_a_thing_out_of_the_room_or_into_what_stands_there(tmp_path: Path) -> None:
    free = problem_with(flightsim_checks(view(tmp_path, NARROW + NET)), "right side net").fix
    assert "move the right side net 1.13 m to the right, with a screen that reaches it" in free
    beside_a_car = problem_with(flightsim_checks(view(tmp_path, NARROW + NET + CAR)), "right side net").fix
    assert beside_a_car == "make the right side net 1.19 m shorter"
    thin = NARROW.replace("width: 5.2 m", "width: 3.4 m")
    assert "to the right" not in problem_with(flightsim_checks(view(tmp_path, thin + NET)), "right side net").fix


def test_a_net_that_is_moved_aside_to_where_the_screen_reaches_needs_no_wider_one(tmp_path: Path) -> None:
    wide = NARROW.replace("width: 2.3 m", "width: 5 m") + NET.replace("2.3 m", "2.3 m, from_wall: 1.4 m")
    fix = problem_with(flightsim_checks(view(tmp_path, wide, "tee.from_left_wall=2.6 m")), "right side net").fix
    assert "move the right side net" in fix
    assert "to the right" in fix
    assert "with a screen that reaches it" not in fix


def test_no_way_out_makes_a_net_shorter_than_it_is_long(tmp_path: Path) -> None:
    seen = view(tmp_path, NARROW + NET.replace("1.8 m", "1.2 m"), "tee.from_end_wall=2.2 m")
    assert "shorter" not in problem_with(flightsim_checks(seen), "right side net").fix


def test_no_way_out_takes_a_side_net_in_between_the_ball_and_the_screen(tmp_path: Path) -> None:
    short = NARROW + NET.replace("1.8 m", "1.2 m")
    assert "to the left" not in problem_with(flightsim_checks(view(tmp_path, short)), "right side net").fix


def test_the_legs_of_a_frame_are_moved_by_the_canopy_that_they_carry(tmp_path: Path) -> None:
    frame = "canopy: {depth: 1 m, height: 2.3 m}\nframe: {front_support: legs, post_top: canopy, braces: [plan]}\n"
    fix = problem_with(flightsim_checks(view(tmp_path, NARROW + frame)), "frame legs").fix
    assert fix.startswith("make the canopy ")
    assert fix.endswith(" shorter, for its legs stand under its front, or carry it by hangers")


def test_who_can_be_moved_nowhere_is_not_to_be_there_while_a_club_is_swung(tmp_path: Path) -> None:
    couch = (
        "people: {onlookers: [{name: couch, posture: seated, from_end_wall: 3 m, from_left_wall: 3 m, width: 4 m}]}\n"
    )
    small = NARROW.replace("5.5 m", "4.2 m")
    fix = problem_with(flightsim_checks(view(tmp_path, small + couch)), "couch").fix
    assert fix == "nobody there while a club is swung, or a shorter club"
