"""Facings that a scenario adds, those that it may not, and the page that tells of those that come with flightsim."""

from __future__ import annotations

import re
from math import inf

import facing_table
import numpy as np
import pytest
import yaml

from flightsim.contact.facings import Facing, shipped_facings
from flightsim.flight.ball import LEGAL_BALL
from flightsim.plugin.hookspecs import BaySetup
from flightsim.plugin.testing import SMALL_BAY, scenario_of, with_plugins
from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim_plugins.facings import flightsim_facings, flightsim_parts

PLUGINS = with_plugins()
SPEEDS = np.array([5.0, 20.0, 45.0, 70.0])


def setup(facings: str) -> BaySetup:
    scenario = scenario_of(f"{SMALL_BAY}facings: {facings}\n", PLUGINS)
    return BaySetup(scenario.entries("facings"), scenario)


def made(facings: str) -> dict[str, Facing]:
    context = setup(facings)
    assert flightsim_parts(context).problems == ()
    return {facing.name: facing for facing in flightsim_facings(context)}


def problems_of(facings: str) -> list[Problem]:
    try:
        return list(flightsim_parts(setup(facings)).problems)
    except ScenarioError as error:
        return list(error.problems)


def restitution(facing: Facing) -> np.ndarray:
    return facing.restitution(SPEEDS, LEGAL_BALL)


def test_a_facing_like_another_differs_only_in_what_is_said() -> None:
    own, base = made("{name: my ply, like: plywood, friction: 0.5}")["my ply"], shipped_facings()["plywood"]
    assert restitution(own) == pytest.approx(restitution(base))
    assert (own.friction, own.damage, own.broken) == (0.5, base.damage, base.broken)
    assert "plywood" in own.source


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("fixed: 0.3", [0.3] * 4),
        ("own: 0.5", 0.5 * (0.88 - 0.0023 * SPEEDS)),
        ("table: [{speed: 20 m/s, restitution: 0.4}, {speed: 70 m/s, restitution: 0.1}]", [0.4, 0.4, 0.25, 0.1]),
    ],
)
def test_each_way_of_returning_a_ball_takes_the_place_of_what_it_is_like(words: str, expected: object) -> None:
    for like in ("", "like: plywood, ", "like: turf, ", "like: cloth, "):
        assert restitution(made(f"{{name: mine, {like}{words}}}")["mine"]) == pytest.approx(np.array(expected))


def test_a_board_and_turf_are_those_of_the_shipped_facings() -> None:
    board = "{stiffness: 8 GPa, thickness: 12 mm, density: 650 kg/m3}"
    facings = made(f"[{{name: ply, plate: {board}}}, {{name: lawn, turf: true}}]")
    assert restitution(facings["ply"]) == pytest.approx(restitution(shipped_facings()["plywood"]))
    assert restitution(facings["lawn"]) == pytest.approx(restitution(shipped_facings()["turf"]))


def test_foam_can_be_put_in_front_and_taken_away() -> None:
    facings = made("[{name: soft, like: concrete, foam: {thickness: 50 mm}}, {name: bare, like: soft, foam: none}]")
    assert restitution(facings["soft"])[0] == pytest.approx(0.35)
    assert (restitution(facings["soft"]) < restitution(facings["bare"])).all()
    assert restitution(facings["bare"]) == pytest.approx(restitution(shipped_facings()["concrete"]))


def test_energies_and_speeds_have_units_and_may_be_never() -> None:
    facings = made("[{name: a, like: gypsum, damage: 11 ft-lb, broken: never, hold: 10 km/h, soft: true,"
                   " tangential: 0.4, rolling: 0.2},"
                   " {name: b, fixed: 0.2}]")  # fmt: skip
    assert facings["a"].damage == pytest.approx(14.9, abs=0.02)  # [cfr-107]: 11 ft-lb are 14.9 J
    assert (facings["a"].broken, facings["a"].soft, facings["a"].tangential) == (inf, True, 0.4)
    assert facings["a"].hold == pytest.approx(10 / 3.6)
    assert (facings["b"].damage, facings["b"].broken, facings["b"].hold, facings["b"].soft) == (inf, inf, 0.0, False)
    assert (facings["b"].friction, facings["b"].tangential, facings["b"].rolling) == (0.35, 0.2, 0.03)
    assert facings["a"].rolling == 0.2


def test_a_facing_may_be_like_one_above_but_not_like_one_below() -> None:
    assert set(made("[{name: a, fixed: 0.2}, {name: b, like: a}]")) == {"a", "b"}
    (problem,) = problems_of("[{name: b, like: a}, {name: a, fixed: 0.2}]")
    assert problem.key == "facings.0.like"


def test_an_unknown_likeness_is_an_error_with_the_nearest_name_and_the_others_stay() -> None:
    facings = "[{name: a, like: plywod}, {name: b, fixed: 0.2}]"
    (problem,) = problems_of(facings)
    assert (problem.key, problem.found) == ("facings.0.like", "no facing above or of flightsim's is called 'plywod'")
    assert problem.fix == "like: plywood"
    assert "gypsum" in problem.allowed
    assert problem.line is not None
    assert [facing.name for facing in flightsim_facings(setup(facings))] == ["b"]


