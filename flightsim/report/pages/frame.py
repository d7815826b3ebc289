"""The frame of every page: one file, complete without a network, read on a phone, in the dark and on paper."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any, Protocol

from jinja2 import Environment, FunctionLoader, StrictUndefined

from flightsim import __version__
from flightsim.report.pages.table_look import as_cards
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.free_names import free_name
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.models import Scenario

FRAME = "frame.html.j2"
PIXELS = 104  # of the page for one inch of a drawing, so that all drawings have lettering of one size
WHITE, MOSTLY = 245, 0.5  # of 255; a drawing's share of white paper
CONTENTS_FROM = 4  # sections from which on a page has a list of them


class Line(Protocol):
    """A line of an answer: a sign and a word before its text, and a level (`bad`, `warn`, `good` or empty)."""

    @property
    def sign(self) -> str: ...  # noqa: D102
    @property
    def word(self) -> str: ...  # noqa: D102
    @property
    def text(self) -> str: ...  # noqa: D102
    @property
    def level(self) -> str: ...  # noqa: D102


@dataclass(frozen=True)
class Picture:
    """A picture with its bytes as an address of its own. alt: what it shows, for who cannot see it; width and height:
    CSS pixels, where known; about: as of a plugin's ReportFigure; line_work: drawn on white paper, which may be turned
    dark where a reader prefers that.
    """

    title: str
    caption: str
    source: str
    alt: str = ""
    width: int | None = None
    height: int | None = None
    about: str = ""
    line_work: bool = True


@dataclass(frozen=True)
class Section:
    """A piece of a page: paragraphs, then pictures, then tables, then what is folded away under it.

    folded: the whole section can be shut, and is until somebody opens it; opened: it is not shut at first. on_paper:
    whether it is printed; what is shut is not, but for printed_shut. anchor: made of the title where none is given.
    """

    title: str
    words: Sequence[str] = ()
    tables: Sequence[Table] = ()
    pictures: Sequence[Picture] = ()
    folds: Sequence[Section] = ()
    folded: bool = False
    opened: bool = False
    on_paper: bool = True
    printed_shut: bool = False
    anchor: str = ""


def page(
    title: str,
    sections: Sequence[Section],
    *,
    kind: str = "",
    facts: Sequence[str] = (),
    lines: Sequence[Line] = (),
    template: str = FRAME,
    **more: Any,
) -> str:
    """A whole page as text; everything in it is escaped.

    kind: what the page answers ("Where a ball may go"); facts: small print under the title (date, version, seed);
    lines: the answer, first. template, more: a page of its own on this frame, with what it shows.
    """
    return environment().get_template(template).render(
        title=title, kind=kind, facts=facts, lines=lines, caution=CAUTION, sections=_anchored(sections),
        contents=len(sections) >= CONTENTS_FROM, css=text_of("page.css"), wide=template != FRAME, **more,
    )  # fmt: skip


@cache
def environment() -> Environment:
    """All templates of this room, with everything escaped."""
    made = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        loader=FunctionLoader(text_of),
    )  # fmt: skip
    made.globals["as_cards"] = as_cards
    return made


def text_of(name: str) -> str:
    """The text of a file of this room."""
    return files("flightsim.report.pages").joinpath(name).read_text(encoding="utf-8")


def picture(
    path: Path, title: str, caption: str = "", alt: str = "", width: float | None = None, ours: bool = True
) -> Picture:
    """A picture on disk (PNG or SVG), as it stands in a page. width: inches of the drawing. ours: it is a drawing on
    white paper; a plugin's is looked at. Raises OSError.
    """
    data = path.read_bytes()
    drawn = ours or _on_white_paper(data)
    kind = "image/svg+xml" if path.suffix == ".svg" else "image/png"
    source = f"data:{kind};base64,{b64encode(data).decode('ascii')}"
    if width is None:
        return Picture(title, caption, source, alt, line_work=drawn)
    across = round(width * PIXELS)
    return Picture(title, caption, source, alt, across, _height(data, across), line_work=drawn)


def made_by(scenario: Scenario) -> tuple[str, ...]:
    """Small print for under a title: the day, the version, the file and the hash of its text."""
    digest = hashlib.sha256(scenario.text.encode("utf-8")).hexdigest()[:12]
    day = date.today().isoformat()
    return day, f"flightsim {__version__}", f"{Path(scenario.file).name}, sha256 {digest}"


def _on_white_paper(data: bytes) -> bool:
    """Whether most of a PNG is white, as of a drawing; a photograph must not be turned dark, nor what is not read."""
    from PIL import Image  # not needed by pages without a plugin's picture

    try:
        with Image.open(BytesIO(data)) as opened:
            shades = opened.convert("L").histogram()
    except (OSError, ValueError):
        return False
    return sum(shades[WHITE:]) > MOSTLY * sum(shades)


def _height(data: bytes, width: int) -> int | None:
    """The height of a PNG drawn this wide, so that nothing jumps as it loads; None for others."""
    if data[:8] != b"\x89PNG\r\n\x1a\n":
        return None
    own = int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")
    return round(width * own[1] / own[0])


def _anchored(sections: Sequence[Section], taken: set[str] | None = None) -> list[Section]:
    """The sections with an anchor each, all different."""
    taken = set() if taken is None else taken
    return [
        replace(
            section,
            anchor=free_name(section.anchor or section.title, taken, "-", "part"),
            folds=_anchored(section.folds, taken),
        )
        for section in sections
    ]
