"""Every picture is drawn, for every kind of run, in the user's units and in the words of the other outputs."""

import re
import subprocess
import sys
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.image import imread
from matplotlib.text import Text
from opened_by_hand import opened_for

from flightsim.contact.fates import Outcome
from flightsim.report.draw import figures, paths, people_sheet, unfolded
from flightsim.report.draw.bay_sheet import bay_sheet
from flightsim.report.draw.figures import own_figures, write_figures
from flightsim.report.draw.first_arcs import FirstArcs, first_arcs, without_a_guard
from flightsim.report.draw.guard_hits import guards, heat, hits_figure, met_first, window
from flightsim.report.draw.projection import silhouettes
from flightsim.report.draw.style import ESCAPES, STROKES, save
from flightsim.report.words import common_words as words
from flightsim.study.run.replay import replay

ONE_TYPE = (("driver", "clean", 1.0, 62.0, (12, 3), (0, 4), 2700),)
RUNS = {
    "metric": {},
    "imperial grid": {"units": "imperial", "sampled": False, "n": 600},
    "one shot type": {"kinds": ONE_TYPE, "n": 500},
    "no escapes": {"force": Outcome.HELD},
    "all escapes": {"force": Outcome.PERSON_HIT},
}
SOME_RUNS = [pytest.param(name, marks=[pytest.mark.slow] if name == "one shot type" else []) for name in RUNS]
NAMES = ["bay", "sheet", "overview", "paths", "people", "escapes", "resting", "launch_map"]
HITS = ["hits_screen", "hits_canopy", "hits_right_net", "hits_ceiling_pad"]


def not_to_rest(opened, result, shots, to_rest=False):
    """Until balls lie still takes long; for the look of a picture it is enough to follow them to their fates."""
    return replay(opened, result, shots)


@pytest.fixture(scope="module")
def drawn(run_of):
    """All figures of one of RUNS by name, drawn once a session."""

    def draw(name: str) -> dict[str, Figure]:
        result = run_of(**RUNS[name])
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(figures, "replay", not_to_rest)
            listed = own_figures(result, opened_for(result))
            return {figure: make() for figure, _, _, make in listed if name == "metric" or figure not in HITS[1:]}

    return cache(draw)


@pytest.fixture(scope="module")
def ways(run_of):
    """The whole ways of the usual run's balls that pictures want."""
    return replay(opened_for(run_of()), run_of(), paths.wanted(run_of()))


def texts(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]


def line_colours(figure: Figure) -> set[str]:
    """The colours of all ways that are drawn."""
    ways = [lines for lines in figure.findobj(LineCollection) if len(lines.get_segments())]
    return {to_hex(colour).upper() for lines in ways for colour in lines.get_colors()}


def test_every_picture_is_written_on_white_with_the_number_of_shots_in_its_caption(run_of, tmp_path, monkeypatch):
    monkeypatch.setattr(figures, "replay", not_to_rest)
    result = run_of(n=600)
    written = write_figures(result, tmp_path, dpi=30, opened=opened_for(result))
    assert [info.name for info in written] == [*NAMES, *HITS, "wear"]
    for info in written:
        image = imread(info.path)
        assert image.min() < 0.5
        assert image[0, 0, :3].min() == 1.0
        assert "600 shots" in info.caption


def test_without_the_bay_that_was_flown_only_pictures_of_whole_ways_are_left_out(run_of):
    assert [name for name, *_ in own_figures(run_of())] == ["bay", "sheet", "launch_map", *HITS]


def test_pictures_of_a_run_tell_rates_and_count_no_shots(drawn):
    """Shots of rare kinds are flown more often than they are played: how many did what says little."""
    for name, figure in drawn("metric").items():
        counted = [text for text in texts(figure) if re.search(r"(?<!none of )(?<!fewer than )\b\d[\d,]* shots", text)]
        assert counted == [], name


def test_the_captions_of_a_grid_count_grid_shots(run_of):
    result = run_of(**RUNS["imperial grid"])
    for _, _, caption, _ in own_figures(result, opened_for(result)):
        assert "600 grid shots" in caption


@pytest.mark.parametrize("name", SOME_RUNS)
def test_every_kind_of_run_can_be_drawn_and_no_word_promises_safety_or_nought(drawn, name):
    for figure in drawn(name).values():
        words_drawn = " ".join(texts(figure))
        assert not re.search(r"\b(safe|safely|caught)\b|(?<![\d.,])0 ?%|nan|inf\b", words_drawn, re.IGNORECASE), (
            words_drawn
        )


