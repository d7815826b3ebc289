"""The JSON Schema of `launches`: an editor accepts what the loader accepts, and marks what it can see."""

from __future__ import annotations

import pytest
import yaml
from jsonschema import Draft202012Validator
from own_shots import GRID, ROOM, one_type, opened

from flightsim.plugin.manager import load_plugins
from flightsim.scenario.reading.json_schema import schema
from flightsim.scenario.reading.resolved import resolved
from flightsim.shots.shipped_types import CLUBS
from flightsim.shots.strike_kind import VARIABLES
from flightsim.study.run.open_bay import all_sections

SCHEMA = schema(all_sections(load_plugins()))
PARTS = "{weight: 0.5, of: 9 deg}, {weight: 0.5, of: {kind: normal, mean: -7 deg, sd: 2 deg}}"
MIX = f"{{kind: mixture, components: [{PARTS}]}}"
SPREAD = "{kind: normal, mean: 0 deg, sd: 2 deg}"
GOOD = [
    "launches: {use: [driver, mid_iron, wedge]}\n",
    "launches: {hand: left, use: {driver: 0.4, wedge: 0.6}}\n",
    GRID,
    one_type(azimuth=MIX, spin_tilt=SPREAD, correlations="[{between: [azimuth, spin_tilt], value: 0.5}]"),
    one_type(tee_height='{kind: uniform, low: 0 mm, high: 1 1/2"}', ball_speed="150mph"),
]


def mistakes(launches: str) -> list[str]:
    data = yaml.safe_load(ROOM + launches)
    return [error.message for error in Draft202012Validator(SCHEMA).iter_errors(data)]


@pytest.mark.parametrize("launches", GOOD)
def test_what_is_read_has_no_mistakes_and_neither_has_what_it_resolves_to(tmp_path, launches):
    plain = {"launches": resolved(opened(tmp_path, launches).scenario)["launches"]}
    assert mistakes(launches) == []
    assert mistakes(yaml.safe_dump(plain)) == []


@pytest.mark.parametrize(
    "launches",
    [
        "launches: {use: [driver, drvier]}\n",
        "launches: {use: {mid iron: 1}}\n",
        "launches: {use: {driver: 0}}\n",
        "launches: {hand: both, use: [driver]}\n",
        "launches: {usage: [driver]}\n",
        GRID.replace("[20 m/s,", "[20,"),
        GRID.replace("steps: 5", "steps: 1"),
        one_type(azimuth="3"),
        one_type(azimuth="{kind: nrmal, mean: 0 deg, sd: 1 deg}"),
        one_type(azimuth="{kind: normal, mean: 0 deg}"),
        one_type(azimuth="{kind: normal, mean: 0 m, sd: 1 deg}"),
        one_type(azimuth="{kind: mixture, components: []}"),
        one_type(azimuth=f"{{kind: mixture, components: [{{weight: 1, of: {MIX}}}]}}"),
        one_type(azimuth=SPREAD, correlations="[{between: [azimuth], value: 0.5}]"),
        one_type(azimuth=SPREAD, correlations="[{between: [azimuth, elevaton], value: 0.5}]"),
        one_type(azimuth=SPREAD, correlations="[{between: [azimuth, elevation], value: 1}]"),
        one_type(share="1.5"),
        one_type(club="''"),
        one_type().replace("      azimuth: 0 deg\n", ""),
    ],
)
def test_mistakes_are_marked(launches):
    assert mistakes(launches) != []


def test_every_number_of_a_shot_says_what_it_is_and_what_may_stand_there():
    keys = SCHEMA["$defs"]["Strike"]["properties"]
    for name in VARIABLES:
        plain, spread = keys[name]["anyOf"]
        assert keys[name]["description"]
        assert plain["examples"]
        assert set(spread["discriminator"]["mapping"]) == {
            "normal",
            "truncated_normal",
            "uniform",
            "triangular",
            "mixture",
        }
        assert "default" not in keys[name]  # 0.0 would be a bare number where a unit is due


def test_every_key_of_every_distribution_says_what_it_is():
    for kind in ("Speed", "Angle", "SpinRate", "Length"):
        for name in ("Normal", "TruncatedNormal", "Uniform", "Triangular", "Mixture", "Component"):
            definition = SCHEMA["$defs"][f"{kind}{name}"]
            assert definition["description"]
            assert all("description" in inner or "const" in inner for inner in definition["properties"].values())


def test_clubs_that_are_shipped_are_offered():
    listed, shared = SCHEMA["$defs"]["Launches"]["properties"]["use"]["anyOf"]
    assert listed["items"]["enum"] == list(CLUBS)
    assert shared["propertyNames"]["enum"] == list(CLUBS)
