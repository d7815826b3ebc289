"""What a new scenario asks for the room, by the tape, in the order in which one walks it."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from flightsim.scenario.reading.asking import JUST_FITS, Asks, Draft, Measure

_ROOF = "Roof: height"


def ask_room(ask: Asks, draft: Draft) -> dict[str, Any]:
    """The section `room`, and the room's sizes and roof for the questions after it."""
    length = ask.size("Room, inside: length, from the end wall behind the screen to the back", least=1.0)
    width = ask.size("Room: width", least=1.0)
    draft.facts |= {"length": length, "width": width}
    room: dict[str, Any] = {"length": length, "width": width, "roof": _roof(ask)}
    room["back"] = ask.choice("Behind the player", ("wall", "open"), "wall")
    openings = _openings(ask, length, width, room["back"])
    if openings:
        room["openings"] = openings
    draft.facts["openings"] = [opening["name"] for opening in openings]
    draft.roof = _height_of(room)
    return room


def _height_of(room: dict[str, Any]) -> Any:
    from flightsim_plugins.room import Room

    roof = {key: value.text if isinstance(value, Measure) else value for key, value in room["roof"].items()}
    sizes = {key: room[key].text for key in ("length", "width")}
    shape = TypeAdapter(Room).validate_python({**sizes, "roof": roof}).roof_shape()
    return lambda from_end, from_left: float(shape.height(from_end, from_left))


def _roof(ask: Asks) -> dict[str, Any]:
    kind = ask.choice("Roof", ("flat", "single_slope", "gable"), "flat")
    if kind == "flat":
        return {"kind": kind, "height": ask.size(f"{_ROOF} above the slab, at its lowest covering")}
    if kind == "single_slope":
        sides = {f"{side}_height": ask.size(f"{_ROOF} at the {side} wall, as the player faces the screen")
                 for side in ("left", "right")}  # fmt: skip
        return {"kind": kind, **sides}
    ridge = ask.choice("Ridge along the room, toward the screen, or across", ("along", "across"), "along")
    eaves = ask.size(f"{_ROOF} at the eaves")
    rise = ask.size(f"{_ROOF} at the ridge", least=eaves.metres + 1e-3)
    return {"kind": kind, "ridge": ridge, "eaves_height": eaves, "ridge_height": rise}


def _openings(ask: Asks, length: Measure, width: Measure, back: str) -> list[dict[str, Any]]:
    openings: list[dict[str, Any]] = []
    walls = ("left", "right", "end") if back == "open" else ("left", "right", "end", "back")
    while ask.yes("Another doorway or window?" if openings else "Any doorways or windows?"):
        wall = ask.choice("In which wall", walls, "right")
        along, run, start = ("from_end_wall", length, "end")
        if wall in ("end", "back"):
            along, run, start = ("from_left_wall", width, "left")
        fits = f"the {wall} wall is {run.text} long"
        name = ask.words("Its name", f"door {len(openings) + 1}", [opening["name"] for opening in openings])
        nearer = ask.place(f"From the {start} wall to its nearer edge", run.metres, fits)
        opening = {
            "name": name, "wall": wall, along: nearer,
            "width": ask.size("Its width", run.metres - nearer.metres + JUST_FITS, fits),
            "height": ask.size("Its height, from sill to top"),
            "sill": ask.place("Slab to its lower edge", 20.0, "a sill is no higher"),
        }  # fmt: skip
        opening["closed"] = ask.yes("Does it stay shut while balls are hit?")
        if opening["closed"] and ask.yes("Is it of glass?"):
            opening["facing"] = "glass"
        openings.append(opening)
    return openings