@pytest.mark.parametrize("name", SOME_RUNS)
def test_no_lettering_runs_off_the_paper(drawn, name):
    for figure in drawn(name).values():
        figure.draw_without_rendering()
        width, height = figure.get_size_inches() * figure.dpi
        ticks = {label for axes in figure.axes for label in (*axes.get_xticklabels(), *axes.get_yticklabels())}
        for text in figure.findobj(Text):
            if text in ticks or not text.get_text():
                continue
            box = text.get_window_extent()
            assert min(box.x0, box.y0) >= -1, text
            assert box.x1 <= width + 1, text
            assert box.y1 <= height + 1, text


@pytest.mark.parametrize(("name", "unit", "other"), [("metric", "(m)", "(ft)"), ("imperial grid", "(ft)", "(m)")])
def test_axes_are_in_the_users_units(drawn, name, unit, other):
    shown = [text for figure in drawn(name).values() for text in texts(figure)]
    assert any(unit in text for text in shown)
    assert not any(other in text for text in shown)


def test_the_main_measures_stand_on_the_drawing(drawn):
    for measure in ("3.20 m", "400 mm", "1.20 m", "2.70 m", "6.60 m", "2.40 m"):  # tee to screen, gap, canopy, heights
        assert measure in texts(drawn("metric")["bay"])
    assert "10 ft 6 in" in texts(drawn("imperial grid")["bay"])


def test_the_bays_drawing_shows_where_people_are_and_says_so_only_where_there_are_any(run_of):
    result = run_of()
    assert "where people are; head" in texts(bay_sheet(result))
    nobody = replace(result, bay=replace(result.bay, zones=()))
    assert "where people are; head" not in texts(bay_sheet(nobody))


def test_the_words_of_outcomes_in_the_pictures_are_those_of_words_py(drawn, run_of):
    shown = drawn("metric")
    labels = [" ".join(text.split()) for text in texts(shown["paths"])]
    for outcome in Outcome:  # a panel for each that was seen, and for no other
        seen = bool((run_of().outcome == outcome).any())
        assert any(text.startswith(f"{words.OUTCOME_WORDS[outcome]}: ") for text in labels) is seen
    for flag in unfolded.SHOWN:
        assert any(text.startswith(words.FLAG_WORDS[flag]) for text in texts(shown["escapes"]))


def test_the_same_run_gives_the_same_picture(run_of, tmp_path):
    result = run_of(n=600)
    for path in (tmp_path / "a.png", tmp_path / "b.png"):
        flown = replay(opened_for(result), result, paths.wanted(result))
        save(paths.paths_sheet(result, flown), path, 30)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("outcome", Outcome)
def test_the_balls_drawn_for_an_outcome_have_it_and_one_with_a_flag_is_never_drawn_as_quiet(run_of, ways, outcome):
    result, flown = run_of(), ways
    balls = paths.examples(result, flown, outcome)
    assert balls.size == min(paths.EACH, int((result.outcome == outcome).sum()))
    assert (result.outcome[flown.shots[balls]] == outcome).all()
    assert (result.fates.escaped[flown.shots[balls]] == outcome.escape).all()


def test_where_every_ball_carries_a_flag_no_way_has_the_colour_of_held_or_slow_and_the_other_way_round(drawn):
    quiet = {STROKES[Outcome.HELD].colour, STROKES[Outcome.ROLLED_DEAD].colour}
    loud = {STROKES[outcome].colour for outcome in ESCAPES}
    assert line_colours(drawn("all escapes")["paths"]) == {STROKES[Outcome.PERSON_HIT].colour}
    assert line_colours(drawn("no escapes")["paths"]) == {STROKES[Outcome.HELD].colour}
    assert quiet | loud >= line_colours(drawn("metric")["paths"]) > quiet


def test_slow_stretches_of_a_way_are_hairlines_and_fast_ones_are_not():
    hurts = np.array([True, True, False, False, True])
    assert paths._runs(hurts) == [(0, 2, True), (2, 4, False)]
    assert paths._runs(hurts[:1]) == []


def test_first_arcs_begin_at_the_strike_and_end_at_the_first_contact(run_of):
    result = run_of()
    arcs = first_arcs(result, np.arange(50))
    assert np.allclose(arcs.points[:, 0], result.shots.start[:, arcs.shots].T)
    assert np.allclose(arcs.points[:, -1], result.contacts.point[:, arcs.shots].T)


def test_balls_looked_at_beside_the_guards_got_past_and_met_no_guard_first(run_of):
    result = run_of()
    arcs = without_a_guard(result)
    assert len(arcs.shots) > 20
    assert result.fates.escaped[arcs.shots].all()
    first = result.contacts.part[arcs.shots]
    labels = {result.bay.parts[k].label for k in first[first >= 0]}
    assert not labels & set(result.bay.guard_labels())


