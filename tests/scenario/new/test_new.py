"""`flightsim new`: questions in walking order, bad answers asked again, the bay drawn back, a file that checks."""

from __future__ import annotations

import re
from importlib.resources import files

import click
import pytest
import yaml
from click.testing import CliRunner
from pydantic import Field

from flightsim.errors import BadInputError
from flightsim.jobs.write_new import write_new
from flightsim.making.strength.check import checked
from flightsim.plugin.loading import BUNDLED
from flightsim.scenario.new.new_file import STARTERS, check_free, new_file, starter_text, write_whole
from flightsim.scenario.new.typed_answers import likely_units
from flightsim.scenario.new.wizard import Drawn, ask_bay
from flightsim.scenario.new.write_yaml import write_yaml, yaml_text
from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.quantities import Size
from flightsim.scenario.reading.source import read_value
from flightsim.study.run.open_bay import open_bay

GARAGE = {
    "Units": "metric", "Name of the bay": "My: shed", "length, from": "6.2 m", "Room: width": "3.4 m", "Roof (": "flat",
    "Roof: height": "2.55 m", "Behind": "wall", "Any doorways": "n", "Ball to the end": "3.7 m",
    "Ball to the left": "1.65 m", "Mat": "35 mm", "Lamps": "n", "Screen: width": "3.2 m", "Screen: gap": "350 mm",
    "Screen: slab": "50 mm", "Screen: height": "2.4 m", "Canopy: depth": "1.2 m", "Canopy: slab": "2.5 m",
    "a frame": "n", "net on the left": "2 m", "Its height": "2.4 m", "net on the right": "none", "padded": "n",
    "Who hits": "left", "tallest who hits": "1.80 m", "shortest who hits": "none", "Does anybody watch": "n",
    "How good": "usual", "Clubs": "driver, wedge", "Is this your bay": "y",
}  # fmt: skip


def run(path, answers, overwrite=False):
    @click.command()
    def command():
        write_new(path, None, overwrite, False)

    text = "\n".join(str(answer) for answer in answers) + "\n"
    return CliRunner().invoke(command, input=text)


def answers(**changes):
    """The garage's answers, some with others before or after them: `Canopy_depth=("none",)`."""
    out = []
    for question, answer in GARAGE.items():
        out += changes.get(question, (answer,))
    return out


def test_answers_make_a_commented_file_that_checks(tmp_path):
    path = tmp_path / "bay.yaml"
    result = run(path, answers())
    assert result.exit_code == 0, result.output
    opened = open_bay(path)
    assert {problem.key for problem in opened.warnings} <= {"swing_room"}
    assert opened.scenario.name == "My: shed"
    assert opened.scenario.room.length == 6.2
    assert [part.name for part in opened.bay.parts if part.owner == "side_nets"] == ["left side net"]
    launches = opened.scenario.entries("launches")[0]
    assert (launches.hand, launches.use) == ("left", ("driver", "wedge"))
    assert opened.scenario.entries("people")[0].hitter.height == 1.80
    text = path.read_text()
    assert "gap_behind: 350 mm  # cloth to the end wall" in text
    assert "{" not in text


def test_it_ends_with_what_check_finds_and_the_next_command(tmp_path):
    said = run(tmp_path / "bay.yaml", answers()).output
    after = said.split("Wrote ")[1]
    assert "My: shed" in after
    assert "Results guide a design; they do not certify it." in after
    assert after.rstrip().endswith(f"flightsim run {tmp_path / 'bay.yaml'}")


def test_questions_come_in_the_order_of_a_walk_through_the_bay(tmp_path):
    said = run(tmp_path / "bay.yaml", answers()).output
    places = [said.index(question) for question in GARAGE if question != "Its height"]
    assert places == sorted(places)


