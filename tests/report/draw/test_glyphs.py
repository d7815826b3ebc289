"""Lettering from kept glyphs: what matplotlib draws, in a fraction of its time."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from flightsim.report.draw.glyphs import GlyphCanvas, GlyphRenderer
from flightsim.report.draw.style import new_figure

WORDS = ("canopy depth 1.40 m", "hitter's head: 1 in 62", "±100 mm, 20 °C", "−20", "12")
DARK = 96  # of 255: a difference that an eye may find
OFF = 1.0  # pixels a text may stand off: a font's kerning is rounded to whole ones, as its widths are


def drawn(canvas, words: str, **look) -> np.ndarray:
    figure = Figure(figsize=(3.0, 3.0), dpi=100)
    figure.text(0.5, 0.5, words, **look)
    sheet = canvas(figure)
    sheet.draw()
    return 255 - np.asarray(sheet.buffer_rgba())[..., 0].astype(int)


def middle(ink: np.ndarray) -> np.ndarray:
    """Where the ink is, at the middle, pixels."""
    return np.array([np.average(np.arange(ink.shape[axis]), weights=ink.sum(axis=1 - axis)) for axis in (0, 1)])


@pytest.mark.parametrize("words", WORDS)
@pytest.mark.parametrize("angle", [0.0, 90.0])
@pytest.mark.parametrize("size", [7.0, 12.0])
def test_a_text_stands_where_matplotlib_puts_it_as_dark_and_as_wide(words, angle, size):
    look = {"fontsize": size, "rotation": angle, "ha": "center", "va": "center"}
    theirs, ours = drawn(FigureCanvasAgg, words, **look), drawn(GlyphCanvas, words, **look)
    assert abs(ours.sum() / theirs.sum() - 1.0) < 0.03
    assert (np.abs(middle(ours) - middle(theirs)) <= OFF).all()
    for axis in (0, 1):
        spans = [np.ptp(np.flatnonzero((ink > DARK).any(axis=axis))) for ink in (theirs, ours)]
        assert abs(spans[1] - spans[0]) <= 2.0 * OFF


def test_letters_without_kerning_on_whole_pixels_are_matplotlibs_to_the_bit():
    look = {"fontsize": 9.0, "ha": "left", "va": "baseline"}
    assert (drawn(GlyphCanvas, "mid 35", **look) == drawn(FigureCanvasAgg, "mid 35", **look)).all()


def test_what_has_to_be_shaped_is_left_to_matplotlib():
    for words in ("سلام", "e\u0301", "$x^2$"):
        assert (drawn(GlyphCanvas, words, fontsize=9.0) == drawn(FigureCanvasAgg, words, fontsize=9.0)).all()


def test_a_slanting_text_is_left_to_matplotlib():
    look = {"fontsize": 9.0, "rotation": 30.0}
    assert (drawn(GlyphCanvas, "ball", **look) == drawn(FigureCanvasAgg, "ball", **look)).all()


def test_other_users_of_the_same_font_change_no_letter():
    before = drawn(GlyphCanvas, "wall", fontsize=9.0)
    drawn(FigureCanvasAgg, "quite another text 0123", fontsize=31.0, rotation=30.0)
    drawn(GlyphCanvas, "quite", fontsize=9.0)
    assert (drawn(GlyphCanvas, "wall quite", fontsize=9.0)[:, : before.shape[1]].sum()) > before.sum()
    assert (drawn(GlyphCanvas, "wall", fontsize=9.0) == before).all()


def test_a_new_sheet_is_lettered_so():
    assert isinstance(new_figure(2.0, 2.0).canvas.get_renderer(), GlyphRenderer)
