"""The weights' own uncertainty: the same shots under other tails and thresholds, apart from the sampling error."""

import json
from dataclasses import replace
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from flightsim.contact.fates import Fates, Flag
from flightsim.report.pages.run_page import make_page
from flightsim.report.words.common_words import weights_words
from flightsim.report.words.terminal import print_result
from flightsim.shots.played_plan import plan_played
from flightsim.shots.tails import Tails
from flightsim.study.run.open_bay import open_bay, tee_spots
from flightsim.study.run.rates import make_rates
from flightsim.study.run.result import RunResult
from flightsim.study.run.run_files import summary
from flightsim.study.run.walk import run
from flightsim.study.run.weights_spread import SHIFT, weight_models

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
HEAD = GARAGE.read_text(encoding="utf-8").split("launches:")[0]
PLAYED = """shots:
  players: [{player: mid, share: 0.7}, {player: high, share: 0.3, hand: left}]
  clubs: [{club: driver, share: 0.5}, {club: 7-iron, share: 0.5}]
"""
RARE = "shots:\n  players: [{player: tour}]\n  clubs: [{club: 7-iron, share: 1}]\n  tails: {model: gaussian}\n"


def flown(folder: Path, section: str, shots: int) -> RunResult:
    file = folder / "played.yaml"
    file.write_text(HEAD + section, encoding="utf-8")
    return run(open_bay(file), shots)


@pytest.fixture(scope="module")
def played(tmp_path_factory) -> RunResult:
    return flown(tmp_path_factory.mktemp("played"), PLAYED, 6000)


@pytest.fixture(scope="module")
def astray(played) -> RunResult:
    """The same run in a bay where every ball that is not struck clean gets out, and no other."""
    clean = np.array([kind.strike == "clean" for kind in played.types])[played.shots.type]
    fates = Fates.empty(len(played.shots), len(played.bay.zones))
    fates.worst[Flag.GOT_OUT, ~clean] = 30.0
    rates = make_rates(fates.flags, fates.outcomes(), played.shots.type, played.types, True)
    return replace(played, fates=fates, outcome=fates.outcomes(), rates=rates)


@pytest.fixture(scope="module")
def rare(tmp_path_factory) -> RunResult:
    return flown(tmp_path_factory.mktemp("rare"), RARE, 600)


def test_the_runs_own_assumption_gives_the_runs_own_total_and_bound(played):
    (own,) = [model for model in weight_models(played) if model.this_run]
    assert (own.tails, own.axes, own.thresholds_m) == ("student_t", "independent", 0.0)
    for key, total in played.rates.total.items():
        assert own.rate[key] == pytest.approx(total.rate, rel=1e-9)
        assert own.upper[key] == pytest.approx(total.upper, rel=1e-9)


def test_three_laws_and_thresholds_2_mm_either_way_are_compared(played):
    found = [(model.tails, model.axes, model.thresholds_m) for model in weight_models(played)]
    assert found == [
        ("gaussian", "independent", 0.0), ("student_t", "independent", 0.0), ("student_t", "joint", 0.0),
        ("student_t", "independent", -SHIFT), ("student_t", "independent", SHIFT),
    ]  # fmt: skip


def test_rates_are_the_flown_ones_weighted_with_the_shares_that_the_other_law_gives(played):
    shots = played.scenario.entries("shots")[0].model_copy(update={"tails": Tails(axes="joint")})
    plan = plan_played(shots, tee_spots(played.scenario), 0.0, played.physics.ball)
    share = {kind.label: kind.share for kind in plan.types}
    (joint,) = [model for model in weight_models(played) if model.axes == "joint"]
    for key in ("held", "got_out", "escape"):
        rates = {
            kind.label: by_name[key].rate for kind, by_name in zip(played.types, played.rates.by_type, strict=True)
        }
        assert joint.rate[key] == pytest.approx(sum(share[label] * rates[label] for label in share), rel=1e-6)


def test_outcomes_add_to_one_under_every_assumption_and_nearer_thresholds_send_more_astray(played, rare, astray):
    for result in (played, rare, astray):
        for model in weight_models(result):
            parts = [model.rate[key] for key in ("escape", "held", "rolled_dead")]
            assert sum(parts) == pytest.approx(1.0, abs=1e-9)
            assert max(model.rate[flag.key] for flag in Flag) <= model.rate["escape"] + 1e-12
            assert all(model.upper[key] >= rate for key, rate in model.rate.items())
    near, far = weight_models(astray)[-2:]
    assert near.rate["escape"] > far.rate["escape"]


def test_strikes_that_were_not_flown_count_as_unresolved_where_another_law_has_them(rare):
    gauss, independent, joint, *_ = weight_models(rare)
    assert gauss.this_run
    assert gauss.share_not_flown < 1e-8
    for other in (independent, joint):
        assert 1e-4 < other.share_not_flown < 1e-3
        assert other.rate["escape"] >= other.share_not_flown
        assert other.rate["unresolved"] >= other.share_not_flown
        assert other.upper["hit_unprotected"] > other.share_not_flown


def test_the_summary_the_terminal_and_the_page_tell_it(played):
    words = weights_words(played)
    assert "at worst" in words
    models = summary(played, ())["weight_models"]
    assert json.loads(json.dumps(models))[1]["this_run"] is True
    console = Console(record=True, width=2000, file=StringIO())
    print_result(played, (), console)
    assert words in console.export_text()
    assert words.replace("'", "&#39;") in make_page(played, (), (), ())


def test_shots_whose_shares_are_given_have_no_such_spread():
    result = run(open_bay(GARAGE), 200)
    assert weight_models(result) == ()
    assert weights_words(result) == ""
    assert summary(result, ())["weight_models"] == []


def test_a_spread_is_told_from_worst_to_best(astray):
    rates = np.array([model.rate["escape"] for model in weight_models(astray)])
    assert rates.max() > 1.2 * rates.min()
    totals = weights_words(astray).split("the total would be ")[1].split(",")[0]
    first, second = (float(part.split(" in ")[0]) / float(part.split(" in ")[1]) for part in totals.split(" to "))
    assert first == pytest.approx(rates.max(), rel=0.06)
    assert second == pytest.approx(rates.min(), rel=0.06)