BAD = [
    ("length, from", "6.2", "'6.2' has no unit. Do you mean 6.2 m?"),
    ("Room: width", "3,4 m", "Try: 3.4 m."),
    ("Room: width", "-3 m", "-3 m is not more than nothing"),
    ("Room: width", "wide", "'wide' cannot be read as a length"),
    ("Roof (", "flt", "Did you mean flat?"),
    ("Behind", "sky", "'sky' is none of wall, open."),
    ("Ball to the end", "6.3 m", "6.3 m does not fit: there is 6.20 m, as the room is 6.2 m long."),
    ("Ball to the left", "4 m", "as the room is 3.4 m wide."),
    ("Screen: width", "3.4 m", "there is 3.30 m, as it hangs between the walls."),
    ("Screen: gap", "3.8 m", "there is 3.70 m, as the ball is 3.7 m from the wall."),
    ("Screen: gap", "60", "Do you mean 60 mm or 60 cm? Type the unit."),
    ("Screen: height", "2.6 m", "there is 2.50 m, as the roof there is at 2.55 m."),
    ("Canopy: slab", "2.7 m", "as the roof there is at 2.55 m."),
    ("Canopy: depth", "6 m", "there is 5.85 m"),
    ("Any doorways", "perhaps", "y or n, please."),
    ("Who hits", "lft", "Did you mean left?"),
    ("tallest who hits", "2.6 m", "nobody is taller"),
    ("tallest who hits", "6 ft 2", "Do you mean 6 ft 2 in?"),
    ("How good", "good", "names none of usual, tour"),
    ("Clubs", "drver", "Did you mean driver?"),
    ("Clubs", ",", "names none of"),
]  # question, bad answer, what is said to it


@pytest.fixture(scope="module")
def corrected(tmp_path_factory):
    """A dialogue in which each bad answer comes before the right one."""
    path = tmp_path_factory.mktemp("new") / "bay.yaml"
    bad = {asked: tuple(answer for question, answer, _ in BAD if question == asked) for asked, _, _ in BAD}
    return path, run(path, answers(**{question: (*tried, GARAGE[question]) for question, tried in bad.items()}))


@pytest.mark.parametrize(("question", "bad", "reason"), BAD)
def test_a_bad_answer_is_asked_again_with_the_reason(corrected, question, bad, reason):
    path, result = corrected
    assert result.exit_code == 0, result.output
    (_, *asked) = result.output.split(question)
    assert any(f"{bad}\n" in said and reason in said for said in asked)
    assert open_bay(path).scenario.name == "My: shed"


def test_a_bare_number_is_completed_by_its_unit_alone(tmp_path):
    result = run(tmp_path / "bay.yaml", answers(**{"Screen: gap": ("60", "cm")}))
    assert result.exit_code == 0, result.output
    assert open_bay(tmp_path / "bay.yaml").scenario.entries("screen")[0].gap_behind == 0.6


@pytest.mark.parametrize(
    ("text", "units", "most", "likely"),
    [
        ("60", "metric", None, ["mm", "cm"]), ("3", "metric", None, ["cm", "m"]),
        ("2400", "metric", None, ["mm", "cm"]),
        ("60", "metric", 0.5, ["mm"]), ("8", "imperial", None, ["in", "ft"]), ("60 mm", "metric", None, []),
        ("wide", "metric", None, []),
    ],
)  # fmt: skip
def test_the_units_offered_are_those_that_a_room_may_have(text, units, most, likely):
    assert likely_units(text, units, most) == likely


def test_back_asks_the_question_before_again_and_offers_what_was_typed(tmp_path):
    given = answers(**{"Screen: slab": ("back", "400 mm", "50 mm")})
    result = run(tmp_path / "bay.yaml", given)
    assert result.exit_code == 0, result.output
    assert open_bay(tmp_path / "bay.yaml").scenario.entries("screen")[0].gap_behind == 0.4
    assert "Screen: gap behind it, cloth to end wall [350 mm]" in result.output


