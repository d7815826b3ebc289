"""Lettering put together from glyphs that are drawn once: matplotlib shapes and renders each letter of each text anew.

Glyphs stand on whole pixels, as their hinted widths do.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg, get_hinting_flag
from matplotlib.ft2font import Kerning
from numpy.typing import NDArray

PIXEL = 64.0  # of a font's own units
SIMPLE = 0x300  # code points below stand side by side, left to right: Latin letters and signs
SIGNS = frozenset((*range(0x2010, 0x2028), 0x2212, 0x2264, 0x2265))  # as do dashes, quotes, dots, minus, at most
MOST_FOUNTS = 100

Ink = NDArray[np.uint8]


@dataclass(frozen=True)
class Glyph:
    """One letter. ink `(h, w)` uint8: how dark; left, top: pixels from its origin to the ink's left edge, and up to its
    upper one; advance: to the next letter's origin; above, below: how far its outline reaches over the line and under.
    """

    ink: Ink
    left: int
    top: int
    advance: int
    above: float
    below: float
    index: int


@dataclass(frozen=True)
class Word:
    """Letters side by side. ink, left, top: as of a glyph; width, height, descent: pixels, as matplotlib asks."""

    ink: Ink
    left: int
    top: int
    width: float
    height: float
    descent: float


@dataclass
class Fount:
    """The glyphs of one font at one size, kept."""

    font: Any  # matplotlib's FT2Font
    size: float
    dpi: float
    glyphs: dict[str, Glyph] = field(default_factory=dict)
    kerns: dict[tuple[str, str], float] = field(default_factory=dict)

    def word(self, text: str) -> Word:
        """A text as ink."""
        placed, pen, before = [], 0.0, ""
        for letter in text:
            pen += self._kern(before, letter) if before else 0.0
            glyph = self._glyph(letter)
            placed.append((round(pen), glyph))
            pen, before = pen + glyph.advance, letter
        left = min(pen_at + glyph.left for pen_at, glyph in placed)
        top = max(glyph.top for _, glyph in placed)
        right = max(pen_at + glyph.left + glyph.ink.shape[1] for pen_at, glyph in placed)
        foot = max(glyph.ink.shape[0] - glyph.top for _, glyph in placed)
        ink = np.zeros((top + foot, right - left), dtype=np.uint8)
        for pen_at, glyph in placed:
            row, column = top - glyph.top, pen_at + glyph.left - left
            there = ink[row : row + glyph.ink.shape[0], column : column + glyph.ink.shape[1]]
            np.maximum(there, glyph.ink, out=there)
        above, below = max(glyph.above for _, glyph in placed), max(glyph.below for _, glyph in placed)
        return Word(ink, left, top, pen, above + below, below)

    def _glyph(self, letter: str) -> Glyph:
        if letter not in self.glyphs:
            self.font.set_size(self.size, self.dpi)  # others use the same font
            flags: Any = get_hinting_flag()  # type: ignore[no-untyped-call]
            self.font.set_text(letter, 0.0, flags=flags)
            self.font.draw_glyphs_to_bitmap(antialiased=True)
            advance, height = self.font.get_width_height()
            below = self.font.get_descent() / PIXEL
            above = height / PIXEL - below
            ink = np.array(self.font.get_image(), dtype=np.uint8)
            left = int(self.font.get_bitmap_offset()[0] // PIXEL)
            index = self.font.get_char_index(ord(letter))
            self.glyphs[letter] = Glyph(ink, left, int(above) + 1, round(advance / PIXEL), above, below, index)
        return self.glyphs[letter]

    def _kern(self, before: str, letter: str) -> float:
        if (before, letter) not in self.kerns:
            self.font.set_size(self.size, self.dpi)
            pair = self._glyph(before).index, self._glyph(letter).index
            closer = self.font.get_kerning(*pair, Kerning.UNFITTED) if all(pair) else 0
            self.kerns[before, letter] = closer / PIXEL
        return self.kerns[before, letter]


_founts: dict[tuple[int, float], Fount] = {}


class GlyphRenderer(RendererAgg):
    """Matplotlib's renderer, which draws simple level and upright texts from kept glyphs, and all others as it does."""

    def draw_text(
        self, gc: Any, x: float, y: float, s: str, prop: Any, angle: float, ismath: Any = False, mtext: Any = None
    ) -> None:
        """As RendererAgg.draw_text."""
        if angle not in (0.0, 90.0) or not gc.get_antialiased() or not _is_simple(s, ismath, mtext):
            super().draw_text(gc, x, y, s, prop, angle, ismath, mtext)  # type: ignore[no-untyped-call]
            return
        word, column, row = self._fount(prop).word(s), round(x), round(y)
        if angle == 0.0:
            ink, left, bottom = word.ink, column + word.left, row - word.top + word.ink.shape[0]
        else:
            ink, left, bottom = np.ascontiguousarray(np.rot90(word.ink)), column - word.top, row - word.left
        self._renderer.draw_text_image(ink, left, bottom, 0, gc)

    def get_text_width_height_descent(self, s: str, prop: Any, ismath: Any) -> tuple[float, float, float]:
        """As RendererAgg.get_text_width_height_descent."""
        if not _is_simple(s, ismath, None):
            parent: Any = super()
            found: tuple[float, float, float] = parent.get_text_width_height_descent(s, prop, ismath)
            return found
        word = self._fount(prop).word(s)
        return word.width, word.height, word.descent

    def _fount(self, prop: Any) -> Fount:
        key = hash(prop), self.dpi
        if key not in _founts:
            if len(_founts) >= MOST_FOUNTS:
                _founts.clear()
            font = self._prepare_font(prop)  # type: ignore[no-untyped-call]
            _founts[key] = Fount(font, prop.get_size_in_points(), self.dpi)
        return _founts[key]


def _is_simple(text: str, ismath: Any, mtext: Any) -> bool:
    """Whether letters stand side by side as they are, with nothing to shape."""
    if ismath or not text or not text.isprintable():
        return False
    if not (text.isascii() or all(ord(letter) < SIMPLE or ord(letter) in SIGNS for letter in text)):
        return False
    wanted = [getattr(mtext, name, None) for name in ("get_fontfeatures", "get_language")]  # newer than 3.10
    return not any(ask() for ask in wanted if ask is not None)


class GlyphCanvas(FigureCanvasAgg):
    """A figure's canvas with such a renderer."""

    def get_renderer(self) -> Any:
        """As FigureCanvasAgg.get_renderer."""
        width, height = self.get_width_height(physical=True)
        key = width, height, self.figure.dpi
        if self._lastKey != key:
            self.renderer: Any = GlyphRenderer(width, height, self.figure.dpi)  # type: ignore[no-untyped-call]
            self._lastKey = key
        return self.renderer
