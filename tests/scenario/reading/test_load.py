"""Reading a scenario: defaults, names, lines, and the plain data it can be written back to."""

from __future__ import annotations

import json

import yaml
from sample_sections import CHOICES, GOOD, SECTIONS, changed, load, problems

from flightsim.scenario.reading.load import load_scenario, named_plugins
from flightsim.scenario.reading.problems import Severity
from flightsim.scenario.reading.resolved import resolved
from flightsim.scenario.reading.tee_place import check_places


def test_a_scenario_is_read_into_si_with_defaults(tmp_path):
    bay = load(tmp_path, GOOD)
    assert bay.name == "Shed"
    assert bay.room.length == 6.2
    assert bay.entries("canopy")[1].depth == 0.8
    assert bay.air.temperature == 293.15
    assert bay.aero == "naruo2004"
    assert bay.entries("pipes") == ()
    assert list(bay.sections) == ["room", "screen", "canopy"]
    assert bay.text == GOOD


def test_every_key_and_entry_knows_its_line(tmp_path):
    lines = load(tmp_path, GOOD).lines
    assert lines["name"] == 1
    assert lines["room.roof.height"] == 6
    assert lines["tee.from_left_wall"] == 9
    assert lines["canopy.0.depth"] == 13
    assert lines["canopy.1"] == 14


def test_a_problem_raised_later_names_the_line_of_the_nearest_key_around_it(tmp_path):
    bay = load(tmp_path, GOOD, "canopy.front.depth=1 m")
    assert bay.problem("canopy.0.slope", "too steep").line == 13
    assert bay.problem("screen.height", "too high").line == 10
    assert bay.problem("canopy.1.depth", "too deep").file == "change canopy.front.depth=1 m"
    assert bay.problem("nowhere", "odd", severity=Severity.WARNING).line is None


def test_entries_without_a_name_are_named_for_their_section(tmp_path):
    text = changed("  - {name: front, depth: 800 mm}\n", "  - {depth: 800 mm}\n  - {name: canopy 2, depth: 1 m}\n")
    assert [entry.name for entry in load(tmp_path, text).entries("canopy")] == ["canopy", "canopy 3", "canopy 2"]
    assert load(tmp_path, text).entries("screen")[0].name == "screen"


def test_a_name_that_the_model_requires_is_not_made_up(tmp_path):
    assert problems(tmp_path, GOOD + "pipes:\n  - {from: 1 m}\n")[0][1:3] == ("pipes.0.name", "missing")


def test_an_empty_list_is_no_entry(tmp_path):
    assert load(tmp_path, GOOD + "pipes: []\n").entries("pipes") == ()


def test_the_resolved_scenario_is_itself_a_scenario_that_says_the_same(tmp_path):
    text = GOOD + "pipes: {name: gas, from: 2 ft 3 1/8 in}\nair: {temperature: 41 degF, altitude: -3 m}\n"
    text += "plugins: [mine]\nball: {preset: foam, mass: 12 g}\n"
    first = load(tmp_path, text, "canopy.0.slope=7 deg")
    plain = resolved(first)
    assert json.loads(json.dumps(plain)) == plain
    again = load(tmp_path, yaml.safe_dump(plain, sort_keys=False))
    assert resolved(again) == plain
    assert (again.tee, again.air, again.ball, again.plugins) == (first.tee, first.air, first.ball, first.plugins)
    assert again.sections == first.sections
    assert list(plain) == [
        "name",
        "units",
        "plugins",
        "ball",
        "air",
        "aero",
        "harm_energy",
        "blunt_harm_energy",
        "struck_energy",
        "tee",
        "targets",
        "room",
        "screen",
        "canopy",
        "pipes",
    ]


def test_plugins_named_by_the_file_or_by_a_change_are_known_before_their_sections(tmp_path):
    path = tmp_path / "bay.yaml"
    path.write_text("plugins: [one, two]\nunknown_section: {a: 1}\n")
    assert named_plugins(path) == ("one", "two")
    assert named_plugins(path, ["plugins=[three]"]) == ("three",)
    path.write_text("plugins: one\n")
    assert named_plugins(path) == ()


def test_words_of_yaml_1_1_stay_text(tmp_path):
    text = "name: on\nplugins: [yes, 12:30, 2026-01-02, 1_000, '7', 0777a, no]\n" + GOOD.split("\n", 1)[1]
    bay = load(tmp_path, text)
    assert bay.name == "on"
    assert bay.plugins == ("yes", "12:30", "2026-01-02", "1_000", "7", "0777a", "no")


