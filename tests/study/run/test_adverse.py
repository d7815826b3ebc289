"""What is not known of cloth is a band: the same shots fly with each end of it, and the worst bound is named."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from flightsim.contact.cloth_ends import DEEP, END_WORDS, LIVELY, SOFT_CORDS, TOGETHER
from flightsim.contact.fates import Flag
from flightsim.contact.giving import Give
from flightsim.errors import BadInputError
from flightsim.library.fly_bay import fly_bay
from flightsim.study.run.adverse import adverse_bays, with_adverse
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.require import judge_all, parse_requirements
from flightsim.study.run.run_files import summary
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
SHOTS = 1500


@pytest.fixture(scope="module")
def opened():
    return open_bay(GARAGE)


@pytest.fixture(scope="module")
def flown(opened):
    return with_adverse(opened, run(opened, SHOTS))


def law(bay, part="screen") -> Give:
    return bay.rebounds[part].law


def test_each_end_changes_what_it_is_named_for_and_nothing_else(opened):
    bays = dict(adverse_bays(opened))
    assert tuple(bays) == (LIVELY, DEEP, SOFT_CORDS, TOGETHER)
    likely = law(opened)
    assert law(bays[LIVELY]).damping == 1.0 == pytest.approx(likely.damping / 0.58)
    assert law(bays[DEEP]).deep
    assert not law(bays[LIVELY]).deep
    assert law(bays[SOFT_CORDS]).cloth.cord_stiffness < likely.cloth.cord_stiffness
    together = law(bays[TOGETHER])
    assert together.deep
    assert together.damping == law(bays[LIVELY]).damping
    assert together.cloth == law(bays[SOFT_CORDS]).cloth


def test_all_soft_faces_are_lively_where_the_cloth_is_and_no_hard_one(opened):
    bays = dict(adverse_bays(opened))
    assert {name for name, facing in bays[LIVELY].facings.items() if facing.lively} == {
        name for name, facing in opened.facings.items() if facing.soft
    }
    assert bays[DEEP].facings == opened.facings


def test_the_same_shots_are_flown_all_of_them_as_far_as_they_touch_no_cloth(flown):
    for one in flown.adverse:
        assert one.shots == len(one.fates) == SHOTS
        assert np.array_equal(one.contacts.part, flown.contacts.part)
        assert np.array_equal(one.contacts.point, flown.contacts.point, equal_nan=True)


def test_a_deep_cloth_strikes_what_is_behind_it_harder_and_with_all_harm_together_more_balls_strike_it(flown):
    bays = {one.name: one.fates for one in flown.adverse}
    as_likely, deep = flown.fates.worst[Flag.STRUCK_THROUGH], bays[DEEP].worst[Flag.STRUCK_THROUGH]
    both = ~np.isnan(as_likely) & ~np.isnan(deep)
    assert both.sum() > 30
    assert (deep[both] > 1.001 * as_likely[both]).sum() > 10 * (deep[both] < 0.999 * as_likely[both]).sum()
    assert bays[TOGETHER].flags[Flag.STRUCK_THROUGH].sum() > 3 * flown.fates.flags[Flag.STRUCK_THROUGH].sum()


def test_the_worst_is_the_largest_bound_of_all_and_named(flown):
    for key in ("escape", "head_hit", "got_out"):
        rate, whose = flown.worst(key)
        uppers = [flown.rates.total[key].upper, *(one.rates.total[key].upper for one in flown.adverse)]
        assert rate.upper == max(uppers)
        assert (whose is None) == (rate.upper == uppers[0])


def test_fewer_shots_with_adverse_cloth_are_the_runs_first(opened):
    result = with_adverse(opened, run(opened, 400), most=300)
    assert {one.shots for one in result.adverse} == {300}


def test_a_requirement_at_worst_is_judged_by_the_worst_and_one_without_by_the_likely_cloth(flown):
    likely, worst = flown.rates.judged["escape"].upper, flown.worst("escape", judged=True)[0].upper
    between = 0.5 * (likely + worst)
    texts = [f"escape < {between:.6f}", f"escape < {between:.6f} at worst"]
    plain, at_worst = judge_all(parse_requirements(texts), flown.rates, flown.types, True, flown.adverse, cloth=True)
    assert plain.met
    assert plain.bound == likely
    assert "with likely cloth" in plain.sentence
    assert "It is not met if" in plain.sentence
    assert not at_worst.met
    assert at_worst.bound == worst
    assert (at_worst.at_worst, at_worst.cloth) == (True, flown.worst("escape")[1].name)
    assert END_WORDS[at_worst.cloth] in at_worst.sentence


def test_what_is_asked_at_worst_flies_adverse_cloth_even_where_it_is_quick(opened):
    asked = fly_bay(opened, 100, 1, parse_requirements(["got_out < 1 in 2 at  worst"]), quick=True)
    assert asked.result.adverse
    assert not fly_bay(opened, 100, 1, parse_requirements(["got_out < 1 in 2"]), quick=True).result.adverse


@pytest.mark.parametrize("text", ["escape < at worst", "escape at worst < 1 in 5", "escape < 1 in 5 worst"])
def test_at_worst_in_another_place_is_refused(text):
    with pytest.raises(BadInputError, match="at worst"):
        parse_requirements([text])


def test_the_summary_tells_each_adverse_cloth_and_whose_is_the_worst(flown):
    data = summary(flown, ())
    assert [one["name"] for one in data["adverse"]] == [one.name for one in flown.adverse]
    assert data["adverse"][0]["total"]["escape"]["rate"] == flown.adverse[0].rates.total["escape"].rate
    rate, whose = flown.worst("head_hit")
    assert data["at_worst"]["head_hit"]["upper"] == rate.upper
    assert data["at_worst"]["head_hit"]["cloth"] == (whose.name if whose else "likely")


def test_a_bay_without_cloth_has_no_adverse_one(opened):
    hard = replace(opened.bay, parts=tuple(replace(part, facing="plywood") for part in opened.bay.parts))
    assert not list(adverse_bays(replace(opened, bay=hard, rebounds={})))
