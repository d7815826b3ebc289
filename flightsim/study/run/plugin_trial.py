"""A finished run for those who write plugins and test them."""

from __future__ import annotations

from flightsim.plugin.manager import Plugins
from flightsim.plugin.offered import shot_keys
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.written import Written
from flightsim.study.run.open_bay import SHOT_SECTIONS, BayOrigin, all_sections, core_choices, opened_with
from flightsim.study.run.result import RunResult
from flightsim.study.run.walk import run

PLAIN_SHOTS = "launches: {use: [driver, mid_iron, wedge]}\n"


def finished_run(text: str, plugins: Plugins, shots: int = 1000, seed: int = 1) -> RunResult:
    """Fly the shots of a scenario's text in the bay that these plugins make of it; plain ones, where it has none.

    The result holds what plugins found, and in `failed` what one of them did wrong over it. Raises ScenarioError and
    PluginError as a run does.
    """
    keys = [*(section.key for section in SHOT_SECTIONS), *shot_keys(plugins)]
    has_shots = any(line.startswith(f"{key}:") for key in keys for line in text.splitlines())
    origin = Written(text if has_shots else text + PLAIN_SHOTS)
    scenario = load_scenario(origin, all_sections(plugins), (), core_choices(plugins))
    return run(opened_with(scenario, plugins, BayOrigin(origin)), shots, seed)
