"""`flightsim size` as a person calls it: the answer in words, size.json whole or not at all, and messages."""

import contextlib
import io
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import pytest
from pydantic import Field
from size_bays import LOFTED, hall

from flightsim.cli import main
from flightsim.contact.fates import Flag
from flightsim.errors import BadInputError
from flightsim.jobs import find_size as find_size_job
from flightsim.library import search_sizes
from flightsim.library.search_sizes import prices_of
from flightsim.report.draw.size_figure import size_figure
from flightsim.report.words import size_tables
from flightsim.report.words.size_tables import doubts_table, front_table, looks_table, not_varied_words
from flightsim.report.words.size_words import (
    SizeReport,
    backward_words,
    headline,
    how_words,
    name_of,
    noun_words,
    orders,
    shown,
)
from flightsim.scenario.reading.declared import GuardLength
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import Size
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.require import parse_requirements
from flightsim.study.size.least_size import Answer
from flightsim.study.size.size_curve import Curve
from flightsim.study.size.size_doubts import Doubt, _changes
from flightsim.study.size.size_look import Look
from flightsim.study.size.vary import parse_vary

DOCS = Path(__file__).parents[2] / "docs" / "size.md"
VARY = ("--vary", "canopy.depth=0.6m..1.8m", "--step", "600mm")


@pytest.fixture(scope="module")
def call(tmp_path_factory):
    """The command line in this process: exit code, standard output, standard error."""

    def flightsim(folder, *args):
        patch = pytest.MonkeyPatch()
        patch.chdir(folder)
        patch.setattr(sys, "argv", ["flightsim", *map(str, args)])
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), pytest.raises(SystemExit) as left:
            main()
        patch.undo()
        return int(left.value.code or 0), out.getvalue(), err.getvalue()

    return flightsim


@pytest.fixture(scope="module")
def found(call, tmp_path_factory):
    """A real search that finds a size."""
    folder = tmp_path_factory.mktemp("found")
    hall(folder)
    return folder, *call(folder, "size", "hall.yaml", *VARY, "--target", "escape < 1 in 20", "--out", "o")


def test_a_size_that_is_found_exits_0_and_is_told_as_an_order_to_a_builder(found):
    folder, code, out, err = found
    words = " ".join(out.split())
    assert code == 0, err
    assert err == ""
    assert "Make the canopy 1.20 m deep (600 mm is not shown to do)." in words
    assert "Built up to 20 mm off in every size, at worst 1 in" in words
    assert "with 95% confidence" in words
    assert "fresh shots, each followed through all that it bounces off" in words
    assert "The scenario has now: canopy: depth 1.00 m." in words
    assert "they do not certify it" in words
    assert sorted(path.name for path in (folder / "o").iterdir()) == [
        ".flightsim",
        "misses.png",
        "size.html",
        "size.json",
    ]
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == []


def test_other_models_and_changes_are_told_beside_the_answer(found):
    printed = " ".join(found[2].split())
    for words in ("aerodynamics of", "further back", "nearer the screen", "1.60 m tall"):
        assert words in printed
    assert "taken up to 20 mm off to their worse side" in printed
    assert "The bounds cover the luck of the draw only" in printed


def test_no_ball_is_called_safe_or_caught(found):
    text = f" {' '.join(found[2].split()).lower()} "
    assert not any(f" {word}" in text for word in ("safe", "caught"))


def test_the_data_agree_with_what_is_printed_and_every_key_is_told_in_the_docs(found):
    data = json.loads((found[0] / "o" / "size.json").read_text())
    assert data["found"]
    assert data["chosen"] == {"canopy.depth": 1.2}
    assert data["upper"] < 1 / 20
    assert data["vary"][0]["present"] == 1.0
    assert data["confirming_shots"] >= 4 * data["search_shots"] - 4
    assert len(data["curve"]["size"]) == len(data["curve"]["rate"]) == 3
    docs = DOCS.read_text()
    keys = [*data, *data["vary"][0], *data["looks"][0], *data["worse_sides"][0], *data["curve"], *data["doubts"][0]]
    assert [key for key in keys if f"`{key}`" not in docs] == []


