"""What a size is asked for: a rate, of all balls or of those that do it at one thing only."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.fates import Fates, Flag
from flightsim.errors import BadInputError
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.rates import ESCAPE, HEAD_HIT, MAY_BE_REQUIRED, told_cases
from flightsim.study.run.require import Requirement, parse_requirements
from flightsim.study.run.target_kinds import KINDS, Ends

Mask = NDArray[np.bool_]
_OF_PEOPLE = (
    "hitter_head", "hitter_head_hard", "other_head", "other_head_hard", "child", "child_hard", "body", "comes_back",
)  # fmt: skip
_OF_OTHERS = {"got_out_toward_people": Flag.GOT_OUT, "fragile": Flag.HIT_UNPROTECTED}
_DOTTED = re.compile(r"\s*(\w+)\.\"([^\"]+)\"\s*(<=|>=|<|>)\s*(.+?)\s*")
_AT = re.compile(r"\s*(\w+)\s+(?:at|of|through)\s+(.+?)\s*(<=|>=|<|>)\s*(.+?)\s*")


@dataclass(frozen=True)
class SizeTarget(Requirement):
    """A requirement; where: the part, its thing, the opening or the person that counts, empty for any."""

    where: str = ""


def parse_target(text: str) -> SizeTarget:
    """Read `escape < 1 in 500`, `broke_through at screen < 1 in 500`, or a target's name as the scenario has it:
    `hitter_head < 1 in 500`, `broke_through."end wall" < 1 in 500`. Raises BadInputError that shows how.
    """
    named = _AT.fullmatch(text) or _DOTTED.fullmatch(text)
    name = named[1] if named else text.split()[0] if text.split() else ""
    where, rest = (named[2], f"{named[3]} {named[4]}") if named else ("", text.partition(name)[2])
    kind = name in KINDS and name not in MAY_BE_REQUIRED
    found = parse_requirements([f"{ESCAPE if kind else name} {rest}" if named or kind else text], "target")[0]
    return SizeTarget(text.strip(), name if kind else found.name, found.or_equal, found.limit, found.at_worst, where)


def check_place(target: Requirement, bay: Bay) -> None:
    """Raise BadInputError where the bay has nothing of the target's name."""
    where = getattr(target, "where", "")
    known = sorted({name for flag in _flags(target.name) for names in _names(bay, flag) for name in names if name})
    if where and where not in known:
        near = (get_close_matches(where, known, 1) or known[:1] or ["screen"])[0]
        raise BadInputError(
            f"the target '{target.text}': nothing is called '{where}' where that can happen\n"
            f"  allowed: {', '.join(known)}\n  try: {target.name} at {near} < 1 in 500"
        )


def hits_of(fates: Fates, target: Requirement, opened: OpenBay) -> Mask:
    """Balls `(n,)` that count towards a target: what is unresolved always does.

    Of a target that names a thing: those that did it there, for a flag other than person_hit at its worst.
    """
    where = getattr(target, "where", "")
    if not where and target.name == ESCAPE:
        return np.asarray(fates.escaped)
    unresolved = fates.with_flag(Flag.UNRESOLVED)
    if target.name in KINDS and target.name not in MAY_BE_REQUIRED:
        ends = Ends(opened.scenario, opened.bay, fates, opened.physics.ball.mass)
        return np.asarray(KINDS[target.name].mask(ends, where) | unresolved)
    if not where:
        return np.asarray(_case(fates, target.name, opened) | unresolved)
    found = unresolved.copy()
    for flag in _flags(target.name):
        found = found | _at(fates, flag, where, target.name == HEAD_HIT, opened)
    return np.asarray(found)


def _case(fates: Fates, name: str, opened: OpenBay) -> Mask:
    if name == HEAD_HIT:
        return np.asarray(told_cases(opened.bay, fates, opened.surroundings().zone_harm)[HEAD_HIT])
    return np.asarray(fates.with_flag([flag.key for flag in Flag].index(name)))


def _at(fates: Fates, flag: Flag, where: str, heads: bool, opened: OpenBay) -> Mask:
    there = np.array([where in names for names in _names(opened.bay, flag)], dtype=bool)
    if flag is Flag.PERSON_HIT:  # known of every zone, whichever was the worst
        there &= np.array([zone.head or not heads for zone in opened.bay.zones], dtype=bool)
        return np.asarray(~np.isnan(fates.hits(there, opened.surroundings().zone_harm)))
    place = np.clip(fates.place[flag], -1, there.size)
    return np.asarray(fates.with_flag(flag) & np.append(there, False)[place])


def _flags(name: str) -> list[Flag]:
    if name == HEAD_HIT or name in _OF_PEOPLE:
        return [Flag.PERSON_HIT]
    if name in _OF_OTHERS:
        return [_OF_OTHERS[name]]
    return [flag for flag in Flag if flag is not Flag.UNRESOLVED and name in (ESCAPE, flag.key)]


def _names(bay: Bay, flag: Flag) -> Sequence[tuple[str, ...]]:
    """What each place of a flag is called, in the order of Fates.place."""
    if flag is Flag.PERSON_HIT:
        return [(zone.name, zone.person) for zone in bay.zones]
    if flag is Flag.GOT_OUT:
        return [(name,) for name in bay.ways_out]
    return [(part.name, part.label) for part in bay.parts]
