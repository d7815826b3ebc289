"""What a column's name means, in plain words of the trade. No table's layout is assumed: only words are looked at."""

from __future__ import annotations

import re
from dataclasses import dataclass

from flightsim.shots.measured_cells import header_unit, unit_meant

# Ways to say it, each as words that must all be there; and words that make it something else (common practice, no
# source).
_NOT_BALL = frozenset({"club", "clubhead", "head", "swing", "path", "face", "attack", "land", "landing", "descent",
                       "impact", "carry", "peak", "apex", "loft", "dynamic", "roll", "offline", "distance",
                       "height", "time", "total", "max", "maximum", "last", "final", "low", "point"})  # fmt: skip
_SIDEWAYS = frozenset({"side", "horizontal", "direction", "azimuth", "left", "right", "axis", "tilt", "spin"})
_SAID: dict[str, tuple[tuple[str, ...], frozenset[str]]] = {
    "ball_speed": (("ball speed", "ball velocity", "launch speed", "start speed", "ball", "speed", "velocity"),
                   _NOT_BALL | {"spin", "angle"}),
    "elevation": (("launch angle", "vertical launch", "vertical angle", "launch elevation", "up angle", "start angle",
                   "elevation", "launch"), (_NOT_BALL | _SIDEWAYS | {"speed"}) - {"impact"}),
    "azimuth": (("launch direction", "horizontal launch", "horizontal angle", "side angle", "start direction",
                 "start line", "azimuth", "direction", "side", "horizontal"), _NOT_BALL | {"spin", "axis", "tilt"}),
    "spin_tilt": (("spin axis", "spin tilt", "axis tilt", "spin axis tilt", "axis", "tilt"), _NOT_BALL),
    "backspin": (("back spin", "backspin"), frozenset({"side", "club"})),
    "sidespin": (("side spin", "sidespin"), frozenset({"back", "club"})),
    "spin_along": (("spin along", "spin about path"), frozenset({"club"})),
    "spin_rate": (("total spin", "spin rate", "whole spin", "spin total", "spin"),
                  (_NOT_BALL - {"total"}) | {"back", "side", "axis", "tilt", "along", "about"}),
}  # fmt: skip
_CLUB = frozenset({"club", "name", "type", "used", "id", "selected"})
_NO_LAUNCH = frozenset(  # units of lengths and times
    {"yd", "yds", "yard", "yards", "m", "metres", "meters", "ft", "feet", "mm", "cm", "in", "s", "sec"}
)
_HAND = frozenset({"hand", "handed", "handedness", "player", "golfer", "s", "of"})


@dataclass(frozen=True)
class Meaning:
    """What a column's name says: our name, how closely (the number of words that say it), and a unit beside it."""

    name: str
    words: int
    unit: str | None


def words_of(name: str) -> list[str]:
    """A name's words: brackets away, written together or apart alike."""
    plain = re.sub(r"[(\[].*?[)\]]", " ", name)
    plain = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain)
    return [word for word in re.split(r"[^a-z0-9/\u00b0]+", plain.casefold()) if word]


def meaning_of(name: str) -> Meaning | None:
    """What the name of a column means, or None where it is nothing that a launch has."""
    words, unit = words_of(name), header_unit(name)
    for count in (2, 1):  # `ball_speed_m_s`, `launch deg`
        tail = " ".join(words[-count:])
        if unit is None and len(words) > count and (unit := unit_meant(tail) or unit_meant(tail.replace(" ", "/"))):
            words = words[:-count]
    beside = re.findall(r"[(\[]\s*(\w+)\s*[)\]]", name.casefold())
    if unit is None and _NO_LAUNCH & {*beside, *words[1:][-1:]}:
        return None  # how far it went aside, not at which angle it left
    there = set(words)
    if "club" in there and there <= _CLUB:
        return Meaning("club", 1, None)
    if there & {"hand", "handed", "handedness"} and there <= _HAND:
        return Meaning("hand", 1, None)
    found = [
        Meaning(ours, len(said.split()), unit)
        for ours, (ways, others) in _SAID.items()
        for said in ways
        if set(said.split()) <= there and not there & others
    ]
    return max(found, key=lambda meaning: meaning.words, default=None)


def counts_left(name: str) -> bool | None:
    """Whether a name says that left is positive; None where it says neither."""
    plain = re.sub(r"\s+", " ", name.casefold())
    for side, left in (("left", True), ("right", False), (r"\bl", True), (r"\br", False)):
        if re.search(rf"\+ ?(is |= ?|: ?)?{side}\b|{side} ?(is |= ?|: ?)?(\+|positive)", plain):
            return left
    return None
