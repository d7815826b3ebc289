"""What of a frame is cut and bought: its bars with their ends and holes, sleeves, bolts, plates, caps, anchors.

A sleeve is a stub of tube welded onto the face of the bar that carries the joint; the other bar slides over it (or into
it) and is bolted through. What is welded to a bar at an angle is mitred, and what is welded to a round bar is notched:
both are cut longer by what that takes, and what stands on a plate is cut shorter by it. Braces are bolted: through a
lug, or through what they lie on. Plates and lugs: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import asin, ceil, degrees, radians, sqrt, tan
from typing import Literal, TypeAlias

import numpy as np

from flightsim.making.marking_out import bolt_marks, brace_bolt, clear_walls, weld_marks
from flightsim.making.pieces import Bar, BarEnd, Fitting, Hole, Marking, Pieces, TubeSection
from flightsim.making.strength.joint_checks import bolt_places, hole, play
from flightsim.making.strength.meeting import BRACE, End, Meeting, meetings
from flightsim.making.strength.welds import leg, throat
from flightsim.making.structure import Hold, Sleeves, Structure

NUT_AND_WASHERS = 1.75  # bolt diameters: a nut, two washers, two threads beyond (ISO 4032, ISO 7089, from memory)
PLATE = 0.006  # m thick, twice the tube wide (common practice, no source)
TAB = 0.030  # m from a brace's end to its bolt (common practice; checked against EN 1993-1-8, table 3.3)
SQUARE = 0.5  # deg off square that a square cut still welds up (common practice)
PLATES = {"floor": "foot plate", "wall": "wall bracket", "roof": "roof bracket"}
Walls: TypeAlias = Literal["through_side", "through_top"]
SNUG = 0.001  # m of play a side that needs no shim (judgement)
ENDS: tuple[End, End] = ("start", "end")


@dataclass(frozen=True)
class Corner:
    """Where bars meet: elbow, tee, three-way. carrying: the bar that goes through; joining: those that end."""

    kind: str
    carrying: str
    joining: tuple[str, ...]
    angles: tuple[float, ...]  # off square, deg, of each that ends there

    def as_data(self) -> dict[str, object]:
        """For build.json and the drawings."""
        joining = [{"bar": bar, "off_square_deg": off} for bar, off in zip(self.joining, self.angles, strict=True)]
        return {"kind": self.kind, "carrying": self.carrying, "joining": joining}


def frame_pieces(structure: Structure) -> Pieces:
    """All pieces of a frame. Bars carry no marks: they get them when all pieces are known."""
    met = meetings(structure.bars)
    system = structure.name
    marks = _markings(structure, met)
    bars = [_finished(structure, bar, met, marks) for bar in structure.bars]
    sleeves = list(_sleeves(structure, met, marks))
    fittings = [replace(fitting, system=system) for fitting in _fittings(structure, met, bars)]
    made = corners(structure)
    met_so = (f"{corner.kind} on {corner.carrying}: {', '.join(corner.joining)}{_leaning(corner)}" for corner in made)
    notes = (*_shims(structure), _welds(structure), *met_so)
    return Pieces(
        tuple(replace(bar, system=system) for bar in (*bars, *sleeves)), fittings=tuple(fittings), notes=notes,
        markings=marks,
    )  # fmt: skip


def _markings(structure: Structure, met: Sequence[Meeting]) -> tuple[Marking, ...]:
    """Where stubs, lugs and brace bolts go on the bars that carry them."""
    before = {bar.name: _before(structure, bar, met) for bar in structure.bars}
    laps: set[tuple[str, str]] = {
        (m.bar, m.end) for m in met if _lies_on(structure.bar(m.bar), m.end, structure.bar(m.on))
    }
    found = [*weld_marks(structure, met, _slides(structure), before), *bolt_marks(structure, met, laps, TAB, before)]
    order = {bar.name: k for k, bar in enumerate(structure.bars)}
    return tuple(sorted(found, key=lambda marking: (order[marking.bar], marking.along)))


def _before(structure: Structure, bar: Bar, met: Sequence[Meeting]) -> float:
    """From the end that a bar is sawn at to its middle line's start, m: long points add, a plate takes off."""
    welded = [m for m in met if (m.bar, m.end) == (bar.name, "start") and not bar.role.startswith(BRACE)]
    more = sum(_longer(structure, bar.section, m) for m in welded) if not _slides(structure) else 0.0
    return more - PLATE * _on_plate(structure, bar, "start")


