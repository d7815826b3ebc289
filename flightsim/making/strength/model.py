"""From bars to the skeleton that is analysed: middle lines brought together where bars meet.

Half a tube between middle lines is closed by leading the shorter bar on to the other's middle line: it makes that bar
a little longer than it is. Braces carry no bending at their ends; feet and brackets tilt freely, whatever the joints,
but do not let their bars spin. Pinned joints pass no bending on, and next to no twist.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flightsim.making.pieces import Bar, Place, TubeSection
from flightsim.making.strength.analysis import refuse_mechanism
from flightsim.making.strength.meeting import BRACE, NEAR, End, Meeting, loose_ends, meetings
from flightsim.making.strength.sections import HollowSection, hollow_section
from flightsim.making.strength.skeleton import (
    BENDING,
    FREE,
    PINNED,
    Beam,
    BeamLoad,
    LineLoad,
    Load,
    Node,
    NodeLoad,
    Skeleton,
    Stiffness,
    steel,
)
from flightsim.making.structure import Structure

Array = NDArray[np.float64]
Joints = Literal["rigid", "pinned"]

LIMP = 1e-3  # of a bar's twisting stiffness is left with pinned joints: no bar leans on it, and none spins freely
BESIDE = 0.25  # of a bar's size: an end that is itself led on to a third bar takes no more along with it (judgement)
SQUARE_ON = 0.99  # cosine of a bar to the axis that it stands along


@dataclass(frozen=True)
class Model:
    """A structure as it is analysed. pieces: the beams of each bar from its start; ends: the nodes of its two ends."""

    structure: Structure
    joints: Joints
    skeleton: Skeleton
    pieces: dict[str, tuple[Beam, ...]]
    ends: dict[str, tuple[str, str]]
    meetings: tuple[Meeting, ...]
    loose: tuple[tuple[str, End], ...]
    held: dict[str, str]  # node of each hold, by the hold's name

    def check_stands(self) -> None:
        """Raise Mechanism where it may fold: with pinned joints no twist helps it to stand."""
        slack = (replace(beam, stiffness=replace(beam.stiffness, twist=0.0)) for beam in self.skeleton.beams)
        refuse_mechanism(replace(self.skeleton, beams=tuple(slack)) if self.joints == "pinned" else self.skeleton)

    def even(self, bar: str, force: Place) -> list[Load]:
        """A load along the whole bar, N/m."""
        return [LineLoad(beam.name, force) for beam in self.pieces[bar]]

    def load_at(self, bar: str, part: float, force: Place) -> Load:
        """A force, N, at this part of the bar's length."""
        beams = self.pieces[bar]
        lengths = np.array([self.skeleton.length(beam) for beam in beams])
        reach, start = part * lengths.sum(), 0.0
        for beam, length in zip(beams, lengths, strict=True):
            if reach <= start + length + 1e-9:
                along = float(np.clip((reach - start) / length, 0.0, 1.0))
                if along < 1e-6:
                    return NodeLoad(beam.start, force)
                return NodeLoad(beam.end, force) if along > 1.0 - 1e-6 else BeamLoad(beam.name, along, force)
            start += length
        raise ValueError(f"'{bar}' has no place at {part:g} of its length")

    def section(self, bar: str) -> HollowSection:
        """Of the bar's tube."""
        return hollow_section(self.structure.bar(bar).section)


class _Groups:
    """Which places are one node: union-find over keys (bar, part), the first that was joined to gives the place."""

    def __init__(self) -> None:
        self.up: dict[tuple[str, float], tuple[str, float]] = {}

    def root(self, key: tuple[str, float]) -> tuple[str, float]:
        while key in self.up:
            key = self.up[key]
        return key

    def join(self, key: tuple[str, float], onto: tuple[str, float]) -> None:
        a, b = self.root(key), self.root(onto)
        if a != b:
            self.up[a] = b


def model_of(structure: Structure, joints: Joints) -> Model:
    """The structure as lines, its joints all rigid or all pinned. Raises ValueError for tubes that cannot be."""
    met = meetings(structure.bars)
    held = [(hold.bar, hold.end) for hold in structure.holds]
    met = tuple(m for m in met if (m.bar, m.end) not in held)
    groups, stops, meets = _joined(structure, met)
    names: dict[tuple[str, float], str] = {}
    for bar in structure.bars:
        for stop in stops[bar.name]:
            names.setdefault(groups.root((bar.name, stop)), "")
    for hold in structure.holds:  # what is held stays where it is held
        meets.pop((hold.bar, 0.0 if hold.end == "start" else structure.bar(hold.bar).span), None)
    places = {key: _place(structure.bar(key[0]), meets.get(key, key[1])) for key in names}
    for key in names:
        names[key] = _name(structure, stops, key)
    supports = {names[groups.root((h.bar, 0.0 if h.end == "start" else structure.bar(h.bar).span))]: h.name
                for h in structure.holds}  # fmt: skip
    spins = {hold.name: PINNED | _spin(structure.bar(hold.bar)) for hold in structure.holds}
    nodes = tuple(Node(n, places[k], spins[supports[n]] if n in supports else FREE) for k, n in names.items())
    pieces, ends = {}, {}
    for bar in structure.bars:
        along = [names[groups.root((bar.name, stop))] for stop in stops[bar.name]]
        stiff = stiffness_of(bar.section, joints)
        pieces[bar.name] = _beams(bar, along, stiff, _frees(bar, met, joints))
        ends[bar.name] = (along[0], along[-1])
    skeleton = Skeleton(nodes, tuple(beam for bar in structure.bars for beam in pieces[bar.name]))
    loose = tuple(loose_ends(structure.bars, met, held))
    return Model(structure, joints, skeleton, pieces, ends, met, loose, {v: k for k, v in supports.items()})


