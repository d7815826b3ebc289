"""All files of a run, written beside their place and moved there whole, or not at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from flightsim.errors import PluginError
from flightsim.plugin.hookspecs import OutputFile, ReportFigure, ReportSection
from flightsim.report.draw.figures import write_figures
from flightsim.report.pages.folder import built_beside, check_out, not_written
from flightsim.report.pages.run_page import write_page
from flightsim.report.pages.scene_data import scene_data, wanted
from flightsim.report.pages.shots_ahead import ShotsAhead
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.replay import replay
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import RunResult
from flightsim.study.run.run_files import summary, write_facts, write_json, write_shot_files

FILES = "files"  # of a results folder: what plugins add to it


@dataclass(frozen=True)
class Added:
    """What plugins add to a page, and what failed as they were asked."""

    sections: Sequence[ReportSection] = ()
    figures: Sequence[ReportFigure] = ()
    failed: Sequence[PluginError] = ()
    files: Sequence[OutputFile] = ()
    columns: Mapping[str, NDArray[Any]] = field(default_factory=dict)

    @property
    def sections_and_failures(self) -> list[ReportSection]:
        """The sections, and in the place of each that failed, who failed and how."""
        return [*self.sections, *(ReportSection(f"Failed: {_who(error)}", (str(error),)) for error in self.failed)]


def write_run(
    result: RunResult,
    judgements: Sequence[Judgement],
    add: Callable[[], Added],
    out: Path,
    say: Callable[[str], None] = lambda step: None,
    opened: OpenBay | None = None,
    as_csv: bool | None = None,
    ahead: ShotsAhead | None = None,
) -> RunResult:
    """Write all files of a run to `out`; returns the run as it is told there, with what plugins failed to say.

    An earlier result stays whole until the new one is. add: asked when the data are written, so that a plugin that
    fails costs its own words and no more. opened: the bay that was flown; without it, pictures of whole ways are left
    out. as_csv: as in `write_data`; ahead: where the files of the shots are on their way.

    Raises BadInputError when the folder cannot be written or is full.
    """
    check_out(out)
    try:
        with built_beside(out) as building:
            say("writing the shots")
            write_facts(result, judgements, building)
            if ahead is None or not ahead.move_into(building):
                write_shot_files(result, building, as_csv)
            added = add()
            if added.columns:
                write_shot_files(result, building, as_csv, added.columns)
            if added.failed:
                result = result.without(added.failed)
                write_json(building / "summary.json", summary(result, judgements))
            write_files(added.files, building / FILES)
            say("drawing the pictures")
            pictures = write_figures(result, building / "figures", added.figures, opened=opened)
            scene = None if opened is None else scene_data(result, replay(opened, result, wanted(result)))
            write_page(result, judgements, pictures, added.sections_and_failures, building / "report.html", scene)
    except OSError as error:
        raise not_written(out, error) from error
    return result


def write_files(files: Sequence[OutputFile], folder: Path) -> None:
    """Write the plugins' files; one whose name is taken gets a number. Raises OSError."""
    for each in files:
        folder.mkdir(exist_ok=True)
        path, k = folder / each.name, 2
        while path.exists():
            path, k = folder / f"{Path(each.name).stem} {k}{Path(each.name).suffix}", k + 1
        path.write_bytes(each.data)


def _who(error: PluginError) -> str:
    """`plugin 'rack'`: who is blamed."""
    return str(error).split(" (")[0].split(":")[0]
