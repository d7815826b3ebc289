"""Screens and nets that give: what comes back, how far they sink, opened edges, wrong entries, and what is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bays import STRAIGHT, follow, shots
from hung_screens import LAW, NETS, PLUGINS, QUICK, SCREEN, energy, give, hits, laws, view

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.cloth import ball_in_cloth
from flightsim.contact.cloth_ends import LIVELY
from flightsim.contact.fates import EDGES, Fates, Flag
from flightsim.contact.giving import EDGE_BAND, Give, hung
from flightsim.contact.rebound import Rebounds
from flightsim.contact.surroundings import surround
from flightsim.flight.ball import LEGAL_BALL
from flightsim.plugin.border import checked_after
from flightsim.plugin.hookspecs import FinishedRun
from flightsim_plugins.screen_give import flightsim_judge, flightsim_rebounds


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


TWO_SIDES = give(f"{QUICK}, shear_ratio: 0.02, cord: {{sides: [right, top]}}")


def test_a_side_that_no_cord_holds_is_none_that_opens() -> None:
    assert set(laws(TWO_SIDES)["screen"].open_at) == {"right", "top"}


@pytest.mark.slow
def test_a_side_that_no_cord_holds_does_not_open_so() -> None:
    """No side of this cloth is like another: a table of 7 s."""
    assert not past(laws(TWO_SIDES)["screen"], 60.0, 0.15).any()


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
    square_hits = hits(law.law, [20.0, 60.0], [0.0, 0.8], [1.3, 1.8])
    likely, most = (-each(square_hits).velocity[0] for each in (law.law, lively))
    assert most == pytest.approx(likely / 0.58)  # all of the lattice's return, against .58 of it


def test_a_fast_ball_low_on_a_cloth_whose_foot_is_loose_goes_under_and_one_higher_up_does_not() -> None:
    sides = QUICK + ", shear_ratio: 0.02, cord: {sides: [left, right, top]}"
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
