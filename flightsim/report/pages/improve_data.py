"""improve.json: a search for changes as data. docs/improve.md tells every key."""

from __future__ import annotations

import hashlib
from dataclasses import asdict
from pathlib import Path
from typing import Any

from flightsim import __version__
from flightsim.study.improve.improve import Improved
from flightsim.study.run.target_result import TargetResult

SCHEMA_VERSION = 1


def improve_data(found: Improved, seed: int) -> dict[str, Any]:
    """Rates as shares of balls as played, lengths in m."""
    scenario = found.found.scenario
    return {
        "schema_version": SCHEMA_VERSION,
        "flightsim": __version__,
        "scenario": scenario.name,
        "scenario_file": Path(scenario.file).name,
        "scenario_sha256": hashlib.sha256(scenario.text.encode("utf-8")).hexdigest(),
        "sets": list(scenario.overrides),
        "seed": seed,
        "met": found.met,
        "stopped": found.stopped is not None,
        "out_of_time": found.out_of_time,
        "tries": found.tries,
        "plans_tried": found.tried,
        "fresh_shots": 0 if found.result is None else len(found.result.shots),
        "steps": [
            {"words": step.words, "changes": list(step.changes), "work": step.tier.name.lower(),
             "before": step.before, "after": step.after}
            for step in found.steps
        ],
        "targets_before": [_target(target) for target in found.before],
        "targets_after": [_target(target) for target in found.after],
        "defeats": [asdict(one) for one in found.defeats],
        "offers": [asdict(one) | {"sets": list(one.sets)} for one in found.offers],
        "cannot_be_met": [asdict(one) for one in found.bounds],
        "not_judged": list(found.not_judged),
        "cost_before": None if found.costs is None else found.costs[0],
        "cost_after": None if found.costs is None else found.costs[1],
    }  # fmt: skip


def _target(target: TargetResult) -> dict[str, Any]:
    return {
        key: getattr(target, key)
        for key in ("name", "kind", "limit", "rate", "upper", "worst_upper", "met", "met_at_worst")
    }
