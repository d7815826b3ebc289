"""Requirements on rates, `--require 'got_out < 1 in 1000'`, judged by the bound and never by the rate seen."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from math import floor

import numpy as np

from flightsim.errors import BadInputError
from flightsim.strike.shots import ShotType
from flightsim.study.bounds import shots_needed, weighted_bounds
from flightsim.study.result import Rates

BAD = ("got_out", "hit_unprotected", "not_followed", "not_met_guard", "failed")
GOOD = "met_guard"
_FORM = re.compile(r"\s*(\w+)\s*(<=|>=|<|>)\s*(.+?)\s*")
_ONE_IN = re.compile(r"([\d.,]+)\s+in\s+([\d.,]+)")
_HAS_FAILED = ("not_followed", "not_met_guard", "failed")  # these count failed shots as it is


@dataclass(frozen=True)
class Requirement:
    """A limit on one rate: `less` means that the rate must be below it; `or_equal` that it may be at it."""

    text: str
    name: str
    less: bool
    or_equal: bool
    limit: float


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
    if found is None or limit is None or not 0.0 < limit <= 1.0:
        raise _refuse(text, "NAME < LIMIT, with a limit above 0: 1 in 1000, 0.1 %, or 0.001", "got_out < 1 in 1000")
    name, sign = found[1], found[2]
    if name not in (*BAD, GOOD):
        near = get_close_matches(name, (*BAD, GOOD), 1) or ["got_out"]
        raise _refuse(text, ", ".join((*BAD, GOOD)), f"{near[0]} {sign} {found[3]}")
    less = sign.startswith("<")
    if less is (name == GOOD):
        right = f"{name} {'>' if name == GOOD else '<'} {found[3]}"
        raise _refuse(text, "< for what must be rare, > for met_guard", right)
    return Requirement(text.strip(), name, less, sign.endswith("="), limit)


def _refuse(text: str, allowed: str, fix: str) -> BadInputError:
    return BadInputError(f"--require '{text}' cannot be used\n  allowed: {allowed}\n  try: --require '{fix}'")


def _share(text: str) -> float | None:
    one_in = _ONE_IN.fullmatch(text)
    try:
        if one_in:
            return float(one_in[1].replace(",", "")) / float(one_in[2].replace(",", ""))
        if text.endswith("%"):
            return float(text[:-1]) / 100.0
        return float(text)
    except (ValueError, ZeroDivisionError):
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
    count = np.array([sum(some[name].count for name in names) for some in rates.by_type])
    shots = np.array([some[requirement.name].shots for some in rates.by_type])
    share = np.array([kind.share for kind in types])
    lower, upper = weighted_bounds(share, count, shots, 1.0 - rates.confidence)
    limit, at = requirement.limit, requirement.or_equal
    if requirement.less:
        met = upper < limit or (at and upper == limit)
        words = f"at worst 1 in {floor(1.0 / upper)}"
    else:
        met = lower > limit or (at and lower == limit)
        words = f"at least {100.0 * lower:.4g} %"
    sentence = f"{requirement.text}: {'met' if met else 'NOT met'}; {words}, with {rates.confidence:.0%} confidence"
    if requirement.less and not met:
        sentence += _too_few(count, shots, share, limit, rates.confidence)
    return Judgement(
        requirement.text, bool(met), upper if requirement.less else lower, rates.confidence, sentence
    )


def _too_few(count: np.ndarray, shots: np.ndarray, share: np.ndarray, limit: float, confidence: float) -> str:
    """How many shots it takes where this many could not have shown it even with none seen."""
    kinds = len(share)
    best = weighted_bounds(share, np.zeros_like(count), shots, 1.0 - confidence)[1]
    if best < limit:
        return ""
    each = shots_needed(min(limit, 0.5), 1.0 - (1.0 - confidence) / kinds)
    return f"\n  {shots.sum():,} shots cannot show it even if none were seen: it takes at least {each * kinds:,}"
