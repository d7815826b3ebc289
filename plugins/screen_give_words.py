"""What is said of how one cloth gives: the room that it needs, what it sends back, its edges, a test by hand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.cloth.closed_form import LIVELY_RETURN
from flightsim.cloth.fabric import SIDES, Cloth
from flightsim.cloth.hand_test import dents
from flightsim.contact.giving import EDGE_BAND, Give, Hung
from flightsim.plugin.hookspecs import Finding
from flightsim.scenario.reading.display import Display
from flightsim_plugins.screen_give_starters import TIGHT

Array = NDArray[np.float64]
DESIGN_SPEED = 80.0  # m/s: what a bay should be built for [ball-speeds]
PRESS = 10.0  # N: a kilogram on a luggage scale
LOOSE = 10.0  # N/m: free of wrinkles up to TIGHT (common practice, no source)
NOTHING_NEAR = 3.0  # m: further away nothing is looked for
SURFACE = 1e-3  # m


def give_finding(bay: Bay, show: Display, part: Part, give: Give, mass: float, fastest: float | None) -> Finding:
    """One finding for one cloth, for the fastest square hit, m/s, that it had."""
    speed, whose = (fastest, "the hardest of this run") if fastest else (DESIGN_SPEED, "what to build for")
    across, up, gaps, things = _gaps(part, give.frame, bay)
    v = np.full(across.size, speed)
    far = give.far_depth(v, across, up, mass) + give.ball_radius
    near, centre = (f(v, across, up, mass) + give.ball_radius for f in (give.near_depth, give.depth))
    mid = across.size // 2
    back = give.returned(v, across, up, mass) * speed
    if not np.isfinite(np.concatenate([far, back])).all():
        return Finding(f"{part.name}: how far it gives", _unknown_words(show, speed), "warning")
    worst = int((gaps - far).argmin())
    short, lively = bool(gaps[worst] < far[worst]), LIVELY_RETURN / give.damping
    words = [
        f"A square hit of {show.speed(speed)} ({whose}) sinks it and the ball {show.estimate(centre[mid])} in the "
        f"middle, {show.estimate(near[mid])} to {show.estimate(far[mid])} with what is not known of cloths, "
        f"and up to {show.enough(float(far.max()))} elsewhere: leave that behind it.",
        _gap_words(show, float(gaps[worst]), float(far[worst]), things[worst]),
        f"What comes back: likely {show.speed(float(back[mid]))} from the middle, "
        f"{show.speed(float(back.max()))} nearer its edges; from a cloth as lively as any "
        f"{show.speed(lively * float(back[mid]))} and {show.speed(lively * float(back.max()))}.",
    ]
    if give.open_at:
        words.append(_edge_words(show, give, speed, mass))
    if not give.net and give.cloth.corded == frozenset(SIDES):
        words.append(_hand_words(show, give.cloth))
    return Finding(f"{part.name}: how far it gives", " ".join(words), "warning" if short else "note")


def _gaps(part: Part, frame: Hung, bay: Bay) -> tuple[Array, Array, Array, list[str]]:
    """Places across and up the cloth `(n,)`, m, the room behind each, m, and what ends it."""
    shares = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
    across, up = (each.ravel() for each in np.meshgrid(shares * frame.width, shares * frame.height))
    start = frame.corner[:, None] + frame.right[:, None] * across + frame.up[:, None] * up
    hard = [other for other in bay.parts if other.role is Role.UNPROTECTED and other.label != part.label]
    room = np.full(across.size, NOTHING_NEAR)
    things = [""] * across.size
    for other in hard:
        reach = np.zeros(across.size)
        for _ in range(200):
            distance = other.shape.distance(start + frame.out[:, None] * reach)[0]
            going = (distance > SURFACE) & (reach < room)
            if not going.any():
                break
            reach = np.where(going, reach + distance, reach)
        # A step never passes the surface: where the steps ran out, it is at least so far, and may be no further.
        for k in np.flatnonzero(reach < room):
            room[k], things[k] = reach[k], other.label
    return across, up, room, things


def _gap_words(show: Display, gap: float, far: float, thing: str) -> str:
    if not thing:
        return f"Nothing hard is within {show.length(NOTHING_NEAR)} behind it."
    if gap < far:
        return (
            f"There is {show.length(gap)} to {thing} where it is tightest, {show.estimate(far - gap)} less than may be "
            f"needed there: balls may strike {thing} through the cloth."
        )
    return f"There is {show.length(gap)} to {thing} where it is tightest, which is more."


def _unknown_words(show: Display, speed: float) -> str:
    from flightsim.cloth.ball_in_cloth import LONGEST  # and with it the compiler

    return (
        f"What a square hit of {show.speed(speed)} does to it could not be worked out: {LONGEST:g} s after the hit a "
        "ball is still in so slack a cloth. Balls that hit it where that is so count as not followed, which counts "
        "against the bay. One way: more pretension, or stiffer cords."
    )


def _edge_words(show: Display, give: Give, speed: float, mass: float) -> str:
    sides = [side for side in SIDES if side in give.open_at]
    middle = {"left": (0.1, 0.5), "right": (0.9, 0.5), "foot": (0.5, 0.1), "top": (0.5, 0.9)}
    places = np.array([middle[side] for side in sides]).T * np.array([[give.frame.width], [give.frame.height]])
    moved = give.table(mass).edge_moved(np.full(len(sides), speed), *places).max()
    return (
        f"A hit near its {', '.join(sides)} edge pulls that edge in by some {show.estimate(float(moved))}: "
        f"in the outer {show.estimate(EDGE_BAND)} a ball may get past, and flies on to what is behind: a cover "
        "there has to overlap it by as much."
    )


def _hand_words(show: Display, cloth: Cloth) -> str:
    """How to find the pretension by pressing; nothing where the model has no answer."""
    try:
        found = dents(cloth, (LOOSE, cloth.pretension, TIGHT), PRESS)
    except ValueError:
        return ""
    loose, own, tight = map(show.length, found)
    scale = "on a luggage scale"
    press = f"{show.force(PRESS)} {scale}" if show.units == "imperial" else f"{PRESS:g} N (1 kg {scale})"
    return (
        f"To test its tension press the middle with {press}: {own} deep is the "
        f"{show.tension(cloth.pretension)} taken here, {loose} is {show.tension(LOOSE)}, {tight} is "
        f"{show.tension(TIGHT)}."
    )
