"""Requirements on rates, `--require 'got_out < 1 in 1000'`, judged by the bound and never by the rate seen."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from math import floor

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError
from flightsim.strike.shots import ShotType
from flightsim.study.bounds import at_worst_one_in, shots_needed, weighted_bounds
from flightsim.study.result import Rates

BAD = ("got_out", "hit_unprotected", "not_followed", "not_met_guard", "failed")
GOOD = "met_guard"
_FORM = re.compile(r"\s*(\w+)\s*(<=|>=|<|>)\s*(.+?)\s*")
# A comma only between thousands, and no point in what is counted: `1 in 1.000` may mean a thousand, and is no 1 in 1.
_ONE_IN = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s+in\s+([0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)")
_NUMBER = re.compile(r"((?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(%?)")
_HAS_FAILED = ("not_followed", "not_met_guard", "failed")  # these count failed shots as it is
_HAS_FLOOR = ("not_followed", "not_met_guard")  # and these what met the floor first
_HOW = "NAME < LIMIT, with a limit between 0 and 1: 1 in 1000, 0.1 %, or 0.001"

Counts = NDArray[np.intp]


@dataclass(frozen=True)
class Requirement:
    """A limit on one rate: `less` means that the rate must be below it; `or_equal` that it may be at it."""

    text: str
    name: str
    less: bool
    or_equal: bool
    limit: float

    def met_by(self, bound: float) -> bool:
        """Whether the worst that the rate may be, its bound, is within the limit."""
        within = bound < self.limit if self.less else bound > self.limit
        return within or (self.or_equal and bound == self.limit)


@dataclass(frozen=True)
class Judgement:
    """Whether a requirement is met, by which bound, and the same in words."""

    requirement: str
    met: bool
    bound: float
    confidence: float
    sentence: str


def parse_requirements(texts: Sequence[str]) -> tuple[Requirement, ...]:
    """Read requirements. Raises BadInputError that shows how to write one."""
    return tuple(_parse(text) for text in texts)


def _parse(text: str) -> Requirement:
    found = _FORM.fullmatch(text)
    limit = _share(found[3]) if found else None
    if found is None or limit is None:
        raise _refuse(text, _HOW, "got_out < 1 in 1000")
    name, sign = found[1], found[2]
    if name not in (*BAD, GOOD):
        near = get_close_matches(name, (*BAD, GOOD), 1) or ["got_out"]
        raise _refuse(text, ", ".join((*BAD, GOOD)), f"{near[0]} {sign} {found[3]}")
    less = sign.startswith("<")
    if less is (name == GOOD):
        right = f"{name} {'>' if name == GOOD else '<'} {found[3]}"
        raise _refuse(text, "< for what must be rare, > for met_guard", right)
    if not 0.0 < limit < 1.0:
        fix = "met_guard > 99 %" if name == GOOD else f"{name} < 1 in 1000"
        raise _refuse(text, f"{_HOW} (no number of shots shows never, or always)", fix)
    return Requirement(text.strip(), name, less, sign.endswith("="), limit)


def _refuse(text: str, allowed: str, fix: str) -> BadInputError:
    return BadInputError(f"--require '{text}' cannot be used\n  allowed: {allowed}\n  try: --require '{fix}'")


def _share(text: str) -> float | None:
    """A limit as a number; None for what cannot be read."""
    if one_in := _ONE_IN.fullmatch(text):
        of = float(one_in[2].replace(",", ""))
        return float(one_in[1]) / of if of else None
    if number := _NUMBER.fullmatch(text):
        return float(number[1]) / (100.0 if number[2] else 1.0)
    return None


def judge_all(
    requirements: Sequence[Requirement], rates: Rates, types: Sequence[ShotType], sampled: bool
) -> tuple[Judgement, ...]:
    """Judge each requirement by the bound of the weighted total. Raises BadInputError for a grid."""
    if requirements and not sampled:
        raise BadInputError(
            "--require needs sampled shots: a grid is no sample, and bounds nothing\n"
            "  try: launches with `use` or `types`, or leave --require out"
        )
    return tuple(_judge(requirement, rates, types) for requirement in requirements)


def _judge(requirement: Requirement, rates: Rates, types: Sequence[ShotType]) -> Judgement:
    """Shots that failed might have done anything: they count towards every bad rate, and never as met_guard."""
    names = [requirement.name]
    if requirement.less and requirement.name not in _HAS_FAILED:
        names.append("failed")
    count = np.array([sum(some[name].count for name in names) for some in rates.by_type], dtype=np.intp)
    shots = np.array([some[requirement.name].shots for some in rates.by_type], dtype=np.intp)
    share = np.array([kind.share for kind in types])
    alpha = 1.0 - rates.confidence
    bound = weighted_bounds(share, count, shots, alpha)[1 if requirement.less else 0]
    met = requirement.met_by(bound)
    words = f"at worst {at_worst_one_in(bound)}" if requirement.less else f"at least {_down(bound)} %"
    sentence = f"{requirement.text}: {'met' if met else 'NOT met'}; {words}, with {rates.confidence:.0%} confidence"
    sentence += _not_counted(requirement, rates)
    if not met:
        sentence += _too_few(requirement, count, shots, share, alpha)
    return Judgement(requirement.text, met, bound, rates.confidence, sentence)


def _down(share: float) -> str:
    """Per cent, rounded down: 99.99 % of balls is not all of them."""
    return f"{floor(1e4 * share) / 100:.2f}"


def _not_counted(requirement: Requirement, rates: Rates) -> str:
    """What was counted though it may be none of it, and what was not though it may be."""
    total = rates.total
    failed, floor_first = total["failed"].count, total["not_followed"].count - total["failed"].count
    words = ""
    if requirement.less and failed and requirement.name != "failed":
        words += f". {failed:,} flights that could not be followed to an end are counted as {requirement.name}"
    if requirement.less and floor_first > 0 and requirement.name in ("got_out", "hit_unprotected"):
        words += (
            f". {floor_first:,} balls that met the floor first are not counted here, though they may go on to "
            f"{'get out' if requirement.name == 'got_out' else 'hit something unprotected'}: not_met_guard counts them"
        )
    return words


def _too_few(requirement: Requirement, count: Counts, shots: Counts, share: np.ndarray, alpha: float) -> str:
    """How many shots it takes where this many could not have shown it; or that more may show what was seen."""
    limit = requirement.limit if requirement.less else 1.0 - requirement.limit
    against = count if requirement.less else shots - count
    if weighted_bounds(share, np.zeros_like(shots), shots, alpha)[1] >= limit:
        each = shots_needed(limit, 1.0 - alpha / len(share))
        kinds = "" if len(share) == 1 else f", {each:,} of each shot type"
        none = "none were seen" if requirement.less else "all met a guard first"
        return f". {shots.sum():,} shots cannot show it even if {none}: it takes {each * len(share):,}{kinds}"
    if float(share @ (against / shots)) < limit:
        return ". What was seen is within the limit, but these shots do not show it: more may"
    return ""