def test_where_no_size_will_do_the_exit_code_is_1_and_the_reason_is_told(call, tmp_path, monkeypatch):
    hall(tmp_path)
    code, out, err = call(
        tmp_path, "size", "hall.yaml", "--vary", "canopy.depth=0.3m..0.6m", "--step", "300mm",
        "--target", "escape < 1 in 25", "--out", "o",
    )  # fmt: skip
    words = " ".join(out.split())
    assert code == 1, err
    assert "No size is shown to do: with canopy: depth from 300 mm to 600 mm" in words
    assert "The best size looked at is 600 mm" in words
    assert "What defeats it there" in words
    assert "iron clean" in words
    assert not json.loads((tmp_path / "o" / "size.json").read_text())["found"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--vary", "canopy.depth=2m..1m"], "the range is empty"),
        (["--vary", "canopy.dept=1m..2m"], "try: depth"),
        (["--vary", "canopy.depth=1m..2deg"], "not of one kind"),
        (["--vary", "canopy.depth=1m..1.2m", "--step", "1m"], "--step"),
        (["--vary", "canopy.depth=1m..2m", "--target", "escape < banana"], "--target"),
        (["--vary", "canopy.depth=1m..2m", "--target", "got_ot < 1 in 20"], "got_out"),
        (
            ["--vary", "canopy.depth=1m..2m", "--target", "hit_unprotected at scren < 1 in 20"],
            "nothing is called 'scren'",
        ),
        (["--vary", "canopy.depth=1m..2m", "--keep", "nothing > 1 m"], "nothing measures"),
        (["--vary", "canopy.depth=1m..2m", "--price", "canopy.height=3"], "is not varied"),
        (["--vary", "canopy.depth=1m..2m", "--price", "canopy.depth=cheap"], "no price"),
        (["--vary", "canopy.depth=1m..2m", "--confidence", "95"], "--confidence"),
        (["--vary", "canopy.depth=1m..2m", "--tolerance", "20"], "--tolerance"),
        ([], "--vary"),
    ],
)
def test_bad_input_exits_2_with_a_way_out_and_writes_nothing(call, tmp_path, args, words):
    hall(tmp_path)
    given = args if "--target" in args else [*args, "--target", "escape < 1 in 20"]
    code, _, err = call(tmp_path, "size", "hall.yaml", *given, "--out", "o")
    assert code == 2
    assert words in err
    assert "Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["hall.yaml"]


def test_a_scenario_that_is_not_there_is_named(call, tmp_path):
    code, _, err = call(tmp_path, "size", "none.yaml", *VARY, "--target", "escape < 1 in 20")
    assert code == 2
    assert err.startswith("none.yaml")


def test_a_scenario_in_feet_is_rounded_up_to_two_inches(monkeypatch, tmp_path):
    seen = []

    class StopError(Exception):
        pass

    def search(builds, *given, **more):
        seen.append(builds.varies[0].step)
        raise StopError

    monkeypatch.setattr(search_sizes, "Search", search)
    file = hall(tmp_path)
    for sets in ((), ("units=imperial",)):
        order = find_size_job.SizeOrder(Path(file), ("canopy.depth=0.4m..2m",), "escape < 1 in 20", 0.95, (), None,
                                       None, None, None, (), sets, tmp_path / "o")  # fmt: skip
        with pytest.raises(StopError):
            find_size_job.size_and_report(order)
    assert seen == [0.05, pytest.approx(0.0508)]


# Words


NO_FLAGS = (0,) * len(Flag)


def look(sizes, hits, met, n=100, **more):
    rate = hits / n
    return Look(sizes, (rate,), (rate / 2,), (rate * 1.5 + 0.03,), hits, met, flags=(*NO_FLAGS[:-1], hits), **more)


def report_of(tmp_path, varies=("canopy.depth=0.4m..2m",), **more):
    base = {
        "varies": tuple(parse_vary(text) for text in varies),
        "requirement": parse_requirements(["escape < 1 in 20"])[0],
        "confidence": 0.95, "chosen": (1.2,), "binding": "all shots", "groups": ("all shots",),
        "looks": (look((0.4,), 20, False), look((1.15,), 9, False), look((1.2,), 1, True), look((2.0,), 8, False)),
        "confirmed": (look((1.2,), 2, True),), "front": (), "worse": (), "backward": (), "searched": 100,
        "confirming": 400, "tolerance": 0.02, "seed": 1,
    }  # fmt: skip
    scenario = open_bay(hall(tmp_path, LOFTED)).scenario
    return SizeReport(Answer(**base | more), scenario, (1.0,) * len(varies))


def test_orders_say_what_to_build_and_name_a_thing_once():
    height, depth, gap = (parse_vary(f"{p}=1m..2m") for p in ("canopy.height", "canopy.depth", "screen.gap_behind"))
    net = parse_vary("side_nets.right.depth=1m..2m")
    show = Display()
    assert orders((height, depth), (2.5, 1.2), show) == "make the canopy 2.50 m high and 1.20 m deep"
    assert orders((net,), (1.5,), show) == "make the right side net 1.50 m deep"
    assert orders((gap,), (0.35,), show) == "set the screen's gap behind to 350 mm"
    assert name_of(parse_vary("canopy.upper net.depth=1m..2m")) == "canopy upper net"


