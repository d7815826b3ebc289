"""What a new scenario asks for what is hung up: screen, canopy, side nets, a ceiling pad, obstacles, a frame."""

from __future__ import annotations

from math import ceil, gcd
from typing import Any

from flightsim.scenario.reading.asking import JUST_FITS, Asks, Draft, Measure

EIGHTH = 0.0254 / 8.0  # m: of an inch, as a tape shows it
_END_WALL = "From the wall behind the screen to the side that is nearest to it."


def ask_obstacles(ask: Asks, draft: Draft) -> list[dict[str, Any]] | None:
    """The section `obstacles`: boxes, each by its place and sizes."""
    found: list[dict[str, Any]] = []
    length, width = _room(draft)
    while ask.yes(
        "Another thing that a ball may hit?" if found else "Lamps, openers, beams or pipes that a ball may hit?",
        about="Whatever hangs or stands in the room, each as a box around it. People are asked for later.",
    ):
        taken = [other["name"] for other in found]
        usual = "lamp" if not found else f"thing {len(found) + 1}"
        found.append(
            {"name": ask.words("What is it called", usual, taken, about="What results call it."), "kind": "box"}
        )
        found[-1] |= {
            "from_end_wall": ask.place("End wall to its nearest side", *length, about=_END_WALL),
            "from_left_wall": ask.place("Left wall to its left side", *width, about="The left as you face the screen."),
            "above_floor": ask.place("Slab to its underside", 20.0, "no room is so high", about="0 where it stands."),
            "length": ask.size("Its length, along the line of play", *length, about="End wall toward the back."),
            "width": ask.size("Its width, across", *width, about="Left wall toward the right."),
            "height": ask.size("Its height", 20.0, "no room is so high", about="Underside to top, not from the slab."),
            "fragile": ask.yes(
                "Does it break when it is hit?", about="Lamps, glass, openers: the odds are told apart."
            ),
        }
    return found or None


def ask_screen(ask: Asks, draft: Draft) -> dict[str, Any]:
    """The section `screen`: one, centred on the ball."""
    tee, width = draft.data["tee"], draft.facts["width"].metres
    end, left = tee["from_end_wall"], tee["from_left_wall"].metres
    half = min(left, width - left)
    wide = ask.size(
        "Screen: width, centred on the ball", 2.0 * half + JUST_FITS, "it hangs between the walls",
        about="The cloth's width as it hangs, half of it to each side of the ball.",
    )  # fmt: skip
    draft.facts["edges"] = (left - wide.metres / 2.0, left + wide.metres / 2.0)
    gap = ask.size(
        "Screen: gap behind it, cloth to end wall", end.metres, f"the ball is {end.text} from the wall",
        about="Free air from the hanging cloth to the wall. Cloth that is hit sinks in by so much and more.",
    )  # fmt: skip
    draft.facts["gap"] = gap
    foot = ask.place(
        "Screen: slab to its foot", *_under(ask, draft, 0.0), about="0 where the cloth reaches down to the slab."
    )
    top, why = _under(ask, draft, 0.0)
    height = ask.size(
        "Screen: height, foot to top", top - foot.metres, why, about="The cloth's own, not from the slab."
    )
    return {"gap_behind": gap, "width": wide, "height": height, "above_floor": foot}


