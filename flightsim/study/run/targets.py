"""Whether a run meets the targets of its scenario, each judged by its bound: likely, and at worst."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.fates import Fates, Flag
from flightsim.plugin.hookspecs import Finding
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.shares import NOT_ASKED
from flightsim.scenario.reading.targets_section import LENGTH_TARGETS
from flightsim.study.run.on_disk import in_pieces
from flightsim.study.run.pooled import none_seen, shots_needed_of, total_bounds
from flightsim.study.run.require import TARGETS, Judgement
from flightsim.study.run.result import RunResult
from flightsim.study.run.target_kinds import KINDS, Ends, TargetKind
from flightsim.study.run.target_result import TargetResult

Mask = NDArray[np.bool_]
EVENING = 100  # balls
BY_SCENARIO = "by the scenario"


def judge_targets(result: RunResult) -> tuple[TargetResult, ...]:
    """All targets of the run's scenario, in the order of the section. A grid, which is no sample, meets none."""
    return (*_rates(result), *_lengths(result))


def with_targets(result: RunResult) -> RunResult:
    """The run with its targets judged by all that it now knows."""
    return replace(result, targets=judge_targets(result))


def asked(scenario: Scenario, bay: Bay) -> dict[str, str]:
    """Each target and why it is not asked in this bay, "" where it is. A length is asked where a plugin measures it."""
    limits = scenario.targets
    why = {
        key: BY_SCENARIO if set(limits.limits(key).values()) == {NOT_ASKED} else kind.not_asked(scenario, bay)
        for key, kind in KINDS.items()
    }
    return why | {key: BY_SCENARIO if isinstance(getattr(limits, key), str) else "" for key in LENGTH_TARGETS}


def all_good(targets: Sequence[TargetResult]) -> bool:
    """Whether all that are asked are met, the severer ones at worst as well."""
    return all(target.good for target in targets)


def _rates(result: RunResult) -> Iterator[TargetResult]:
    asked, judge = result.scenario.targets, _Judge(result)
    for key, kind in KINDS.items():
        for place, limit in asked.limits(key).items():
            name = f'{key}."{place}"' if place else key
            blank = TargetResult(
                name, "rate", limit, None, None, None, None, key, place, kind.words, kind.severe, kind.comfort
            )
            why = BY_SCENARIO if limit == NOT_ASKED else kind.not_asked(result.scenario, result.bay)
            yield replace(blank, why=why) if why else judge.judged(blank, kind)


@dataclass(frozen=True)
class _Judge:
    result: RunResult

    @property
    def alpha(self) -> float:
        """The error of one look: a run that may look again divides it among its looks."""
        return (1.0 - self.result.scenario.targets.confidence) / self.result.looks

    def judged(self, blank: TargetResult, kind: TargetKind) -> TargetResult:
        """The target with what the run says of it."""
        result = self.result
        share = np.array([shot_type.share for shot_type in result.types])
        likely = Ends(result.scenario, result.bay, result.fates, result.physics.ball.mass)
        mask = self._mask(likely, kind, blank.place)
        rate, lower, upper = self._bounds(mask, share)
        found = replace(
            blank, rate=rate, lower=lower, upper=upper, count=int(mask.sum()), met=False, met_at_worst=False
        )
        if upper is None:
            return found
        worst, words = upper, ""
        for other in (*result.adverse, *(result.built_off or ())):
            ends = replace(likely, bay=other.bay.bay, fates=other.fates)
            most = self._bounds(self._mask(ends, kind, blank.place), share)[2]
            if most is not None and most > worst:
                worst, words = most, other.words
        met, known = upper < blank.limit, result.built_off is not None
        return replace(
            found, met=met, met_at_worst=known and worst < blank.limit, worst_upper=worst if known else None,
            worst_words=words, shots_needed=None if met else self._needed(blank.limit, share),
        )  # fmt: skip

    def _mask(self, ends: Ends, kind: TargetKind, place: str) -> Mask:
        """Balls that are unresolved might have done anything: they count as each."""

        def mask(fates: Fates) -> Mask:
            return np.asarray(kind.mask(replace(ends, fates=fates), place) | fates.with_flag(Flag.UNRESOLVED))

        return in_pieces(ends.fates, mask)

    def _bounds(self, mask: Mask, share: NDArray[np.float64]) -> tuple[float, float | None, float | None]:
        """Rate and bounds of balls as played, of a flight of the run's first shots."""
        kind = self.result.shots.type[: mask.size]
        shots_of_type = np.bincount(kind, minlength=share.size)
        rate = float(share @ (np.bincount(kind[mask], minlength=share.size) / np.maximum(shots_of_type, 1)))
        if not self.result.sampled or not shots_of_type.all():
            return rate, None, None
        return (rate, *total_bounds(mask, kind, share, self.alpha, self.result.shots.rank[: mask.size]))

    def _needed(self, limit: float, share: NDArray[np.float64]) -> int | None:
        shots_of_type = np.bincount(self.result.shots.type, minlength=share.size)
        if none_seen(share, shots_of_type, self.alpha) < limit:
            return None
        return shots_needed_of(self.result.types, limit, self.alpha)


def _lengths(result: RunResult) -> Iterator[TargetResult]:
    """Targets that a plugin's finding answers."""
    for key in LENGTH_TARGETS:
        limit = getattr(result.scenario.targets, key)
        found = [finding for finding in result.findings if finding.target == key and finding.measured is not None]
        blank = TargetResult(key, "length", 0.0, None, None, None, None, key, words=key)
        if isinstance(limit, str):
            yield replace(blank, why=BY_SCENARIO)
        elif found:
            yield _length(replace(blank, limit=limit), min(found, key=lambda finding: finding.measured or 0.0))
        elif result.failed:
            yield replace(blank, limit=limit, met=False, met_at_worst=False, worst_words="a plugin failed")
        else:
            yield replace(blank, limit=limit, why="anything that a club could hit")


def _length(blank: TargetResult, found: Finding) -> TargetResult:
    measured = float(found.measured or 0.0)
    least = measured - found.known_to
    return replace(
        blank, rate=measured, upper=least, met=measured >= blank.limit, met_at_worst=least >= blank.limit,
        worst_words=found.short,
    )  # fmt: skip


def judge_required(result: RunResult) -> Judgement:
    """`--require targets`: whether all that are asked are met. bound: the largest part of its limit that a bound takes.

    Not shown is not met.
    """
    asked = [target for target in result.targets if target.asked]
    missed = [target for target in asked if not target.good]
    part = max((_most(target) / target.limit for target in asked if target.kind == "rate"), default=0.0)
    sentence = f"targets: {'NOT met' if missed else 'met'}; "
    if missed:
        names = ", ".join(target.name for target in missed)
        sentence += f"{len(missed)} of the {len(asked)} asked are not: {names}"
        sentence += _not_flown(result, missed)
    else:
        sentence += f"all {len(asked)} that are asked"
    return Judgement(TARGETS, not missed, part, result.scenario.targets.confidence, sentence)


def _most(target: TargetResult) -> float:
    """The bound that a target is judged by."""
    bounds = [target.upper, target.worst_upper if target.severe else None]
    return max((bound for bound in bounds if bound is not None), default=1.0)


def _not_flown(result: RunResult, missed: Sequence[TargetResult]) -> str:
    unshown = [target.name for target in missed if target.met and target.worst_upper is None and target.kind == "rate"]
    if not unshown:
        return ""
    return f"; of these {', '.join(unshown)} for want of the worst cloth and build, which a quick run leaves out"
