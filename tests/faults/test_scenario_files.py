"""Bad scenario files: each is refused with line, key, what was found, what is allowed, and a way out."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sample_sections import GOOD, changed, load, problems

from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.source import MOST_BYTES, MOST_DEPTH, read_source

WRITE_ONE = "flightsim new FILE, which asks for a bay and writes one"


def only(found):
    assert len(found) == 1, found
    return found[0]


@pytest.mark.parametrize(
    ("text", "line", "key", "found", "fix"),
    [
        ("", 1, "", "the file is empty", WRITE_ONE),
        ("# nothing but a remark\n", 1, "", "the file is empty", WRITE_ONE),
        ("---\n", 1, "", "the file is empty", WRITE_ONE),
        ("- a\n", 1, "", "the file holds a list", "begin with `name: My bay`"),
        ("hello\n", 1, "", "the file holds 'hello'", "begin with `name: My bay`"),
        ("name: a\n---\nname: b\n", 2, "", "a second document begins",
         "one bay a file; remove the `---` line, or put the second bay into its own file"),
        ("name: a\nroom:\n\tlength: 3 m\n", 3, "", None, "indent with spaces, not tabs"),
        ("name: a\nroom: [1, 2\ntee: 3\n", 3, "", None, "close the bracket, and put a comma between the items"),
        ("name: 'a\n", 2, "", None, "close the quotes"),
        ("name: a: b\n", 1, "", None,
         "one key a line; keys of one group in the same column; ': ' inside quotes"),
        ("name: a\nroom\ntee: 3\n", 3, "", None, "a key, a colon, a space and the value, as in `depth: 1.4 m`"),
        ("name: @a\n", 1, "", None, "put the text in quotes"),
        ("room:\n  a: 1\n b: 2\n", 3, "", None, "keys of one group start in the same column; list items with `- `"),
        (b"name: caf\xe9\n", 1, "", "the file is not UTF-8 text", "save it as UTF-8 in your editor"),
        (GOOD.encode("utf-16"), 1, "", "the file is not UTF-8 text", "save it as UTF-8 in your editor"),
        ("name: a\nunits: \x00\n", 2, "", "an unprintable character, '\\x00'", "remove it"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_readable_yaml_names_the_line_and_a_way_out(tmp_path, text, line, key, found, fix):
    problem = only(problems(tmp_path, text))
    assert (problem[0], problem[1], problem[4]) == (line, key, fix)
    assert found is None or problem[2] == found


def test_a_missing_file_a_folder_and_a_huge_file_are_refused(tmp_path):
    with pytest.raises(ScenarioError, match="there is no such file"):
        read_source(tmp_path / "none.yaml")
    with pytest.raises(ScenarioError, match="this is a folder"):
        read_source(tmp_path)
    assert only(problems(tmp_path, "a: 1\n" * (MOST_BYTES // 5 + 1)))[2] == "the file is too large"


def test_a_suffix_in_common_makes_no_file_the_one_that_was_meant(tmp_path):
    (tmp_path / "bad.yaml").write_text("a: 1\n")
    with pytest.raises(ScenarioError) as raised:
        read_source(tmp_path / "x.yaml", "a price list")
    assert [problem.fix for problem in raised.value.problems] == [""]
    with pytest.raises(ScenarioError) as raised:
        read_source(tmp_path / "bed.yaml", "a price list")
    assert [problem.fix for problem in raised.value.problems] == [str(tmp_path / "bad.yaml")]


def test_a_key_written_twice_names_both_lines(tmp_path):
    text = changed("  width: 3.4 m\n", "  width: 3.4 m\n  length: 7 m\n")
    assert only(problems(tmp_path, text))[:3] == (6, "room.length", "the key is written twice, on lines 4 and 6")


def test_a_section_written_twice_keeps_the_lines_of_the_first(tmp_path):
    text = GOOD + "screen:\n  gap_behind: 1 m\n  colour: red\n"
    assert only(problems(tmp_path, text))[:3] == (15, "screen", "the key is written twice, on lines 10 and 15")


def test_an_alias_bomb_is_refused_at_once(tmp_path):
    lines = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    lines += [f"{b}: &{b} [{', '.join([f'*{a}'] * 9)}]" for a, b in zip("abcdefgh", "bcdefghi", strict=True)]
    found = problems(tmp_path, "\n".join(lines))
    assert found[0][:3] == (1, "a", "an anchor, &a")
    assert (2, "b.0", "an alias, *a", "values written out", "write the value out here") in found


@pytest.mark.parametrize(
    "tag", ["!!python/object/apply:os.system [x]", "!!binary aGk=", "!own 3 m", "!!str 3 m", "! 3"]
)
def test_a_tag_is_refused_and_makes_no_object(tmp_path, tag):
    found = problems(tmp_path, changed("width: 3.4 m", f"width: {tag}"))
    assert found[0][:2] == (5, "room.width")
    assert found[0][2].startswith("a tag, ")


@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_nesting_without_end_is_refused(tmp_path, opening):
    found = only(problems(tmp_path, "room: " + opening * 100_000 if opening != "- " else opening * 100_000))
    assert found[2] == "nested too deep"
    assert found[3] == f"up to {MOST_DEPTH} levels"


@pytest.mark.parametrize("key", ["4", "true", "3.5", "~", "[a, b]", "{a: b}"])
def test_a_key_that_is_no_word_is_refused(tmp_path, key):
    found = problems(tmp_path, GOOD + f"? {key}\n: 3 m\n")
    assert found[0][0] == 15
    assert found[0][2].endswith("stands as a key")


@pytest.mark.parametrize("number", [".nan", ".NaN", ".inf", "-.inf", "+.Inf", "1e999"])
def test_nan_and_infinity_are_refused(tmp_path, number):
    found = only(problems(tmp_path, changed("{depth: 1.4 m}", f"{{depth: 1.4 m, weight: {number}}}")))
    assert found[:3] == (13, "canopy.0.weight", f"{number} is not a finite number")
    quantity = only(problems(tmp_path, changed("1.4 m", f"{number.strip('+.')} m")))
    assert quantity[:2] == (13, "canopy.0.depth")


def test_a_number_of_silly_length_is_no_number(tmp_path):
    found = only(problems(tmp_path, changed("{depth: 1.4 m}", "{depth: 1.4 m, layers: " + "9" * 5000 + "}")))
    assert found[1] == "canopy.0.layers"
    assert len(found[2]) < 100


@pytest.mark.parametrize("escape", [r'"a\0b"', r'"a\x1bb"', r'"\ud800"'])
def test_unprintable_text_by_escapes_is_refused(tmp_path, escape):
    found = problems(tmp_path, changed("name: Shed", f"name: {escape}"))
    assert found[0][0] == 1


def test_a_key_with_nothing_after_it_is_never_a_silent_default(tmp_path):
    found = problems(tmp_path, GOOD + "air:\n  altitude:\npipes:\n")
    assert [item[:3] for item in found] == [
        (16, "air.altitude", "nothing is written here"), (17, "pipes", "nothing is written here"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "found", "allowed", "fix"),
    [
        ("width: 3.4 m", "wdith: 3.4 m", 5, "room.wdith", "unknown key",
         "length, width, roof, back, turf_height, openings", "width:"),
        ("units: metric", "unit: metric", 2, "unit", "unknown key",
         "name, units, plugins, ball, air, aero, harm_energy, blunt_harm_energy, struck_energy, harm_speed, "
         "tee, targets, may_change, room, pipes, screen, canopy", "units:"),
        ("canopy:", "Canopy:", 12, "Canopy", "unknown key", None, "canopy:"),
        ("gap_behind: 300 mm", "gap-behind: 300 mm", 11, "screen.gap-behind", "unknown key",
         "name, gap_behind, width", "gap_behind:"),
        ("units: metric", "units: imperal", 2, "units", "'imperal' is not known here", "metric, imperial", "imperial"),
        ("kind: flat", "kind: flt", 6, "room.roof.kind", "'flt' is not known here", "flat, gable", "flat"),
        ("{kind: flat, height: 2.55 m}", "{height: 2.55 m}", 6, "room.roof.kind", "missing", "flat, gable",
         "kind: flat"),
        ("{kind: flat, height: 2.55 m}", "{kind: gable, height: 2.55 m}", 6, "room.roof.height", "unknown key",
         "kind, eaves_height, ridge", "eaves_height:"),
        ("{kind: flat, height: 2.55 m}", "2.55 m", 6, "room.roof", "'2.55 m' stands where keys are due",
         "a group of keys", "its keys, indented below"),
        ("width: 3.4 m", "width: 3.4", 5, "room.width", "3.4 has no unit", "a number and a unit: m, cm, mm, ft, in",
         "3.4 m, if that is what you mean"),
        ("width: 3.4 m", "width: -3.4 m", 5, "room.width", "'-3.4 m' is out of range", "more than 0 m", "4.2 m"),
        ("width: 3.4 m", "width: 0 m", 5, "room.width", "'0 m' is out of range", "more than 0 m", "4.2 m"),
        ("width: 3.4 m", "width: 3.4 kg", 5, "room.width", "'kg' is not a unit of length here",
         "a number and a unit: m, cm, mm, ft, in", None),
        ("width: 3.4 m", "width: yes", 5, "room.width", "'yes' cannot be read as a length",
         "a number and a unit: m, cm, mm, ft, in", "4.2 m or 1350 mm"),
        ("width: 3.4 m", "width: [3.4 m]", 5, "room.width", "a list is not a length",
         "a number and a unit: m, cm, mm, ft, in", "4.2 m or 1350 mm"),
        ("name: Shed", "name: 12", 1, "name", "12 is not text", "text", "'12', in quotes"),
        ("name: Shed", "name: ''", 1, "name", "'' is too short", "at least 1 characters", ""),
        ("length: 6.2 m", "length: 0.5 m", 3, "room", "nobody can swing in there", "", ""),
        ("gap_behind: 300 mm", "{gap_behind: 300 mm, width: ful}", 11, "screen.width", None,
         "a number and a unit: m, cm, mm, ft, in; or full", None),
        ("{depth: 1.4 m}", "{depth: 1.4 m, layers: 9}", 13, "canopy.0.layers", "9 is out of range", "at most 5", ""),
        ("{depth: 1.4 m}", "{depth: 1.4 m, layers: 0}", 13, "canopy.0.layers", "0 is out of range", "at least 1", ""),
        ("{depth: 1.4 m}", "{depth: 1.4 m, layers: 1.5}", 13, "canopy.0.layers", "1.5 is not a whole number",
         "a whole number, without a unit", ""),
        ("{depth: 1.4 m}", "{depth: 1.4 m, weight: 0}", 13, "canopy.0.weight", "0 is out of range", "more than 0", ""),
        ("{depth: 1.4 m}", "{depth: 1.4 m, weight: '1'}", 13, "canopy.0.weight", "'1' is not a number",
         "a number, without a unit", ""),
        ("{depth: 1.4 m}", "{depth: 1.4 m, weight: true}", 13, "canopy.0.weight", "true is not a number",
         "a number, without a unit", ""),
        ("{depth: 1.4 m}", "{name: front, depth: 1.4 m}", 14, "canopy.1.name", "the name 'front' is taken",
         "names that differ", "front 2"),
        ("{depth: 1.4 m}", "depth", 13, "canopy.0", "'depth' stands where keys are due", "a group of keys",
         "its keys, indented below"),
        ("{depth: 1.4 m}", "none", 13, "canopy.0", "'none' stands where keys are due", "a group of keys",
         "leave the key out, or write null for none"),
        ("{depth: 1.4 m}", "depth:1.4 m", 13, "canopy.0", "'depth:1.4 m' stands where keys are due", "a group of keys",
         "a space after the colon"),
        ("  from_left_wall: 1.65 m\n", "", 7, "tee.from_left_wall", "missing",
         "tape from the left wall, as the player faces the screen, to the ball", "from_left_wall: 4.2 m"),
        ("  gap_behind: 300 mm", "  - gap_behind: 300 mm\n    width: full\n    colour: red", 13, "screen.0.colour",
         "unknown key", None, "remove it"),
        ("room:", "rooms:", 3, "rooms", "unknown key", None, "room:"),
    ],
)  # fmt: skip
def test_a_mistake_names_line_key_what_was_found_and_what_is_allowed(
    tmp_path, old, new, line, key, found, allowed, fix
):
    text = changed(old, new)
    if old == "gap_behind: 300 mm" and new.startswith("{"):
        text = text.replace("  {gap", "    {gap")
    got = problems(tmp_path, text)
    of_key = [problem for problem in got if problem[1] == key]
    assert of_key, got
    for seen, wanted in zip(of_key[0], (line, key, found, allowed, fix), strict=True):
        assert wanted is None or seen == wanted


def test_yes_for_true_is_refused_with_the_word_that_is_meant(tmp_path):
    doors = "  openings: [{name: door, closed: yes, width: 1 m}]\n"
    found = only(problems(tmp_path, changed("  width: 3.4 m\n", "  width: 3.4 m\n" + doors)))
    assert found == (6, "room.openings.0.closed", "'yes' is neither true nor false", "true, false", "true")


def test_a_section_that_is_one_takes_no_list(tmp_path):
    found = problems(tmp_path, "name: a\nroom: [{length: 3 m}]\ntee: {from_end_wall: 3 m, from_left_wall: 1 m}\n")
    assert found == [(2, "room", "a list", "one group of keys", "remove the `- `")]


def test_a_missing_section_is_named(tmp_path):
    found = problems(tmp_path, "name: a\ntee: {from_end_wall: 3 m, from_left_wall: 1 m}\n")
    assert found == [(None, "room", "the section is missing", "The room", "room:")]


def test_pressure_and_altitude_are_not_both_taken(tmp_path):
    found = only(problems(tmp_path, GOOD + "air:\n  pressure: 1000 hPa\n  altitude: 200 m\n"))
    assert found[:3] == (16, "air.pressure", "both pressure and altitude are given")


def test_all_problems_are_told_at_once_in_the_order_of_the_file(tmp_path):
    text = changed("units: metric", "units: feet").replace("3.4 m", "3.4").replace("depth: 800 mm", "depth: 800")
    found = problems(tmp_path, text + "aero: own\nplugins: one\n", "canopy.0.slope=3")
    assert [(line, key) for line, key, *_ in found] == [
        (2, "units"), (5, "room.width"), (14, "canopy.1.depth"), (15, "aero"), (16, "plugins"),
        (None, "canopy.0.slope"),
    ]  # fmt: skip


def test_the_message_names_file_line_key_allowed_and_fix(tmp_path):
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, changed("width: 3.4 m", "width: 3.4"))
    assert str(caught.value) == (
        f"{tmp_path}/bay.yaml, line 5: room.width: 3.4 has no unit\n"
        "  allowed: a number and a unit: m, cm, mm, ft, in\n"
        "  try: 3.4 m, if that is what you mean"
    )


JARGON = ("Input should", "pydantic", "model_", "value_error", "validator", "dictionary", "instance of", "NoneType")


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_any_damage_to_a_file_is_read_or_refused_in_plain_words(tmp_path_factory, data):
    folder = tmp_path_factory.getbasetemp()
    start = data.draw(st.integers(0, len(GOOD) - 1))
    length = data.draw(st.integers(0, 12))
    junk = data.draw(
        st.sampled_from(["", ":", "- ", "[", "{", "'", "\t", "\n", "&a ", "*a", "!x ", "3", "é", "~", "? ", "#"])
    )
    text = GOOD[:start] + junk + GOOD[start + length :]
    for line, key, found, allowed, fix in problems(folder, text):
        words = " ".join((key, found, allowed, fix))
        assert found
        assert not any(word in words for word in JARGON), words
        assert line is None or 1 <= line <= text.count("\n") + 1
