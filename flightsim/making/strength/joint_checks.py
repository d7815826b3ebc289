"""Whether joints can be put together: a sleeve that slides and holds, bolts far enough from edges, ends that meet."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, sqrt

import numpy as np

from flightsim.making.pieces import Bar, Place, TubeSection
from flightsim.making.strength.check_one import Check
from flightsim.making.strength.meeting import BRACE, loose_ends, meetings
from flightsim.making.strength.sizes import tabled
from flightsim.making.structure import Sleeves, Structure

END_DISTANCE, EDGE_DISTANCE, PITCH = 1.2, 1.2, 2.2  # times the hole (EN 1993-1-8:2005, table 3.3)
BOLTS = "EN 1993-1-8:2005, table 3.3: end and edge 1.2 d0, pitch 2.2 d0"
ROUND = 0.005  # m: where people mark holes
LONG = 1.5  # least overlap over the tube's size (common practice, no source)
MEET = "an end lies on another bar, or on the floor, wall or roof"
LOOSEST = 0.0025  # m a side: more play than this is no sleeve (judgement)


def hole(bolt: float) -> float:
    """Diameter of a bolt's hole, m: 1 mm more up to M14, 2 mm above (EN 1090-2:2008, table 11)."""
    return bolt + (0.001 if bolt <= 0.014 + 1e-9 else 0.002)


def fitting_sleeve(tube: TubeSection, clearance: float, inside: bool = True) -> TubeSection | None:
    """The tabled tube that slides in, or over, with the least play; the thickest wall of its size. None: there is none.

    clearance: least play a side, m.
    """
    listed = tabled(tube.shape, tube.by_the_inch)
    fits = [size for size in listed if play(tube, size, inside) >= clearance - 1e-9]
    fits = [size for size in fits if not inside or corner_clears(tube, size)]
    if not fits:
        return None
    least = min(play(tube, size, inside) for size in fits)
    return max((e for e in fits if abs(play(tube, e, inside) - least) < 1e-6), key=lambda size: size.wall)


def play(tube: TubeSection, sleeve: TubeSection, inside: bool) -> float:
    """Room on each side, m; below nought it does not go in."""
    inner, outer = (sleeve, tube) if inside else (tube, sleeve)
    return (outer.size - 2.0 * outer.wall - inner.size) / 2.0


def corner_clears(tube: TubeSection, sleeve: TubeSection) -> bool:
    """Whether a square sleeve's corners clear the inner corners of the tube that it goes into."""
    if tube.shape == "round":
        return True
    inner_radius = max(tube.corner_radius - tube.wall, 0.0)
    return (sqrt(2.0) - 1.0) * (inner_radius - sleeve.corner_radius) <= sqrt(2.0) * play(tube, sleeve, True) + 1e-9


def joint_checks(structure: Structure) -> tuple[Check, ...]:
    """Of all joints: ends that meet nothing, and sleeves and their bolts."""
    found = list(_loose(structure))
    if structure.joining == "sleeve" and structure.sleeves is not None:
        found += _sleeves(structure, structure.sleeves)
    elif structure.joining == "sleeve":
        source, why = "EN 10219-2: sizes as tabled", f"no tabled tube slides into {structure.bars[0].section.name}"
        found.append(
            Check("sleeve goes in", None, None, "", source, False, "joint: {kind: welded}, or another tube", why)
        )
    return tuple(found)


def _loose(structure: Structure) -> Iterator[Check]:
    """Ends in the air. A post may rise past what it carries, and an arm's tip is free."""
    held = [(hold.bar, hold.end) for hold in structure.holds]
    for name, end in loose_ends(structure.bars, meetings(structure.bars), held):
        bar = structure.bar(name)
        place = bar.start if end == "start" else bar.end
        where = f"its {end}, {place[2]:.2f} m above the slab, lies on no bar; {_nearest(structure, bar, place)}"
        yield Check(f"joint of {name}", 1.0, 0.0, "loose ends", MEET, False, _way_out(bar), where)


def _nearest(structure: Structure, bar: Bar, place: Place) -> str:
    """Which bar is nearest, and how far its middle line is off, in words."""
    found = []
    for other in structure.bars:
        if other is not bar and not other.role.startswith(BRACE):
            start, end = np.array(other.start), np.array(other.end)
            part = np.clip((np.array(place) - start) @ (end - start) / other.span**2, 0.0, 1.0)
            off = start + part * (end - start) - np.array(place)
            found.append((float(np.linalg.norm(off)), other.name, off))
    _, name, off = min(found, key=lambda pair: pair[0])
    ways = (("toward the wall", "toward the tee"), ("to the left", "to the right"), ("higher", "lower"))
    shifts = [f"{abs(d) * 1e3:.0f} mm {way[0] if d > 0.0 else way[1]}" for d, way in zip(off, ways, strict=True)
              if abs(d) > 5e-4]  # fmt: skip
    return f"the middle of {name} is {', '.join(shifts)}"