def _shims(structure: Structure) -> Iterator[str]:
    """Notes that sleeves with much play rattle and let arms drop, unless they are shimmed."""
    sleeves, tube = structure.sleeves, structure.bars[0].section
    if structure.joining == "sleeve" and sleeves is not None:
        room = play(tube, sleeves.section(tube.shape), sleeves.inside)
        if room > SNUG + 1e-9:
            yield (f"{structure.name}: its sleeves have {room * 1e3:.1f} mm of play a side: shim them, or draw the "
                   "bolts tight before the next bar goes on")  # fmt: skip


def _welds(structure: Structure) -> str:
    """How large the welds are: of stubs where bars slide on such, else of the bars, and of plates."""
    sleeves = structure.sleeves if structure.joining == "sleeve" else None
    walls = {"plates": structure.bars[0].section.wall}
    walls = {"stubs": sleeves.wall} | walls if sleeves is not None else {"bars": walls["plates"]} | walls
    sizes = {piece: throat(structure.grade, wall) for piece, wall in walls.items()}
    welds = [
        f"{piece} with a throat of {size * 1e3:g} mm (leg {leg(size) * 1e3:g} mm)" for piece, size in sizes.items()
    ]
    return (f"{structure.name}: weld all round, {' and '.join(welds)}. So a weld is as strong as the wall that is "
            "welded on; welds are not checked one by one")  # fmt: skip


def _leaning(corner: Corner) -> str:
    off = [f"{angle:.1f}" for angle in corner.angles if angle > SQUARE]
    return f" (welded {' and '.join(off)} deg off square)" if off else ""


def corners(structure: Structure) -> tuple[Corner, ...]:
    """Every place where bars other than braces meet, named as fittings are."""
    places: dict[tuple[str, int], list[Meeting]] = {}
    for m in meetings(structure.bars):
        if not structure.bar(m.bar).role.startswith(BRACE):
            on = structure.bar(m.on)
            ends = [k for k, bar_end in enumerate((0.0, on.span)) if abs(m.along - bar_end) <= 1.2 * on.section.size]
            places.setdefault((m.on, ends[0] if ends else 100 + round(m.along * 100)), []).append(m)
    found = []
    for (name, place), met in places.items():
        kind = _kind(structure, name, [m.bar for m in met], place < 100)
        angles = tuple(_off_square(structure.bar(name), structure.bar(m.bar)) for m in met)
        found.append(Corner(kind, name, tuple(m.bar for m in met), angles))
    return tuple(found)


def _kind(structure: Structure, carrying: str, joining: Sequence[str], at_end: bool) -> str:
    if len(joining) == 1:
        return "elbow" if at_end else "tee"
    if len(joining) == 2:
        return "three-way" if at_end else "cross"
    return "four-way"


def _off_square(carrying: Bar, joining: Bar) -> float:
    """deg between the joining bar and square to the carrying one."""
    first, second = (np.array(bar.end) - np.array(bar.start) for bar in (carrying, joining))
    return degrees(asin(min(1.0, abs(float(first @ second)) / carrying.span / joining.span)))


def _finished(structure: Structure, bar: Bar, met: Sequence[Meeting], marks: Sequence[Marking]) -> Bar:
    """The bar with what its ends are, its holes, and the length that its cuts take, long point to long point."""
    ends = [_end(structure, bar, end, met) for end in ENDS]
    made = replace(bar, ends=(ends[0], ends[1]), length=_sawn(structure, bar, met))
    holes = [h for end in ENDS for h in _holes(structure, made, end, met, marks)]
    return replace(made, holes=tuple(sorted(holes, key=lambda hole: hole.along)))


def _sawn(structure: Structure, bar: Bar, met: Sequence[Meeting]) -> float:
    """The length that it is cut to, m."""
    welded = [m for m in met if m.bar == bar.name and not _slides(structure) and not bar.role.startswith(BRACE)]
    plates = sum(_on_plate(structure, bar, end) for end in ENDS)
    return bar.span + sum(_longer(structure, bar.section, m) for m in welded) - plates * PLATE