@pytest.mark.parametrize("name", sorted(shipped_facings()))
def test_a_name_that_comes_with_flightsim_is_refused_with_another(name: str) -> None:
    (problem,) = problems_of(f"{{name: {name}, fixed: 0.2}}")
    assert (problem.key, problem.fix) == ("facings.name", f"our {name}")
    assert problem.found == f"'{name}' comes with flightsim"


@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("fixed: 1.2", "fixed"),
        ("fixed: -0.1", "fixed"),
        ("own: 1.5", "own"),
        ("table: [{speed: 10 m/s, restitution: 1.01}]", "table.0.restitution"),
        ("fixed: 0.2, friction: -0.1", "friction"),
        ("fixed: 0.2, friction: 30", "friction"),
        ("fixed: 0.2, friction: .nan", "friction"),
        ("fixed: 0.2, tangential: 1.4", "tangential"),
        ("fixed: 0.2, hold: -1 m/s", "hold"),
        ("fixed: 0.2, hold: 3", "hold"),
        ("fixed: 0.2, rolling: -0.1", "rolling"),
        ("fixed: 0.2, damage: 0 J", "damage"),
        ("fixed: 0.2, damage: 8", "damage"),
        ("fixed: 0.2, broken: sometimes", "broken"),
        ("fixed: 0.2, foam: {thickness: -10 mm}", "foam.thickness"),
        ("fixed: 0.2, foam: {thickness: 10 mm, crush_stress: 0 MPa}", "foam.crush_stress"),
        ("plate: {stiffness: 8 GPa, thickness: 0 mm, density: 650 kg/m3}", "plate.thickness"),
        ("plate: {stiffness: 8 GPa, thickness: 9 mm, density: 650 kg/m3, poisson: 0.7}", "plate.poisson"),
        ("plate: {thickness: 9 mm, density: 650 kg/m3}", "plate.stiffness"),
        ("fixed: 0.2, bounce: 3", "bounce"),
        ("fixed: 0.2, source: ''", "source"),
        ("fixed: 0.2, own: 0.3", ""),
        ("friction: 0.3", ""),
        ("table: [{speed: 20 m/s, restitution: 0.3}, {speed: 10 m/s, restitution: 0.2}]", ""),
        ("fixed: 0.2, damage: 20 J, broken: 10 J", ""),
    ],
)
def test_numbers_that_no_face_has_are_refused_with_line_and_key(words: str, key: str) -> None:
    (problem,) = problems_of(f"{{name: mine, {words}}}")
    assert problem.key == (f"facings.{key}" if key else "facings")
    assert problem.line is not None
    assert problem.found


# The page


def test_the_page_has_the_table_of_the_shipped_facings() -> None:
    """If it fails: python tests/support/facing_table.py"""
    _, mark, table = facing_table.FILE.read_text(encoding="utf-8").partition(facing_table.MARK)
    assert mark
    assert table.strip() == facing_table.text().strip()
    assert {facing.tangential for facing in shipped_facings().values()} == {0.2}


def test_the_page_shows_what_each_facing_does() -> None:
    """The numbers of the data file stand in the page, read back by hand."""
    rows = [line.strip("| ").split(" | ") for line in facing_table.text().splitlines()[2:]]
    told_of = {cells[0].strip("`"): cells for cells in rows}
    assert list(told_of) == list(shipped_facings())
    assert told_of["gypsum"][5:7] == ["8", "25"]  # [breaking]: dents at 8 J, holes at 25 J
    assert told_of["concrete"][2] == "0.78"  # [rebound]: .77 +-.12 at 45 m/s
    assert told_of["cloth"][4] == "0.5"
    assert all(len(cells) == 8 and cells[7] for cells in rows)


def test_what_the_page_says_of_energies_and_foam_is_so() -> None:
    text = facing_table.FILE.read_text(encoding="utf-8")
    pairs = re.findall(r"([0-9.]+) J at ([0-9.]+) m/s", text)
    assert len(pairs) == 5
    for energy, speed in pairs:
        assert float(energy) == pytest.approx(0.5 * LEGAL_BALL.mass * float(speed) ** 2, rel=0.01)
    (padded, bare) = re.findall(r"\(([0-9.]+) against ([0-9.]+) at 45 m/s\)", text)[0]
    for name, value in (("foam on steel", padded), ("steel", bare)):
        assert restitution(shipped_facings()[name])[2] == pytest.approx(float(value), abs=0.005)
    own = re.findall(r"falls from ([0-9.]+) at 10 m/s to ([0-9.]+) at 45 m/s", text)[0]
    assert [float(value) for value in own] == pytest.approx([0.88 - 0.023, 0.88 - 0.0023 * 45], abs=0.005)


def test_the_example_of_the_page_is_a_section_that_works() -> None:
    (code,) = re.findall(r"```yaml\n(.*?)```", facing_table.FILE.read_text(encoding="utf-8"), re.DOTALL)
    entries = yaml.safe_load(code)["facings"]
    assert set(made(str(entries))) == {entry["name"] for entry in entries}
