"""A run's folder: written beside its place and moved there whole, or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from flightsim.errors import BadInputError
from flightsim.plugin.hookspecs import ReportFigure, ReportSection
from flightsim.report.figures import write_figures
from flightsim.report.page import write_page
from flightsim.study.files import write_data
from flightsim.study.require import Judgement
from flightsim.study.result import RunResult

MARK = "run.json"  # a folder that holds one is a result of ours, and may be replaced by a newer one


def check_out(out: Path) -> None:
    """Raise BadInputError where results cannot go, before any work is done."""
    if out.exists() and not out.is_dir():
        raise BadInputError(f"--out {out} is a file; allowed: a folder, new or of an earlier run")
    if out.is_dir() and any(out.iterdir()) and not (out / MARK).exists():
        raise BadInputError(
            f"--out {out} holds something that is no result of flightsim; it is left alone\n"
            "  allowed: a new folder, an empty one, or one of an earlier run"
        )
    home = out.parent
    while not home.exists():
        home = home.parent
    if not os.access(home, os.W_OK):
        raise BadInputError(f"--out {out}: {home} cannot be written to\n  try: another --out")


def write_run(
    result: RunResult,
    judgements: Sequence[Judgement],
    sections: Sequence[ReportSection],
    figures: Sequence[ReportFigure],
    out: Path,
    say: Callable[[str], None] = lambda step: None,
) -> Path:
    """Write all files of a run to `out`. An earlier result stays whole until the new one is.

    Raises BadInputError when the folder cannot be written or is full.
    """
    check_out(out)
    building: Path | None = None
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        building = Path(tempfile.mkdtemp(prefix=f".{out.name}.", suffix=".part", dir=out.parent))
        building.chmod(0o755)
        say("writing the shots")
        write_data(result, judgements, building)
        say("drawing the pictures")
        pictures = write_figures(result, building / "figures", figures)
        write_page(result, judgements, pictures, sections, building / "report.html")
        _move_into_place(building, out)
    except OSError as error:
        raise BadInputError(
            f"--out {out}: {error.strerror or error}; nothing was written there\n  try: another --out, or free space"
        ) from error
    finally:
        if building is not None:
            shutil.rmtree(building, ignore_errors=True)
    return out


def _move_into_place(building: Path, out: Path) -> None:
    """Two renames: the old result aside, the new one in; the old one back should the second fail."""
    if not out.exists():
        building.rename(out)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{out.name}.", suffix=".old", dir=out.parent))
    out.rename(aside / out.name)
    try:
        building.rename(out)
    except OSError:
        (aside / out.name).rename(out)
        raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)
