"""What `run` tells to do first: one change, flown on the run's own shots."""

from __future__ import annotations

from improve_bays import bare_hall, opened_hall

from flightsim.library.fly_bay import fly_bay
from flightsim.report.words.verdict_words import do_first_words
from flightsim.study.improve.first_step import first_step
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.run_files import summary
from flightsim.study.run.walk import run


def test_the_first_step_helps_with_a_target_on_the_shots_of_the_run(tmp_path):
    opened = opened_hall(tmp_path)
    step = first_step(opened, run(opened, 4096, 1))
    assert step is not None
    assert step.target == "hit_unprotected"
    assert step.after < step.before
    open_bay(opened.origin, step.sets)


def test_there_is_none_where_all_is_met_too_few_have_flown_or_nothing_may_change(tmp_path):
    met = opened_hall(tmp_path, hit_unprotected="9 in 10")
    assert first_step(met, run(met, 4096, 1)) is None
    opened = opened_hall(tmp_path)
    assert first_step(opened, run(opened, 500, 1)) is None
    fixed = open_bay(bare_hall(tmp_path, may_change="may_change: {stays: [screen, canopy, tee], new_guards: false}\n"))
    assert first_step(fixed, run(fixed, 4096, 1)) is None


def test_run_tells_it_first_and_quick_leaves_it_out(tmp_path):
    opened = opened_hall(tmp_path)
    whole, quick = (fly_bay(opened, 4096, 1, quick=each).result for each in (False, True))
    assert quick.first_step is None
    assert whole.first_step is not None
    assert summary(quick, ())["first_step"] is None
    written = summary(whole, ())["first_step"]
    assert written["words"] == whole.first_step.words
    assert written["after"] < written["before"]
    text = do_first_words(whole, 90)
    assert text.startswith(("make the", "set the"))
    assert "bare things" in text