def _hold(structure: Structure, bar: Bar, end: End) -> Hold | None:
    return next((hold for hold in structure.holds if (hold.bar, hold.end) == (bar.name, end)), None)


def _on_plate(structure: Structure, bar: Bar, end: End) -> bool:
    """Whether the end stands on a plate: what lies on the floor or is a brace does not."""
    return _hold(structure, bar, end) is not None and not bar.role.startswith((BRACE, "base bar"))


def _slides(structure: Structure) -> bool:
    return structure.joining == "sleeve" and structure.sleeves is not None


def _cut(structure: Structure, m: Meeting) -> BarEnd:
    """How what is welded there is cut."""
    on, off = structure.bar(m.on), _off_square(structure.bar(m.on), structure.bar(m.bar))
    if on.section.shape == "round":
        return BarEnd("notched", radians(off), f"welded to {on.name}")
    return BarEnd("mitre" if off > SQUARE else "square", radians(off) if off > SQUARE else 0.0, f"welded to {on.name}")


def _longer(structure: Structure, section: TubeSection, m: Meeting) -> float:
    """How far a welded tube's long point stands out past its middle line's end, m."""
    on, off = structure.bar(m.on), radians(_off_square(structure.bar(m.on), structure.bar(m.bar)))
    slant = section.size * tan(off) if degrees(off) > SQUARE else 0.0
    if on.section.shape == "square":
        return slant
    outer, joined = on.section.size / 2.0, min(section.size, on.section.size) / 2.0
    return slant + outer - sqrt(outer**2 - joined**2)


def _end(structure: Structure, bar: Bar, end: End, met: Sequence[Meeting]) -> BarEnd:
    hold = _hold(structure, bar, end)
    if hold is not None:
        firm = "anchored" if hold.anchored else "standing"
        if _on_plate(structure, bar, end):
            return BarEnd(fitting=f"{PLATES[hold.to]}, {firm}")
        lug = (
            f"bolted to a lug on the {hold.to}" if bar.role.startswith(BRACE) else f"cap; lies on the {hold.to}, {firm}"
        )
        return BarEnd(fitting=lug)
    joints = [m for m in met if (m.bar, m.end) == (bar.name, end)]
    if not joints:
        return BarEnd(fitting="cap")
    on, sleeves = structure.bar(joints[0].on), structure.sleeves
    if bar.role.startswith(BRACE):
        return BarEnd(fitting=f"bolted to {'' if _lies_on(bar, end, on) else 'a lug on '}{on.name}")
    if sleeves is None or not _slides(structure):
        return _cut(structure, joints[0])
    way = "over" if sleeves.inside else "into"
    stub = f"{sleeves.section(bar.section.shape).name}, {sleeves.overlap * 1e3:g} mm"
    return BarEnd(fitting=f"slides {way} the sleeve on {on.name} ({stub})")


def _lies_on(brace: Bar, end: End, on: Bar) -> bool:
    """Whether a brace lies on the other bar, face to face, and is bolted through both."""
    place = np.array(brace.start if end == "start" else brace.end)
    start, line = np.array(on.start), (np.array(on.end) - np.array(on.start)) / on.span
    away = place - start - ((place - start) @ line) * line
    return float(np.linalg.norm(away)) > 0.95 * on.section.size


def _holes(
    structure: Structure, bar: Bar, end: End, met: Sequence[Meeting], marks: Sequence[Marking]
) -> Iterator[Hole]:
    """For sleeve bolts, and one at each end of a brace. bar: with its ends."""
    sleeves, fitting = structure.sleeves, bar.ends[ENDS.index(end)].fitting
    if bar.role.startswith(BRACE) and fitting.startswith("bolted"):
        bolt = brace_bolt(structure)
        use = f"M{bolt * 1e3:g} brace bolt, through {'a lug' if ' a lug on ' in fitting else 'both bars'}"
        yield Hole(TAB if end == "start" else bar.length - TAB, hole(bolt), "through_side", use)
    elif sleeves is not None and any((m.bar, m.end) == (bar.name, end) for m in met):
        walls = _bolted_through(bar, bar.length, end, sleeves, marks)
        for place in bolt_places(sleeves):
            along = place if end == "start" else bar.length - place
            yield Hole(along, hole(sleeves.bolt), walls, f"M{sleeves.bolt * 1e3:g} sleeve bolt")


