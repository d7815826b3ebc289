"""docs/hooks.md and the hooks say the same, and the plugin that it shows works as it stands."""

from __future__ import annotations

import inspect
import re
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from bays import vector
from hook_reference import PAGE, reference

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.plugin import hookspecs
from flightsim.plugin.hookspecs import BayPieces, SeenTrouble, hookimpl
from flightsim.plugin.loading import GROUP, new_manager
from flightsim.plugin.offered import aero_models, balls, columns_added, remedies_offered, shot_keys, shots_of
from flightsim.plugin.testing import SMALL_BAY, bay_of, run_columns, scenario_of, with_plugins

TEXT = (Path(__file__).parents[2] / "docs" / "hooks.md").read_text(encoding="utf-8")
HOOKS = sorted(vars(new_manager().hook))
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", TEXT, flags=re.DOTALL)
SHOWN = [code for language, code in BLOCKS if language == "python"]
(EXAMPLE,) = (code for code in SHOWN if "class BallRack" in code)
(OWN_TEST,) = (code for code in SHOWN if "def test_the_tray_lies_on_the_post" in code)
(ARC_TESTS,) = (code for code in SHOWN if "@arc_test" in code)


def test_every_hook_is_documented_and_every_documented_hook_exists() -> None:
    assert sorted(re.findall(r"^### (flightsim_\w+)$", TEXT, flags=re.MULTILINE)) == HOOKS
    others = {"flightsim_plugins", "flightsim_touch"}  # of the second it is told that it went
    assert set(re.findall(r"\bflightsim_[a-z_]+\b", TEXT)) <= {*HOOKS, *others}


@pytest.mark.parametrize("hook", HOOKS)
def test_the_documented_signature_is_that_of_the_hook(hook: str) -> None:
    signature = str(inspect.signature(getattr(hookspecs, hook))).replace("'", "")
    assert f"`{hook}{signature}`" in TEXT


def test_hooks_take_one_context_object_or_nothing() -> None:
    for hook in HOOKS:
        names = list(inspect.signature(getattr(hookspecs, hook)).parameters)
        assert names in ([], ["context"])


def test_the_documented_version_of_the_hooks_is_the_real_one() -> None:
    assert set(re.findall(r"HOOK_API = (\d+)", TEXT)) == {str(hookspecs.HOOK_API)}
    assert f"[project.entry-points.{GROUP}]" in TEXT


@pytest.fixture
def example(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    module = ModuleType("ball_rack")
    exec(compile(EXAMPLE, "ball_rack.py", "exec"), module.__dict__)
    monkeypatch.setitem(sys.modules, "ball_rack", module)
    return module


def test_the_example_plugin_gives_its_parts_and_its_finding(example: ModuleType) -> None:
    plugins = with_plugins({"ball_rack": example})
    (_, in_a_scenario) = (code for language, code in BLOCKS if language == "yaml")
    text = SMALL_BAY + in_a_scenario.partition("\n")[2]
    bay, pieces = bay_of(text, plugins)
    assert not pieces.problems
    assert [part.name for part in bay.owned_by("ball_rack")] == ["rack post", "rack tray"]
    columns = run_columns(bay, shots=len(bay.parts))
    found = plugins.judge(scenario_of(text, plugins), bay, columns)
    (finding,) = (finding for finding in found if finding.title == "Ball rack")
    assert finding.text == "2 shots met the ball rack first."


def test_the_example_test_passes(example: ModuleType) -> None:
    space: dict[str, object] = {}
    exec(compile(OWN_TEST, "test_ball_rack.py", "exec"), space)
    run = space["test_the_tray_lies_on_the_post"]
    assert callable(run)
    run()


def test_the_reference_of_the_hooks_is_what_the_code_says() -> None:
    """`python tests/support/hook_reference.py` writes it again."""
    assert PAGE.read_text(encoding="utf-8") == reference()


def test_the_example_of_a_test_of_arcs_stops_balls_from_below_only(tmp_path: Path) -> None:
    """Compiled from a file, so that what was compiled is kept beside it, as a plugin's is."""
    path = tmp_path / "louvre.py"
    path.write_text("HOOK_API = 2\n" + ARC_TESTS, encoding="utf-8")
    spec = spec_from_file_location("louvre", path)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    louvre = Part(
        "louvre", rectangle(vector(1, -1, 2), vector(2, 0, 0), vector(0, 2, 0)), Role.GUARD, "steel", "louvre"
    )
    module.flightsim_parts = hookimpl(lambda context: BayPieces((louvre,)), specname="flightsim_parts")  # type: ignore[attr-defined]
    plugins = with_plugins({"louvre": module})
    bay = Bay((louvre,), (), np.full(3, -5.0), np.full(3, 5.0))
    start = np.array([[0.0, 0.0], [0.0, 0.0], [1.0, 3.0]])
    balls = Launches(start, np.array([[20.0, 20.0], [0.0, 0.0], [12.0, -12.0]]), np.zeros((3, 2)))
    met = first_contacts(Physics(), balls, bay, plugins.touch_tests(bay))
    assert met.part.tolist() == [0, -1]
    assert met.normal[:, 0].tolist() == [0.0, 0.0, -1.0]
    assert list(tmp_path.rglob("*.nbi"))


OFFERS = """
from importlib.resources import files

import numpy as np

from flightsim.flight.ball import Ball
from flightsim.plugin.hookspecs import Column, Remedy, SeenTrouble, StarterBay, TroubledRun, hookimpl
from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.quantities import Speed
from flightsim.shots.launches_section import Launches

HOOK_API = 2


class Machine(Model):
    speed: Speed


@hookimpl
def flightsim_section():
    return Section("machine", Machine, "A ball machine", owner="machine")
"""
OFFERED = ("columns", "remedies", "aero_models", "balls", "shots")


def test_the_examples_of_what_may_be_offered_work_as_they_stand() -> None:
    module = ModuleType("machine")
    code = [OFFERS, *(next(code for code in SHOWN if f"def flightsim_{hook}(" in code) for hook in OFFERED)]
    exec(compile("\n".join(code), "machine.py", "exec", dont_inherit=True), module.__dict__)
    plugins = with_plugins({"machine": module})
    scenario = scenario_of(SMALL_BAY + "machine: {speed: 30 m/s}\n", plugins)
    assert aero_models(plugins)["smooth_sphere"] is module.sphere
    assert balls(plugins)["soft_core"].mass == 0.04
    launches = shots_of(plugins, shot_keys(plugins)["machine"], scenario)
    assert launches.grid is not None
    assert launches.grid.size == 41
    bay, _ = bay_of(SMALL_BAY, plugins)
    columns = {**run_columns(bay), "first_x_m": np.zeros(3), "first_y_m": np.full(3, 0.4)}
    assert columns_added(plugins, scenario, bay, columns)["post_gap_m"] == pytest.approx(4.2)
    seen = SeenTrouble("hit_unprotected", "rack tray", 3, 0.001)
    offered = remedies_offered(plugins, scenario, bay, (seen,))
    assert offered == [("the ball rack 300 mm lower", ("ball_rack.height=500 mm",))]