def test_back_goes_as_far_as_one_likes_and_no_further(tmp_path):
    result = run(tmp_path / "bay.yaml", ["back", "metric", "back", "back", "imperial", *answers()[1:]])
    assert result.exit_code == 0, result.output
    assert result.output.count("This is the first question.") == 2
    assert open_bay(tmp_path / "bay.yaml").scenario.units == "imperial"


def test_on_no_one_answer_is_asked_again_and_all_others_stay_as_typed(tmp_path):
    asked = list(GARAGE)
    number = str(asked.index("Canopy: depth") + 1)
    result = run(tmp_path / "bay.yaml", [*answers()[:-1], "n", number, "1.4 m", "y"])
    assert result.exit_code == 0, result.output
    opened = open_bay(tmp_path / "bay.yaml")
    assert opened.scenario.entries("canopy")[0].depth == 1.4
    assert opened.scenario.entries("screen")[0].gap_behind == pytest.approx(0.35)
    assert result.output.count("Room: width") == 2  # asked once, listed once


def test_an_answer_that_no_longer_does_is_asked_again(tmp_path):
    number = str(list(GARAGE).index("Roof: height") + 1)
    result = run(tmp_path / "bay.yaml", [*answers()[:-1], "n", number, "2.48 m", "2.3 m", "y"])
    assert result.exit_code == 0, result.output
    assert "'2.5 m' no longer does: 2.5 m does not fit" in result.output
    assert open_bay(tmp_path / "bay.yaml").scenario.entries("canopy")[0].height == 2.3


def test_both_hands_people_a_child_and_a_door_are_asked_for(tmp_path):
    path = tmp_path / "bay.yaml"
    given = answers(**{
        "Any doorways": ("y", "back", "hatch", "1 m", "800 mm", "2 m", "0", "n", "n"),
        "Who hits": ("both",),
        "shortest who hits": ("1.5 m",),
        "Does anybody watch": ("y", "seated", "couch", "5.5 m", "1 m", "across", "1.6 m", "none", "y", "child", "Ann",
                               "5.5 m", "2 m", "none", "1.1 m", "n", "y"),
        "How good": ("mid",), "Clubs": ("driver, sand wedge",),
    })  # fmt: skip
    result = run(path, given)
    assert result.exit_code == 0, result.output
    scenario = open_bay(path).scenario
    people = scenario.entries("people")[0]
    assert [(one.name, one.posture) for one in people.onlookers] == [("couch", "seated"), ("Ann", "child")]
    assert people.hitter.shortest == 1.5
    assert [door.opening for door in people.doors] == ["hatch"]
    assert [(one.hand, one.share) for one in scenario.entries("shots")[0].players] == [("right", 0.5), ("left", 0.5)]


def test_a_bay_with_all_there_is_in_imperial_units_checks(tmp_path):
    path = tmp_path / "bay.yaml"
    given = [
        "imperial", "Barn", "28 ft", "15 ft", "gable", "along", "8 ft 6 in", "8 ft", "13' 6\"", "open",
        "y", "left", "side door", "16 ft", "3 ft", "6 ft 8 in", "0", "n",
        "y", "end", "window", "5 ft", "4 ft", "3 ft", "3 ft 6 in", "y", "y", "n",
        "13 ft", "7 ft 6 in", "none", "y", "lamp", "9 ft", "7 ft", "8 ft", "4 ft", "4 in", "3 in", "y", "n",
        "12 ft", "2 ft", "2 in", "9 ft 6 in", "8 ft 9 in",
        "4 ft", "9 ft", "y", "standing", "legs", "y", "y", "6 1/2 ft", "8 ft", "7½ ft", "8 ft", "y", "5 ft",
        "1 ft", "6 ft", "13 ft", "2 in", "right", "6 ft", "none", "n", "n", "n", "high", "", "y",
    ]  # fmt: skip
    result = run(path, given)
    assert result.exit_code == 0, result.output
    opened = open_bay(path)
    assert [opening.name for opening in opened.bay.openings] == ["open back", "side door"]
    assert next(part for part in opened.bay.parts if part.name == "window").fragile
    assert next(part for part in opened.bay.parts if part.name == "lamp").fragile
    assert any(part.owner == "frame" for part in opened.bay.parts)
    assert opened.scenario.tee.mat is None
    assert "gap: 2 5/8 in  # screen to its screen-side edge" in path.read_text()  # the top bar is as high
    assert "8 ft is less than 8 ft 6 in" in result.output
    assert re.findall(r"[0-9] ?(?:mm|cm|m)\b", result.output.split("Name of the bay")[1]) == []


