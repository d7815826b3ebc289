"""Lettering in any script: a font that has it where the machine has one, else boxes and a line that says so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

import matplotlib
from matplotlib import font_manager
from matplotlib.artist import Artist
from matplotlib.axis import Axis
from matplotlib.figure import Figure
from matplotlib.text import Text

from flightsim.scenario.reading.letters import NOTE, STAND_IN, as_drawn, runs_leftward

VERSION: tuple[int, ...] = tuple(matplotlib.__version_info__[:2])
OWN = "DejaVu Sans"  # which matplotlib brings
_NORMAL = (400, "normal", "regular")  # weights: of a family without one the search for fonts warns
_NO_LETTERS = "Last Resort"  # fonts that draw a box for everything


def make_legible(figure: Figure) -> None:
    """Give every text of a figure letters that can be drawn; what cannot becomes boxes, and a note says so."""
    texts = [text for text in _texts(figure) if not text.get_text().isascii()]
    missing = frozenset(
        letter for text in texts for letter in text.get_text() if not letter.isspace() and ord(letter) not in known()
    )
    if not missing and not any(runs_leftward(text.get_text()) for text in texts):
        return
    family = [OWN, *_families(missing)]
    letters = known().union(*(_letters(name) for name in family[1:]))
    replaced = False
    for text in texts:
        text.set_fontfamily(family)
        shown = as_drawn(text.get_text(), letters, VERSION)
        replaced |= STAND_IN in shown and STAND_IN not in text.get_text()
        text.set_text(shown)
    if replaced:
        figure.text(1.0, 0.0, f"{NOTE} ", fontsize=7.0, color="0.35", ha="right", va="bottom")


def _texts(artist: Artist) -> Iterator[Text]:
    """Every text that is drawn with an artist. Ticks that nobody sees are not asked for: asking makes them."""
    if isinstance(artist, Axis) and not artist.axes.axison:
        return
    if isinstance(artist, Text):
        yield artist
    for child in artist.get_children():
        yield from _texts(child)


def known() -> frozenset[int]:
    """Code points of the font that every machine has."""
    return _letters(OWN)


@cache
def _families(missing: frozenset[str]) -> tuple[str, ...]:
    """Fonts of this machine that have what is missing, as few as it takes; none where none has any of it."""
    found, left = [], {ord(letter) for letter in missing}
    upright = [font for font in font_manager.fontManager.ttflist if font.style == "normal" and font.weight in _NORMAL]
    names: Iterable[str] = sorted({font.name for font in upright})
    for name in names:
        if not left:
            break
        if name.startswith(_NO_LETTERS) or name == OWN or not left & _letters(name):
            continue
        found.append(name)
        left -= _letters(name)
    return tuple(found)


@cache
def _letters(name: str) -> frozenset[int]:
    """Code points that a font has; none where it cannot be read."""
    try:
        return frozenset(font_manager.get_font(font_manager.findfont(name, fallback_to_default=False)).get_charmap())
    except (OSError, RuntimeError, ValueError):
        return frozenset()