def _bolted_through(bar: Bar, length: float, end: End, sleeves: Sleeves, marks: Sequence[Marking]) -> Walls:
    """The walls for all of an end's bolts: nothing welded to the bar sits on their heads. Sides, where none is free."""
    room = bar.section.size / 2.0 + 1.5 * sleeves.bolt  # half a stub and half a washer
    places = [place if end == "start" else length - place for place in bolt_places(sleeves)]
    free = [clear_walls(bar, along, marks, room) for along in places]
    return "through_top" if "through_top" in free else "through_side"


def _sleeves(structure: Structure, met: Sequence[Meeting], marks: Sequence[Marking]) -> Iterator[Bar]:
    """A stub for each end that slides on one, as long as its overlap and what its cut takes."""
    sleeves = structure.sleeves
    if structure.joining == "welded" or sleeves is None:
        return
    for m in met:
        bar, on = structure.bar(m.bar), structure.bar(m.on)
        if bar.role.startswith(BRACE):
            continue
        start, end = np.array(bar.start), np.array(bar.end)
        along = (end - start) / bar.span if m.end == "start" else (start - end) / bar.span
        first = start if m.end == "start" else end
        x, y, z = (float(c) for c in first)
        u, v, w = (float(c) for c in first + sleeves.overlap * along)
        section = sleeves.section(bar.section.shape)
        more = _longer(structure, section, m)
        yield Bar(
            "", f"sleeve of {bar.name} on {on.name}", "sleeve", section, sleeves.overlap + more, (x, y, z), (u, v, w),
            (_cut(structure, m), BarEnd()),
            _stub_holes(sleeves, more, _bolted_through(bar, _sawn(structure, bar, met), m.end, sleeves, marks)),
        )  # fmt: skip


def _stub_holes(sleeves: Sleeves, more: float, walls: Walls) -> tuple[Hole, ...]:
    """Where the bar's holes come to lie. more: what the stub's cut end takes, m."""
    use = f"M{sleeves.bolt * 1e3:g} sleeve bolt"
    return tuple(Hole(place + more, hole(sleeves.bolt), walls, use) for place in bolt_places(sleeves))


def _fittings(structure: Structure, met: Sequence[Meeting], bars: Sequence[Bar]) -> Iterator[Fitting]:
    """Bolts, caps, plates and anchors by the piece."""
    size, sleeves = structure.bars[0].section.size * 1e3, structure.sleeves
    over = sleeves.size * 1e3 if sleeves is not None and not sleeves.inside else size
    bolts = Counter(hole.use for bar in bars for hole in bar.holes)
    for use, count in bolts.items():
        name = use.split()[0]
        grip = over if "sleeve" in use else 2.0 * size if "both" in use else size + PLATE * 1e3
        long = ceil((grip + NUT_AND_WASHERS * float(name.removeprefix("M"))) / 5.0 - 1e-9) * 5
        note = f"through {grip:g} mm, at least {long} mm long, with nut and washers: {use}"
        yield Fitting(f"{name} bolt", f"bolt {name}", count, "frame", note)
    caps = sum(end.fitting.startswith("cap") for bar in bars for end in bar.ends)
    if caps:
        yield Fitting(f"end cap {size:g} mm", "end cap", caps, "frame", "open tube ends cut")
    for name in PLATES.values():
        count = sum(end.fitting.startswith(name) for bar in bars for end in bar.ends)
        if count:
            plate = f"{2 * size:g} x {2 * size:g} x {PLATE * 1e3:g} mm, welded to the tube, which is cut shorter by it"
            yield Fitting(name, name, count, "frame", plate)
    lugs = sum("a lug on " in end.fitting for bar in bars for end in bar.ends)
    if lugs:
        yield Fitting(
            "brace lug", "brace lug", lugs, "frame", "welded to the bar, or on a plate of its own, at 45 degrees"
        )
    firm = sum(hold.anchored for hold in structure.holds) * structure.anchors.count
    if firm:
        yield Fitting("anchor", "anchor", firm, "frame", "for what is listed under anchors; capacity by its maker")