def test_pyplot_and_its_global_state_are_never_used():
    code = "import sys, flightsim.report.draw.figures; print('matplotlib.pyplot' in sys.modules)"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert shown.strip() == "False"


def test_the_heat_on_a_guard_adds_up_to_what_it_meets_of_1000_balls(run_of):
    result = run_of()
    screen = guards(result)[0]
    corners = np.concatenate([o for k in screen.index for o in silhouettes(result.bay.parts[k].shape, screen.frame)])
    counts, _ = heat(result, screen, *window(result, screen.frame, corners), 0.1)
    share = 1000 * result.weight[np.isin(result.contacts.part, screen.index)].sum()
    assert counts.sum() == pytest.approx(share, rel=1e-9)


def test_balls_that_went_by_a_guard_are_marked_outside_its_outline_only(run_of, drawn):
    figure = drawn("metric")["hits_right_net"]
    hollow = [line for line in figure.axes[0].lines if line.get_markerfacecolor() == "none"]
    marks = np.concatenate([line.get_xydata() for line in hollow if line.get_zorder() == 7])
    assert len(marks) > 10
    assert (-marks[:, 0] < 1.6 + 1e-6).all()  # the net begins 1.6 m from the tee, the screen is on the left


def test_balls_marked_on_a_guard_met_it_first_and_got_past_in_the_end(run_of):
    result = run_of()
    screen = guards(result)[0]
    figure = hits_figure(result, screen, without_a_guard(result))
    past = np.flatnonzero(met_first(result, screen) & result.fates.escaped)
    places = screen.frame.flat(result.contacts.point[:, past].T)
    marks = np.concatenate([line.get_xydata() for line in figure.axes[0].lines if line.get_zorder() == 8])
    assert len(marks) > 10
    assert (np.abs(marks[:, None] - places[None]).sum(axis=2).min(axis=1) < 1e-9).all()


def test_a_guard_can_be_drawn_when_no_ball_escaped(run_of):
    result = run_of()
    none = FirstArcs(np.empty(0, dtype=np.intp), np.empty((0, 24, 3)))
    assert isinstance(hits_figure(result, guards(result)[0], none), Figure)


def test_marks_on_the_room_laid_flat_lie_on_the_room(run_of, drawn):
    result = run_of()
    flags = result.fates.flags
    figure = drawn("metric")["escapes"]
    colours = {STROKES[Outcome(flag)].colour: flag for flag in unfolded.SHOWN}
    marks = [line for line in figure.axes[0].lines if line.get_linestyle() == "None" and len(line.get_xydata())]
    for flag in unfolded.SHOWN:
        drawn_of = sum(len(line.get_xydata()) for line in marks if colours.get(line.get_color()) is flag)
        assert drawn_of == min(unfolded.MOST_MARKS, int(flags[flag].sum()))


def test_every_ball_with_a_flag_at_the_room_belongs_to_one_of_its_surfaces(run_of):
    result = run_of()
    owner = unfolded._owners(result, unfolded.faces_of(result))
    for row, flag in enumerate(unfolded.SHOWN):
        assert np.array_equal(owner[row] >= 0, result.fates.flags[flag])


def test_who_could_be_hit_is_told_where_nobody_was_and_where_nobody_is(run_of, drawn):
    words_drawn = " ".join(texts(drawn("no escapes")["people"]))
    assert re.search(r"none of [\d,]+ shots was seen that could hit a person: at worst", words_drawn)
    result = run_of(**RUNS["no escapes"])
    nobody = replace(result, bay=replace(result.bay, zones=()))
    flown = replay(opened_for(nobody), nobody, np.empty(0, dtype=np.intp))
    assert words.NOBODY in " ".join(texts(people_sheet.people_sheet(nobody, flown)))


def test_no_two_words_of_the_sheet_for_the_wall_cover_each_other(drawn):
    figure = drawn("metric")["sheet"]
    figure.draw_without_rendering()
    labels = [*figure.texts, *(text for axes in figure.axes for text in axes.texts)]
    boxes = [text.get_window_extent() for text in labels]
    assert len(boxes) > 15
    assert not [(k, j) for k, one in enumerate(boxes) for j, other in enumerate(boxes[:k]) if one.overlaps(other)]


def test_the_key_of_the_room_laid_flat_covers_no_name_of_a_surface(drawn):
    figure = drawn("metric")["escapes"]
    figure.draw_without_rendering()
    axes = figure.axes[0]
    key = axes.get_legend().get_window_extent()
    names = [text for text in axes.texts if "\n" in text.get_text()]
    assert len(names) == 5
    assert not [text for text in names if text.get_window_extent().overlaps(key)]
