"""size.json: a search for a size as data. docs/size.md tells every key."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from flightsim import __version__
from flightsim.contact.fates import Flag
from flightsim.report.words.size_words import SizeReport
from flightsim.study.size.builds import Sizes
from flightsim.study.size.least_size import Answer
from flightsim.study.size.size_look import Look

SCHEMA_VERSION = 1


def size_data(report: SizeReport, sets: tuple[str, ...], keeps: tuple[str, ...]) -> dict[str, Any]:
    """Everything in SI; angles in degrees."""
    answer, scenario = report.answer, report.scenario
    return {
        "schema_version": SCHEMA_VERSION,
        "flightsim": __version__,
        "scenario": scenario.name,
        "scenario_file": Path(scenario.file).name,
        "scenario_sha256": hashlib.sha256(scenario.text.encode("utf-8")).hexdigest(),
        "sets": list(sets),
        "target": answer.requirement.text,
        "target_at": getattr(answer.requirement, "where", "") or None,
        "confidence": answer.confidence,
        "keep": list(keeps),
        "tolerance_m": answer.tolerance,
        "seed": answer.seed,
        "vary": [
            {"path": vary.path, "kind": vary.kind, "lower": vary.lower, "upper": vary.upper, "step": vary.step,
             "present": now, "price": answer.prices.get(vary.path)}
            for vary, now in zip(answer.varies, report.present, strict=True)
        ],
        "found": answer.chosen is not None,
        "chosen": None if answer.chosen is None else _sizes(answer, answer.chosen),
        "cost": answer.cost(answer.chosen) if answer.chosen is not None and answer.prices else None,
        "upper": answer.confirmed[-1].worst if answer.chosen is not None else None,
        "binding": answer.binding,
        "groups": list(answer.groups),
        "shots_needed": answer.needed or None,
        "decides_nothing": None if answer.flat is None else list(answer.flat),
        "search_shots": answer.searched,
        "confirming_shots": answer.confirming,
        "looks": [_look(answer, look) for look in answer.looks],
        "confirmed": [_look(answer, look) for look in answer.confirmed],
        "front": [_sizes(answer, look.sizes) for look in answer.front] if len(answer.varies) > 1 else [],
        "worse_sides": [
            {"path": worse.path, "drawn_m": worse.value - worse.off, "taken_m": worse.value} for worse in answer.worse
        ],
        "backward": [[_sizes(answer, small), _sizes(answer, large)] for small, large in answer.backward],
        "defeats": [{"shot_type": label, "shots": count} for label, count in answer.defeats],
        "curve": _curve(answer),
        "doubts": [
            {"kind": doubt.kind, "words": doubt.words, "rate": doubt.rate, "upper": doubt.upper}
            for doubt in answer.doubts
        ],
    }  # fmt: skip


def _sizes(answer: Answer, sizes: Sizes) -> dict[str, float]:
    return {vary.path: x for vary, x in zip(answer.varies, sizes, strict=True)}


def _look(answer: Answer, look: Look) -> dict[str, Any]:
    data: dict[str, Any] = {"sizes": _sizes(answer, look.sizes), "met": look.met}
    if look.refused:
        return data | {"refused": look.refused}
    return data | {
        "shots_that_did": look.hits,
        "by_flag": {flag.key: count for flag, count in zip(Flag, look.flags, strict=True)},
        "rate": list(look.rates),
        "lower": list(look.lower),
        "upper": list(look.upper),
        "keep_broken": look.kept or None,
    }


def _curve(answer: Answer) -> dict[str, Any] | None:
    curve = answer.curve
    if curve is None:
        return None
    return {
        "path": answer.varies[-1].path,
        "size": list(curve.sizes),
        "rate": list(curve.rate),
        "lower": list(curve.lower),
        "upper": list(curve.upper),
        "models": {name: list(rates) for name, rates in curve.models.items()},
    }
