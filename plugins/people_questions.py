"""What a new scenario asks for who hits, who watches, children, and doors that may open."""

from __future__ import annotations

from typing import Any

from flightsim.scenario.reading.asking import Asks, Draft, Measure
from flightsim.scenario.reading.quantities import KINDS, parse

_TALLEST = (2.4, "nobody is taller")
ONE_WIDE, LEGS = ("600 mm", "2 ft"), ("900 mm", "3 ft")  # shoulders and sway; a seat and the legs before it
_USUAL_HEIGHT = "Usual is a grown man's, or of a child that of one six years old."
_HANDS = {"right and left": "both", "left and right": "both", "lefty": "left", "lefties": "left",
          "righty": "right", "righties": "right", "right or left": "both", "left or right": "both",
          "right, left": "both", "left, right": "both"}  # fmt: skip
_POSTURES = {"sitting": "seated", "sit": "seated", "couch": "seated", "sofa": "seated", "bench": "seated",
             "chair": "seated", "stand": "standing", "kid": "child", "children": "child", "adult": "standing",
             "boy": "child", "girl": "child", "toddler": "child", "daughter": "child", "son": "child"}  # fmt: skip


def ask_people(ask: Asks, draft: Draft) -> dict[str, Any]:
    """The section `people`, and the hands of who hits for the shots."""
    hands = ask.choice(
        "Who hits: right-handers, left-handers, or both", ("right", "left", "both"), "right", also=_HANDS,
        about="A right-hander stands to the left of the ball, seen toward the screen. Clubs and misses follow it.",
    )  # fmt: skip
    draft.facts["hands"] = ("right", "left") if hands == "both" else (hands,)
    hitter = {
        "height": ask.size(
            "How tall is the tallest who hits",
            *_TALLEST,
            least=0.6,
            about="The club of a tall player reaches farther up.",
        )
    }
    shortest = ask.maybe(
        "How tall is the shortest who hits, where that is somebody else", *_TALLEST,
        about="Heads are from there to the tallest: what comes back low may meet a child's.",
    )  # fmt: skip
    if shortest is not None:
        hitter["shortest"] = shortest
    people: dict[str, Any] = {"hitter": hitter}
    if onlookers := _onlookers(ask, draft):
        people["onlookers"] = onlookers
    if doors := _doors(ask, draft):
        people["doors"] = doors
    return people


def _onlookers(ask: Asks, draft: Draft) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    length, width = draft.facts.get("length"), draft.facts.get("width")
    far: tuple[float | None, str] = (None, "") if length is None else (length.metres, f"the room is {length.text} long")
    wide: tuple[float | None, str] = (None, "") if width is None else (width.metres, f"the room is {width.text} wide")
    about = (
        "Everybody in the room who is not hitting: a couch, somebody who waits, a child. Balls that reach them count."
    )
    while ask.yes(
        "Anybody else who watches or waits?" if found else "Does anybody watch or wait, a child among them?",
        about=about,
    ):
        posture = ask.choice(
            "Seated, standing, or a standing child", ("seated", "standing", "child"), "seated", also=_POSTURES,
            about="seated: a chair, a bench or a couch. child: one that stands, six years old if nothing else is said.",
        )  # fmt: skip
        usual = {"seated": "couch", "standing": "onlooker", "child": "child"}[posture]
        taken = [other["name"] for other in found]
        usual = usual if usual not in taken else f"{usual} {len(found) + 1}"
        found.append({
            "name": ask.words("What is it called", usual, taken, about="What results call them."),
            "from_end_wall": ask.size("End wall to the middle of where they are", *far, about="Of all the seat."),
            "from_left_wall": ask.size("Left wall to the middle of where they are", *wide),
            "posture": posture,
        })  # fmt: skip
        found[-1] |= _seat(ask, far, wide) if posture == "seated" else _row(ask, wide)
        height = ask.maybe("How tall, where that is not usual", *_TALLEST, about=_USUAL_HEIGHT)
        if height is not None:
            found[-1]["height"] = height
    return found


def _row(ask: Asks, wide: tuple[float | None, str]) -> dict[str, Any]:
    """How wide a place is where people stand."""
    usual = _place(ask, ONE_WIDE).text
    about = "A row of people is wider than one of them."
    size = ask.maybe(f"How wide is that, across the room, where it is not the usual {usual}", *wide, about=about)
    return {} if size is None else {"width": size}


def _seat(ask: Asks, far: tuple[float | None, str], wide: tuple[float | None, str]) -> dict[str, Any]:
    """How a seat stands, and how long it is. Legs reach as far before it as those of somebody on a chair."""
    along = ask.choice(
        "Does the seat run across the room, or along a side wall", ("across", "along"), "across",
        about="across: who sits there looks toward the screen. along: its back is to a side wall.",
    ) == "along"  # fmt: skip
    seat = _place(ask, ONE_WIDE)
    question = f"How long is the seat, where it is longer than the usual {seat.text} of one person"
    couch = _place(ask, ("2 m", "6 1/2 ft")).text
    size = ask.maybe(question, *(far if along else wide), about=f"A couch for three is some {couch} long.")
    if not along:
        return {} if size is None else {"width": size}
    return {"width": _place(ask, LEGS), "depth": size or seat}


def _place(ask: Asks, sizes: tuple[str, str]) -> Measure:
    """A usual size as one types it in these units, metric or imperial."""
    text = sizes[ask.units == "imperial"]
    return Measure(text, parse(KINDS["length"], text))


def _the(name: str) -> str:
    """`the side door`, but `door 1`."""
    return name if name[-1].isdecimal() else f"the {name}"


def _doors(ask: Asks, draft: Draft) -> list[dict[str, Any]]:
    """Of the room's own openings, those through which somebody may come in."""
    names = draft.facts.get("openings") or []
    about = "Then whoever opens it counts as somebody in the room. n: it is locked, or nobody is behind it."
    return [
        {"opening": name}
        for name in names
        if ask.yes(f"May somebody come in by {_the(name)} while balls are hit?", about=about)
    ]
