"""One `check` of a scenario: its bay in words or as data, without flying a ball."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from flightsim.jobs.print_json import print_json
from flightsim.report.words.asked import asked_words
from flightsim.scenario.reading.describe import describe
from flightsim.scenario.reading.resolved import resolved
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.targets import asked


def check_and_print(scenario: Path, sets: Sequence[str], as_json: bool) -> None:
    """Read, build, tell. Raises ScenarioError, BadInputError or PluginError."""
    opened = open_bay(scenario, sets)
    if as_json:
        print_json(check_facts(opened))
    else:
        asked = asked_words(opened.scenario, opened.bay)
        click.echo(describe(opened.scenario, opened.bay.parts, opened.bay.openings, opened.warnings, asked))


def check_facts(opened: OpenBay) -> dict[str, Any]:
    """The bay as data: its parts, openings and people, what is odd, and the scenario with all defaults filled in."""
    scenario, bay = opened.scenario, opened.bay
    return {
        "schema_version": 1,
        "scenario": scenario.name,
        "scenario_file": Path(scenario.file).name,
        "overrides": list(scenario.overrides),
        "parts": [
            {"part": part.name, "group": part.label, "role": str(part.role), "facing": part.facing,
             "owner": part.owner, "fragile": part.fragile}
            for part in bay.parts
        ],
        "openings": [opening.name for opening in bay.openings],
        "people": [zone.name for zone in bay.zones],
        "bounds_m": {"lower": bay.lower.tolist(), "upper": bay.upper.tolist()},
        "shot_types": [{"shot_type": kind.label, "share": kind.share} for kind in opened.plan.types],
        "targets_asked": {key: why == "" for key, why in asked(scenario, bay).items()},
        "warnings": [{**asdict(problem), "severity": str(problem.severity)} for problem in opened.warnings],
        "resolved": resolved(scenario),
    }  # fmt: skip