def ask_canopy(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `canopy`."""
    depth = ask.maybe(
        "Canopy: depth, from the screen toward the ball", *_in_front(draft),
        about="A padded board overhead that stops balls hit too high. none: there is none.",
    )  # fmt: skip
    if depth is None:
        return None
    draft.facts["canopy"] = depth
    high = ask.size(
        "Canopy: slab to its underside",
        *_under(ask, draft, depth.metres),
        about="Where a ball meets it, foam included.",
    )
    return {"depth": depth, "height": high}


def ask_side_nets(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `side_nets`."""
    nets = {}
    for side in ("left", "right"):
        depth = ask.maybe(
            f"Side net on the {side}: depth, from the screen toward the ball", *_in_front(draft),
            about=f"A net from the screen's {side} edge toward the ball, the {side} as you face the screen.",
        )  # fmt: skip
        if depth is not None:
            about = "From the slab, or from the mat's foot, to its top."
            nets[side] = {
                "depth": depth,
                "height": ask.size("Its height", *_under(ask, draft, depth.metres), about=about),
            }
    return nets or None


def ask_ceiling(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `ceiling`: one pad."""
    if not ask.yes(
        "A padded zone on the roof's underside?", about="Foam under the roof, for balls that pass over the canopy."
    ):
        return None
    (length, in_length), (width, in_width) = _room(draft)
    end = ask.place("Pad: end wall to its nearer edge", length, in_length)
    left = ask.place("Pad: left wall to its left edge", width, in_width)
    return {"pads": [{
        "name": "ceiling pad", "from_end_wall": end, "from_left_wall": left,
        "length": ask.size("Pad: length along the line", length - end.metres + JUST_FITS, in_length, about="Backward."),
        "width": ask.size("Pad: width", width - left.metres + JUST_FITS, in_width, about="Across, toward the right."),
        "thickness": ask.size("Pad: thickness", 1.0, "a pad is no thicker", about="Of the foam, down from the roof."),
    }]}  # fmt: skip


def ask_frame(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `frame`: of its own tubes, with the usual ones."""
    about = "Steel tubes of usual size around screen and canopy, which a ball may hit. n: it hangs from walls and roof."
    if not ask.yes("Does a frame of tubes carry the screen?", about=about):
        return None
    about = "standing: it stands free, on feet. anchored: bolted to the slab."
    also = {"bolted": "anchored", "fixed": "anchored", "concrete": "anchored", "free": "standing"}
    frame: dict[str, Any] = {"feet": ask.choice("Its feet", ("standing", "anchored"), "standing", about, also)}
    if "canopy" in draft.facts:
        about = "legs: posts down to the slab. hangers: from the roof. none: it is held at its back alone."
        carried = ask.choice("What carries the canopy's front corners", ("legs", "hangers", "none"), "legs", about,
                             {"posts": "legs", "roof": "hangers", "ropes": "hangers", "chains": "hangers",
                              "nothing": "none"})  # fmt: skip
        frame |= {"front_support": carried, "post_top": "canopy"}
        if carried == "legs":
            frame["braces"] = ["plan"]
    about = "Bars and brackets from its top corners back to the wall. n: it sways, and needs other braces."
    if ask.yes("Is its top fixed to the end wall?", default=True, about=about):
        frame["wall_bars"] = "braced"
    if ask.yes(
        "Is it padded with foam?",
        default=True,
        about="Foam tubes around what a ball may hit: bare steel throws it back.",
    ):
        frame["padding"] = "foam"
    if "canopy" in draft.facts:
        draft.data["canopy"] |= _before_the_top_bar(ask, draft, frame)
    return frame


def _before_the_top_bar(ask: Asks, draft: Draft, asked: dict[str, Any]) -> dict[str, Any]:
    """The canopy's gap to the screen where the frame's top bar lies as high as the canopy: it starts at the bar's face.

    The bar lies in the plane of the cloth, so that a canopy which started there would go through it.
    """
    from flightsim_plugins.frame_model import Frame

    frame, screen = Frame.model_validate(asked), draft.data["screen"]
    bar = screen["above_floor"].metres + screen["height"].metres + frame.clearance + frame.tube.size / 2.0
    half = frame.half("top_bar")
    if abs(draft.data["canopy"]["height"].metres - bar) >= half:
        return {}
    if ask.units == "metric":
        return {"gap": Measure(f"{half * 1000.0:g} mm", half)}
    eighths = ceil(half / EIGHTH - JUST_FITS)
    whole, rest = divmod(eighths, 8)
    fraction = f" {rest // gcd(rest, 8)}/{8 // gcd(rest, 8)}" if rest else ""
    return {"gap": Measure(f"{whole}{fraction} in", eighths * EIGHTH)}


def _room(draft: Draft) -> tuple[tuple[float, str], tuple[float, str]]:
    length, width = draft.facts["length"], draft.facts["width"]
    return (length.metres, f"the room is {length.text} long"), (width.metres, f"the room is {width.text} wide")


def _in_front(draft: Draft) -> tuple[float, str]:
    length: Measure = draft.facts["length"]
    return length.metres - draft.facts["gap"].metres + JUST_FITS, f"the room is {length.text} long"


def _under(ask: Asks, draft: Draft, depth: float) -> tuple[float, str]:
    """How high something over the screen's width and this deep may be, m, and why."""
    from flightsim.scenario.reading.display import Display

    gap = draft.facts["gap"].metres
    lowest = draft.under((gap, gap + depth), draft.facts["edges"])
    return lowest + JUST_FITS, f"the roof there is at {Display(ask.units).length(lowest)}"
