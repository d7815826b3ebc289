"""`flightsim.map_directions`: every launch direction of a bay, what stops it, and the nearest ways out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flightsim.library.bay_in_code import ScenarioLike, open_bay
from flightsim.library.looks import frame, html_paragraph, html_table, no_figure, paper
from flightsim.report.draw.map_figure import map_figure
from flightsim.report.pages.map_page import write_map
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.map_told import print_map
from flightsim.report.words.map_words import escape_table, title, verdict
from flightsim.study.map.bay_map import BayMap, MapOrder, map_bay
from flightsim.study.map.map_files import map_facts
from flightsim.study.run.open_bay import OpenBay

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class DirectionsMap:
    """The maps of a bay, one a club and speed. result: everything, as arrays."""

    result: BayMap

    @property
    def summary(self) -> dict[str, Any]:
        """What map.json holds; docs/map.md tells every key."""
        return map_facts(self.result)

    @property
    def table(self) -> Any:
        """One row an escape, in words: a pandas data frame where pandas is installed, else arrays by name."""
        tables = [(title(club, self.result), escape_table(club, self.result)) for club in self.result.clubs]
        rows = [(name, *row) for name, table in tables for row in table.rows]
        head = ("club", *(tables[0][1].head if tables else ()))
        return frame({name: [row[k] for row in rows] for k, name in enumerate(head)})

    @property
    def pictures(self) -> tuple[str, ...]:
        """The names of its pictures, for `figure`: one a club and speed."""
        return tuple(title(club, self.result) for club in self.result.clubs)

    def figure(self, name: str = "") -> Figure:
        """The map of one club, the first where no name is given. Raises BadInputError with the names that there are."""
        names = self.pictures
        if name and name not in names:
            raise no_figure(name, names)
        return map_figure(self.result.clubs[names.index(name) if name else 0], self.result)

    def save(self, folder: str | Path) -> Path:
        """Write all files of `flightsim map` into a folder, whole or not at all. Raises BadInputError."""
        return write_map(self.result, Path(folder))

    def __str__(self) -> str:
        """The answer in words, as the terminal tells it."""
        console, text = paper()
        print_map(self.result, console)
        return text.getvalue().strip()

    def _repr_html_(self) -> str:
        pieces = [html_paragraph(self.result.opened.scenario.name)]
        for club in self.result.clubs:
            pieces += [html_paragraph(title(club, self.result)), *map(html_paragraph, verdict(club, self.result))]
            pieces.append(html_table(escape_table(club, self.result)))
        return "".join(pieces) + html_paragraph(" ".join(CAUTION))


def map_directions(
    scenario: ScenarioLike | OpenBay, clubs: Sequence[str] = (), factors: Sequence[float] = (1.0,)
) -> DirectionsMap:
    """Look in every launch direction. clubs: all in use where none is named; factors: of the normal ball speed.

    Raises ScenarioError, BadInputError or PluginError, each with a way out.
    """
    return look_everywhere(open_bay(scenario), MapOrder(clubs=tuple(clubs), factors=tuple(factors)))


def look_everywhere(bay: OpenBay, order: MapOrder, say: Callable[[str], None] = lambda words: None) -> DirectionsMap:
    """As `map_directions`; say is told what is being done."""
    return DirectionsMap(map_bay(bay, order, say))
