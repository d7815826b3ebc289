"""Where on each bar of a frame others are joined: stubs and bars to weld, lugs, and holes for what is bolted through.

A bar is marked out before it is welded or drilled: so far from that end of it, on that face. What stands on a plate is
measured from the tube's own end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flightsim.making.pieces import Bar, Marking
from flightsim.making.strength.joint_checks import hole
from flightsim.making.strength.meeting import BRACE, Meeting
from flightsim.making.structure import BRACE_BOLT, Structure

Array = NDArray[np.float64]

WAYS = (("wall end", "tee end"), ("left end", "right end"), ("top", "foot"))  # along x, y, z: where it is most, least
FACES = (("toward the end wall", "toward the tee"), ("to the left", "to the right"), ("the top", "the underside"))


def end_names(bar: Bar) -> tuple[str, str]:
    """What a builder calls its start and its end."""
    along = np.array(bar.end) - np.array(bar.start)
    axis = int(np.abs(along).argmax())
    most, least = WAYS[axis]
    return (least, most) if along[axis] > 0.0 else (most, least)


def across_face(bar: Bar, face: str) -> Literal["through_side", "through_top"]:
    """Which holes through a bar come out on that face. Sides of what stands are left and right; else beside it."""
    axis = int(np.abs(np.array(bar.end) - np.array(bar.start)).argmax())
    return "through_side" if face in FACES[0 if axis == 1 else 1] else "through_top"


def clear_walls(
    bar: Bar, along: float, marks: Sequence[Marking], room: float
) -> Literal["through_side", "through_top"] | None:
    """The walls through which a bolt goes so far along the bar with nothing welded in its way; None: there are none.

    room: from the middle of what is welded to the middle of the bolt, m.
    """
    taken = {across_face(bar, m.face) for m in marks if m.bar == bar.name and abs(m.along - along) < room}
    free: tuple[Literal["through_side", "through_top"], ...] = ("through_side", "through_top")
    return next((walls for walls in free if walls not in taken), None)


def brace_bolt(structure: Structure) -> float:
    """Diameter of the bolts of braces, m."""
    return structure.sleeves.bolt if structure.sleeves is not None else BRACE_BOLT


def weld_marks(structure: Structure, met: Sequence[Meeting], sleeved: bool, before: dict[str, float]) -> list[Marking]:
    """A stub, or the bar itself, for each end that is joined to a bar's face.

    before: of each bar, m, from the end that it is sawn at to its middle line's start.
    """
    found = []
    for m in met:
        bar, on = structure.bar(m.bar), structure.bar(m.on)
        if not bar.role.startswith(BRACE):
            place, along = _end(bar, m.end)
            out, face = _face(on, place + along * on.section.size)
            start, line = np.array(on.start), _line(on)
            lean = float(along @ out)
            reach = (on.section.size / 2.0 - float((place - start) @ out)) / lean if abs(lean) > 0.1 else 0.0
            from_end = float((place + reach * along - start) @ line) + before[on.name]
            work = "weld its stub" if sleeved else "weld it"
            found.append(Marking(on.name, end_names(on)[0], from_end, face, work, bar.name))
    return found


def bolt_marks(
    structure: Structure, met: Sequence[Meeting], laps: set[tuple[str, str]], tab: float, before: dict[str, float]
) -> Iterator[Marking]:
    """A hole through the bar that a brace lies on; a lug for one that stops beside it. laps: bars and ends that lie on.

    tab: from a brace's end to its bolt, m.
    """
    bolt = brace_bolt(structure)
    for m in met:
        bar, on = structure.bar(m.bar), structure.bar(m.on)
        if bar.role.startswith(BRACE):
            place, along = _end(bar, m.end)
            middle = place + tab * along
            start, line = np.array(on.start), _line(on)
            away = middle - start - float((middle - start) @ line) * line
            off = float(np.linalg.norm(away)) - on.section.size / 2.0
            from_end = float((middle - start) @ line) + before[on.name]
            work = f"drill {hole(bolt) * 1e3:g} mm through both, clamped" if (m.bar, m.end) in laps else (
                f"weld its lug, the hole {off * 1e3:.0f} mm off the face")  # fmt: skip
            yield Marking(on.name, end_names(on)[0], from_end, _face(on, middle)[1], work, bar.name)


def _line(bar: Bar) -> Array:
    return np.asarray((np.array(bar.end) - np.array(bar.start)) / bar.span)


def _end(bar: Bar, end: str) -> tuple[Array, Array]:
    """Where that end of its middle line is, and the way from there into the bar."""
    start, last, line = np.array(bar.start), np.array(bar.end), _line(bar)
    return (start, line) if end == "start" else (last, -line)


def _face(on: Bar, place: Array) -> tuple[Array, str]:
    """Square to the bar toward the place, and which face that is."""
    start, line = np.array(on.start), _line(on)
    away = place - start - float((place - start) @ line) * line
    axis = int(np.abs(away).argmax())
    out = away / max(float(np.linalg.norm(away)), 1e-9)
    return out, FACES[axis][0 if away[axis] > 0.0 else 1]
