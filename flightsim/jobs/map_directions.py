"""One `map` from order to files and terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console
from rich.text import Text

from flightsim.engine.notice import telling_with
from flightsim.jobs.print_json import print_json
from flightsim.library.bay_in_code import Scenario, open_bay
from flightsim.library.look_everywhere import look_everywhere
from flightsim.report.pages.folder import check_out
from flightsim.report.words.map_told import print_map
from flightsim.study.map.bay_map import MapOrder
from flightsim.study.map.directions import aims_of, chosen


def map_and_report(scenario: Path, sets: Sequence[str], order: MapOrder, out: Path, as_json: bool = False) -> None:
    """Map, write everything, print the answer. Raises BadInputError."""
    opened = open_bay(Scenario(scenario, tuple(sets)))
    chosen(aims_of(opened, 8), order.clubs)  # an unknown club is refused before any work is done
    check_out(out)
    with _progress() as say:
        found = look_everywhere(opened, order, say)
        say("drawing the pictures")
        found.save(out)
    if as_json:
        print_json(found.summary)
        return
    console = Console(highlight=False)
    print_map(found.result, console)
    console.print(Text(f"\nPage {out / 'map.html'}, pictures beside it, all numbers in {out / 'map.json'}"))


@contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """What is being done, on a terminal's error stream; nothing in a pipe."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda words: None
        return
    with console.status("reading") as status, telling_with(console.print):
        yield lambda words: status.update(words)
