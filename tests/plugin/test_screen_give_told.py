"""The section `screen_give`: how it is read, what is refused, and what is said of a run's hardest hit."""

from __future__ import annotations

import numpy as np
import pytest
from hung_screens import LAW, NETS, QUICK, SCREEN, give, laws, view

from flightsim.cloth.fabric import Cloth
from flightsim.contact.facings import Facing
from flightsim.plugin.hookspecs import FinishedRun
from flightsim.scenario.reading.problems import ScenarioError
from flightsim_plugins.screen_give import Cord, flightsim_checks, flightsim_judge

# ---- the section


def test_cords_are_read_by_stiffness_or_by_diameter_and_length() -> None:
    assert Cord().pull() == 500.0
    assert Cord(stiffness="300 N/m").pull() == 300.0
    assert Cord(diameter="8 mm", length="250 mm").pull() == pytest.approx(2 * 125 / 0.25)


def test_an_entry_is_for_the_screen_or_net_it_names() -> None:
    both = laws(
        f"screen_give:\n  - {{areal_mass: 500 g/m2}}\n  - {{screen: left side net, areal_mass: 70 g/m2}}\n{NETS}"
    )
    assert both["screen"].cloth.areal_mass == pytest.approx(0.5)
    assert both["left side net"].cloth.areal_mass == pytest.approx(0.07)
    assert both["left side net"].open_at  # its cords are said


def problems_of(text: str, screen: str = SCREEN) -> list[tuple[str, str, str, str]]:
    return [(p.key, p.found, p.allowed, p.fix) for p in flightsim_checks(view(text, screen))]


def test_good_entries_have_no_problems() -> None:
    assert problems_of("") == []
    assert problems_of(give("areal_mass: 400 g/m2") + NETS) == []


def test_a_wrong_name_is_an_error_with_the_known_names() -> None:
    ((key, found, allowed, fix),) = problems_of(give("screen: left sode net") + NETS)
    assert (key, found) == ("screen_give.screen", "no screen or net is called 'left sode net'")
    assert allowed == "left side net, screen"
    assert fix == "left side net"


def test_several_screens_need_a_name_and_one_cloth_has_one_entry() -> None:
    two = (
        "screen:\n  - {name: main, width: 2.8 m, height: 2.4 m, gap_behind: 500 mm}\n"
        "  - {name: second, width: 2.8 m, height: 2.4 m, gap_behind: 900 mm}\n"
    )
    ((_, found, allowed, _),) = problems_of(give("areal_mass: 400 g/m2"), two)
    assert found == "there are several screens"
    assert allowed == "screen: one of main, second"
    twice = "screen_give: [{areal_mass: 400 g/m2}, {screen: screen, areal_mass: 300 g/m2}]\n"
    ((key, found, _, _),) = problems_of(twice)
    assert key == "screen_give.1.screen"
    assert "already" in found


def test_what_does_not_give_is_told() -> None:
    ((_, found, _, _),) = problems_of(give("areal_mass: 400 g/m2"), SCREEN.replace("}", ", facing: plywood}"))
    assert found == "'screen' is plywood, which does not give"


@pytest.mark.parametrize(
    ("text", "screen", "key", "words"),
    [
        (give("areal_mass: 0 g/m2"), SCREEN, "screen_give.areal_mass", "more than 0 kg/m2"),
        (give("areal_mass: -0.3 kg/m2"), SCREEN, "screen_give.areal_mass", "more than 0 kg/m2"),
        (give("areal_mass: 35 kg/m2"), SCREEN, "screen_give", "0.02 to 5 kg/m2"),
        (give("areal_mass: 0.35"), SCREEN, "screen_give.areal_mass", "no unit"),
        (give("stiffness: 300 N/m"), SCREEN, "screen_give", "1000 to 1e+07 N/m"),
        (give("shear_ratio: -0.1"), SCREEN, "screen_give.shear_ratio", "at least 0"),
        (give("pretension: -5 N/m"), SCREEN, "screen_give.pretension", "at least 0"),
        (give("cord: {stiffness: 500 N/m, diameter: 8 mm}"), SCREEN, "screen_give.cord", "one of them"),
        (give("cord: {diameter: 30 mm}"), SCREEN, "screen_give.cord", "5 mm to 10 mm"),
        (give("cord: {spacing: -200 mm}"), SCREEN, "screen_give.cord.spacing", "more than 0 m"),
        (give("cord: {sides: [bottom]}"), SCREEN, "screen_give.cord.sides", "foot"),
        (give("cord: {sides: []}"), SCREEN, "screen_give.cord.sides", "at least 1"),
        (give("gap: 300 mm"), SCREEN, "screen_give.gap", ""),
        ("", SCREEN.replace("500 mm", "-500 mm"), "screen.gap_behind", "at least 0 m"),
    ],
)
def test_nonsense_is_refused_at_its_line_and_key(text: str, screen: str, key: str, words: str) -> None:
    with pytest.raises(ScenarioError) as refused:
        view(text, screen)
    problem = refused.value.problems[0]
    assert problem.key.startswith(key)
    assert problem.line == (6 if text else 5)
    assert words in str(problem)


# ---- what is said


def findings(text: str = LAW, screen: str = SCREEN, columns=None):
    seen = view(text, screen)
    return flightsim_judge(FinishedRun(seen.entries, seen.scenario, seen.bay, columns or {}))


def test_a_tight_gap_is_a_warning_with_what_is_missing_and_a_wide_one_a_note() -> None:
    (tight,) = findings(screen=SCREEN.replace("500 mm", "150 mm"))
    (wide,) = findings(screen=SCREEN.replace("500 mm", "1.2 m"))
    assert (tight.level, wide.level) == ("warning", "note")
    assert "There is 150 mm to end wall" in tight.text
    assert "through the cloth" in tight.text
    assert "There is 1.20 m to end wall" in wide.text


def test_the_hardest_hit_of_the_run_is_what_is_told_and_nets_that_none_met_say_nothing() -> None:
    columns = {
        "first_part": np.array(["screen", "screen", "floor"], dtype=object),
        "first_speed_m_s": np.array([50.0, 60.0, 70.0]),
        "first_angle_deg": np.array([0.0, 60.0, 0.0]),
    }
    (only,) = findings(LAW + NETS, columns=columns)
    assert "50.0 m/s (the hardest of this run)" in only.text


def test_the_hand_test_for_tension_is_told_for_a_screen_with_cords_all_round() -> None:
    (all_round,) = findings()
    (loose,) = findings(give(f"{QUICK}, shear_ratio: 0.02, cord: {{sides: [left, right, top]}}"))
    assert "press the middle with 10 N" in all_round.text
    assert "press the middle" not in loose.text


def test_a_default_screen_is_the_reference_cloth() -> None:
    assert laws()["screen"].cloth == Cloth(width=2.8, height=2.4)


def test_a_facing_of_ones_own_needs_an_entry_to_give() -> None:
    own = "facings: [{name: heavy cloth, like: cloth}]\n"
    screen = SCREEN.replace("}", ", facing: heavy cloth}")
    assert laws(own, screen) == {}
    assert set(laws(own + LAW, screen)) == {"screen"}
    assert isinstance(view(own, screen).facings["heavy cloth"], Facing)
