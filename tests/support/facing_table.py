"""The table of docs/facings.md, from the facings that come with flightsim. Run it to write it anew:

python tests/support/facing_table.py
"""

from __future__ import annotations

from math import isinf
from pathlib import Path

import numpy as np

from flightsim.contact.facings import Facing, shipped_facings
from flightsim.flight.ball import LEGAL_BALL

FILE = Path(__file__).parents[2] / "docs" / "facings.md"
MARK = "<!-- Written from flightsim/contact/facings.yaml by tests/support/facing_table.py: change that, not this. -->\n"
SPEEDS = np.array([10.0, 45.0])
HEAD = ("facing", "e at 10 m/s", "e at 45 m/s", "friction", "hold, m/s", "damage, J", "broken, J", "source and range")


def row(facing: Facing) -> tuple[str, ...]:
    """One facing as the table has it."""
    slow, fast = facing.restitution(SPEEDS, LEGAL_BALL)
    energies = ("-" if isinf(energy) else f"{energy:g}" for energy in (facing.damage, facing.broken))
    hold = f"{facing.hold:g}" if facing.hold else "-"
    return (f"`{facing.name}`", f"{slow:.2f}", f"{fast:.2f}", f"{facing.friction:.2f}", hold, *energies, facing.source)


def text() -> str:
    """The whole table as Markdown."""
    rows = [HEAD, tuple("---" for _ in HEAD), *(row(facing) for facing in shipped_facings().values())]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in rows) + "\n"


if __name__ == "__main__":
    words, _, _ = FILE.read_text(encoding="utf-8").partition(MARK)
    FILE.write_text(words + MARK + "\n" + text(), encoding="utf-8")
