"""Asks for a bay in the order in which one walks it with a tape. A bad answer is asked again, with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, cast

import click
from pydantic_core import PydanticCustomError

from flightsim.scenario.new.new_bay import Measure, NewBay, NewOpening, NewPad, NewRoof, Wall
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.known import nearest
from flightsim.scenario.reading.quantities import KINDS, parse

CLUBS = ("driver", "mid_iron", "wedge")
_EXAMPLES = {"metric": "3.8 m or 350 mm", "imperial": "12 ft 6 in or 53 1/2 in"}
_EXACT = 1e-9  # m: what just fits, fits
_NONE = {"none", "no", "0", "-"}


def ask_bay() -> NewBay:
    """All questions, on the terminal."""
    units = cast(Literal["metric", "imperial"], _choice("Units of the output", ("metric", "imperial"), "metric"))
    ask = _Asker(units)
    click.echo(f"Sizes carry their unit: {_EXAMPLES[units]}.\n")
    name = _words("Name of the bay", "My bay")
    length = ask.size("Room, inside: length, from the end wall behind the screen to the back")
    width = ask.size("Room: width")
    roof = _roof(ask)
    back = cast(Literal["wall", "open"], _choice("Behind the player", ("wall", "open"), "wall"))
    return _what_hangs(ask, _Room(name, length, width, roof, back, _openings(ask, length, width, back)))


@dataclass(frozen=True)
class _Room:
    name: str
    length: Measure
    width: Measure
    roof: NewRoof
    back: Literal["wall", "open"]
    openings: tuple[NewOpening, ...]

    def lowest(self, places: tuple[float, ...], edges: tuple[float, ...]) -> float:
        """The lowest of the roof over these distances from the end wall and from the left wall, m.

        A roof bends down from its ridge, never up: it is lowest at a corner of what hangs under it.
        """
        size = (self.length.metres, self.width.metres)
        return min(self.roof.at(place, edge, *size) for place in places for edge in edges)


@dataclass(frozen=True)
class _Asker:
    """Asks for sizes; knows the user's units for its examples and reasons."""

    units: Literal["metric", "imperial"]

    def size(self, question: str, most: float | None = None, why: str = "", least: float = 0.0) -> Measure:
        """A size that must be given. most, least: m, the first with what it must fit in, as the reason."""
        answer: Measure = click.prompt(question, value_proc=lambda text: self._read(text, most, why, least))
        return answer

    def maybe(self, question: str, most: float | None = None, why: str = "") -> Measure | None:
        """A size, or none."""

        def read(text: str) -> Measure | None:
            return None if text.strip().lower() in _NONE else self._read(text, most, why, 0.0)

        answer: Measure | None = click.prompt(f"{question}, or none", value_proc=read)
        return answer

    def _read(self, text: str, most: float | None, why: str, least: float) -> Measure:
        show = Display(self.units).length
        try:
            metres = parse(KINDS["length"], text)
        except PydanticCustomError as error:
            said = error.context or {}
            raise click.BadParameter(f"{said['found']}. Allowed: {said['allowed']}. Try: {said['fix']}.") from None
        if metres <= 0.0 and least == 0.0:
            raise click.BadParameter(f"{text.strip()} is not more than nothing. Try: {_EXAMPLES[self.units]}.")
        if metres < least:
            raise click.BadParameter(f"{text.strip()} is less than {show(least)}.")
        if most is not None and metres >= most:
            raise click.BadParameter(f"{text.strip()} does not fit: there is {show(most)}, as {why}.")
        return Measure(text.strip(), metres)

    def place(self, question: str, most: float, why: str) -> Measure:
        """A distance, which may be nought."""

        def read(text: str) -> Measure:
            if text.strip() == "0":
                return Measure("0 m" if self.units == "metric" else "0 in", 0.0)
            return self._read(text, most, why, -1e-12)

        answer: Measure = click.prompt(f"{question} (0 for none)", value_proc=read)
        return answer


def _choice(question: str, choices: tuple[str, ...], default: str) -> str:
    def read(text: str) -> str:
        word = text.strip().lower().replace(" ", "_").replace("-", "_")
        close = word if word in choices else nearest(word, choices)
        if word not in choices:
            hint = f" Did you mean {close}?" if close else ""
            raise click.BadParameter(f"{text.strip()!r} is none of {', '.join(choices)}.{hint}")
        return word

    return str(click.prompt(f"{question} ({', '.join(choices)})", default=default, value_proc=read))


def _words(question: str, default: str) -> str:
    def read(text: str) -> str:
        if not text.strip() or not text.isprintable():
            raise click.BadParameter("Plain words, please.")
        return text.strip()

    return str(click.prompt(question, default=default, value_proc=read))


def _roof(ask: _Asker) -> NewRoof:
    kind = _choice("Roof", ("flat", "single_slope", "gable"), "flat")
    if kind == "flat":
        return NewRoof("flat", {"height": ask.size("Roof: height above the slab, at its lowest covering")})
    if kind == "single_slope":
        sides = {
            side: ask.size(f"Roof: height at the {side} wall, as the player faces the screen")
            for side in ("left", "right")
        }
        return NewRoof("single_slope", {f"{side}_height": height for side, height in sides.items()})
    ridge = cast(
        Literal["along", "across"],
        _choice("Ridge along the room, toward the screen, or across", ("along", "across"), "along"),
    )
    eaves = ask.size("Roof: height at the eaves")
    rise = ask.size("Roof: height at the ridge", least=eaves.metres + 1e-3)
    return NewRoof("gable", {"eaves_height": eaves, "ridge_height": rise}, ridge)


