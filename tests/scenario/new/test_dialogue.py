"""A dialogue with somebody who types what comes to mind: words, questions back, what does not fit, and an early end."""

from __future__ import annotations

import click
import pytest
from click.testing import CliRunner

from flightsim.jobs.write_new import write_new
from flightsim.scenario.new.dialogue import Dialogue
from flightsim.scenario.new.typed_answers import one_of, some_of
from flightsim.scenario.new.wizard import Drawn, ask_bay
from flightsim.scenario.reading.asking import Draft
from flightsim.scenario.reading.models import Model, Section
from flightsim.shots.shots_section import also_clubs
from flightsim.strike.clubs import club_names
from flightsim_plugins.people_questions import ask_people
from flightsim_plugins.room_questions import ask_room

CLUBS = club_names()


def talk(questions, *answers, units="metric"):
    """What `questions` gives of a dialogue with these answers, and what stands on the terminal."""
    given = []

    @click.command()
    def command():
        dialogue = Dialogue(units)
        given.append(dialogue.run(lambda: questions(dialogue)))

    result = CliRunner().invoke(command, input="".join(f"{answer}\n" for answer in answers))
    return (given or [None])[0], result.output


@pytest.mark.parametrize(
    ("typed", "club"),
    [
        ("Driver", "driver"), ("DRIVER", "driver"), ("7 iron", "7-iron"), ("7 irons", "7-iron"), ("7i", "7-iron"),
        ("seven", None), ("7", "7-iron"), ("pw", "pitching wedge"), ("PW", "pitching wedge"), ("sw", "sand wedge"),
        ("3w", "3-wood"), ("3 wood", "3-wood"), ("hybrids", "hybrid"), ("a driver", "driver"),
        ("pitching", "pitching wedge"), ("not the driver", None), ("wedge", None),
    ],
)  # fmt: skip
def test_a_club_is_understood_as_golfers_write_it(typed, club):
    if club is None:
        with pytest.raises(click.BadParameter):
            one_of(typed, CLUBS, also_clubs(CLUBS))
    else:
        assert one_of(typed, CLUBS, also_clubs(CLUBS)) == club


def test_several_are_set_apart_by_commas_slashes_or_and_and_a_plural_means_all_of_a_kind():
    also = also_clubs(CLUBS)
    assert some_of("Driver, 7 iron and pw", CLUBS, also) == ("driver", "7-iron", "pitching wedge")
    assert some_of("sw/driver", CLUBS, also) == ("driver", "sand wedge")
    assert some_of("wedges", CLUBS, also) == tuple(club for club in CLUBS if club.endswith("wedge"))
    assert some_of("all", CLUBS, also) == CLUBS
    with pytest.raises(click.BadParameter, match="'wedge' may be pitching wedge, gap wedge, sand wedge or lob wedge"):
        some_of("driver, wedge", CLUBS, also)
    with pytest.raises(click.BadParameter, match="'spoon' names none of"):
        some_of("driver, spoon", CLUBS, also)


@pytest.mark.parametrize(
    ("typed", "choices", "meant"),
    [
        ("right-handers", ("right", "left", "both"), "right"),
        ("Single slope", ("flat", "single_slope", "gable"), "single_slope"),
        ("f", ("flat", "single_slope", "gable"), "flat"), ("left wall", ("left", "right", "end"), "left"),
        ("walls", ("wall", "open"), "wall"),
    ],
)  # fmt: skip
def test_a_word_is_understood_when_it_can_mean_one_choice_only(typed, choices, meant):
    assert one_of(typed, choices) == meant


@pytest.mark.parametrize("typed", ["s", "no wall", "left or right", ""])
def test_a_word_that_may_mean_two_or_the_opposite_is_asked_again(typed):
    with pytest.raises(click.BadParameter):
        one_of(typed, ("seated", "standing", "wall", "left", "right"))


ROOM = ["8 m", "4 m", "flat", "2.6 m", "wall"]
DOOR = ["y", "left", "door", "5 m", "900 mm"]


@pytest.mark.parametrize("asking", ["?", "help", "Help"])
def test_a_question_mark_says_what_is_meant_and_what_fits_and_asks_again(asking):
    room, said = talk(lambda ask: ask_room(ask, Draft()), *ROOM[:2], asking, *ROOM[2:4], asking, "wall", "n")
    assert room["roof"]["kind"] == "flat"
    assert "gable: two slopes, a ridge." in said
    assert "One of: flat, single_slope, gable.\n  Enter alone takes flat." in said
    assert said.count("Roof (flat") == 2
    assert "open: no wall there, or a gate that is up." in said


def test_an_opening_taller_than_the_roof_is_asked_again_with_the_reason():
    room, said = talk(lambda ask: ask_room(ask, Draft()), *ROOM, *DOOR, "3 m", "2 m", "700 mm", "600 mm", "n", "n")
    assert "Error: 3 m does not fit: there is 2.60 m, as the roof there is at 2.60 m." in said
    assert "Error: 700 mm does not fit: there is 600 mm, as the roof there is at 2.60 m and it is 2 m high" in said
    opening = room["openings"][0]
    assert (opening["height"].metres, opening["sill"].metres) == (2.0, 0.6)


