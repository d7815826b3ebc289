"""All files of a run, written beside their place and moved there whole, or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from flightsim.errors import BadInputError
from flightsim.plugin.hookspecs import ReportFigure, ReportSection
from flightsim.report.draw.figures import write_figures
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.report.pages.run_page import write_page
from flightsim.report.pages.scene_data import scene_data, wanted
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.replay import replay
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import RunResult
from flightsim.study.run.run_files import write_data


def write_run(
    result: RunResult,
    judgements: Sequence[Judgement],
    sections: Sequence[ReportSection],
    figures: Sequence[ReportFigure],
    out: Path,
    say: Callable[[str], None] = lambda step: None,
    opened: OpenBay | None = None,
) -> Path:
    """Write all files of a run to `out`. An earlier result stays whole until the new one is.

    opened: the bay that was flown; without it, pictures of whole ways are left out.

    Raises BadInputError when the folder cannot be written or is full.
    """
    check_out(out)
    try:
        with built_beside(out) as building:
            say("writing the shots")
            write_data(result, judgements, building)
            say("drawing the pictures")
            pictures = write_figures(result, building / "figures", figures, opened=opened)
            scene = None if opened is None else scene_data(result, replay(opened, result, wanted(result)))
            write_page(result, judgements, pictures, sections, building / "report.html", scene)
    except OSError as error:
        raise BadInputError(
            f"--out {out}: {error.strerror or error}; nothing was written there\n  try: another --out, or free space"
        ) from error
    return out
