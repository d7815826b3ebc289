"""Ways out of a swing that hits something: the shortest moves that can be made in this bay, in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, PartKind, Role
from flightsim.bay.shapes import Shape
from flightsim.bay.swing import moves_to_clear

if TYPE_CHECKING:
    from flightsim_plugins.swing_room import Clearance

Array = NDArray[np.float64]

AT_A_DOOR = "somebody at the "  # of plugins.people: whoever comes in
LEVEL = 0.01  # m: a roof that slopes by less is flat
FAR = 1.5  # m: nobody moves a thing by more (judgement)
SLACK = 0.01  # m: by so much a tape is off, and one thing may lie in another
SHORTEST = 0.1  # m: what is shortened to less is no longer there (judgement)
NONE = "a wider place, or a shorter club"
HOLE = 0.0427  # m: a ball's diameter (Rules of Golf, equipment rules, part 4)
REACHED = ", with a screen that reaches it"
WAYS = np.vstack([np.eye(3), -np.eye(3)])  # as `moves_to_clear` counts them


def the(name: str) -> str:
    """A thing's name in a sentence; somebody with a name has no article."""
    return name if name.startswith("somebody") or name[:1].isupper() else f"the {name}"


def ways_out(bay: Bay, found: Clearance, shapes: Sequence[Shape], margin: float, show: Callable[[float], str]) -> str:
    """The two shortest moves that leave the margin and can be made, in words.

    shapes: of the thing. A thing's move one way is the tee's the other way. None goes out of the room or into what
    stands in it.
    """
    if found.thing.startswith(AT_A_DOOR):  # nobody moves a door
        return f"let nobody in by the {found.thing.removeprefix(AT_A_DOOR)} while a club is swung"
    corners = [np.concatenate(shape.outlines()).T for shape in shapes if shape.outlines()]
    moves = np.max([np.zeros(6), *(moves_to_clear(found.swing, each, margin) for each in corners)], axis=0)
    words = _words(found)
    if found.owner == "room" and all(np.ptp(each[2]) < LEVEL for each in corners):  # the same wherever the tee is
        words = {k: f"{way}, or hit no full swing here" for k, way in words.items() if k == 2}
    ways = [
        k
        for k in sorted(words, key=lambda k: float(moves[k]))
        if 0.0 < moves[k] <= FAR and _can_be(bay, found, corners, k, float(moves[k]))
    ]
    none = "nobody there while a club is swung, or a shorter club" if found.kind == "person" else NONE
    told_with = {k: REACHED if _leaves_a_hole(bay, found, corners, k, float(moves[k])) else "" for k in ways[:2]}
    return ", or ".join(words[k].format(show(moves[k])) + more for k, more in told_with.items()) or none


def _words(found: Clearance) -> dict[int, str]:
    """What may be done, by the index of the thing's move in `moves_to_clear`."""
    name, tee = the(found.thing), the(found.spot)
    if found.owner == "room":
        more = {2: f"give {name} {{}} more height"} if found.thing in ("roof", "tie beams") else {}
        return more | {0: f"move {tee} {{}} back", 1: f"move {tee} {{}} to the right",
                       3: f"move {tee} {{}} toward the screen", 4: f"move {tee} {{}} to the left"}  # fmt: skip
    words = {0: f"move {name} {{}} toward the screen", 1: f"move {name} {{}} to the left", 2: f"raise {name} by {{}}",
             3: f"move {name} {{}} toward the back", 4: f"move {name} {{}} to the right"}  # fmt: skip
    if found.thing == "frame legs":
        return {0: "make the canopy {} shorter, for its legs stand under its front, or carry it by hangers"}
    if found.kind == "person":
        del words[2]
    return words | ({0: f"make {name} {{}} shorter"} if found.owner in ("canopy", "side_nets") else {})


def _can_be(bay: Bay, found: Clearance, corners: Sequence[Array], k: int, move: float) -> bool:
    """Whether this way out can be gone in this bay."""
    if found.owner == "room":
        return k == 2 or _tee_can_be(bay, found.ball, found.ball - move * WAYS[k])
    if k == 0 and found.owner in ("canopy", "side_nets"):
        return all(np.ptp(each[0]) - move >= SHORTEST for each in corners)
    axis, to_the_left = k % 3, min(each[1].min() for each in corners) > found.ball[1]
    if found.owner == "side_nets" and axis == 1 and (WAYS[k, 1] > 0.0) != to_the_left:
        return False  # inward: between the ball and the screen
    for each in corners:
        low, high = each.min(axis=1), each.max(axis=1)
        low_then, high_then = low + move * WAYS[k], high + move * WAYS[k]
        if low_then[axis] < bay.lower[axis] - SLACK or high_then[axis] > bay.upper[axis] + SLACK:
            return False
        if any(_meet(low_then, high_then, part) and not _meet(low, high, part) for part in _standing(bay, found)):
            return False
    return True


def _leaves_a_hole(bay: Bay, found: Clearance, corners: Sequence[Array], k: int, move: float) -> bool:
    """Whether a net that is moved aside so far has a hole between itself and the screen that lets a ball through."""
    screens = bay.guards_of(PartKind.SCREEN)
    if found.owner != "side_nets" or k % 3 != 1 or not screens:
        return False
    aside = float(WAYS[k, 1])  # 1 to the left
    inner = min(float((aside * each[1]).min()) for each in corners) + move
    edge = max(float((aside * np.array(part.shape.bounds())[:, 1]).max()) for part in screens)
    return inner - edge > HOLE


def _tee_can_be(bay: Bay, ball: Array, then: Array) -> bool:
    """Whether the tee stays in the room, and what stands there stays clear of its way; guards go aside with it."""
    if np.any(then[:2] < bay.lower[:2]) or np.any(then[:2] > bay.upper[:2]):
        return False
    low, high = np.minimum(ball, then) - SLACK, np.maximum(ball, then) + 2.0 * SLACK
    aside = abs(then[1] - ball[1]) > 0.0
    follow = ("frame",) if aside else ()
    return not any(
        _meet(low, high, part)
        for part in bay.parts
        if (part.role is Role.UNPROTECTED and part.owner not in follow) or (part.role is Role.GUARD and not aside)
    )


def _standing(bay: Bay, found: Clearance) -> list[Part]:
    """What stays where it is: no guard, no tube that follows one, no face of the room."""
    return [
        part for part in bay.parts if part.role is Role.UNPROTECTED and part.owner not in ("room", "frame", found.owner)
    ]


def _meet(low: Array, high: Array, part: Part) -> bool:
    """Whether a box and a part's box go into one another by more than the slack; a sheet, where it lies in one."""
    lower, upper = part.shape.bounds()
    deep = np.minimum(SLACK, np.minimum(high - low, upper - lower))
    return bool(np.all(np.minimum(high, upper) - np.maximum(low, lower) >= deep))
