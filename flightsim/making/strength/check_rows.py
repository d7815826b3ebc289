"""What was checked, and what is anchored where, as tables for CSV."""

from __future__ import annotations

from collections.abc import Sequence

from flightsim.making.as_rows import Cell, Rows
from flightsim.making.strength.check import NOT_A_CERTIFICATE, Checks
from flightsim.making.structure import Structure


def check_rows(checks: Checks) -> Rows:
    """Every check as in build.json, with what it is not on each line."""
    head = ("name", "value", "limit", "limit_is", "unit", "ok", "passes", "why", "source", "note")

    def number(value: float | None) -> Cell:
        return "not known" if value is None else float(f"{value:.4g}")

    return head, [
        (c.name, number(c.value), number(c.limit), "least" if c.least else "most", c.unit, "yes" if c.ok else "no",
         c.passes, c.why, c.source, NOT_A_CERTIFICATE)
        for c in checks.checks
    ]  # fmt: skip


def anchor_rows(checks: Checks, structures: Sequence[Structure], tee: tuple[float, float]) -> Rows:
    """Each foot and bracket: where it is, from the walls and the slab, what pulls and shears each of its anchors.

    tee: from the end wall and from the left wall, m.
    """
    head = ("name", "into", "anchors", "pull_each_n", "shear_each_n", "from_end_wall_mm", "from_left_wall_mm",
            "above_slab_mm", "why", "why_shear")  # fmt: skip
    places = {
        hold.name: structure.bar(hold.bar).start if hold.end == "start" else structure.bar(hold.bar).end
        for structure in structures
        for hold in structure.holds
    }
    found: list[tuple[Cell, ...]] = []
    for anchor in checks.anchors:
        data = anchor.as_data()
        x, y, z = places[anchor.name]
        found.append(
            (anchor.name, str(data["into"]), anchor.count, *(round(float(str(data[key]))) for key in head[3:5]),
             *(round(metres * 1e3, 1) for metres in (tee[0] - x, tee[1] - y, z)), str(data["why"]),
             str(data["why_shear"]))
        )  # fmt: skip
    return head, found