def _spin(bar: Bar) -> frozenset[str]:
    """What a plate or bracket holds beside its place: a bar that stands square on it does not spin about itself."""
    lines = [abs(b - a) / bar.span for a, b in zip(bar.start, bar.end, strict=True)]
    if bar.role.startswith(BRACE) or max(lines) < SQUARE_ON:
        return FREE
    return frozenset({("rx", "ry", "rz")[lines.index(max(lines))]})


def _joined(
    structure: Structure, met: tuple[Meeting, ...]
) -> tuple[_Groups, dict[str, list[float]], dict[tuple[str, float], float]]:
    """Nodes along each bar, from its start, m; which of them are one; and where a bar's last node is, if short of its
    end: what stands out past a joint is left out.
    """
    groups = _Groups()
    meets: dict[tuple[str, float], float] = {}
    stops = {bar.name: [0.0, bar.span] for bar in structure.bars}
    led_on = {(m.bar, 0.0 if m.end == "start" else structure.bar(m.bar).span) for m in met}
    for m in met:
        on, bar = structure.bar(m.on), structure.bar(m.bar)
        size = max(on.section.size, bar.section.size)
        near = [
            place
            for place in stops[m.on]
            if abs(place - m.along) <= (BESIDE if (m.on, place) in led_on else NEAR) * size
        ]
        place = min(near, key=lambda stop: abs(stop - m.along)) if near else m.along
        if not near:
            stops[m.on] = sorted([*stops[m.on], place])
        if place in (0.0, on.span):
            meets.setdefault((m.on, place), m.along)
        groups.join((m.bar, 0.0 if m.end == "start" else bar.span), (m.on, place))
    return groups, stops, meets


def _place(bar: Bar, distance: float) -> Place:
    start, end = np.array(bar.start), np.array(bar.end)
    x, y, z = (float(c) for c in start + (end - start) * distance / bar.span)
    return x, y, z


def _name(structure: Structure, stops: dict[str, list[float]], key: tuple[str, float]) -> str:
    """A node's name: which end of which bar, or how far along it."""
    bar, distance = structure.bar(key[0]), key[1]
    if distance in (0.0, bar.span):
        low = (bar.start[2] <= bar.end[2]) == (distance == 0.0)
        upright = abs(bar.start[2] - bar.end[2]) > 0.7 * bar.span
        word = ("foot" if low else "top") if upright else ("start" if distance == 0.0 else "end")
        return f"{bar.name} {word}"
    return f"{bar.name} at {distance:.2f} m"


def _frees(bar: Bar, met: tuple[Meeting, ...], joints: Joints) -> tuple[frozenset[str], frozenset[str]]:
    """What the bar's two ends do not pass on: all bending at pinned joints; bending and twist at a brace's bolts."""
    brace = bar.role.startswith(BRACE)
    pinned = brace or joints == "pinned"
    ends: tuple[End, End] = ("start", "end")
    joined = [any(m.bar == bar.name and m.end == end for m in met) for end in ends]
    first, last = (BENDING if pinned and here else FREE for here in joined)
    return first, (last | {"rx"} if brace and last else last)


def stiffness_of(section: TubeSection, joints: Joints) -> Stiffness:
    """Of a bar of this tube between such joints."""
    stiff = steel(hollow_section(section))
    return replace(stiff, twist=LIMP * stiff.twist) if joints == "pinned" else stiff


def _beams(
    bar: Bar, along: list[str], stiff: Stiffness, free: tuple[frozenset[str], frozenset[str]]
) -> tuple[Beam, ...]:
    last = len(along) - 2
    return tuple(
        Beam(
            bar.name if last == 0 else f"{bar.name}, part {k + 1}", along[k], along[k + 1], stiff,
            free_start=free[0] if k == 0 else FREE, free_end=free[1] if k == last else FREE,
        )
        for k in range(last + 1)
    )  # fmt: skip