def test_an_opening_under_a_slope_is_held_to_the_lower_of_its_edges():
    room = ["8 m", "4 m", "gable", "along", "2 m", "4 m", "wall", "y", "end", "window", "500 mm", "1 m"]
    _, said = talk(lambda ask: ask_room(ask, Draft()), *room, "2.6 m", "2.4 m", "0", "y", "n", "n")
    assert "Error: 2.6 m does not fit: there is 2.50 m, as the roof there is at 2.50 m." in said


@pytest.mark.parametrize(
    ("given", "zone"),
    [
        (("across", "2 m"), {"width": "2 m"}), (("across", "none"), {}),
        (("along", "2 m"), {"width": "900 mm", "depth": "2 m"}),
        (("along", "none"), {"width": "900 mm", "depth": "600 mm"}),
    ],
)  # fmt: skip
def test_a_couch_stands_across_the_room_or_along_a_side_wall(given, zone):
    typed = ["right", "1.8 m", "none", "y", "couch", "couch", "6 m", "500 mm", *given, "none", "n"]
    people, _ = talk(lambda ask: ask_people(ask, Draft()), *typed)
    found = people["onlookers"][0]
    assert {key: value.text for key, value in found.items() if key in ("width", "depth")} == zone


def test_usual_sizes_are_told_in_the_units_of_the_output():
    typed = ["right", "6 ft", "none", "y", "standing", "Bob", "20 ft", "6 ft", "none", "none", "n"]
    _, said = talk(lambda ask: ask_people(ask, Draft()), *typed, units="imperial")
    assert "where it is not the usual 2 ft, or none" in said
    assert "mm" not in said


class Pole(Model):
    """A stranger's thing."""


def post_and_rope(wrong):
    """Two sections that ask one length each, and a bay that fits where the rope is shorter. wrong: what is told."""
    asks = [Section(key, Pole, key, owner=key, order=order, ask=lambda ask, draft, key=key: {"reach": ask.size(key)},
                    rests_on=rests) for key, order, rests in (("post", 1, ()), ("rope", 2, ("post",)))]  # fmt: skip

    def shown(draft):
        sizes = [draft.data[key]["reach"].metres for key in ("post", "rope") if key in draft.data]
        fits = len(sizes) < 2 or sizes[1] < sizes[0]
        return Drawn("", () if fits else ("rope: longer than the post.",), fits, () if fits else (wrong,))

    return asks, shown


@pytest.mark.parametrize(("wrong", "named"), [("rope.reach", [4]), ("rope", [4]), ("elsewhere", [3, 4])])
def test_what_does_not_fit_names_its_answers_at_once_and_asks_for_one_again(wrong, named):
    sections, shown = post_and_rope(wrong)
    drafts = []

    @click.command()
    def command():
        drafts.append(ask_bay(sections, shown, "there"))

    answers = ["metric", "Shed", "2 m", "3 m", "9", "x", "4", "2.5 m", "4", "1.5 m", "y"]
    result = CliRunner().invoke(command, input="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    offered = result.output.split("It lies in one of these answers:\n")[1].split("Which is to change?")[0]
    assert [int(line.split(".")[0]) for line in offered.splitlines() if line.strip()] == named
    assert "The number before an answer, please" in result.output
    assert result.output.count("rope: longer than the post.") == 2  # still wrong at 2.5 m, and told again
    assert drafts[0].data["rope"]["reach"].metres == 1.5
    assert drafts[0].data["post"]["reach"].metres == 2.0


def test_a_blank_where_an_answer_is_needed_says_so():
    _, said = talk(lambda ask: ask.size("How far"), "", "2 m")
    assert "An answer is needed here; ? says what is meant." in said


def test_an_early_end_tells_what_was_answered(tmp_path):
    @click.command()
    def command():
        write_new(tmp_path / "bay.yaml", None, False, False)

    result = CliRunner().invoke(command, input="metric\nShed\n6 m\n")
    assert result.exit_code == 1
    assert "What you had answered, to type again:\n  1. Units" in result.output
    assert "  3. Room, inside: length, from the end wall behind the screen to the back: 6 m\n" in result.output
    assert list(tmp_path.iterdir()) == []


def test_metres_or_feet_name_the_units_as_well():
    for typed, units in (("meters", "metric"), ("feet", "imperial"), ("m", "metric"), ("inches", "imperial")):
        drafts = []

        @click.command()
        def command(drafts=drafts):
            drafts.append(ask_bay([], lambda draft: Drawn(), "there"))

        CliRunner().invoke(command, input=f"{typed}\nShed\ny\n")
        assert drafts[0].data["units"] == units


def test_what_is_new_among_what_does_not_fit_is_told_before_what_was_told_and_with_its_own_answers():
    findings = ("a: 1.", "a: 2.", "a: 3.", "a: 4.", "b: new.")
    both = Drawn("", findings, False, ("a",) * 4 + ("b",))
    assert str(both).endswith("a: 3.\n... and 2 more.")
    assert both.but(findings[:4]) == Drawn("", ("b: new.",), False, ("b",))


def test_the_beginning_of_a_choice_goes_before_that_of_another_word():
    assert one_of("l", ("right", "left", "both"), {"left and right": "both"}) == "left"