def test_a_fine_step_is_not_rounded_away():
    assert shown(parse_vary("canopy.depth=1m..2m", "5mm"), 1.155, Display()) == "1.155 m"
    assert shown(parse_vary("canopy.depth=0.1m..2m", "5mm"), 0.155, Display()) == "155 mm"


def test_what_goes_the_other_way_and_larger_sizes_that_do_not_do_are_told(tmp_path):
    words = backward_words(report_of(tmp_path, backward=(((1.2,), (2.0,)),)))
    assert "2.00 m is clearly worse than 1.20 m" in words
    assert "did not show to meet the target: 2.00 m." in words


def test_refused_and_unkept_sizes_say_why_in_the_table(tmp_path):
    looks = (
        look((0.4,), 20, False), look((1.2,), 1, True),
        look((1.4,), 0, False, kept="swing_room > 0.15 m does not hold"),
        Look((2.0,), (1.0,), (1.0,), (1.0,), 0, False, "", "it is above the roof"),
    )  # fmt: skip
    rows = looks_table(report_of(tmp_path, looks=looks)).rows
    assert rows[2][-1] == "swing_room > 0.15 m does not hold"
    assert rows[3][-1] == "cannot be built: it is above the roof"
    assert rows[-1][-1] == "fresh shots: yes"


def test_the_binding_player_is_named_where_there_are_several(tmp_path):
    words = headline(report_of(tmp_path, groups=("mid", "junior"), binding="junior"))
    assert "each of 2 players and tee spots by itself; nearest to the limit: junior." in words


def test_a_size_that_met_the_target_only_in_the_search_is_told(tmp_path):
    words = headline(
        report_of(tmp_path, chosen=None, confirmed=(look((1.2,), 9, False),), defeats=(("iron clean", 4),))
    )
    assert "Met in the search, but not on fresh shots: 1.20 m." in words


def test_where_more_shots_may_show_it_that_is_said(tmp_path):
    words = headline(report_of(tmp_path, chosen=None, confirmed=(), looks=(look((2.0,), 4, False),)))
    assert "more may, some 1,000 in all (--shots 1000)." in words


def test_doubts_come_with_models_first_then_what_moves_the_answer_most(tmp_path):
    doubts = (
        Doubt("model", "as drawn", 0.01, 0.03), Doubt("change", "a little", 0.012, 0.035),
        Doubt("change", "a lot", 0.2, 0.3), Doubt("model", "other air", 0.011, 0.03),
    )  # fmt: skip
    rows = doubts_table(report_of(tmp_path, doubts=doubts)).rows
    assert [row[0] for row in rows] == ["as drawn", "other air", "a lot", "a little"]
    assert [row[-1] for row in rows] == ["yes", "yes", "not shown", "yes"]


def test_the_front_is_told_with_costs_for_several_sizes_only(tmp_path):
    assert front_table(report_of(tmp_path)).rows == ()
    front = (look((2.4, 1.2), 1, True), look((2.5, 1.0), 1, True))
    report = report_of(
        tmp_path, ("canopy.height=2m..3m", "canopy.depth=0.4m..2m"), chosen=(2.4, 1.2), looks=front, front=front,
        confirmed=(look((2.4, 1.2), 1, True),), prices={"canopy.depth": 40.0, "canopy.height": 1.0},
    )  # fmt: skip
    rows = front_table(report).rows
    assert rows[0][2:] == ("50.40", rows[0][3], "chosen")


def test_prices_are_for_what_is_varied_alone():
    vary = parse_vary("canopy.depth=1m..2m")
    assert prices_of(["canopy.depth=40"], [vary]) == {"canopy.depth": 40.0}
    for text in ("canopy.depth=-1", "canopy.depth=inf", "canopy.depth="):
        with pytest.raises(BadInputError, match="no price"):
            prices_of([text], [vary])


# The picture


def drawn(figure):
    return [text.get_text() for text in [*figure.texts, *figure.axes[0].texts, *figure.legends[0].get_texts()]]


def test_the_picture_marks_the_present_the_common_and_the_chosen_size_and_the_target(tmp_path):
    doubts = (Doubt("model", "as drawn", 0.01, 0.03), Doubt("change", "x", 0.2, 0.3))
    words = drawn(size_figure(report_of(tmp_path, doubts=doubts)))
    for label in ("now: 1.00 m", "common practice, no source: 1.00 m", "chosen: 1.20 m", "target "):
        assert label in words
    assert "as drawn, under other models and changes" in words
    assert "followed to the end, built off: not shown to meet it" in words


