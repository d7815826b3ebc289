"""What a new scenario asks for the room, by the tape, in the order in which one walks it."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from flightsim.scenario.reading.asking import JUST_FITS, Asks, Draft, Measure

_ROOF = "Roof: height"
_LARGEST, _LARGE = 60.0, "no bay stands in a larger room"  # m (judgement): a slip of the unit is more likely
_STEP = 0.6  # m (judgement): nobody steps in over a higher sill
_ROOFS = {"sloping": "single_slope", "slope": "single_slope", "slant": "single_slope", "lean-to": "single_slope",
          "shed": "single_slope", "pitched": "gable", "apex": "gable", "level": "flat"}  # fmt: skip
_BACKS = {"none": "open", "nothing": "open", "no wall": "open", "closed": "wall", "shut": "wall"}


def ask_room(ask: Asks, draft: Draft) -> dict[str, Any]:
    """The section `room`, and the room's sizes and roof for the questions after it."""
    tape = "Inside, from finished wall to finished wall, along the floor."
    length = ask.size(
        "Room, inside: length, from the end wall behind the screen to the back", least=1.0, most=_LARGEST, why=_LARGE,
        about=f"{tape} Where the back is open, to where the roof or the floor ends.",
    )  # fmt: skip
    width = ask.size("Room: width", least=1.0, most=_LARGEST, why=_LARGE, about=tape)
    draft.facts |= {"length": length, "width": width}
    room: dict[str, Any] = {"length": length, "width": width, "roof": _roof(ask)}
    draft.roof = _height_of(room)
    room["back"] = ask.choice(
        "Behind the player", ("wall", "open"), "wall", also=_BACKS,
        about="wall: a wall or a gate that is shut. open: no wall there, or a gate that is up.",
    )  # fmt: skip
    openings = _openings(ask, draft, room["back"])
    if openings:
        room["openings"] = openings
    draft.facts["openings"] = [opening["name"] for opening in openings if opening["sill"].metres <= _STEP]
    return room


def _height_of(room: dict[str, Any]) -> Any:
    from flightsim_plugins.room import Room

    roof = {key: value.text if isinstance(value, Measure) else value for key, value in room["roof"].items()}
    sizes = {key: room[key].text for key in ("length", "width")}
    shape = TypeAdapter(Room).validate_python({**sizes, "roof": roof}).roof_shape()
    return lambda from_end, from_left: float(shape.height(from_end, from_left))


def _roof(ask: Asks) -> dict[str, Any]:
    kind = ask.choice(
        "Roof", ("flat", "single_slope", "gable"), "flat", also=_ROOFS,
        about="flat: one height all over. single_slope: falls from one side to the other. gable: two slopes, a ridge.",
    )  # fmt: skip
    lowest = "From the slab to the lowest thing over all the room: plaster, battens, joists."
    high: dict[str, Any] = {"most": 20.0, "why": "no room is so high", "least": 1.0}
    if kind == "flat":
        height = ask.size(f"{_ROOF} above the slab, at its lowest covering", **high, about=lowest)
        return {"kind": kind, "height": height}
    if kind == "single_slope":
        sides = {f"{side}_height": ask.size(f"{_ROOF} at the {side} wall, as the player faces the screen", **high,
                                            about="From the slab to the roof's underside, at that wall.")
                 for side in ("left", "right")}  # fmt: skip
        return {"kind": kind, **sides}
    ridge = ask.choice(
        "Ridge along the room, toward the screen, or across", ("along", "across"), "along",
        about="along: the ridge runs from the back to the screen. across: from the left wall to the right.",
    )  # fmt: skip
    eaves = ask.size(f"{_ROOF} at the eaves", **high, about="Where the roof meets the wall: slab to its underside.")
    higher = high | {"least": eaves.metres + 1e-3}
    rise = ask.size(f"{_ROOF} at the ridge", **higher, about="Slab to its underside, in the middle.")
    return {"kind": kind, "ridge": ridge, "eaves_height": eaves, "ridge_height": rise}


def _openings(ask: Asks, draft: Draft, back: str) -> list[dict[str, Any]]:
    openings: list[dict[str, Any]] = []
    length, width = draft.facts["length"], draft.facts["width"]
    walls = ("left", "right", "end") if back == "open" else ("left", "right", "end", "back")
    any_about = "Gates, doors, hatches and windows in the four walls, open or shut; not the open back."
    while ask.yes("Another doorway or window?" if openings else "Any doorways or windows?", about=any_about):
        wall = ask.choice(
            "In which wall", walls, "right",
            about="As you face the screen: end is the wall behind the screen, back the one behind you.",
        )  # fmt: skip
        along, run, start = ("from_end_wall", length, "end")
        if wall in ("end", "back"):
            along, run, start = ("from_left_wall", width, "left")
        fits = f"the {wall} wall is {run.text} long"
        taken = [opening["name"] for opening in openings]
        name = ask.words("Its name", f"door {len(openings) + 1}", taken, about="What results call it: side door, gate.")
        nearer = ask.place(
            f"From the {start} wall to its nearer edge", run.metres, fits, about="Along the wall, to the clear opening."
        )
        wide = ask.size(
            "Its width", run.metres - nearer.metres + JUST_FITS, fits, about="Along the wall, in the clear."
        )
        top, roof = _over(ask, draft, wall, (nearer.metres, nearer.metres + wide.metres))
        height = ask.size(
            "Its height, from sill to top",
            top + JUST_FITS,
            roof,
            about="In the clear; how high it begins is asked next.",
        )
        sill = ask.place(
            "Slab to its lower edge", top - height.metres + JUST_FITS,
            f"{roof} and it is {height.text} high, which < changes",
            about="0 for a doorway down to the slab; a window's sill.",
        )  # fmt: skip
        opening = {"name": name, "wall": wall, along: nearer, "width": wide, "height": height, "sill": sill}
        opening["closed"] = ask.yes(
            "Does it stay shut while balls are hit?",
            about="y: a ball meets the door or the pane. n: it is a hole that balls leave through.",
        )
        if opening["closed"] and ask.yes("Is it of glass?"):
            opening["facing"] = "glass"
        openings.append(opening)
    return openings


def _over(ask: Asks, draft: Draft, wall: str, run: tuple[float, float]) -> tuple[float, str]:
    """The lowest of the roof over this run of a wall, m, and that as a reason."""
    from flightsim.scenario.reading.display import Display

    length, width = draft.facts["length"].metres, draft.facts["width"].metres
    there = {"left": (run, (0.0,)), "right": (run, (width,)), "end": ((0.0,), run), "back": ((length,), run)}[wall]
    lowest = draft.under(*there)
    return lowest, f"the roof there is at {Display(ask.units).length(lowest)}"
