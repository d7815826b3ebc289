"""Files of a strike: a page with its drawing and the numbers, or one picture."""

from __future__ import annotations

from pathlib import Path

from flightsim.report.draw.one_strike_figure import one_strike_figure
from flightsim.report.draw.strike_figure import strike_figure, write_strike_figure
from flightsim.report.pages.answer_folder import write_answer
from flightsim.report.pages.strike_page import mix_page, strike_page
from flightsim.study.single.one_strike import OneStrike, Struck
from flightsim.study.single.strike_mix import StrikeMix, mix_data

DATA, PICTURE, PAGE = "strike.json", "strike.png", "strike.html"


def write_one(struck: Struck, order: OneStrike, units: str, out: Path) -> str:
    """One strike; says where its page is. Raises BadInputError for a folder that cannot be written."""
    write_answer(
        out, (DATA, dict(struck.numbers)), (PICTURE, one_strike_figure(struck, order, units)),
        (PAGE, lambda drawn: strike_page(struck, order, units, drawn)),
    )  # fmt: skip
    return f"The page: {out / PAGE}"


def write_many(mix: StrikeMix, units: str, figure: Path | None, out: Path | None) -> str:
    """A player's strikes: a picture, a page, or both; says where they are. Raises BadInputError."""
    if figure is not None:
        write_strike_figure(mix, units, figure)
    if out is not None:
        write_answer(
            out, (DATA, mix_data(mix)), (PICTURE, strike_figure(mix, units)),
            (PAGE, lambda drawn: mix_page(mix, units, drawn)),
        )  # fmt: skip
    drew = [] if figure is None else [f"Drew {figure}."]
    return "\n".join([*drew, *([] if out is None else [f"The page: {out / PAGE}"])])
