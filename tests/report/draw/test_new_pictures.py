"""Colours, the launch map's cells, wear, resting places and people: what is drawn is what was counted."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import to_rgb
from matplotlib.lines import Line2D
from matplotlib.text import Text
from opened_by_hand import opened_for

from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.report.draw import people_sheet, resting, wear
from flightsim.report.draw.figures import own_figures
from flightsim.report.draw.guard_hits import guards, met_first
from flightsim.report.draw.launch_map import _edges, cells_of
from flightsim.report.draw.shading import edges_of, edges_within, totals
from flightsim.report.draw.style import ESCAPES, STROKES, WORST_FIRST
from flightsim.report.words.common_words import BANDS, band_index
from flightsim.report.words.picture_words import never_met_words
from flightsim.study.run.present import bay_as_played, zones_present
from flightsim.study.run.replay import replay

# What eyes without one kind of cone see, linear sRGB: Machado et al. 2009, IEEE Trans. Vis. 15:1291 (from memory).
EYES = {
    "all cones": np.eye(3),
    "no red": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "no green": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "no blue": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
APART = 12.0  # CIE76 difference: seen at a glance (judgement; 2.3 is just seen)


def lab(colour: str, eyes: str = "all cones") -> np.ndarray:
    """CIELAB of a colour as these eyes see it (CIE 1976, D65)."""
    rgb = np.array(to_rgb(colour))
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    seen = np.clip(np.array(EYES[eyes]) @ linear, 0.0, 1.0)
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    part = to_xyz @ seen / np.array([0.9505, 1.0, 1.089])
    f = np.where(part > 0.008856, np.cbrt(part), 7.787 * part + 16.0 / 116.0)
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


@pytest.mark.parametrize("eyes", EYES)
def test_any_two_outcomes_differ_in_colour_for_any_eyes(eyes):
    for one, other in combinations(STROKES.values(), 2):
        assert np.linalg.norm(lab(one.colour, eyes) - lab(other.colour, eyes)) > APART


def test_the_worse_an_outcome_the_darker_and_heavier_it_is_drawn_and_no_mark_comes_twice():
    light = [lab(STROKES[outcome].colour)[0] for outcome in WORST_FIRST]
    assert (np.diff(light) > 8.0).all()  # in grey print too
    assert (np.diff([STROKES[outcome].width for outcome in WORST_FIRST]) < 0.0).all()
    assert len({stroke.mark for stroke in STROKES.values()}) == len(STROKES) == len(Outcome)


def test_the_faster_a_ball_at_a_person_the_darker_and_heavier_its_way():
    strokes = people_sheet.BAND_STROKES
    assert len(strokes) == len(BANDS)
    assert (np.diff([lab(stroke.colour)[0] for stroke in strokes]) < -4.0).all()
    assert (np.diff([stroke.width for stroke in strokes]) > 0.0).all()


@given(
    st.lists(
        st.lists(st.sampled_from([np.nan, 0.0, 3.0, 80.0]), min_size=len(Flag), max_size=len(Flag)),
        min_size=1,
        max_size=8,
    )
)
def test_no_ball_with_a_flag_has_the_colour_of_one_that_was_held_or_ended_slow(worst):
    fates = Fates.empty(len(worst))
    fates.worst[:] = np.array(worst).T
    fates.kept[:] = np.arange(len(worst)) % 2
    quiet = {STROKES[Outcome.HELD].colour, STROKES[Outcome.ROLLED_DEAD].colour}
    for k, outcome in enumerate(fates.outcomes()):
        assert (STROKES[Outcome(outcome)].colour in quiet) == (not fates.escaped[k])


def test_cells_of_the_launch_map_hold_every_shot_and_the_share_that_got_past(run_of):
    result = run_of()
    side, up = np.degrees(result.shots.azimuth), np.degrees(result.shots.elevation)
    edges, chosen = (_edges(side), _edges(up)), result.shots.type < 3
    count, share, commonest = cells_of(result, chosen, side, up, edges)
    assert count.sum() == chosen.sum()
    i, j = np.unravel_index(count.argmax(), count.shape)
    here = chosen & (side >= edges[0][i]) & (side < edges[0][i + 1]) & (up >= edges[1][j]) & (up < edges[1][j + 1])
    weight, past = result.weight[here], result.fates.escaped[here]
    assert here.sum() == count[i, j] > 5
    assert share[i, j] == pytest.approx((weight * past).sum() / weight.sum())
    kinds = [weight[result.outcome[here] == outcome].sum() for outcome in ESCAPES]
    assert commonest[i, j] == int(np.argmax(kinds))


def test_the_wear_of_a_cloth_adds_up_to_its_hits_and_their_energy(run_of):
    result = run_of()
    for units in ("metric", "imperial"):
        result = run_of(units=units)
        shown = wear.soft_guards(result, opened_for(result).facings)
        met = [guard.label for guard in guards(result) if met_first(result, guard).any()]
        assert [guard.label for guard in shown] == met == ["screen", "canopy", "right net", "ceiling pad"]
        for guard in shown:
            worn, hit = wear.wear_of(result, guard), met_first(result, guard)
            assert worn.hits.sum() == pytest.approx(1000 * result.weight[hit].sum())
            energy = 0.5 * result.physics.ball.mass * result.contacts.speed_of()[hit] ** 2
            assert worn.energy.sum() == pytest.approx(1000 * (result.weight[hit] * energy).sum())


def test_boards_and_cloth_that_nothing_met_have_no_wear(run_of):
    result = run_of()
    facings = dict(opened_for(result).facings)
    facings["cloth"] = facings["plywood"]
    assert wear.soft_guards(result, facings) == []


@given(
    st.lists(st.tuples(st.floats(-3, 3), st.floats(-2, 2), st.floats(0, 5)), max_size=30),
    st.floats(0.1, 2.0),
)
def test_squares_lose_no_place_and_no_weight(places, cell):
    low, high = np.array([-3.0, -2.0]), np.array([3.0, 2.0])
    data = np.array(places).reshape(-1, 3)
    for edges in (edges_of(low, high, cell), edges_within(low, high, cell)):
        assert totals(data[:, :2], data[:, 2], edges).sum() == pytest.approx(data[:, 2].sum())
    assert edges_within(low, high, cell)[0][[0, -1]].tolist() == [-3.0, 3.0]


@pytest.fixture(scope="module")
def rested(run_of):
    """Two runs with how their balls end."""

    def end(**kind):
        result = run_of(**kind)
        flown = replay(opened_for(result), result, resting.balls_of(result), to_rest=True)
        return result, flown, resting.endings(result, flown)

    return end(n=300), end(n=300, closed=True)


def test_every_ball_ends_in_one_way_and_the_map_counts_those_that_lie(rested):
    for result, flown, ends in rested:
        ways = np.stack([ends.lies, ends.left, ends.through, ends.other])
        assert (ways.sum(axis=0) == 1).all()
        assert ends.balls.sum() == 300
        mesh = resting.resting_sheet(result, flown).axes[0].collections[0].get_array()
        assert mesh.sum() == pytest.approx(1000.0 * ends.balls[ends.lies].sum() / 300)


def test_balls_leave_a_room_with_openings_only(rested):
    (_, _, open_back), (closed, _, shut) = rested
    assert open_back.left.sum() > 25
    inside = (shut.point > closed.bay.lower[:, None]) & (shut.point < closed.bay.upper[:, None])
    assert inside[:, shut.lies].all()
    assert shut.lies.sum() > 0.8 * shut.lies.size
    assert shut.left.sum() < open_back.left.sum()  # the side door is still there


def test_people_are_told_with_all_the_shots_that_could_hit_them_and_what_those_came_from(run_of):
    result = run_of()
    people = people_sheet.people_of(result)
    assert {hits.person for hits in people} == {"hitter", "bench"}
    shots = np.unique(np.concatenate([hits.shots for hits in people]))
    assert np.array_equal(shots, np.flatnonzero(result.fates.flags[Flag.PERSON_HIT]))
    labels = {part.label for part in result.bay.parts} | {people_sheet.FROM_TEE}
    for hits in people:
        assert set(hits.sources) <= labels
        of_person = np.array([zone.person == hits.person for zone in result.bay.zones])
        speed, came = (column[of_person][:, hits.shots] for column in (result.fates.at_zone, result.fates.zone_from))
        last = came[np.nanargmax(speed, axis=0), np.arange(hits.shots.size)]
        names = [people_sheet.FROM_TEE if k < 0 else result.bay.parts[k].label for k in last]
        assert set(hits.sources) == set(names)


def test_ways_to_people_end_at_them_and_every_band_that_was_seen_is_in_the_key(run_of):
    result = run_of()
    flown = replay(opened_for(result), result, people_sheet.wanted(result))
    figure = people_sheet.people_sheet(result, flown)
    words_drawn = " ".join(text.get_text() for text in figure.findobj(Text))
    for band in np.unique(band_index(result.fates.worst[Flag.PERSON_HIT, result.fates.flags[1]], result)):
        assert BANDS[band].words in words_drawn


def test_a_letter_that_had_to_go_aside_has_a_line_to_who_it_names(run_of, monkeypatch):
    result = run_of()
    flown = replay(opened_for(result), result, people_sheet.wanted(result))
    placed = []

    def aside(anchor, taken, panel):
        placed.append((anchor, anchor + (0.0 if not taken else 0.3)))
        return placed[-1][1]

    monkeypatch.setattr(people_sheet, "free_place", aside)
    figure = people_sheet.people_sheet(result, flown)
    lines = [line for line in figure.findobj(Line2D) if (line.get_gid() or "").startswith("to ")]
    assert len(lines) == len(placed) - 1 > 0  # the first is where it belongs
    for line, (anchor, place) in zip(lines, placed[1:], strict=True):
        assert np.allclose(line.get_xydata(), [anchor, place])


@pytest.mark.parametrize(("speed", "band"), [(0.0, 0), (4.99, 0), (5.0, 1), (12.5, 2), (58.5, 5), (90.0, 5)])
def test_a_speed_at_a_limit_is_in_the_worse_band_and_a_light_balls_by_its_energy(run_of, speed, band):
    result = run_of()
    assert band_index(np.array([speed]), result)[0] == band
    ball = replace(result.physics.ball, mass=result.physics.ball.mass / 4.0)
    light = replace(result, physics=replace(result.physics, ball=ball))
    assert band_index(np.array([2.0 * speed]), light)[0] == band


def test_a_protection_that_no_ball_meets_fills_no_page_and_is_named(run_of):
    result = run_of()
    labels = np.array([part.label for part in result.bay.parts] + [""])[result.contacts.part]
    assert not (labels == "left net").any()
    assert (labels == "right net").any()
    names = [name for name, *_ in own_figures(result)]
    assert "hits_left_net" not in names
    assert "hits_right_net" in names
    assert never_met_words(result) == "No ball of 2,000 met first, so not drawn: left net."


def test_who_does_not_play_is_in_no_picture(run_of):
    result = run_of()
    left = [replace(zone, name=f"left {zone.name}", person="left-hander", own_hand="left") if zone.own_spot else zone
            for zone in result.bay.zones]  # fmt: skip
    other = replace(result, bay=replace(result.bay, zones=tuple(left)))
    assert {zone.person for zone in zones_present(result)} == {"hitter", "bench"}
    assert {zone.person for zone in zones_present(other)} == {"bench"}
    assert {hits.person for hits in people_sheet.people_of(other)} == {"bench"}
    assert {zone.person for zone in bay_as_played(other).zones} == {"bench"}