@pytest.mark.parametrize(
    ("high", "padded", "gap"), [("2.02 m", "n", 0.0), ("2.06 m", "y", 0.065), ("2.13 m", "n", 0.0)]
)
def test_a_frame_goes_through_no_canopy_and_its_bars_stand(tmp_path, high, padded, gap):
    """The top bar lies in the plane of the cloth, 2.05 m to 2.10 m high here: a canopy as high starts at its face."""
    path = tmp_path / "bay.yaml"
    asked = answers(**{
        "Screen: width": ("2.8 m",), "Screen: height": ("1.95 m",), "Canopy: slab": (high,), "Its height": ("1.9 m",),
        "a frame": ("y", "anchored", "legs", "", padded), "net on the left": ("1 m",),
    })  # fmt: skip
    result = run(path, asked)
    assert result.exit_code == 0, result.output
    opened = open_bay(path)
    assert opened.scenario.entries("canopy")[0].gap == pytest.approx(gap)
    assert "through one another" not in result.output
    (frame,) = opened.scenario.entries("frame")
    assert (frame.wall_bars, frame.braces, frame.post_top) == ("braced", ("plan",), "canopy")
    checks = checked(opened.plugins.structures(opened.scenario)).checks
    failed = [check.name for check in checks if not check.ok]
    assert len(checks) > len(failed) + 50
    assert [name for name in failed if "anchor" not in name] == []  # whose capacity is their maker's


def test_a_sloping_roof_limits_what_hangs_under_its_low_side(tmp_path):
    lower = answers(
        **{"Roof (": ("single slope",), "Roof: height": ("3.5 m", "2.5 m"), "Screen: height": ("2.5 m", "2.4 m")}
    )
    result = run(tmp_path / "bay.yaml", lower)
    assert "Error: 2.5 m does not fit: there is 2.49 m" in result.output
    assert open_bay(tmp_path / "bay.yaml").scenario.room.roof.kind == "single_slope"


def test_the_bay_is_drawn_to_scale_at_each_step_and_before_anything_is_written(tmp_path):
    said = run(tmp_path / "bay.yaml", answers()[:-1])
    assert said.exit_code == 1
    assert list(tmp_path.iterdir()) == []
    assert said.output.count("Plan:") >= 5
    plan = said.output.split("Plan:")[-1].split("From the side")[0].splitlines()[1:]
    rows = [row[2:] for row in plan if row]
    columns_per_metre = 60 / 6.2
    assert max(map(len, rows)) == 61
    assert len(rows) == round(3.4 * columns_per_metre / 2) + 1
    tee_row = next(row for row in rows if "o" in row)
    assert abs(tee_row.index("o") - round((6.2 - 3.7) * columns_per_metre)) <= 1
    assert abs(tee_row.index("#") - round((6.2 - 0.35) * columns_per_metre)) <= 1
    side = said.output.split("at the highest.")[-1].splitlines()[1:]
    column = 2 + round((6.2 - 0.35) * columns_per_metre)
    assert abs(sum(row[column : column + 1] == "#" for row in side) - round(2.4 * columns_per_metre / 2) - 1) <= 1
    assert "One character across is 100 mm." in said.output


def test_what_does_not_fit_together_is_told_with_the_drawing(tmp_path):
    outside = answers(Lamps=("y", "lamp", "3 m", "1 m", "2.5 m", "1 m", "200 mm", "300 mm", "y", "n"))
    said = run(tmp_path / "bay.yaml", outside).output
    assert "Look at this:" in said.split("Wrote")[0]


