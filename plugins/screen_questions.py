"""What a new scenario asks for what is hung up: screen, canopy, side nets, a ceiling pad, obstacles, a frame."""

from __future__ import annotations

from typing import Any

from flightsim.scenario.reading.asking import JUST_FITS, Asks, Draft, Measure


def ask_obstacles(ask: Asks, draft: Draft) -> list[dict[str, Any]] | None:
    """The section `obstacles`: boxes, each by its place and sizes."""
    found: list[dict[str, Any]] = []
    length, width = _room(draft)
    while ask.yes(
        "Another thing that a ball may hit?" if found else "Lamps, openers, beams or pipes that a ball may hit?"
    ):
        taken = [other["name"] for other in found]
        usual = "lamp" if not found else f"thing {len(found) + 1}"
        found.append({"name": ask.words("What is it called", usual, taken), "kind": "box"})
        found[-1] |= {
            "from_end_wall": ask.place("End wall to its nearest side", *length),
            "from_left_wall": ask.place("Left wall to its left side", *width),
            "above_floor": ask.place("Slab to its underside", 20.0, "no room is so high"),
            "length": ask.size("Its length, along the line of play", *length),
            "width": ask.size("Its width, across", *width),
            "height": ask.size("Its height", 20.0, "no room is so high"),
            "fragile": ask.yes("Does it break when it is hit?"),
        }
    return found or None


def ask_screen(ask: Asks, draft: Draft) -> dict[str, Any]:
    """The section `screen`: one, centred on the ball."""
    tee, width = draft.data["tee"], draft.facts["width"].metres
    end, left = tee["from_end_wall"], tee["from_left_wall"].metres
    half = min(left, width - left)
    wide = ask.size("Screen: width, centred on the ball", 2.0 * half + JUST_FITS, "it hangs between the walls")
    draft.facts["edges"] = (left - wide.metres / 2.0, left + wide.metres / 2.0)
    gap = ask.size("Screen: gap behind it, cloth to end wall", end.metres, f"the ball is {end.text} from the wall")
    draft.facts["gap"] = gap
    foot = ask.place("Screen: slab to its foot", *_under(ask, draft, 0.0))
    top, why = _under(ask, draft, 0.0)
    height = ask.size("Screen: height, foot to top", top - foot.metres, why)
    return {"gap_behind": gap, "width": wide, "height": height, "above_floor": foot}


def ask_canopy(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `canopy`."""
    depth = ask.maybe("Canopy: depth, from the screen toward the ball", *_in_front(draft))
    if depth is None:
        return None
    draft.facts["canopy"] = depth
    return {"depth": depth, "height": ask.size("Canopy: slab to its underside", *_under(ask, draft, depth.metres))}


def ask_side_nets(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `side_nets`."""
    nets = {}
    for side in ("left", "right"):
        depth = ask.maybe(f"Side net on the {side}: depth, from the screen toward the ball", *_in_front(draft))
        if depth is not None:
            nets[side] = {"depth": depth, "height": ask.size("Its height", *_under(ask, draft, depth.metres))}
    return nets or None


def ask_ceiling(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `ceiling`: one pad."""
    if not ask.yes("A padded zone on the roof's underside?"):
        return None
    (length, in_length), (width, in_width) = _room(draft)
    end = ask.place("Pad: end wall to its nearer edge", length, in_length)
    left = ask.place("Pad: left wall to its left edge", width, in_width)
    return {"pads": [{
        "name": "ceiling pad", "from_end_wall": end, "from_left_wall": left,
        "length": ask.size("Pad: length along the line", length - end.metres + JUST_FITS, in_length),
        "width": ask.size("Pad: width", width - left.metres + JUST_FITS, in_width),
        "thickness": ask.size("Pad: thickness", 1.0, "a pad is no thicker"),
    }]}  # fmt: skip


def ask_frame(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The section `frame`: of its own tubes, with the usual ones."""
    if not ask.yes("Does a frame of tubes carry the screen?"):
        return None
    frame: dict[str, Any] = {"feet": ask.choice("Its feet", ("standing", "anchored"), "standing")}
    if "canopy" in draft.facts:
        carried = ask.choice("What carries the canopy's front corners", ("legs", "hangers", "none"), "legs")
        frame["front_support"] = carried
    if ask.yes("Is it padded with foam?", default=True):
        frame["padding"] = "foam"
    return frame


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
