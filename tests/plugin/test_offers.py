"""What plugins offer to choose from, or add: balls, drag and lift, shots, starters, columns, remedies."""

from __future__ import annotations

import csv
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from flightsim import cli
from flightsim.errors import BadInputError, PluginError
from flightsim.flight.aerodynamics import naruo2004
from flightsim.flight.ball import Ball
from flightsim.plugin.hookspecs import Column, Remedy, SeenTrouble, hookimpl
from flightsim.plugin.loading import FILES
from flightsim.plugin.offered import aero_models, balls, columns_added, remedies_offered, shot_keys, starters
from flightsim.plugin.testing import SMALL_BAY, bay_of, run_columns, scenario_of, with_plugins
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.quantities import Speed
from flightsim.scenario.reading.written import Written
from flightsim.shots.launches_section import Launches
from flightsim.study.run.open_bay import BayOrigin, OpenBay, all_sections, core_choices, opened_with
from flightsim.study.run.plugin_trial import finished_run

DRIVER = "launches: {use: [driver]}\n"
SOFT = Ball("soft_ball", 0.020, 0.0427, 0.4, "invented for this test")


def plugin(**hooks: object) -> object:
    """One in memory, with these hooks: what each returns, or what it does."""
    made = {"HOOK_API": 2}
    for name, given in hooks.items():
        does = given if callable(given) else lambda given=given: given
        made[f"flightsim_{name}"] = hookimpl(specname=f"flightsim_{name}")(does)
    return SimpleNamespace(**made)


def opened(text: str, **hooks: object) -> OpenBay:
    plugins = with_plugins({"mine": plugin(**hooks)})
    origin = Written(text)
    return opened_with(
        load_scenario(origin, all_sections(plugins), (), core_choices(plugins)), plugins, BayOrigin(origin)
    )


def blamed(words: str):
    return pytest.raises(PluginError, match=rf"plugin 'mine' .*{words}")


def test_a_plugins_ball_is_flown_with_its_weight_and_size() -> None:
    bay = opened(SMALL_BAY + DRIVER + "ball: {preset: soft_ball}\n", balls=[SOFT])
    assert bay.physics.ball == SOFT
    assert bay.scenario.ball.mass == 0.020
    heavier = opened(SMALL_BAY + DRIVER + "ball: {preset: soft_ball, mass: 25 g}\n", balls=[SOFT])
    assert heavier.physics.ball.mass == pytest.approx(0.025)
    with pytest.raises(ScenarioError, match="soft_ball"):
        opened(SMALL_BAY + DRIVER + "ball: {preset: soft_bal}\n", balls=[SOFT])


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (3, "flightsim_balls"),
        ([3], "flightsim_balls"),
        ([Ball("legal", 0.02, 0.04, 0.4, "x")], "there is a 'legal' already"),
        ([Ball("Soft Ball", 0.02, 0.04, 0.4, "x")], "a name must be of small letters"),
        ([SOFT, SOFT], "there is a 'soft_ball' already"),
        ([Ball("lead", 40.0, 0.04, 0.4, "x")], "'lead'"),
        ([Ball("odd", 0.04, 0.04, 0.9, "x")], "inertia_factor"),
        ([Ball("nobody", 0.04, 0.04, 0.4, " ")], "source"),
    ],
)
def test_a_ball_that_is_none_is_blamed_on_its_plugin(answer: object, words: str) -> None:
    with blamed(words):
        balls(with_plugins({"mine": plugin(balls=answer)}))


def smooth(S, Re):
    """Of a ball without dimples, roughly: invented."""
    return np.full_like(S, 0.47), 0.2 * S / (1.0 + S)


