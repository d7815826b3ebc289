"""The JSON Schema accepts what the loader accepts, and marks the mistakes that an editor can see."""

from __future__ import annotations

import pytest
import yaml
from jsonschema import Draft202012Validator
from sample_sections import CHOICES, GOOD, SECTIONS, changed, load

from flightsim.bay.facing_words import SHIPPED
from flightsim.contact.facings import shipped_facings
from flightsim.plugin.manager import load_plugins
from flightsim.scenario.reading.json_schema import schema
from flightsim.scenario.reading.resolved import resolved
from flightsim.study.run.open_bay import all_sections, core_choices

SCHEMA = schema(SECTIONS, CHOICES)


def mistakes(text):
    return list(Draft202012Validator(SCHEMA).iter_errors(yaml.safe_load(text)))


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_a_good_scenario_has_no_mistakes():
    assert mistakes(GOOD) == []
    assert mistakes(GOOD + "pipes: {name: gas, from: 2 ft 3 1/8 in}\nair: {temperature: 41 °F}\n") == []


def test_a_resolved_scenario_has_no_mistakes(tmp_path):
    assert mistakes(yaml.safe_dump(resolved(load(tmp_path, GOOD)))) == []


@pytest.mark.parametrize(
    "text",
    [
        GOOD + "canpy: {}\n",
        changed("gap_behind: 300 mm", "gap: 300 mm"),
        changed("width: 3.4 m", "width: 3.4"),
        changed("width: 3.4 m", "width: '3.4'"),
        changed("width: 3.4 m", "width: 3.4 kg"),
        changed("width: 3.4 m", "width:"),
        changed("units: metric", "units: metrc"),
        changed("kind: flat", "kind: round"),
        changed("  length: 6.2 m\n", ""),
        changed("name: Shed\n", ""),
        GOOD + "aero: own\n",
        GOOD + "ball: {preset: golden}\n",
        GOOD + "ball: {mass: null}\n",
    ],
)
def test_mistakes_are_marked(text):
    assert mistakes(text) != []


def test_no_section_but_its_own_keys_is_allowed_anywhere():
    objects = [SCHEMA, *SCHEMA["$defs"].values()]
    assert all(thing["additionalProperties"] is False for thing in objects if thing.get("type") == "object")


def test_keys_carry_descriptions_and_examples_for_completion():
    depth = SCHEMA["$defs"]["Canopy"]["properties"]["depth"]
    assert depth["examples"][0] == "4.2 m"
    assert "unit" in depth["description"]
    assert SCHEMA["properties"]["canopy"]["description"] == "Canopies: one, or a list"
    assert SCHEMA["$defs"]["Flat"]["properties"]["height"]["description"] == "slab to the roof"


def test_no_default_is_a_bare_number_where_a_unit_is_due():
    assert "default" not in SCHEMA["$defs"]["Mat"]["properties"]["length"]
    assert SCHEMA["$defs"]["Canopy"]["properties"]["layers"]["default"] == 1


def test_a_key_called_title_or_default_is_kept():
    from pydantic import Field

    from flightsim.scenario.reading.models import Model, Section

    class Odd(Model):
        title: str = Field("t", description="of the drawing")
        default: bool = True

    odd = schema([Section("odd", Odd, "Odd", "odd")])
    assert set(odd["$defs"]["Odd"]["properties"]) == {"title", "default"}


def test_an_editor_offers_every_facing_that_comes_with_flightsim_and_takes_others():
    assert tuple(shipped_facings()) == SHIPPED
    whole = schema(all_sections(load_plugins()), core_choices())
    facing = whole["$defs"]["Screen"]["properties"]["facing"]
    assert facing["examples"] == list(SHIPPED)
    assert (facing["type"], facing["default"]) == ("string", "cloth")
    assert "enum" not in facing


def test_the_harm_speed_is_a_key_of_every_file():
    assert SCHEMA["properties"]["harm_speed"]["examples"]
    assert mistakes(GOOD + "harm_speed: 18 km/h\n") == []
    assert mistakes(GOOD + "harm_speed: 5\n") != []
