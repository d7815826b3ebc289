"""Changes: where a change lands, and what is said when it cannot."""

from __future__ import annotations

import pytest
from sample_sections import GOOD, changed, load, problems

from flightsim.scenario.reading.problems import ScenarioError


def depths(bay):
    return [entry.depth for entry in bay.entries("canopy")]


@pytest.mark.parametrize("path", ["canopy.1.depth", "canopy.front.depth", " canopy . front . depth "])
def test_a_change_goes_by_index_or_name(tmp_path, path):
    bay = load(tmp_path, GOOD, f"{path}=2 m")
    assert depths(bay) == [1.4, 2.0]
    assert bay.overrides == (f"{path}=2 m",)


def test_an_unnamed_entry_goes_by_the_name_that_it_will_get(tmp_path):
    assert depths(load(tmp_path, GOOD, "canopy.canopy.depth=2m")) == [2.0, 0.8]


def test_where_there_is_one_entry_it_need_not_be_named(tmp_path):
    one = changed("  - {name: front, depth: 800 mm}\n", "")
    assert depths(load(tmp_path, one, "canopy.depth=2m")) == [2.0]
    group = changed("  - {depth: 1.4 m}\n  - {name: front, depth: 800 mm}\n", "  {depth: 1.4 m}\n")
    for path in ("canopy.depth", "canopy.0.depth", "canopy.canopy.depth"):
        assert depths(load(tmp_path, group, f"{path}=2m")) == [2.0]


def test_a_change_may_add_a_key_or_a_whole_section(tmp_path):
    bay = load(tmp_path, GOOD, "canopy.front.slope=5 deg", "air.altitude=120 m", "pipes=[{name: gas}]")
    assert bay.entries("canopy")[1].slope == pytest.approx(0.0872664626)
    assert bay.air.altitude == 120.0
    assert bay.entries("pipes")[0].name == "gas"


def test_null_takes_a_key_out(tmp_path):
    bay = load(tmp_path, GOOD, "canopy=null", "units=null")
    assert bay.entries("canopy") == ()
    assert bay.units == "metric"


def test_the_last_of_two_changes_holds(tmp_path):
    assert depths(load(tmp_path, GOOD, "canopy.0.depth=1m", "canopy.0.depth=2m"))[0] == 2.0
    assert depths(load(tmp_path, GOOD, "canopy.0.depth=1m", "canopy=[{depth: 3 m}]")) == [3.0]


def test_a_value_is_read_as_in_the_file(tmp_path):
    assert load(tmp_path, GOOD, "name=a = b").name == "a = b"
    assert problems(tmp_path, GOOD, "canopy.0.depth=2")[0][2] == "2 has no unit"


@pytest.mark.parametrize(
    ("change", "key", "found", "fix"),
    [
        ("canopy.0.dpth=1m", "canopy.0.dpth", "unknown key", "depth:"),
        ("canpy.depth=1m", "canpy", "unknown key", "canopy:"),
        ("air.temprature=3 degC", "air.temprature", "unknown key", "temperature:"),
        ("canopy.frnt.depth=1m", "canopy.frnt", "'frnt' is no entry of the list", "front"),
        ("canopy.depth=1m", "canopy.depth", "'depth' is no entry of the list", "canopy"),
        ("canopy.2.depth=1m", "canopy.2", "there is no entry 2", ""),
        ("screen.1.gap_behind=1m", "screen.1", "there is no entry 1", ""),
        ("name.first=x", "name.first", "name holds 'Shed', which has no keys", "name"),
        ("canopy.0.depth=-1m", "canopy.0.depth", "'-1m' is out of range", "4.2 m"),
        ("room.length=", "room.length", "nothing is written after the =",
         "room.length=1.4m, or room.length=null to take it out"),
        ("room", "", "no change can be read in it", "canopy.depth=1.4m"),
        ("=3", "", "no change can be read in it", "canopy.depth=1.4m"),
        ("room..length=3", "", "no change can be read in it", "canopy.depth=1.4m"),
        ("canopy.0=null", "canopy.0", "an entry of a list cannot be taken out here", "edit the file"),
        ("unit=null", "unit", "it is not in the file", "units"),
        ("room.length=null", "room.length", "missing", "length: 4.2 m"),
        ("room.length=[3 m", "", "not YAML: did not find expected ',' or ']'",
         "close the bracket, and put a comma between the items"),
        ("room.length=*x", "", "not YAML: found undefined alias", ""),
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_made_names_itself_and_the_nearest_key(tmp_path, change, key, found, fix):
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, GOOD, change)
    problem = caught.value.problems[0]
    assert problem.file == f"change {change}"
    assert problem.line is None
    if "*" in change:
        assert "alias" in problem.found
    else:
        assert (problem.key, problem.found, problem.fix) == (key, found, fix)


def test_all_changes_that_cannot_be_placed_are_told_at_once(tmp_path):
    found = problems(tmp_path, GOOD, "canopy.9.depth=1m", "room", "canopy.0.depth=1m")
    assert [key for _, key, *_ in found] == ["canopy.9", ""]


def test_two_entries_of_one_name_cannot_be_told_apart(tmp_path):
    twice = changed("  - {depth: 1.4 m}\n", "  - {name: front, depth: 1.4 m}\n")
    assert problems(tmp_path, twice, "canopy.front.depth=1m")[0][2] == "several entries are named 'front'"
