"""The scenario with every default filled in, as plain data that is itself a valid scenario file."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from flightsim.scenario.reading.may_change import MayChange
from flightsim.scenario.reading.models import Scenario


def resolved(scenario: Scenario) -> dict[str, Any]:
    """Plain data in the order of a file: sizes as strings with their units, in SI, that read back exactly."""
    plain: dict[str, Any] = {"name": scenario.name, "units": scenario.units}
    if scenario.plugins:
        plain["plugins"] = list(scenario.plugins)
    plain |= {"ball": _dump(scenario.ball), "air": _dump(scenario.air), "aero": scenario.aero}
    plain["harm_energy"] = f"{scenario.harm_energy!r} J"
    plain["blunt_harm_energy"] = f"{scenario.blunt_harm_energy!r} J"
    plain["struck_energy"] = f"{scenario.struck_energy!r} J"
    plain["tee"] = _dump(scenario.tee)
    plain["targets"] = _dump(scenario.targets)
    if scenario.may_change != MayChange():
        plain["may_change"] = _dump(scenario.may_change)
    for key, entries in scenario.sections.items():
        dumped = [_dump(entry) for entry in entries]
        plain[key] = dumped[0] if len(dumped) == 1 else dumped
    return plain


def _dump(model: BaseModel) -> Any:
    # round_trip leaves out what is computed, which would be an unknown key on reading
    return model.model_dump(mode="json", by_alias=True, exclude_none=True, round_trip=True)