def _openings(ask: _Asker, length: Measure, width: Measure, back: str) -> tuple[NewOpening, ...]:
    openings: list[NewOpening] = []
    walls = ("left", "right", "end") if back == "open" else ("left", "right", "end", "back")
    while click.confirm("Another doorway or window?" if openings else "Any doorways or windows?", default=False):
        wall = cast(Wall, _choice("In which wall", walls, "right"))
        run, start = (length, "end") if wall in ("left", "right") else (width, "left")
        fits = f"the {wall} wall is {run.text} long"
        taken = [opening.name for opening in openings]
        name = _new_name(f"door {len(openings) + 1}", taken)
        along = ask.place(f"From the {start} wall to its nearer edge", run.metres, fits)
        wide = ask.size("Its width", run.metres - along.metres + _EXACT, fits)
        openings.append(
            NewOpening(
                name, wall, along, wide, ask.size("Its height, from sill to top"),
                ask.place("Slab to its lower edge", 20.0, "a sill is no higher"),
                *_shut(),
            )
        )  # fmt: skip
    return tuple(openings)


def _new_name(default: str, taken: list[str]) -> str:
    name = _words("Its name", default)
    while name in taken:
        click.echo(f"Error: {name!r} is taken.")
        name = _words("Its name", default)
    return name


def _shut() -> tuple[bool, bool]:
    closed = click.confirm("Does it stay shut while balls are hit?", default=False)
    return closed, closed and click.confirm("Is it of glass?", default=False)


def _what_hangs(ask: _Asker, room: _Room) -> NewBay:
    show = Display(ask.units).length
    long, wide = room.length, room.width
    in_length, in_width = f"the room is {long.text} long", f"the room is {wide.text} wide"
    tee_end = ask.size("Ball to the end wall", long.metres, in_length)
    tee_left = ask.size("Ball to the left wall", wide.metres, in_width)
    mat = ask.maybe("Mat: height of its top above the slab", 1.0, "a mat is no higher")
    half = min(tee_left.metres, wide.metres - tee_left.metres)
    screen_width = ask.size("Screen: width, centred on the ball", 2.0 * half + _EXACT, "it hangs between the walls")
    edges = (tee_left.metres - screen_width.metres / 2.0, tee_left.metres + screen_width.metres / 2.0)
    gap = ask.size(
        "Screen: gap behind it, cloth to end wall", tee_end.metres, f"the ball is {tee_end.text} from the wall"
    )

    def under(depth: float) -> tuple[float, str]:
        lowest = room.lowest((gap.metres, gap.metres + depth), edges)
        return lowest + _EXACT, f"the roof there is at {show(lowest)}"

    foot = ask.place("Screen: slab to its foot", *under(0.0))
    top, why = under(0.0)
    height = ask.size("Screen: height, foot to top", top - foot.metres, why)
    in_front = (long.metres - gap.metres + _EXACT, in_length)
    depth = ask.maybe("Canopy: depth, from the screen toward the ball", *in_front)
    canopy_height = ask.size("Canopy: slab to its underside", *under(depth.metres)) if depth else None
    nets = {}
    for side in ("left", "right"):
        net = ask.maybe(f"Side net on the {side}: depth, from the screen toward the ball", *in_front)
        if net is not None:
            nets[side] = (net, ask.size("Its height", *under(net.metres)))
    pad = _pad(ask, room) if click.confirm("A padded zone on the roof's underside?", default=False) else None
    hand = cast(Literal["right", "left"], _choice("Player's hand", ("right", "left"), "right"))
    return NewBay(
        ask.units, room.name, long, wide, room.roof, room.back, room.openings, tee_end, tee_left, mat, screen_width,
        height, foot, gap, depth, canopy_height, nets, pad, hand, _clubs(),
    )  # fmt: skip


def _pad(ask: _Asker, room: _Room) -> NewPad:
    in_length, in_width = f"the room is {room.length.text} long", f"the room is {room.width.text} wide"
    end = ask.place("Pad: end wall to its nearer edge", room.length.metres, in_length)
    left = ask.place("Pad: left wall to its left edge", room.width.metres, in_width)
    length = ask.size("Pad: length along the line", room.length.metres - end.metres + _EXACT, in_length)
    width = ask.size("Pad: width", room.width.metres - left.metres + _EXACT, in_width)
    return NewPad(end, left, length, width, ask.size("Pad: thickness", 1.0, "a pad is no thicker"))


def _clubs() -> tuple[str, ...]:
    def read(text: str) -> tuple[str, ...]:
        words = [word for word in text.replace(",", " ").lower().split() if word]
        wrong = [word for word in words if word not in CLUBS]
        if wrong or not words:
            close = nearest(wrong[0], CLUBS) if wrong else None
            hint = f" Did you mean {close}?" if close else ""
            raise click.BadParameter(f"{text.strip()!r} names no clubs among {', '.join(CLUBS)}.{hint}")
        return tuple(club for club in CLUBS if club in words)

    answer: tuple[str, ...] = click.prompt("Clubs", default=", ".join(CLUBS), value_proc=read)
    return answer
