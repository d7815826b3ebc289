"""Whole scenario files with the real sections: starters and demos load, read back, and fit the JSON Schema."""

from __future__ import annotations

import pytest
import yaml
from jsonschema import Draft202012Validator
from shipped import SHIPPED

from flightsim.plugin.manager import load_plugins
from flightsim.scenario.new.new_file import STARTERS, starter_text
from flightsim.scenario.reading.describe import describe
from flightsim.scenario.reading.json_schema import schema
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.resolved import resolved
from flightsim.study.run.open_bay import all_sections, open_bay

SECTIONS = all_sections(load_plugins())
SCHEMA = schema(SECTIONS)
FILES = {f"starter {name}": starter_text(name) for name in STARTERS} | {path.stem: path.read_text() for path in SHIPPED}
AS_FOUND = [name for name in FILES if not name.endswith("_improved")]
LAUNCHES = {
    "grid": "{grid: {ball_speed: 70 m/s, elevation: {from: 0 deg, to: 30 deg, steps: 4}, azimuth: [0 deg, 3 deg],"
            " spin_rate: 3000 rpm}}",
    "types": "{types: [{club: mine, strike: clean, share: 1, ball_speed: {kind: truncated_normal, mean: 60 m/s,"
             " sd: 2 m/s, low: 40 m/s, high: 70 m/s}, elevation: {kind: normal, mean: 3 deg, sd: 2 deg}, "
             "azimuth: 3 deg, spin_rate: {kind: uniform, low: 1 rpm, high: 100 rpm}}]}",
}  # fmt: skip


def test_the_whole_schema_is_a_schema():
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", FILES)
def test_a_file_fits_the_schema_and_so_does_what_it_resolves_to(tmp_path, name):
    path = tmp_path / "bay.yaml"
    path.write_text(FILES[name])
    plain = resolved(load_scenario(path, SECTIONS))
    for data in (yaml.safe_load(FILES[name]), plain):
        assert [error.message for error in Draft202012Validator(SCHEMA).iter_errors(data)] == []


@pytest.mark.parametrize("launches", LAUNCHES)
@pytest.mark.parametrize("name", [f"starter {STARTERS[0]}"])
def test_a_resolved_file_loads_as_the_same_scenario_whatever_its_launches(tmp_path, name, launches):
    path = tmp_path / "bay.yaml"
    path.write_text(FILES[name].split("launches:")[0] + f"launches: {LAUNCHES[launches]}\n")
    first = load_scenario(path, SECTIONS)
    path.write_text(yaml.safe_dump(resolved(first), sort_keys=False))
    again = load_scenario(path, SECTIONS)
    assert resolved(again) == resolved(first)
    assert again.sections == first.sections


@pytest.mark.parametrize("name", AS_FOUND)
def test_a_resolved_file_gives_the_same_bay(tmp_path, name):
    path = tmp_path / "bay.yaml"
    path.write_text(FILES[name])
    first = open_bay(path)
    path.write_text(yaml.safe_dump(resolved(first.scenario), sort_keys=False))
    again = open_bay(path)
    assert [part.name for part in again.bay.parts] == [part.name for part in first.bay.parts]
    assert (again.bay.lower == first.bay.lower).all()
    assert (again.bay.upper == first.bay.upper).all()
    assert again.physics == first.physics


def test_a_bay_is_described_in_plain_lines(tmp_path):
    path = tmp_path / "bay.yaml"
    path.write_text(starter_text("lean_to"))
    opened = open_bay(path)
    lines = describe(opened.scenario, opened.bay.parts, opened.bay.openings, opened.warnings).splitlines()
    assert lines[0] == "Lean-to"
    assert "20 ft long, 12 ft wide, single-slope roof, left 11 ft, right 8 ft 6 in, open at the back" in lines[1]
    assert "the ball 1 1/2 in above the slab" in lines[2]
    assert "screen (cloth)" in lines[3]
    first = next(k for k, line in enumerate(lines) if line.endswith("warnings:")) + 1
    assert "the club hits the left wall, which is 2 ft 3 in too near" in lines[first]
    assert not any(word in "\n".join(lines).lower() for word in ("safe", "held", "caught"))


def test_no_size_in_any_section_takes_a_bare_number(tmp_path):
    path = tmp_path / "bay.yaml"
    grid = LAUNCHES["grid"].replace("spin_rate", "tee_height: 5, spin_rate")
    path.write_text(FILES[f"starter {STARTERS[0]}"].split("launches:")[0] + f"launches: {grid}\n")
    with pytest.raises(ScenarioError, match=r"launches\.grid\.tee_height: 5 has no unit"):
        load_scenario(path, SECTIONS)
