"""Requirements on rates, `escape < 1 in 1000`, judged by the bound and never by the rate seen."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np

from flightsim.contact.fates import Flag
from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.shares import share_of
from flightsim.shots.shot_table import ShotType
from flightsim.study.run.bounds import at_worst_one_in
from flightsim.study.run.pooled import none_seen, shots_needed_of
from flightsim.study.run.rates import ESCAPE, MAY_BE_REQUIRED
from flightsim.study.run.result import AdverseFlight, Rate, Rates, worst_of

_FORM = re.compile(r"\s*(\w+)\s*(<=|>=|<|>)\s*(.+?)(\s+at\s+worst)?\s*")
_UNRESOLVED = Flag.UNRESOLVED.key
TARGETS = "targets"  # all that the scenario asks
_HOW = (
    "NAME < LIMIT, with a limit between 0 and 1: 1 in 1000, 0.1 %, or 0.001; "
    "`at worst` behind it asks it of adverse cloth as well"
)


@dataclass(frozen=True)
class Requirement:
    """A limit that one rate must be below; `or_equal`: or at. at_worst: with the worst of adverse cloth, too."""

    text: str
    name: str
    or_equal: bool
    limit: float
    at_worst: bool = False

    def met_by(self, bound: float) -> bool:
        """Whether the worst that the rate may be, its bound, is within the limit."""
        return bound < self.limit or (self.or_equal and bound == self.limit)


@dataclass(frozen=True)
class Judgement:
    """Whether a requirement is met, by which bound, and the same in words. at_worst: it was judged by the worst of
    likely and adverse cloth; cloth: whose bound it is.
    """

    requirement: str
    met: bool
    bound: float
    confidence: float
    sentence: str
    at_worst: bool = False
    cloth: str = "likely"


def parse_requirements(texts: Sequence[str], given_as: str = "require") -> tuple[Requirement, ...]:
    """Read requirements. Raises BadInputError that shows how to write one. given_as: what they were given as."""
    return tuple(_parse(text, given_as) for text in texts)


def _parse(text: str, given_as: str) -> Requirement:
    if text.strip() == TARGETS:
        return Requirement(TARGETS, TARGETS, True, 1.0)
    found = _FORM.fullmatch(text)
    limit = share_of(found[3]) if found else None
    if found is None or limit is None:
        raise _refuse(given_as, text, _HOW, "escape < 1 in 1000")
    name, sign = found[1], found[2]
    if name not in MAY_BE_REQUIRED:
        near = get_close_matches(name, MAY_BE_REQUIRED, 1) or [ESCAPE]
        raise _refuse(given_as, text, ", ".join(MAY_BE_REQUIRED), f"{near[0]} < {found[3]}")
    if sign.startswith(">"):
        raise _refuse(given_as, text, "<, for what must be rare", f"{name} < {found[3]}")
    if not 0.0 < limit < 1.0:
        raise _refuse(given_as, text, f"{_HOW} (no number of shots shows never, or always)", f"{name} < 1 in 1000")
    return Requirement(text.strip(), name, sign.endswith("="), limit, found[4] is not None)


def _refuse(given_as: str, text: str, allowed: str, fix: str) -> BadInputError:
    words = f" cannot be used\n  allowed: {allowed}\n  try: "
    return BadInputError(Asked(given_as, text), words, Asked(given_as, fix))


def judge_all(
    requirements: Sequence[Requirement],
    rates: Rates,
    types: Sequence[ShotType],
    sampled: bool,
    adverse: Sequence[AdverseFlight] = (),
    cloth: bool = False,
) -> tuple[Judgement, ...]:
    """Judge each requirement by the bound of the weighted total. Raises BadInputError for a grid.

    adverse: the same shots with adverse cloth, for what is asked at worst; cloth: whether any hangs there.
    """
    if requirements and not sampled:
        raise BadInputError(
            "a requirement needs sampled shots: a grid is no sample, and bounds nothing\n"
            "  try: launches with `use` or `types`, or leave ",
            Asked("require"),
            " out",
        )
    return tuple(_judge(requirement, rates, types, adverse, cloth) for requirement in requirements)


def _judge(
    requirement: Requirement, rates: Rates, types: Sequence[ShotType], adverse: Sequence[AdverseFlight], cloth: bool
) -> Judgement:
    """Balls that are unresolved might have done anything: they count towards every rate."""
    worst = worst_of(rates, adverse, requirement.name, judged=True)[1]
    whose = worst if requirement.at_worst else None
    rates = rates if whose is None else whose.rates
    judged = rates.judged[requirement.name]
    assert judged.upper is not None
    bound = judged.upper
    met = requirement.met_by(bound)
    of = whose.words if whose is not None else "with likely cloth" if cloth else ""
    words = f"at worst {at_worst_one_in(bound)}{of and ' '}{of}"
    sentence = f"{requirement.text}: {'met' if met else 'NOT met'}; {words}, with {rates.confidence:.0%} confidence"
    sentence += _not_counted(requirement, rates)
    if not met:
        sentence += _too_few(requirement, judged, rates, types)
    elif worst is not None and whose is None:
        sentence += _but_at_worst(requirement, worst)
    return Judgement(
        requirement.text,
        met,
        bound,
        rates.confidence,
        sentence,
        requirement.at_worst,
        whose.name if whose else "likely",
    )


def _but_at_worst(requirement: Requirement, worst: AdverseFlight) -> str:
    """Words that what is met with likely cloth is not with adverse cloth; empty where it is."""
    bound = worst.rates.judged[requirement.name].upper
    if bound is None or requirement.met_by(bound):
        return ""
    return f". It is not met {worst.words}: at worst {at_worst_one_in(bound)}"


def _not_counted(requirement: Requirement, rates: Rates) -> str:
    """What was counted though it may be none of it."""
    unresolved = rates.total[_UNRESOLVED].count
    if unresolved and requirement.name != _UNRESOLVED:
        return f". {unresolved:,} balls that could not be followed to an end are counted as {requirement.name}"
    return ""


def _too_few(requirement: Requirement, judged: Rate, rates: Rates, types: Sequence[ShotType]) -> str:
    """How many shots it takes where this many could not have shown it; or that more may show what was seen."""
    share, alpha = np.array([kind.share for kind in types]), 1.0 - rates.confidence
    shots = np.array([by_name[requirement.name].shots for by_name in rates.by_type], dtype=np.intp)
    if none_seen(share, shots, alpha) >= requirement.limit:
        needed = shots_needed_of(types, requirement.limit, alpha)
        return f". {shots.sum():,} shots cannot show it even if none were seen: it takes some {needed:,}"
    if judged.rate < requirement.limit:
        return ". What was seen is within the limit, but these shots do not show it: more may"
    return ""