def test_numbers_are_read_as_yaml_1_2_reads_them(tmp_path):
    assert load(tmp_path, GOOD, "canopy.0.layers=03").entries("canopy")[0].layers == 3
    assert load(tmp_path, GOOD, "canopy.0.layers=0x5").entries("canopy")[0].layers == 5
    assert load(tmp_path, GOOD, "canopy.0.weight=1e-2").entries("canopy")[0].weight == 0.01
    assert load(tmp_path, GOOD, "canopy.0.weight=3").entries("canopy")[0].weight == 3.0


def test_a_byte_order_mark_and_windows_line_ends_are_no_matter(tmp_path):
    bay = load(tmp_path, b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert bay.lines["canopy.1"] == 14


def test_several_tee_spots_share_the_shots(tmp_path):
    spot = "{{name: {0}, share: {1}, from_end_wall: 3 m, from_left_wall: {2} m}}"
    spots = f"  spots: [{spot.format('a', 0.1, 1)}, {spot.format('b', 0.2, 2)}, {spot.format('c', 0.7, 1.5)}]\n"
    text = changed("  from_left_wall: 1.65 m\n", f"  from_left_wall: 1.65 m\n{spots}")
    assert [spot.share for spot in load(tmp_path, text).tee.spots] == [0.1, 0.2, 0.7]
    less = problems(tmp_path, text.replace("0.7", "0.65"))
    assert less[0][:3] == (10, "tee.spots", "the shares add to 0.95")
    assert less[0][4].startswith("a: 0.105263157895, b:")
    twice = problems(tmp_path, text.replace("name: b", "name: a"))
    assert twice[0][1:3] == ("tee.spots.1.name", "the name 'a' is taken")


def test_a_model_that_the_rooms_above_know_is_checked_by_the_words_they_give(tmp_path):
    (problem,) = problems(tmp_path, GOOD + "aero: naruo\n")
    assert problem == (15, "aero", "'naruo' is not known here", "naruo2004, ferguson2022", "naruo2004")
    path = tmp_path / "other.yaml"
    path.write_text(GOOD + "aero: anything\n")
    assert load_scenario(path, SECTIONS).aero == "anything"
    assert CHOICES["aero"]


def places(tmp_path, text, *sets):
    found = check_places(load(tmp_path, text, *sets), {"screen": 0.3})  # what its screen's part says of itself
    return [(str(p.severity), p.line, p.key, p.found) for p in found]


def test_a_tee_in_the_room_before_the_screen_is_no_problem(tmp_path):
    assert places(tmp_path, GOOD) == []


def test_a_tee_or_spot_outside_the_room_or_behind_a_screen_is_an_error(tmp_path):
    outside = places(tmp_path, changed("3.7 m", "6.2 m"))
    assert outside == [("error", 8, "tee.from_end_wall", "6.20 m lies outside the room, whose length is 6.20 m")]
    beside = places(tmp_path, changed("1.65 m", "12 ft"))
    assert beside[0][2] == "tee.from_left_wall"
    behind = places(tmp_path, changed("3.7 m", "0.3 m"))
    assert behind == [
        ("error", 8, "tee.from_end_wall", "300 mm from the end wall is behind the screen, which hangs 300 mm off it")
    ]
    spots = "  spots: [{name: a, share: 1, from_end_wall: 20 cm, from_left_wall: 4 m}]\n"
    spot = places(tmp_path, changed("  from_left_wall: 1.65 m\n", "  from_left_wall: 1.65 m\n" + spots))
    assert [key for _, _, key, _ in spot] == ["tee.spots.0.from_left_wall", "tee.spots.0.from_end_wall"]


def test_a_mat_that_does_not_fit_and_a_spot_beside_it_are_warnings(tmp_path):
    mat = "  from_left_wall: 0.7 m\n  mat: {height: 30 mm}\n"
    mat += "  spots: [{name: a, share: 1, from_end_wall: 3.7 m, from_left_wall: 2 m}]\n"
    found = places(tmp_path, changed("  from_left_wall: 1.65 m\n", mat))
    assert [(severity, key) for severity, _, key, _ in found] == [
        ("warning", "tee.spots.0"),
        ("warning", "tee.mat.width"),
    ]


def test_what_the_ball_stands_on_is_the_mat_else_the_turf_else_the_slab(tmp_path):
    assert load(tmp_path, GOOD).ground_height == 0.0
    assert load(tmp_path, GOOD, "room.turf_height=20 mm").ground_height == 0.02
    assert load(tmp_path, GOOD, "room.turf_height=20 mm", "tee.mat={height: 35 mm}").ground_height == 0.035
