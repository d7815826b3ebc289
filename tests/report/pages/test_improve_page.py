"""The page of changes: the verdict before and after, each step, what became worse, what is not met, offers apart."""

import re
from dataclasses import replace

import pytest
from improved_by_hand import DEEPER, improved

from flightsim.library.find_changes import BAYS, PAGE, TARGETS, Improvement
from flightsim.report.words.improve_steps import improve_lines, moved, step_lines, steps_words, worse_words
from flightsim.report.words.improve_words import targets_table, unmet_words
from flightsim.study.improve.defeats import Defeat
from flightsim.study.improve.unmeetable import Bound
from flightsim.study.run.target_result import TargetResult

NAME = "<script>alert(1)</script>"


@pytest.fixture
def saved(tmp_path):
    def save(**more):
        found = Improvement(improved(tmp_path, **more), 3)
        return found.save(tmp_path / "out")

    return save


def words_of(folder):
    text = (folder / PAGE).read_text(encoding="utf-8")
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", text, flags=re.S).split())


def test_the_page_holds_both_verdicts_every_step_what_is_worse_what_is_not_met_and_the_offers_apart(saved):
    folder = saved()
    text = words_of(folder)
    for words in (
        "meets 0 of the 2 targets asked", "meets 1 of the 2 targets asked",
        "1. Make the canopy 0.60 m deeper. Something hit hard: 20 in 100 becomes 1 in 50.",
        "Worse: left the room: 1 in 100 becomes 1 in 50.", DEEPER,
        "Left the room: 1 in 100 became 1 in 50; its target is not met.",
        "most of them iron clean", "Keep the door shut while balls are hit", "150", "+50",
    ):  # fmt: skip
        assert words in text, words
    assert text.index("What cannot be met this way") < text.index("Would help too: the room and the play")
    assert (folder / TARGETS).stat().st_size > 1000
    assert (folder / BAYS).stat().st_size > 1000


def test_a_name_that_means_harm_stays_text(saved):
    folder = saved(name=NAME)
    assert "<script" not in (folder / PAGE).read_text(encoding="utf-8")


def test_a_page_without_a_change_says_so_and_draws_no_second_bay(saved):
    folder = saved(steps=False)
    assert "No change was found that helps" in words_of(folder)
    assert not (folder / BAYS).exists()


def test_without_a_change_nothing_is_called_changed_or_worse_though_other_shots_tell_other_rates(tmp_path):
    found = improved(tmp_path, steps=False)
    assert worse_words(found) == []
    assert {line.word for line in improve_lines(found)}.isdisjoint({"changed", "worse"})
    assert targets_table(found).head == ("target", "at most", "as found", "at worst", "")


def test_rates_of_a_step_that_count_the_worst_cloth_say_so(tmp_path):
    found = improved(tmp_path)
    severe = replace(found, before=tuple(replace(target, severe=True) for target in found.before))
    assert "with the worst cloth: 20 in 100 becomes 1 in 50" in step_lines(severe)[0]
    assert step_lines(found)[0] in steps_words(found)


def test_a_search_that_was_stopped_says_that_nothing_is_confirmed(saved):
    folder = saved(stopped=True)
    assert "nothing here is confirmed" in words_of(folder)
    assert not (folder / TARGETS).exists()


def test_what_is_missed_more_often_is_worse_and_nothing_else(tmp_path):
    found = improved(tmp_path)
    assert {pair.name: pair.worse for pair in moved(found)} == {"left the room": True, "something hit hard": False}
    assert len(worse_words(found)) == 1
    assert [line.word for line in improve_lines(found)] == ["not yet", "as found", "changed", "not met", "worse"]


def test_each_step_names_what_it_helps_most_and_what_it_harms_most(tmp_path):
    assert step_lines(improved(tmp_path)) == [
        "1. Make the canopy 0.60 m deeper. Something hit hard: 20 in 100 becomes 1 in 50. "
        "Worse: left the room: 1 in 100 becomes 1 in 50."
    ]


@pytest.mark.parametrize(
    ("name", "where", "words"),
    [
        ("got_out", "door", "of these balls reach the door,"),
        ("got_out", "", "of these balls could not be followed to their end,"),
        ("hitter_head", "the tee", "of these balls come straight from the tee,"),
        ("hitter_head", "ceiling pad", "of these balls come off the ceiling pad,"),
    ],
)
def test_what_stands_in_the_way_is_told_in_whole_words(tmp_path, name, where, words):
    found = improved(tmp_path)
    missed = replace(found.after[1], name=name)
    text = unmet_words(replace(found, after=(missed,), defeats=(Defeat(name, "iron clean", where, 0.6, 0.02),)))
    assert words in text


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"out_of_time": True}, "ended by time"),
        ({"tries": 1}, "tried alone, and the best by twos: none helped."),
        ({"tries": 3}, "fresh shots did not bear out all that it had found"),
    ],
)
def test_how_the_search_ended_is_told_and_never_that_nothing_helps(tmp_path, how, words):
    assert words in unmet_words(replace(improved(tmp_path), **how))


def test_a_length_beyond_every_change_names_what_defeats_it_and_how_that_is_known(tmp_path):
    short = TargetResult("swing", "length", 0.15, -0.2, -0.3, False, False, "swing", "", "swing", worst_words="hits")
    found = replace(improved(tmp_path), after=(short,), bounds=(Bound("swing", ("roof", "left wall"), 0.07, 0.15, 99),))
    text = unmet_words(found)
    assert "Cannot be met: wherever the tee may be, the roof and the left wall leave at most 70 mm of" in text
    assert "(measured at 99 places)" in text
    assert "The search" not in text