def test_the_picture_shows_what_is_judged_and_no_other_quantity(tmp_path):
    looks = (look((0.4,), 20, False), look((2.0,), 8, False))
    curve = Curve((0.4, 2.0), (0.9, 0.8), (0.8, 0.7), (0.95, 0.9), {})
    axes = size_figure(report_of(tmp_path, looks=looks, curve=curve)).axes[0]
    lines = [line.get_ydata() for line in axes.lines if len(line.get_xdata()) == 2]
    assert any(list(line) == [max(one.rates) for one in looks] for line in lines)
    assert not any(list(line) == [0.9, 0.8] for line in lines)


def test_where_a_size_decides_nothing_that_is_said_first(tmp_path):
    words = headline(report_of(tmp_path, flat=(34, 36)))
    assert words.startswith(
        "The depth of the canopy decides nothing here: at every size from 400 mm to 2.00 m 34 to 36 of 100 balls did"
    )
    assert "no ball did" in headline(report_of(tmp_path, flat=(0, 0)))
    assert "decides nothing" not in headline(report_of(tmp_path))


def test_too_few_shots_show_nothing_and_say_how_many_it_takes(tmp_path):
    words = headline(report_of(tmp_path, chosen=None, confirmed=(), needed=9000, looks=(look((2.0,), 1, False),)))
    assert "These shots are too few to show 'escape < 1 in 20', even if no ball were seen" in words
    assert "it takes some 9,000 in all" in words
    assert "The least at which what was seen is within it: 2.00 m. That shows nothing yet." in words


@pytest.mark.parametrize(
    ("path", "value", "order"),
    [
        ("canopy.depth", 1.2, "make the canopy 1.20 m deep"),
        ("tee.from_end_wall", 5.6, "put the tee 5.60 m from the end wall"),
        ("screen.gap_behind", 0.4, "set the screen's gap behind (cloth to the end wall) to 400 mm"),
    ],
)
def test_orders_are_given_in_the_words_of_the_field(tmp_path, path, value, order):
    scenario = open_bay(hall(tmp_path, LOFTED)).scenario
    assert orders((parse_vary(f"{path}=0.1m..9m"),), (value,), Display(), scenario) == order


def test_a_strangers_size_is_told_by_what_its_field_says(tmp_path):
    class Wing(Model):
        """A part of somebody else's."""

        depth: Annotated[Size, GuardLength(stops_more=True, how="from the end wall")] = 1.0
        reach: Annotated[Size, GuardLength(stops_more=True, words="far edge")] = Field(1.0, description="from the tee")

    vary = parse_vary("wing.depth=1m..9m")
    fields = Wing.model_fields
    assert how_words(vary, fields["depth"]) == "from the end wall"
    assert how_words(vary, fields["reach"]) == ""
    assert noun_words(vary, fields["reach"]) == "far edge (from the tee)"


def test_every_other_key_is_named_as_not_varied(tmp_path):
    words = not_varied_words(report_of(tmp_path))
    for key in ("tee.from_end_wall", "room.roof.height", "screen.width", "canopy.side_overhang"):
        assert key in words
    assert "canopy.depth" not in words
    assert words.endswith("all of launches.")
    assert words.count("launches") == 1


def test_what_is_only_tried_beside_the_answer_has_no_eighths_of_an_inch_from_two_inches_on(tmp_path):
    scenario = Path(hall(tmp_path, LOFTED))
    scenario.write_text("units: imperial\n" + scenario.read_text().replace("units: metric\n", ""))
    words = [words for _, words, _ in _changes(open_bay(str(scenario)))]
    assert "the tee 1 ft further back" in words
    assert [each for each in words if "/8 in" in each and "hosel" not in each] == []


def test_a_section_with_many_sizes_is_named_key_by_key_too(tmp_path, monkeypatch):
    answer = report_of(tmp_path)
    many = {f"frame.size_{k}": k for k in range(9)}
    monkeypatch.setattr(size_tables, "_is_number", lambda scenario, key: "." in key)
    scenario = replace(answer.scenario, lines={**answer.scenario.lines, **many})
    words = not_varied_words(replace(answer, scenario=scenario))
    assert [key for key in many if f"{key}," not in words] == []


def test_the_picture_is_drawn_without_a_curve_and_where_nothing_can_be_built(tmp_path):
    refused = Look((2.0,), (1.0,), (1.0,), (1.0,), 0, False, "", "the roof")
    figure = size_figure(report_of(tmp_path, looks=(refused,), chosen=None, confirmed=()))
    assert "cannot be built" in drawn(figure)
