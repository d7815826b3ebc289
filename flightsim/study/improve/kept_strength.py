"""Whether what carries the protection still holds: its bars meet, and it passes what it passed."""

from __future__ import annotations

from collections.abc import Sequence

from flightsim.making.strength.check import checked
from flightsim.making.strength.meeting import loose_ends, meetings
from flightsim.making.structure import Structure
from flightsim.study.run.open_bay import OpenBay


def loose_joints(opened: OpenBay) -> list[str]:
    """Ends of bars that nothing holds and that lie on no other bar, in words: what `build` tells as loose."""
    found = []
    for structure in structures_of(opened):
        held = [(hold.bar, hold.end) for hold in structure.holds]
        ends = loose_ends(structure.bars, meetings(structure.bars), held)
        found += [f"the {end} of the {name} lies on no bar" for name, end in ends]
    return found


def structures_of(opened: OpenBay) -> list[Structure]:
    """What stands and carries in a bay."""
    return opened.plugins.structures(opened.scenario)


def failing(structures: Sequence[Structure]) -> frozenset[str]:
    """The checks of `build` that these frames do not pass, by name."""
    return frozenset(check.name for check in checked(structures).checks if not check.ok)
