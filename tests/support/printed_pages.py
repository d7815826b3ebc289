"""A page as a browser prints it: how far down each sheet is filled, what stands on it, where its pictures lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

FORMS = ("A4", "Letter")
FOOT = 0.93  # of a sheet's height: below it stands the number of the page
NARROW = 703  # px: A4, 210 mm, without its margins of 12 mm
INK = 0.3  # of full black, at the darkest place of a row


@dataclass(frozen=True)
class Sheet:
    """One printed page. filled: down to where, of its height; pictures: their edges left, low, right, high, of the
    sheet's width and height, and how much wider each is than its own points make it.
    """

    text: str
    filled: float
    pictures: list[tuple[tuple[float, float, float, float], float]]

    @property
    def cut(self) -> list[tuple[float, float, float, float]]:
        """Pictures that reach over an edge of the sheet, or are drawn out."""
        return [edges for edges, stretch in self.pictures
                if min(edges) < 0.0 or max(edges) > 1.0 or abs(stretch - 1.0) > 0.02]  # fmt: skip


def printed(shown: Any, form: str, opened: bool = False) -> list[Sheet]:
    """The sheets of a page in this form of paper. opened: with every fold open."""
    import pypdfium2

    if opened:
        shown.evaluate("document.querySelectorAll('details').forEach((some) => { some.open = true; })")
    return [_sheet(one) for one in pypdfium2.PdfDocument(shown.pdf(format=form))]


def to_print(shown: Any) -> tuple[int, list[str]]:
    """How many pictures the page means to print, as it is, and which of its tables are wider than its narrower form."""
    before = shown.viewport_size
    shown.set_viewport_size({"width": NARROW, "height": 1000})
    shown.emulate_media(media="print")
    count = shown.evaluate("[...document.querySelectorAll('figure img')].filter((one) => one.checkVisibility()).length")
    wide = shown.evaluate(
        "[...document.querySelectorAll('table')].filter((one) => one.checkVisibility() &&"
        " one.getBoundingClientRect().right > innerWidth + 1).map((one) => one.innerText.slice(0, 80))"
    )
    shown.emulate_media(media="screen")
    shown.set_viewport_size(before)
    return int(count), wide


def _sheet(one: Any) -> Sheet:
    from pypdfium2.raw import FPDF_PAGEOBJ_IMAGE

    dark = 1.0 - np.asarray(one.render(scale=1.0, grayscale=True).to_pil()) / 255.0
    rows = np.flatnonzero((dark[: int(FOOT * len(dark))] > INK).any(axis=1))
    width, height = one.get_size()
    pictures = []
    for thing in one.get_objects():
        if thing.type == FPDF_PAGEOBJ_IMAGE:
            left, low, right, high = thing.get_bounds()
            across, down = thing.get_px_size()
            edges = (left / width, low / height, right / width, high / height)
            pictures.append((edges, (right - left) / (high - low) * down / across))
    filled = float(rows.max()) / len(dark) if rows.size else 0.0
    return Sheet(one.get_textpage().get_text_range(), filled, pictures)
