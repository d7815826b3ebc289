"""What would help: of balls as they are played, on the same shots, as they go in the changed bay."""

from dataclasses import replace
from pathlib import Path

import pytest

from flightsim.contact.fates import Flag
from flightsim.study.run.find_troubles import find_troubles
from flightsim.study.run.fly import follow_all
from flightsim.study.run.open_bay import open_bay, open_changed
from flightsim.study.run.remedies import A_FEW, with_remedies
from flightsim.study.run.troubles import Tried
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
SHOTS = 500


def test_what_is_told_of_a_change_is_what_all_shots_do_in_the_changed_bay():
    opened = open_bay(GARAGE)
    result = run(opened, SHOTS)
    found = with_remedies(opened, replace(result, troubles=find_troubles(result)))
    tried = found.troubles[0].tried
    assert tried
    for one in tried:
        assert (one.shots, one.flown, one.flown_again) == (SHOTS, SHOTS, SHOTS)
        again = run(open_changed(opened, one.sets), SHOTS)
        _, fates = follow_all(open_changed(opened, one.sets), result.shots, 1)
        assert one.escapes_after == fates.escaped.sum()
        assert one.escapes_before == result.fates.escaped.sum()
        more = fates.flags.sum(axis=1) > result.fates.flags.sum(axis=1) + A_FEW
        often = (fates.flags * result.weight).sum(axis=1) > (result.fates.flags * result.weight).sum(axis=1)
        assert one.worse == tuple(flag.key for flag in Flag if more[flag] and often[flag])
        assert one.escape_rate_before == pytest.approx(result.rates.total["escape"].rate, rel=1e-12)
        if not one.sets[0].startswith("tee."):  # whose shots start elsewhere
            assert one.escape_rate_after == pytest.approx(again.rates.total["escape"].rate, rel=1e-12)


@pytest.mark.parametrize(("after", "escapes", "helps"), [(0.05, 0.09, True), (0.05, 0.1, False), (0.1, 0.08, False)])
def test_a_change_helps_only_where_the_trouble_and_all_escapes_get_fewer_of_balls_as_played(after, escapes, helps):
    assert Tried("x", ("a=1",), 1000, 100, 100, 5, 100, 7, 0.1, after, 0.1, escapes).helps is helps
