"""A frame's braces, and its bars back to the end wall: at 45 degrees from corner to corner, clear of what they join.

Braces are bolted: those beside a corner are cut square and stop where their corners touch; those at the head and in
plan lie behind and on top of the bars. Where the bars are higher than the canopy, those in plan lie between them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import dist, sqrt

from flightsim.making.frame_pieces import TAB
from flightsim_plugins.frame_bar import FrameBar, Place
from flightsim_plugins.frame_model import Frame
from flightsim_plugins.screen import Screen

SIDES = (("left", 1.0), ("right", -1.0))  # and the way inward, from the left wall


def _named(bars: Sequence[FrameBar], name: str) -> FrameBar | None:
    return next((bar for bar in bars if bar.name == name), None)


def _off(frame: Frame) -> float:
    """From a bar's middle line to the end of a brace's, square to the bar, m: the brace's corner touches the bar."""
    return frame.tube.size / 2.0 * (1.0 + 1.0 / sqrt(2.0))


def _top_bar_height(bars: Sequence[FrameBar]) -> float:
    return next(bar.start[2] for bar in bars if bar.name == "top bar")


def wall_bars(frame: Frame, screen: Screen, bars: Sequence[FrameBar]) -> Iterator[FrameBar]:
    """From the uprights' heads to the end wall, level with the top bar; and slanting ones from the top bar."""
    if frame.wall_bars == "none":
        return
    z, s = _top_bar_height(bars), screen.gap_behind
    for side, inward in SIDES:
        upright = _named(bars, f"{side} upright")
        assert upright is not None
        t = upright.start[1]
        foam = (0.0, frame.foam_on("uprights"))
        yield FrameBar("wall_bars", f"{side} wall bar", (0.0, t, z), (s - frame.half("uprights"), t, z), under=foam)
        if frame.wall_bars == "braced":
            reach, corner = s - _off(frame), frame.tube.size / 2.0 / sqrt(2.0)
            near = t + inward * 2.0 * frame.tube.size
            start, end = (corner, near, z), (reach, near + inward * (reach - corner), z)
            yield FrameBar("braces", f"{side} wall brace", start, end)


def braces_at_screen(frame: Frame, bars: Sequence[FrameBar]) -> Iterator[FrameBar]:
    """Behind the top corners of the screen, and on the bars on the floor."""
    reach, size, off = frame.brace_length, frame.tube.size, _off(frame)
    for side, inward in SIDES:
        upright, base = _named(bars, f"{side} upright"), _named(bars, f"{side} base bar")
        assert upright is not None
        s, t, _ = upright.start
        if "head" in frame.braces:
            z = _top_bar_height(bars)
            start, end = _past((s - size, t, z - reach), (s - size, t + inward * reach, z))
            yield FrameBar("braces", f"{side} head brace", start, end)
        if "base" in frame.braces and base is not None:
            yield FrameBar("braces", f"{side} base brace", (s + off, t, reach), (s + reach, t, base.start[2] + off))


def braces_at_canopy(frame: Frame, around: Sequence[FrameBar], of_canopy: Sequence[FrameBar]) -> Iterator[FrameBar]:
    """Under the side bars, from the legs to the front bar, and on top of the front corners."""
    reach, size, off = frame.brace_length, frame.tube.size, _off(frame)
    front = next(bar for bar in of_canopy if bar.bars == "front_bar")
    for side, inward in SIDES:
        arm = next(bar for bar in of_canopy if bar.bars == "side_bars" and bar.name.startswith(side))
        upright, leg = _named(around, f"{side} upright"), _named(of_canopy, f"{side} leg")
        assert upright is not None
        if "canopy" in frame.braces:
            (s, t, _), (_, t_arm, z) = upright.start, arm.start
            near, far = (s + off, t, z - reach), (s + reach, t_arm, _height(arm, s + reach) - off)
            yield FrameBar("braces", f"{side} canopy brace", near, far)
        if "front" in frame.braces and leg is not None:
            s, t, _ = leg.start
            z = front.start[2]
            start, end = (s, t + inward * off, z - reach), (s, t + inward * reach, z - off)
            yield FrameBar("braces", f"{side} front brace", start, end)
        if "plan" in frame.braces and frame.canopy_bars != "around":  # on a board there is room between the bars
            (s, _, z), t = front.start, arm.start[1]
            start, end = (s - reach, t + inward * off, _height(arm, s - reach)), (s - off, t + inward * reach, z)
            yield FrameBar("braces", f"{side} plan brace", start, end, arm.up)
        elif "plan" in frame.braces:
            s, t, z = front.start[0], arm.start[1], front.start[2] + size
            back, far = _past((s - reach, t, _height(arm, s - reach) + size), (s, t + inward * reach, z))
            yield FrameBar("braces", f"{side} plan brace", back, far)


def _past(start: Place, end: Place) -> tuple[Place, Place]:
    """A brace that lies on two bars goes on past their middle lines, where its bolts are, to have steel around them."""
    step = [TAB * (b - a) / dist(start, end) for a, b in zip(start, end, strict=True)]
    (a, b, c), (d, e, f), (x, y, z) = start, end, step
    return (a - x, b - y, c - z), (d + x, e + y, f + z)


def _height(bar: FrameBar, s: float) -> float:
    """Of a side bar's middle line, so far from the end wall, m."""
    (s0, _, z0), (s1, _, z1) = bar.start, bar.end
    return z0 + (z1 - z0) * (s - s0) / (s1 - s0)