def test_no_answer_writes_nothing(tmp_path):
    assert run(tmp_path / "bay.yaml", answers()[:9]).exit_code == 1
    assert list(tmp_path.iterdir()) == []


class Wing(Model):
    """A stranger's guard."""

    reach: Size = Field(description="from the post outward; no default")


def test_a_strangers_section_asks_and_writes_as_ours_do(tmp_path):
    section = Section(
        "wing", Wing, "Wings", owner="wing", order=45, ask=lambda ask, draft: {"reach": ask.size("Reach")}
    )
    shown = []

    @click.command()
    def command():
        draft = ask_bay([section], lambda draft: shown.append(dict(draft.data)) or Drawn(), "there")
        click.echo(write_yaml(draft.data, [section]))

    result = CliRunner().invoke(command, input="metric\nShed\n3 m\n1 m\nnone\n60\ncm\ny\n")
    assert result.exit_code == 0, result.output
    assert "wing:  # wings\n  reach: 60 cm  # from the post outward\n" in result.output
    assert "wing" in shown[-1]


def test_the_wizard_names_no_plugin():
    for file in ("wizard.py", "dialogue.py", "write_yaml.py"):
        text = (files("flightsim.scenario.new") / file).read_text(encoding="utf-8")
        assert [name for name in BUNDLED if re.search(rf"[\"'.]{name}[\"'.]", text)] == []


@pytest.mark.parametrize("starter", STARTERS)
def test_a_starter_is_commented_and_checks_with_no_warning_but_of_the_swing(tmp_path, starter):
    path = tmp_path / "bay.yaml"
    new_file(path, starter, False, str)
    assert path.read_text().count("#") > 15
    opened = open_bay(path)
    assert {problem.key for problem in opened.warnings} <= {"swing_room"}  # a middle man's club; who plays is not asked
    assert {part.owner for part in opened.bay.parts} >= {"room", "screen", "canopy", "side_nets", "ceiling"}


@pytest.mark.parametrize("starter", STARTERS)
def test_a_starter_follows_the_order_of_a_walk(starter):
    order = ["name", "units", "room", "tee", "obstacles", "screen", "canopy", "side_nets", "ceiling", "launches"]
    keys = list(yaml.safe_load(starter_text(starter)))
    assert keys == [key for key in order if key in keys]


def test_a_file_that_is_there_is_not_replaced_unless_asked(tmp_path):
    path = tmp_path / "bay.yaml"
    path.write_text("mine")
    with pytest.raises(BadInputError, match="there is such a file already"):
        new_file(path, "garage", False, str)
    assert path.read_text() == "mine"
    new_file(path, "garage", True, str)
    assert path.read_text() == starter_text("garage")
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_appears_meanwhile_is_not_replaced(tmp_path):
    path = tmp_path / "bay.yaml"
    path.write_text("mine")
    with pytest.raises(BadInputError, match="cannot be written: File exists"):
        write_whole(path, "new", overwrite=False)
    assert path.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_place_that_cannot_be_written_is_told_before_the_first_question(tmp_path):
    with pytest.raises(BadInputError, match="this is a folder"):
        check_free(tmp_path, overwrite=False)
    with pytest.raises(BadInputError, match="there is no folder"):
        check_free(tmp_path / "none" / "bay.yaml", overwrite=False)


@pytest.mark.parametrize(
    "text",
    [
        "Shed",
        "My: shed",
        "a #b",
        "- x",
        "true",
        "on",
        "12",
        "null",
        "é ü",
        "'q'",
        '53" bay',
        "x: y",
        "[a]",
        "a\\b",
        "~",
        '9 ft 6"',
    ],
)
def test_any_name_reads_back_as_it_was_typed_here_and_elsewhere(text):
    assert read_value(yaml_text(text), "test") == text
    assert yaml.safe_load(f"name: {yaml_text(text)}") == {"name": text}
