"""Rows that are no shots: sums of others, units under the names, the names again. Never flown, always told."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence

from flightsim.shots.measured_cells import unit_meant
from flightsim.shots.measured_table import BadCell, Record

# Words of statistics, alone or with a number or a group after them: `Average`, `Avg (12 shots)`, `Std. Dev.`.
_SUMS = re.compile(
    r"(averages?|avg|means?|medians?|std|stdev|st\.? ?dev|std\.? ?dev(iation)?|standard deviations?|deviations?|"
    r"mittel(wert)?|durchschnitt|standardabweichung|moyennes?|[\u00e9e]cart[- ]type|media|promedio|gemiddelde|"
    r"variance|sigma|\u00f8|\u03c3|x\u0304|totals?|subtotals?|sums?|summary|min(imum)?|max(imum)?|range|count)"
    r"\.?(?=$|[\s:(,;./-])",
    re.IGNORECASE,
)
_OFTEN = 0.2  # from which share of all rows on one first word is a name, of a player called Max, and no sum


def set_aside(
    records: Sequence[Record], header: tuple[str, ...], numbers: Mapping[str, int], club: int | None
) -> tuple[tuple[Record, ...], tuple[BadCell, ...]]:
    """The rows that are shots, and those that are not, with why.

    numbers: our names to places of their columns; club: place of the club's column.
    """
    sums = {k: word for k, (_, cells) in enumerate(records) if (word := _sum(cells, club))}
    times = Counter(_bare(word) for word in sums.values())
    names = {word for word, count in times.items() if count > max(_OFTEN * len(records), 2)}
    sums = {k: word for k, word in sums.items() if _strong(word) or _bare(word) not in names}
    kept, aside = [], []
    for k, (line, cells) in enumerate(records):
        if k in sums:
            aside.append(BadCell(line, "", repr(sums[k][:40]), "begins a row that sums up others: it is no shot"))
        elif k == 0 and _units(cells, numbers):
            aside.append(BadCell(line, "", "the row", "holds the columns' units: it is no shot"))
        elif tuple(cell.strip() for cell in cells) == header:
            aside.append(BadCell(line, "", "the row", "repeats the columns' names: it is no shot"))
        else:
            kept.append((line, cells))
    return tuple(kept), tuple(aside)


def unit_row(records: Sequence[Record], numbers: Mapping[str, int]) -> dict[str, str]:
    """Units by our names, from a row right under the columns' names; none where it is a shot."""
    return _units(records[0][1], numbers) if records else {}


def _units(cells: tuple[str, ...], numbers: Mapping[str, int]) -> dict[str, str]:
    there = {name: cells[place].strip() for name, place in numbers.items() if place < len(cells)}
    units = {name: unit for name, cell in there.items() if cell and (unit := unit_meant(cell))}
    filled = [cell for cell in there.values() if cell]
    return units if units and len(units) == len(filled) else {}


def _sum(cells: tuple[str, ...], club: int | None) -> str:
    """The word that says so: in the first cell that holds something, or in place of a club."""
    first = next((cell.strip() for cell in cells if cell.strip()), "")
    places = [first, cells[club].strip() if club is not None and club < len(cells) else ""]
    return next((word for word in places if _SUMS.match(word)), "")


def _bare(word: str) -> str:
    """Without a number or a group after it."""
    found = _SUMS.match(word)
    return found[0].casefold() if found else ""


def _strong(word: str) -> bool:
    """Words that are nobody's name."""
    return bool(
        re.match(
            r"(average|avg|mean|median|std|stdev|standard|deviation|variance|subtotal|mittel|durchschnitt|moyenne|promedio)",
            word,
            re.IGNORECASE,
        )
    )
