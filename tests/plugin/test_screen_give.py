"""Screens and nets that give: what comes back, how far they sink, opened edges, wrong entries, and what is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bays import STRAIGHT, follow, shots

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.cloth import ball_in_cloth
from flightsim.cloth.fabric import Cloth
from flightsim.contact.cloth_ends import LIVELY
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.fates import EDGES, Fates, Flag
from flightsim.contact.giving import EDGE_BAND, Give, hung
from flightsim.contact.rebound import Hits, Rebounds
from flightsim.contact.surroundings import surround
from flightsim.engine import one_cloth
from flightsim.flight.ball import LEGAL_BALL
from flightsim.plugin.border import checked_after
from flightsim.plugin.hookspecs import BayView, FinishedRun
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim.scenario.reading.problems import ScenarioError
from flightsim_plugins.screen_give import Cord, flightsim_checks, flightsim_judge, flightsim_rebounds

PLUGINS = with_plugins()
ROOM = """\
name: Test
units: metric
room: {length: 7 m, width: 4 m, roof: {kind: flat, height: 3.2 m}}
tee: {from_end_wall: 4 m, from_left_wall: 2 m}
"""
# The cloth hangs at x = 3.5, from y = 1.4 (left) to -1.4 and from z = 0.1 to 2.5.
SCREEN = "screen: {width: 2.8 m, height: 2.4 m, above_floor: 100 mm, gap_behind: 500 mm}\n"
NETS = "side_nets: {left: {depth: 2 m, height: 2.4 m, offset: 300 mm}}\n"
QUICK = "stiffness: 50 kN/m"  # a slower wave: the lattice takes longer steps


def give(text: str) -> str:
    return f"screen_give: {{{text}}}\n"


def view(text: str = "", screen: str = SCREEN) -> BayView:
    scenario = scenario_of(ROOM + screen + text, PLUGINS)
    pieces = PLUGINS.parts(scenario)
    bay = Bay(tuple(pieces.parts), tuple(pieces.openings), *pieces.bounds)
    facings = PLUGINS.facings(scenario)
    return BayView(scenario.entries("screen_give"), scenario, bay, LEGAL_BALL.radius, LEGAL_BALL.mass, facings)


def laws(text: str = "", screen: str = SCREEN) -> dict[str, Give]:
    return {law.part: law.law for law in flightsim_rebounds(view(text, screen))}


ANSWERS = one_cloth.left_by  # once that is loaded, a law answers hits


def hits(law: Give, speed, y, z, normal=(-1.0, 0.0, 0.0), facing="cloth", along=(0.0, 0.0, 0.0)) -> Hits:
    """Hits on the screen at y, z; along: what the velocity has besides its square part, as a share."""
    speed, y, z = np.broadcast_arrays(*(np.atleast_1d(np.asarray(a, dtype=float)) for a in (speed, y, z)))
    normals = np.repeat(np.array(normal)[:, None], speed.size, axis=1)
    point = np.stack([np.full(speed.size, 3.5 - LEGAL_BALL.radius), y, z])
    velocity = speed * (np.array(along)[:, None] - normals)
    part = Part("screen", rectangle(np.zeros(3), np.array([0, 1.0, 0]), np.array([0, 0, 1.0])), Role.GUARD, facing, "t")
    return Hits(part, shipped_facings()[facing], LEGAL_BALL, point, velocity, normals, np.zeros((3, speed.size)))


def energy(velocity, spin) -> np.ndarray:
    return (velocity**2).sum(axis=0) + LEGAL_BALL.inertia_factor * LEGAL_BALL.radius**2 * (spin**2).sum(axis=0)


LAW = give(f"{QUICK}, shear_ratio: 0.02")


def test_without_the_section_the_screen_and_every_net_give() -> None:
    assert set(laws(NETS)) == {"screen", "left side net"}


def test_boards_foam_flaps_and_covers_go_by_their_facing() -> None:
    rest = (
        "side_nets: {left: {depth: 2 m, height: 2.4 m, kind: panel}}\n"
        "canopy: {depth: 1 m, height: 2.6 m}\n"
        "ceiling: {baffles: [{name: baffle, from_end_wall: 1 m, from_left_wall: 1 m, width: 1 m, drop: 400 mm}]}\n"
    )
    screen = SCREEN.replace("}", ", bottom_flap: 400 mm, covers: [{side: left, reach: 100 mm, facing: cloth}]}")
    assert set(laws(rest, screen)) == {"screen"}


def test_a_screen_of_boards_does_not_give() -> None:
    assert laws("", SCREEN.replace("}", ", facing: plywood}")) == {}


def test_what_comes_back_is_slow_and_never_has_more_energy() -> None:
    law = laws(LAW)["screen"]
    given = hits(law, [2.0, 20.0, 45.0, 70.0], [0.0, 0.5, -1.0, 0.2], [1.3, 0.5, 2.0, 1.3], along=(0.0, 0.4, 0.2))
    after = law(given)
    assert np.all(after.velocity[0] < 0.0)
    assert np.all(-after.velocity[0] < 0.4 * given.normal_speed)
    assert np.all(energy(after.velocity, after.spin) < energy(given.velocity, given.spin))
    assert not after.past.any()


def test_the_border_takes_what_the_law_returns_wherever_a_ball_hits() -> None:
    law, (plugin,) = laws(LAW)["screen"], [each for each in PLUGINS.loaded if each.name == "screen_give"]
    y, z = (each.ravel() for each in np.meshgrid(np.linspace(-1.45, 1.45, 25), np.linspace(0.05, 2.55, 25)))
    for speed in (0.0, 0.5, 8.0, 70.0):
        given = hits(law, speed, y, z, along=(0.0, 0.3, -0.3))
        assert isinstance(checked_after(plugin, given, law(given)), Rebounds)


def test_the_way_along_the_cloth_is_that_of_the_pocket_with_and_without_an_entry() -> None:
    # .46 of the speed along is kept, and the ball leaves rolling [cloth-oblique].
    for text in ("", LAW):
        law = laws(text)["screen"]
        given = hits(law, 60.0, 0.0, 1.3, along=(0.0, 0.3, 0.0))
        after = law(given)
        assert after.velocity[1] == pytest.approx(0.46 * given.velocity[1])
        assert LEGAL_BALL.radius * after.spin[2] == pytest.approx(-after.velocity[1])


def test_a_screen_gives_back_more_near_its_sides_and_least_in_the_middle() -> None:
    law = laws(LAW)["screen"]
    back = -law(hits(law, 60.0, [0.0, 1.0, 1.15], [1.3, 1.3, 0.35])).velocity[0]
    assert back[0] < back[1] < back[2]


def test_sink_is_the_middle_of_the_band_or_its_far_end_where_deep_and_does_not_depend_on_the_side_one_counts_from() -> (
    None
):
    law = laws(LAW)["screen"]
    y, z = np.array([0.0, 0.8, -0.8, 0.8, -0.8]), np.array([1.3, 0.6, 0.6, 2.0, 2.0])
    sink = law(hits(law, 60.0, y, z)).sink
    assert sink[1:] == pytest.approx(np.full(4, sink[1]), rel=1e-6)
    places = law.frame.places(hits(law, 60.0, y, z).point)
    middle = law.depth(np.full(5, 60.0), *places, LEGAL_BALL.mass)
    assert sink == pytest.approx(middle)
    assert replace(law, deep=True)(hits(law, 60.0, y, z)).sink == pytest.approx(1.6 * middle)


def test_an_unknown_weave_sinks_at_least_as_far_as_a_known_one() -> None:
    known = laws(give(f"{QUICK}, shear_ratio: 0.006"))["screen"]
    unknown = laws(give(QUICK))["screen"]
    one, other = (law(hits(law, 70.0, [0.0, 0.8], [1.3, 1.8])).sink for law in (known, unknown))
    assert np.all(other >= one)
    assert not unknown.shear_known
    assert known.shear_known


def test_heavier_cloth_sinks_less_and_slow_hits_not_at_all() -> None:
    light, heavy = (laws(give(f"{QUICK}, shear_ratio: 0.02, areal_mass: {m} g/m2"))["screen"] for m in (300, 600))
    assert heavy(hits(heavy, 60.0, 0.0, 1.3)).sink < light(hits(light, 60.0, 0.0, 1.3)).sink
    assert light(hits(light, 0.5, 0.0, 1.3)).sink == 0.0


def test_nets_sink_four_to_six_tenths_of_a_metre_at_70() -> None:
    # 60-120 g/m2 needs .4-.6 m [cloth-values]
    law = laws(NETS)["left side net"]
    middle = [np.array([each]) for each in (70.0, law.frame.width / 2, law.frame.height / 2)]
    assert law.near_depth(*middle, LEGAL_BALL.mass) == pytest.approx(0.4, rel=0.2)
    assert law.far_depth(*middle, LEGAL_BALL.mass) == pytest.approx(0.6, rel=0.2)
    assert law.returned(*middle, LEGAL_BALL.mass) == pytest.approx(0.6 * 0.10, abs=0.03)
    assert not law.open_at  # how a net is laced is not known


# ---- edges


def past(law: Give, speed: float, from_left) -> np.ndarray:
    return law(hits(law, speed, 1.4 - np.asarray(from_left, dtype=float), 1.3)).past


def test_a_fast_hit_near_a_corded_side_gets_past_and_one_further_in_does_not() -> None:
    law = laws(LAW)["screen"]
    deep = replace(law, deep=True)
    assert past(law, 60.0, 0.05).all()
    assert not past(law, 60.0, [0.15, 0.5, 1.4]).any()
    assert past(deep, 60.0, [0.05, 0.15]).all()
    law = deep
    assert not past(law, 60.0, [EDGE_BAND + 0.01, 0.5, 1.4]).any()
    assert not past(law, 4.0, [0.05, 0.15]).any()


def test_what_gets_past_keeps_its_way_and_some_of_its_speed() -> None:
    law = laws(LAW)["screen"]
    given = hits(law, 60.0, 1.3, 1.3, along=(0.0, 0.2, 0.1))
    after = law(given)
    share = np.linalg.norm(after.velocity) / np.linalg.norm(given.velocity)
    assert after.past.all()
    assert 0.1 < share < 1.0
    assert after.velocity == pytest.approx(share * given.velocity)


def at_the_left_edge(text: str, screen: str) -> Fates:
    """Balls at 60 m/s toward the outer 20 cm of the screen, in the room."""
    seen = view(text, screen)
    around = surround(
        seen.bay, PLUGINS.touch_tests(seen.bay), seen.facings,
        {each.part: each.law for each in flightsim_rebounds(seen)},
    )  # fmt: skip
    return follow(around, shots(*(((0.0, 1.4 - s, 1.2), (60.0, 0.0, 0.0)) for s in (0.03, 0.08, 0.13))), STRAIGHT).fates


def test_a_wide_cover_keeps_a_ball_in_and_a_narrow_one_does_not() -> None:
    def covered(overlap: int) -> Fates:
        cover = f", covers: [{{side: left, reach: 200 mm, overlap: {overlap} mm}}]}}"
        return at_the_left_edge(LAW, SCREEN.replace("}", cover))

    assert not covered(450).flags[Flag.PAST_EDGE].any()
    assert covered(20).flags[Flag.PAST_EDGE].tolist() == [False, True, False]  # the last is too far in for the edge


def second_screen(behind: int) -> Fates:
    """The same at two screens, the second so far, mm, behind the first."""
    (one,) = [SCREEN.removeprefix("screen: {").removesuffix("}\n")]
    two = one.replace("500 mm", f"{500 - behind} mm")
    screens = f"screen: [{{name: main, {one}}}, {{name: second, {two}}}]\n"
    entries = ", ".join(f"{{screen: {name}, {QUICK}, shear_ratio: 0.02}}" for name in ("main", "second"))
    return at_the_left_edge(f"screen_give: [{entries}]\n", screens)


@pytest.mark.parametrize("behind", [0, 10, 200])
def test_a_second_screen_with_the_same_edge_hides_no_ball_that_its_own_edge_lets_past(behind) -> None:
    assert second_screen(behind).flags[Flag.PAST_EDGE].any()


def test_a_ball_further_from_an_edge_than_the_edge_moves_does_not_get_past() -> None:
    law = laws(LAW)["screen"]
    moved = law.table(LEGAL_BALL.mass).edge_moved(60.0, np.array([0.01, 0.3, 0.5]), 1.3)
    assert moved[0] > 0.01 + LEGAL_BALL.radius
    assert (moved[1:] < [0.3, 0.5]).all()
    after = law(hits(law, 60.0, 1.4 - np.array([0.01, 0.3, 0.5]), 1.3))
    assert after.edge is not None
    assert [*after.edge] == [EDGES.index("left"), -1, -1]
    assert [*after.past] == [True, False, False]


def test_what_the_lattice_has_no_answer_for_is_unresolved_and_said(monkeypatch) -> None:
    monkeypatch.setattr(ball_in_cloth, "LONGEST", 0.04)
    never = give(f"{QUICK}, shear_ratio: 0.021, cord: {{stiffness: 90 N/m}}")
    law = laws(never)["screen"]
    after = law(hits(law, 60.0, [0.0, 0.7], 1.3))
    assert after.unresolved is not None
    assert after.unresolved.all()
    assert np.isfinite(after.velocity).all()
    seen = view(never)
    (said,) = flightsim_judge(FinishedRun(seen.entries, seen.scenario, seen.bay))
    assert said.level == "warning"
    assert "could not be worked out" in said.text
    assert "nan" not in said.text


def test_a_side_that_no_cord_holds_does_not_open_so() -> None:
    small = SCREEN.replace("width: 2.8 m, height: 2.4 m", "width: 1.4 m, height: 1.2 m")  # no side is like another
    law = laws(give(f"{QUICK}, shear_ratio: 0.02, cord: {{sides: [right, top]}}"), small)["screen"]
    assert set(law.open_at) == {"right", "top"}
    assert not law(hits(law, 60.0, 0.7 - 0.15, 0.7)).past.any()


def test_a_flap_continues_the_foot_so_that_it_does_not_open() -> None:
    assert "foot" in laws(LAW)["screen"].open_at
    assert "foot" not in laws(LAW, SCREEN.replace("}", ", bottom_flap: 400 mm}"))["screen"].open_at


def test_a_snapped_cord_is_tried_and_moves_the_edge_further() -> None:
    (law,) = flightsim_rebounds(view(LAW))
    (words, snapped), (loose, _), (sags, _) = law.weakened
    assert (loose, sags) == ("its foot come loose", "it sags")
    assert "snapped" in words
    near = [np.array([each]) for each in (60.0, 0.1, 1.2)]
    moved = [each.table(LEGAL_BALL.mass).edge_moved(*near) for each in (law.law, snapped)]
    assert moved[1] > moved[0]


def test_a_cloth_as_lively_as_any_sends_balls_back_without_loss() -> None:
    (law,) = flightsim_rebounds(view(LAW))
    lively = dict(law.ends)[LIVELY]
    at = hits(law.law, [20.0, 60.0], [0.0, 0.8], [1.3, 1.8])
    likely, most = (-each(at).velocity[0] for each in (law.law, lively))
    assert most == pytest.approx(likely / 0.6)  # all of the lattice's return, against .6 of it


def test_a_fast_ball_low_on_a_cloth_whose_foot_is_loose_goes_under_and_one_higher_up_does_not() -> None:
    sides = QUICK + ", cord: {sides: [left, right, top]}"
    held, loose = laws(give(sides))["screen"], laws(give(sides + ", foot: loose"))["screen"]
    low, high = hits(held, 40.0, 0.0, 0.25), hits(held, 40.0, 0.0, 1.2)
    assert not held(low).past.any()
    assert loose(low).past.all()
    assert np.linalg.norm(loose(low).velocity, axis=0) == pytest.approx(20.0)
    assert not loose(high).past.any()
    assert not loose(hits(loose, 6.0, 0.0, 0.25)).past.any()  # 3 m/s would be left: it counts as stopped


def test_a_cloth_that_sags_sinks_deeper() -> None:
    (law,) = flightsim_rebounds(view(give(QUICK)))
    sags = dict(law.weakened)["it sags"]
    middle = hits(law.law, 60.0, 0.0, 1.3)
    assert sags(middle).sink[0] > law.law(middle).sink[0] * 0.99


# ---- frames


@pytest.mark.parametrize(
    ("corner", "a", "b", "out", "up"),
    [
        ((3.5, -1, 0), (0, 2, 0), (0, 0, 2.4), (1, 0, 0), (0, 0, 1)),  # a screen
        ((3.5, 1, 2.4), (0, 0, -2.4), (0, -2, 0), (1, 0, 0), (0, 0, 1)),  # from another corner
        ((1, 1.4, 0), (2, 0, 0), (0, 0, 2.4), (0, 1, 0), (0, 0, 1)),  # a left side net
        ((1, -1.4, 0), (2, 0, 0), (0, 0, 2.4), (0, -1, 0), (0, 0, 1)),  # a right one
        ((1, -1, 2.5), (2, 0, 0), (0, 2, 0), (0, 0, 1), (1, 0, 0)),  # overhead
    ],
)
def test_a_cloth_is_seen_from_the_tee(corner, a, b, out, up) -> None:
    shape = rectangle(np.array(corner, dtype=float), np.array(a, dtype=float), np.array(b, dtype=float))
    frame = hung(Part("it", shape, Role.GUARD, "net", "t"))
    assert frame.out == pytest.approx(np.array(out, dtype=float))
    assert frame.up == pytest.approx(np.array(up, dtype=float))
    middle = np.concatenate(shape.outlines()).mean(axis=0)[:, None]
    across, high = frame.places(middle)
    assert (across[0], high[0]) == pytest.approx((frame.width / 2, frame.height / 2))
    if out[2] == 0:
        assert np.cross(frame.out, frame.up) == pytest.approx(frame.right)


def test_strips_and_boxes_are_no_hung_cloths() -> None:
    strip = rectangle(np.zeros(3), np.array([0, 0.2, 0]), np.array([0, 0, 2.0]))
    assert hung(Part("strip", strip, Role.GUARD, "net", "t")) is None


# ---- the section


def test_cords_are_read_by_stiffness_or_by_diameter_and_length() -> None:
    assert Cord().pull() == 500.0
    assert Cord(stiffness="300 N/m").pull() == 300.0
    assert Cord(diameter="8 mm", length="250 mm").pull() == pytest.approx(2 * 125 / 0.25)


def test_an_entry_is_for_the_screen_or_net_it_names() -> None:
    both = laws(
        f"screen_give:\n  - {{areal_mass: 500 g/m2}}\n  - {{screen: left side net, areal_mass: 70 g/m2}}\n{NETS}"
    )
    assert both["screen"].cloth.areal_mass == pytest.approx(0.5)
    assert both["left side net"].cloth.areal_mass == pytest.approx(0.07)
    assert both["left side net"].open_at  # its cords are said


def told(text: str, screen: str = SCREEN) -> list[tuple[str, str, str, str]]:
    return [(p.key, p.found, p.allowed, p.fix) for p in flightsim_checks(view(text, screen))]


def test_good_entries_have_no_problems() -> None:
    assert told("") == []
    assert told(give("areal_mass: 400 g/m2") + NETS) == []


def test_a_wrong_name_is_an_error_with_the_known_names() -> None:
    ((key, found, allowed, fix),) = told(give("screen: left sode net") + NETS)
    assert (key, found) == ("screen_give.screen", "no screen or net is called 'left sode net'")
    assert allowed == "left side net, screen"
    assert fix == "left side net"


def test_several_screens_need_a_name_and_one_cloth_has_one_entry() -> None:
    two = (
        "screen:\n  - {name: main, width: 2.8 m, height: 2.4 m, gap_behind: 500 mm}\n"
        "  - {name: second, width: 2.8 m, height: 2.4 m, gap_behind: 900 mm}\n"
    )
    ((_, found, allowed, _),) = told(give("areal_mass: 400 g/m2"), two)
    assert found == "there are several screens"
    assert allowed == "screen: one of main, second"
    twice = "screen_give: [{areal_mass: 400 g/m2}, {screen: screen, areal_mass: 300 g/m2}]\n"
    ((key, found, _, _),) = told(twice)
    assert key == "screen_give.1.screen"
    assert "already" in found


def test_what_does_not_give_is_told() -> None:
    ((_, found, _, _),) = told(give("areal_mass: 400 g/m2"), SCREEN.replace("}", ", facing: plywood}"))
    assert found == "'screen' is plywood, which does not give"


@pytest.mark.parametrize(
    ("text", "screen", "key", "words"),
    [
        (give("areal_mass: 0 g/m2"), SCREEN, "screen_give.areal_mass", "more than 0 kg/m2"),
        (give("areal_mass: -0.3 kg/m2"), SCREEN, "screen_give.areal_mass", "more than 0 kg/m2"),
        (give("areal_mass: 35 kg/m2"), SCREEN, "screen_give", "0.02 to 5 kg/m2"),
        (give("areal_mass: 0.35"), SCREEN, "screen_give.areal_mass", "no unit"),
        (give("stiffness: 300 N/m"), SCREEN, "screen_give", "1000 to 1e+07 N/m"),
        (give("shear_ratio: -0.1"), SCREEN, "screen_give.shear_ratio", "at least 0"),
        (give("pretension: -5 N/m"), SCREEN, "screen_give.pretension", "at least 0"),
        (give("cord: {stiffness: 500 N/m, diameter: 8 mm}"), SCREEN, "screen_give.cord", "one of them"),
        (give("cord: {diameter: 30 mm}"), SCREEN, "screen_give.cord", "5 mm to 10 mm"),
        (give("cord: {spacing: -200 mm}"), SCREEN, "screen_give.cord.spacing", "more than 0 m"),
        (give("cord: {sides: [bottom]}"), SCREEN, "screen_give.cord.sides", "foot"),
        (give("cord: {sides: []}"), SCREEN, "screen_give.cord.sides", "at least 1"),
        (give("gap: 300 mm"), SCREEN, "screen_give.gap", ""),
        ("", SCREEN.replace("500 mm", "-500 mm"), "screen.gap_behind", "at least 0 m"),
    ],
)
def test_nonsense_is_refused_at_its_line_and_key(text: str, screen: str, key: str, words: str) -> None:
    with pytest.raises(ScenarioError) as refused:
        view(text, screen)
    problem = refused.value.problems[0]
    assert problem.key.startswith(key)
    assert problem.line == (6 if text else 5)
    assert words in str(problem)


# ---- what is said


def findings(text: str = LAW, screen: str = SCREEN, columns=None):
    seen = view(text, screen)
    return flightsim_judge(FinishedRun(seen.entries, seen.scenario, seen.bay, columns or {}))


def test_a_tight_gap_is_a_warning_with_what_is_missing_and_a_wide_one_a_note() -> None:
    (tight,) = findings(screen=SCREEN.replace("500 mm", "150 mm"))
    (wide,) = findings(screen=SCREEN.replace("500 mm", "1.2 m"))
    assert (tight.level, wide.level) == ("warning", "note")
    assert "There is 150 mm to end wall" in tight.text
    assert "through the cloth" in tight.text
    assert "There is 1.20 m to end wall" in wide.text


def test_the_hardest_hit_of_the_run_is_what_is_told_and_nets_that_none_met_say_nothing() -> None:
    columns = {
        "first_part": np.array(["screen", "screen", "floor"], dtype=object),
        "first_speed_m_s": np.array([50.0, 60.0, 70.0]),
        "first_angle_deg": np.array([0.0, 60.0, 0.0]),
    }
    (only,) = findings(LAW + NETS, columns=columns)
    assert "50.0 m/s (the hardest of this run)" in only.text


def test_the_hand_test_for_tension_is_told_for_a_screen_with_cords_all_round() -> None:
    (all_round,) = findings()
    (loose,) = findings(give(f"{QUICK}, shear_ratio: 0.02, cord: {{sides: [left, right, top]}}"))
    assert "press the middle with 10 N" in all_round.text
    assert "press the middle" not in loose.text


def test_a_default_screen_is_the_reference_cloth() -> None:
    assert laws()["screen"].cloth == Cloth(width=2.8, height=2.4)


def test_a_facing_of_ones_own_needs_an_entry_to_give() -> None:
    own = "facings: [{name: heavy cloth, like: cloth}]\n"
    screen = SCREEN.replace("}", ", facing: heavy cloth}")
    assert laws(own, screen) == {}
    assert set(laws(own + LAW, screen)) == {"screen"}
    assert isinstance(view(own, screen).facings["heavy cloth"], Facing)