def _way_out(bar: Bar) -> str:
    if bar.role == "side bar":
        return "post_top: canopy, or a canopy height and side_overhang that bring it in line with the upright"
    return "bars that meet"


def _sleeves(structure: Structure, sleeves: Sleeves) -> Iterator[Check]:
    tube = structure.bars[0].section
    sleeve = sleeves.section(tube.shape)
    room = play(tube, sleeve, sleeves.inside)
    best = fitting_sleeve(tube, sleeves.clearance, sleeves.inside)
    help_ = f"a sleeve of {best.name}" if best else "welded corners, or a tube that another slides into"
    goes = room >= sleeves.clearance - 1e-9 and (not sleeves.inside or corner_clears(tube, sleeve))
    yield Check("sleeve goes in" if sleeves.inside else "sleeve goes over", room * 1e3, sleeves.clearance * 1e3,
                "mm a side", "room for paint, seam and scale (common practice, no source)", goes,
                "" if goes else help_, least=True)  # fmt: skip
    snug = room <= LOOSEST + 1e-9
    yield Check("play of the sleeve", room * 1e3, LOOSEST * 1e3, "mm a side", "judgement: more rattles and leans",
                snug, "" if snug else f"{help_}, or shims", _leans(structure, sleeves, room))  # fmt: skip
    least = LONG * tube.size
    yield Check("overlap of the sleeve", sleeves.overlap * 1e3, least * 1e3, "mm",
                "1.5 times the tube (common practice, no source)", sleeves.overlap >= least - 1e-9,
                "" if sleeves.overlap >= least - 1e-9 else f"{least * 1e3:g} mm", least=True)  # fmt: skip
    yield from _bolts(structure, sleeves)
    for bar in structure.bars:
        if not bar.role.startswith(BRACE) and bar.span < 2.0 * sleeves.overlap and sleeves.inside:
            yield Check(f"sleeves in {bar.name}", bar.span * 1e3, 2e3 * sleeves.overlap, "mm",
                        "two sleeves meet inside it", False, "a shorter overlap, or welded", least=True)  # fmt: skip


def _leans(structure: Structure, sleeves: Sleeves, room: float) -> str:
    """What the play does at the tip of the longest arm before the sleeve binds."""
    arms = [structure.bar(side).span for canopy in structure.canopies for side in canopy.sides]
    if not arms or room <= 0.0:
        return ""
    drop = 2.0 * room / sleeves.overlap * max(arms)
    return f"until it binds, an arm's tip may drop {drop * 1e3:.0f} mm: draw the bolts tight, or shim"


def bolt_places(sleeves: Sleeves) -> tuple[float, ...]:
    """From the tube's end, m: evenly along the overlap, the first at twice the least end distance or a little more, in
    whole 5 mm, if there is room.
    """
    first = min(ceil(2.0 * END_DISTANCE * hole(sleeves.bolt) / ROUND - 1e-9) * ROUND, sleeves.overlap / 2.0)
    if sleeves.bolts == 1:
        return (sleeves.overlap / 2.0,)
    step = (sleeves.overlap - 2.0 * first) / (sleeves.bolts - 1)
    return tuple(first + k * step for k in range(sleeves.bolts))


def _bolts(structure: Structure, sleeves: Sleeves) -> Iterator[Check]:
    d0, places, tube = hole(sleeves.bolt), bolt_places(sleeves), structure.bars[0].section
    inner = min(tube.size, sleeves.size)
    rows = [("bolt to the end of its tube", min(places[0], sleeves.overlap - places[-1]), END_DISTANCE * d0),
            ("bolt to the edge of its tube", inner / 2.0, EDGE_DISTANCE * d0)]  # fmt: skip
    if len(places) > 1:
        rows.append(("bolt to bolt", places[1] - places[0], PITCH * d0))
    for name, value, limit in rows:
        ok = value >= limit - 1e-9
        help_ = "" if ok else "a thinner or single bolt, or a longer overlap"
        yield Check(name, value * 1e3, limit * 1e3, "mm", BOLTS, ok, help_, f"hole {d0 * 1e3:g} mm", least=True)
