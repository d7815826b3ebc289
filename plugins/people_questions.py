"""What a new scenario asks for who hits, who watches, children, and doors that may open."""

from __future__ import annotations

from typing import Any

from flightsim.scenario.reading.asking import Asks, Draft

_TALLEST = (2.4, "nobody is taller")


def ask_people(ask: Asks, draft: Draft) -> dict[str, Any]:
    """The section `people`, and the hands of who hits for the shots."""
    hands = ask.choice("Who hits: right-handers, left-handers, or both", ("right", "left", "both"), "right")
    draft.facts["hands"] = ("right", "left") if hands == "both" else (hands,)
    hitter = {"height": ask.size("How tall is the tallest who hits", *_TALLEST, least=0.6)}
    shortest = ask.maybe("How tall is the shortest who hits, where that is somebody else", *_TALLEST)
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
    far = (None, "") if length is None else (length.metres, f"the room is {length.text} long")
    wide = (None, "") if width is None else (width.metres, f"the room is {width.text} wide")
    while ask.yes("Anybody else who watches or waits?" if found else "Does anybody watch or wait, a child among them?"):
        posture = ask.choice("Seated, standing, or a standing child", ("seated", "standing", "child"), "seated")
        usual = {"seated": "couch", "standing": "onlooker", "child": "child"}[posture]
        taken = [other["name"] for other in found]
        usual = usual if usual not in taken else f"{usual} {len(found) + 1}"
        found.append({
            "name": ask.words("What is it called", usual, taken),
            "from_end_wall": ask.size("End wall to the middle of where they are", *far),
            "from_left_wall": ask.size("Left wall to the middle of where they are", *wide),
            "posture": posture,
        })  # fmt: skip
        wide_zone = ask.maybe("How wide is that, across the room, where it is not the usual 600 mm", *wide)
        if wide_zone is not None:
            found[-1]["width"] = wide_zone
        height = ask.maybe("How tall, where that is not usual", *_TALLEST)
        if height is not None:
            found[-1]["height"] = height
    return found


def _doors(ask: Asks, draft: Draft) -> list[dict[str, Any]]:
    """Of the room's own openings, those through which somebody may come in."""
    names = draft.facts.get("openings") or []
    return [{"opening": name} for name in names if ask.yes(f"May somebody come in by the {name} while balls are hit?")]
