"""Every picture is drawn, for every kind of run, in the user's units and in the words of the other outputs."""

import re
import subprocess
import sys
from functools import cache

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.image import imread
from matplotlib.text import Text

from flightsim.contact.outcomes import Outcome
from flightsim.report import words
from flightsim.report.bay_sheet import bay_sheet
from flightsim.report.figures import own_figures
from flightsim.report.guard_hits import _heat, _window, guards, hits_figure
from flightsim.report.launch_map import launch_map
from flightsim.report.paths import follow, paths_sheet, pick
from flightsim.report.projection import silhouettes
from flightsim.report.style import save
from flightsim.report.unfolded import unfolded

ONE_TYPE = (("driver", "clean", 1.0, 62.0, (12, 3), (0, 4), 2700),)
RUNS = {
    "metric": {},
    "imperial grid": {"units": "imperial", "sampled": False},
    "one shot type": {"kinds": ONE_TYPE},
    "no escapes": {"force": Outcome.MET_GUARD},
    "all escapes": {"force": Outcome.HIT_UNPROTECTED},
}


@pytest.fixture(scope="module")
def drawn(run_of):
    """All figures of one of RUNS, drawn once a session."""

    def draw(name: str) -> list[Figure]:
        result = run_of(**RUNS[name])
        escapes = follow(result, pick(result, Outcome.HIT_UNPROTECTED, 400))
        own = [bay_sheet(result), paths_sheet(result), unfolded(result), launch_map(result)]
        return own + [hits_figure(result, guard, escapes) for guard in guards(result)]

    return cache(draw)


def texts(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.findobj(Text) if text.get_text()]


def test_every_picture_is_written_on_white_with_the_number_of_shots_in_its_caption(written):
    names = [info.name for info in written]
    assert names[:4] == ["bay", "paths", "escapes", "launch_map"]
    assert names[4:] == ["hits_screen", "hits_canopy", "hits_left_net", "hits_right_net", "hits_ceiling_pad"]
    for info in written:
        image = imread(info.path)
        assert image.min() < 0.5
        assert image[0, 0, :3].min() == 1.0
        assert "2,000 shots" in info.caption


def test_the_captions_of_a_grid_count_grid_shots(run_of):
    for _, _, caption, _ in own_figures(run_of(sampled=False)):
        assert "2,000 grid shots" in caption


@pytest.mark.parametrize("name", RUNS)
def test_every_kind_of_run_can_be_drawn_without_claiming_safe_held_or_caught(drawn, name):
    for figure in drawn(name):
        assert not re.search(r"\b(safe|safely|held|caught)\b", " ".join(texts(figure)), re.IGNORECASE)


@pytest.mark.parametrize("name", RUNS)
def test_no_lettering_runs_off_the_paper(drawn, name):
    for figure in drawn(name):
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
    shown = [text for figure in drawn(name) for text in texts(figure)]
    assert any(unit in text for text in shown)
    assert not any(other in text for text in shown)


def test_the_main_measures_stand_on_the_drawing(drawn):
    for measure in ("3.20 m", "0.40 m", "1.20 m", "2.70 m", "6.60 m", "2.40 m"):  # tee to screen, gap, canopy, heights
        assert measure in texts(drawn("metric")[0])
    assert "10 ft 6 in" in texts(drawn("imperial grid")[0])


def test_the_words_of_outcomes_in_the_pictures_are_those_of_words_py(drawn):
    _, paths, room, _, screen, *_ = drawn("metric")
    for outcome in Outcome:
        told = words.OUTCOME_WORDS[outcome].replace(", ", ",\n")
        assert any(text.startswith(told) for text in texts(paths))
    for outcome in (Outcome.HIT_UNPROTECTED, Outcome.GOT_OUT):
        assert any(text.startswith(words.OUTCOME_WORDS[outcome]) for text in texts(room))
        assert any(text.startswith(words.WENT_BY_WORDS[outcome]) for text in texts(screen))


def test_the_same_run_gives_the_same_picture(run_of, tmp_path):
    for path in (tmp_path / "a.png", tmp_path / "b.png"):
        save(unfolded(run_of()), path, 30)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("outcome", Outcome)
def test_a_sample_of_paths_is_of_its_outcome_and_no_larger_than_asked(run_of, outcome):
    result = run_of()
    some = pick(result, outcome, 15)
    assert len(np.unique(some)) == 15
    assert (result.outcome[some] == outcome).all()


def test_paths_end_at_the_first_contact(run_of):
    result = run_of()
    paths = follow(result, pick(result, Outcome.MET_GUARD, 30))
    assert np.allclose(paths.points[:, -1], result.contacts.point[:, paths.shots].T, atol=1e-3)


def test_pyplot_and_its_global_state_are_never_used():
    code = "import sys, flightsim.report.figures; print('matplotlib.pyplot' in sys.modules)"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert shown.strip() == "False"


def test_the_heat_on_a_guard_adds_up_to_what_it_meets_of_1000_balls(run_of):
    result = run_of()
    screen = guards(result)[0]
    corners = np.concatenate([o for k in screen.index for o in silhouettes(result.bay.parts[k].shape, screen.frame)])
    counts, _, _ = _heat(result, screen, *_window(result, screen.frame, corners), 0.1)
    share = 1000 * result.weight[np.isin(result.contacts.part, screen.index)].sum()
    assert counts.sum() == pytest.approx(share, rel=1e-9)


def test_balls_that_went_by_a_guard_are_marked_outside_its_outline_only(run_of, drawn):
    place = [guard.label for guard in guards(run_of())].index("right net")
    figure = drawn("metric")[4 + place]
    marks = next(line for line in figure.axes[0].lines if line.get_marker() == "x").get_xydata()
    assert len(marks) > 10
    assert (-marks[:, 0] < 1.6 + 1e-6).all()  # the net begins 1.6 m from the tee, the screen is on the left


def test_a_guard_can_be_drawn_when_no_ball_escaped(run_of):
    result = run_of()
    empty = follow(result, np.empty(0, dtype=np.intp))
    assert isinstance(hits_figure(result, guards(result)[0], empty), Figure)