def test_a_plugins_drag_and_lift_are_flown() -> None:
    found = [
        finished_run(
            SMALL_BAY + DRIVER + f"aero: {name}\n", with_plugins({"mine": plugin(aero_models={"smooth": smooth})}), 60
        )
        for name in ("smooth", "naruo2004")
    ]
    speeds = [run.contacts.speed_of().mean() for run in found]
    assert speeds[0] < speeds[1] - 0.5  # it is slowed more


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ([smooth], "mapping"),
        ({"naruo2004": smooth}, "there is a 'naruo2004' already"),
        ({"smooth": 0.47}, "function of S and Re"),
        ({"smooth": lambda S, Re: S}, "must return CD and CL"),
        ({"smooth": lambda S, Re: (0.47, 0.2)}, "finite numbers"),
        ({"smooth": lambda S, Re: (S * np.nan, S)}, "finite numbers"),
        ({"smooth": lambda S, Re: (naruo2004(S, Re)[0] - 1.0, S * 0.0)}, "below nought"),
        ({"smooth": lambda S, Re: (S * 0.0 + 0.5, S)}, "above 1.2"),
        ({"smooth": lambda S, Re: (np.where(S > 0.315, 0.9, 0.2), S * 0.0)}, "too sharply"),
        ({"smooth": lambda S, Re: 1 / 0}, "ZeroDivisionError"),
    ],
)  # fmt: skip
def test_drag_and_lift_that_cannot_be_flown_are_blamed_on_their_plugin(answer: object, words: str) -> None:
    with blamed(words):
        aero_models(with_plugins({"mine": plugin(aero_models=answer)}))


class Machine(Model):
    """A ball machine: invented."""

    speed: Speed


def machine(context):
    speed = f"{context.entries[0].speed} m/s"
    return Launches.model_validate(
        {"grid": {"ball_speed": speed, "elevation": ["5 deg", "10 deg"], "azimuth": "0 deg", "spin_rate": "0 rpm"}}
    )


SECTION = Section("mine", Machine, "A ball machine", owner="mine")


def test_a_plugins_section_says_what_is_flown() -> None:
    bay = opened(SMALL_BAY + "mine: {speed: 30 m/s}\n", section=SECTION, shots=machine)
    assert bay.plan.grid_size == 2
    run = finished_run(SMALL_BAY + "mine: {speed: 30 m/s}\n", bay.plugins)
    assert run.shots.ball_speed == pytest.approx(30.0)
    assert run.shots_source == {"section": "mine"}
    with pytest.raises(ScenarioError, match="launches and mine are given"):
        opened(SMALL_BAY + DRIVER + "mine: {speed: 30 m/s}\n", section=SECTION, shots=machine)
    with pytest.raises(ScenarioError, match="of a plugin: mine"):
        opened(SMALL_BAY, section=SECTION, shots=machine)


def test_shots_that_are_none_are_blamed_on_their_plugin() -> None:
    with blamed("must return Launches"):
        opened(SMALL_BAY + "mine: {speed: 30 m/s}\n", section=SECTION, shots=lambda context: [1])
    with blamed("needs flightsim_section"):
        shot_keys(with_plugins({"mine": plugin(shots=machine)}))


def far(context):
    return [
        Column("far_m", 2.0 * context.columns["first_speed_m_s"]),
        Column("met", np.array(["=1"] * len(context.columns["shot"]), dtype=object)),
    ]


COLUMN_PLUGIN = """
from flightsim.plugin.hookspecs import Column, Remedy, StarterBay, hookimpl

HOOK_API = 2


@hookimpl
def flightsim_columns(context):
    return [Column("doubled_m_s", 2.0 * context.columns["ball_speed_m_s"])]


@hookimpl
def flightsim_starters():
    return [StarterBay("shed", "a small shed", TEXT)]


TEXT = '''%s'''
"""


def command(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["flightsim", *words])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(ended.value.code or 0)


@pytest.mark.usefixtures("no_pictures")
def test_a_plugins_columns_stand_in_both_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(FILES, "")  # the command writes there: put back afterwards
    Path("doubled.py").write_text(COLUMN_PLUGIN % "x", encoding="utf-8")
    Path("bay.yaml").write_text(SMALL_BAY + DRIVER, encoding="utf-8")
    asked = ("run", "bay.yaml", "--shots", "20", "--quick", "--out", "out", "--plugin", "doubled.py")
    assert command(monkeypatch, *asked) in (0, 1)
    with Path("out/shots.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["doubled_m_s"]) for row in rows] == [2.0 * float(row["ball_speed_m_s"]) for row in rows]
    with np.load("out/shots.npz") as kept:
        assert kept["doubled_m_s"] == pytest.approx(2.0 * kept["ball_speed_m_s"])


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ([Column("shot", np.zeros(3))], "there is a 'shot' already"),
        ([Column("Far, m", np.zeros(3))], "a name must be of small letters"),
        ([Column("far_m", np.zeros(2))], "one value a shot"),
        ([Column("far_m", [1.0, 2.0, 3.0])], "must be an array"),
        ([Column("far_m", np.array([1.0, np.inf, 0.0]))], "finite"),
        ([Column("far_m", np.zeros(3) + 1j)], "numbers or words"),
        ([Column("far_m", np.array([None, 1, "x"], dtype=object))], "numbers or words"),
        ([Column("far", np.array([1, 2, 2**40]))], "32 bits"),
        ([Column("far_m", np.zeros(3)), Column("far_m", np.zeros(3))], "there is a 'far_m' already"),
        (3, "flightsim_columns"),
    ],
)
def test_columns_that_cannot_be_written_are_blamed_and_cost_no_run(answer: object, words: str) -> None:
    plugins = with_plugins({"mine": plugin(columns=lambda context: answer)})
    bay, _ = bay_of(SMALL_BAY, plugins)
    seen = (plugins, scenario_of(SMALL_BAY, plugins), bay, run_columns(bay))
    with blamed(words):
        columns_added(*seen)
    failed: list[PluginError] = []
    assert columns_added(*seen, failed) == {}
    assert len(failed) == 1


