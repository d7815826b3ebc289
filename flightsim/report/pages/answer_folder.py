"""An answer's files: all of it as data, a picture and a page; moved into place whole, or not at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flightsim.errors import Asked, BadInputError
from flightsim.report.draw.style import save
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.study.run.run_files import write_json

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def write_answer(
    out: Path,
    data: tuple[str, dict[str, Any]],
    picture: tuple[str, Figure],
    page: tuple[str, Callable[[Path], str]] | None = None,
) -> Path:
    """Write all, each by its file name; an earlier result stays whole until the new one is. Raises BadInputError.

    page: the text of a page, made of the path of the picture on disk (`frame.page`, `frame.picture`).
    """
    check_out(out)
    try:
        with built_beside(out) as building:
            write_json(building / data[0], data[1])
            save(picture[1], building / picture[0])
            if page is not None:
                (building / page[0]).write_text(page[1](building / picture[0]), encoding="utf-8")
    except OSError as error:
        raise BadInputError(
            Asked("folder", str(out)),
            f": {error.strerror or error}; nothing was written there\n  try: another ",
            Asked("folder"),
        ) from error
    return out
