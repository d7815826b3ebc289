"""How a table stands on a narrow screen: as it is, or as a card a row, where columns would be a word wide."""

from __future__ import annotations

from flightsim.report.words.plain_table import Table

ABREAST = 52  # characters that stand beside one another on a phone, in the letters of a table (measured at 390 px)
LONG, LONGER = 16, 24  # characters from which on a cell is read as words, not looked up, and is a paragraph


def as_cards(table: Table) -> bool:
    """Whether a row is too wide for a phone and has words in two columns or a paragraph after its first.

    Other wide tables move sideways: numbers are compared down a column.
    """
    longest = [max((len(row[k]) for row in table.rows), default=0) for k in range(len(table.head))]
    words = [0 if k in table.numbers else size for k, size in enumerate(longest)]
    wordy = sum(size > LONG for size in words) > 1 or any(size > LONGER for size in words[1:])
    return wordy and sum(longest) > ABREAST