def test_words_and_numbers_may_be_columns() -> None:
    plugins = with_plugins({"mine": plugin(columns=far)})
    bay, _ = bay_of(SMALL_BAY, plugins)
    found = columns_added(plugins, scenario_of(SMALL_BAY, plugins), bay, run_columns(bay))
    assert list(found) == ["far_m", "met"]
    assert found["far_m"].tolist() == [80.0, 100.0, 120.0]


def test_a_plugins_remedy_is_flown_and_told() -> None:
    from flightsim.study.run.consequences import with_consequences
    from flightsim.study.run.walk import run

    seen: list[SeenTrouble] = []

    def offered(context):
        seen.extend(context.troubles)
        return [Remedy("a ball of foam", ("ball.preset=foam",))]

    bay = opened(SMALL_BAY.replace("350 mm", "350 mm, facing: plywood") + DRIVER, remedies=offered)
    result = with_consequences(bay, run(bay, 2000), quick=False)
    assert [(each.flag, each.place) for each in seen] == [(t.flag.key, t.place) for t in result.troubles][: len(seen)]
    tried = {one.words: one for trouble in result.troubles for one in trouble.tried}
    assert tried["a ball of foam"].sets == ("ball.preset=foam",)


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (3, "flightsim_remedies"),
        ([Remedy("", ("a=1",))], "words must be text"),
        ([Remedy("foam", ())], "sets is empty"),
        ([Remedy("foam", ("ball",))], "key=value"),
        ([Remedy("foam", (3,))], "sets"),  # type: ignore[arg-type]
    ],
)
def test_remedies_that_are_none_are_blamed_and_cost_no_run(answer: object, words: str) -> None:
    plugins = with_plugins({"mine": plugin(remedies=lambda context: answer)})
    bay, _ = bay_of(SMALL_BAY, plugins)
    seen = (plugins, scenario_of(SMALL_BAY, plugins), bay, ())
    with blamed(words):
        remedies_offered(*seen)
    failed: list[PluginError] = []
    assert remedies_offered(*seen, failed) == []
    assert len(failed) == 1


def test_a_plugins_starter_is_written_and_flies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("sheds.py").write_text(COLUMN_PLUGIN % (SMALL_BAY + DRIVER), encoding="utf-8")
    monkeypatch.setenv(FILES, str(tmp_path / "sheds.py"))
    assert starters()["shed"].words == "a small shed"
    assert command(monkeypatch, "new", "shed.yaml", "--from", "shed") == 0
    assert Path("shed.yaml").read_text(encoding="utf-8") == SMALL_BAY + DRIVER


def test_a_starter_that_nobody_knows_is_refused_with_those_there_are(tmp_path: Path, capsys, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert command(monkeypatch, "new", "bay.yaml", "--from", "hal") == 2
    errors = capsys.readouterr().err
    assert "garage, hall, lean_to" in errors
    assert "try: hall" in errors
    assert not list(tmp_path.iterdir())


def test_a_starter_without_text_is_blamed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "blank.py").write_text(COLUMN_PLUGIN % "   ", encoding="utf-8")
    monkeypatch.setenv(FILES, str(tmp_path / "blank.py"))
    with pytest.raises(PluginError, match=r"plugin 'blank' .*words and text must be text"):
        starters()


def test_bad_input_is_no_plugins_fault() -> None:
    with pytest.raises(BadInputError):
        opened(SMALL_BAY + DRIVER + "aero: naruo\n", aero_models={"smooth": smooth})
