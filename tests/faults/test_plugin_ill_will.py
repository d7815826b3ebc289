"""What a plugin may do to what it is handed, or on its way out: it reaches nobody else, and is blamed by name."""

from __future__ import annotations

import io
import signal
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import block
from flightsim.contact.facings import shipped_facings
from flightsim.errors import PluginError
from flightsim.flight.ball import BALLS
from flightsim.jobs import run_shots as session
from flightsim.jobs.run_shots import Order, run_and_report
from flightsim.plugin.hookspecs import BayPieces, Finding, hookimpl
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import SMALL_BAY, bay_of, run_columns, scenario_of, with_plugins
from flightsim.report.pages import run_folder as write
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.study.run.known_facings import facing_problems
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run

BLAME = r"plugin 'visitor' \(from visitor-in-memory 0\): "
GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
BALL = BALLS["legal"]


def visitor(**hooks):
    module = ModuleType("visitor")
    module.HOOK_API = 2
    for name, function in hooks.items():
        setattr(module, f"flightsim_{name}", hookimpl(function, specname=f"flightsim_{name}"))
    return with_plugins({"visitor": module})


def lamp(facing: str = "glass"):
    low = np.array([0.5, -0.1, 1.5])
    return Part("lamp", block(low, low + 0.1), Role.UNPROTECTED, facing, "visitor")


def test_an_exception_that_cannot_even_say_what_it_is_is_blamed():
    class MuteError(Exception):
        def __str__(self):
            raise RuntimeError

    def parts(context):
        raise MuteError

    with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts failed: MuteError: its text cannot be read"):
        bay_of(SMALL_BAY, visitor(parts=parts))


@pytest.mark.parametrize("kind", [GeneratorExit, StopIteration, KeyboardInterrupt, BaseException, RecursionError])
def test_whatever_a_plugin_raises_is_blamed(kind, monkeypatch):
    def parts(context):
        raise kind("so there")

    before = signal.signal(signal.SIGINT, lambda *_: None)  # as the command line does: then Ctrl-C is told from a trick
    try:
        with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts failed: {kind.__name__}: so there"):
            bay_of(SMALL_BAY, visitor(parts=parts))
    finally:
        signal.signal(signal.SIGINT, before)


def test_ctrl_c_while_a_plugin_is_at_work_is_no_fault_of_its(monkeypatch):
    def parts(context):
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(sys, "argv", ["flightsim"])
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with pytest.raises(KeyboardInterrupt):
            bay_of(SMALL_BAY, visitor(parts=parts))
    finally:
        signal.signal(signal.SIGINT, before)


def test_a_plugin_that_raises_our_own_error_is_named_all_the_same():
    def parts(context):
        raise PluginError("it was the screen")

    with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts failed: PluginError: it was the screen"):
        bay_of(SMALL_BAY, visitor(parts=parts))


def test_a_list_that_raises_as_it_is_read_is_blamed():
    class Odd(list):
        def __iter__(self):
            raise ZeroDivisionError("odd")

    with pytest.raises(PluginError, match=f"{BLAME}what flightsim_parts returned cannot be read: ZeroDivisionError"):
        bay_of(SMALL_BAY, visitor(parts=lambda context: BayPieces(Odd([lamp()]))))


@pytest.mark.parametrize("name", ["stdout", "stderr"])
def test_a_plugin_that_closes_the_way_of_the_answer_is_blamed(monkeypatch, name):
    monkeypatch.setattr(sys, name, io.StringIO())

    def parts(context):
        getattr(sys, name).close()
        return BayPieces()

    with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts closed sys.{name}"):
        bay_of(SMALL_BAY, visitor(parts=parts))


def force(array: np.ndarray) -> None:
    """Zero an array, read-only or not."""
    while array.base is not None and isinstance(array.base, np.ndarray):
        array = array.base
    array.flags.writeable = True
    array[...] = 0


def test_columns_that_a_plugin_zeroes_are_its_own():
    def greedy(context):
        for column in context.columns.values():
            if column.dtype.kind == "f":
                force(column)
        return []

    plugins = visitor(judge=greedy)
    scenario, (bay, _) = scenario_of(SMALL_BAY, plugins), bay_of(SMALL_BAY, plugins)
    columns = run_columns(bay)
    before = columns["first_speed_m_s"].copy()
    plugins.judge(scenario, bay, columns)
    assert np.array_equal(columns["first_speed_m_s"], before)
    assert before.any()


@pytest.mark.parametrize("hook", ["checks", "rebounds", "measures"])
def test_a_bay_that_a_plugin_zeroes_is_its_own(hook):
    def greedy(context):
        for part in context.bay.parts:
            for value in vars(part.shape).values():
                if isinstance(value, np.ndarray):
                    force(value)
        force(context.bay.lower)
        for name in ("text", "name"):
            object.__setattr__(context.scenario, name, "spoilt")
        context.scenario.room.__dict__["width"] = 0.0
        return {} if hook == "measures" else []

    plugins = visitor(**{hook: greedy})
    scenario, (bay, _) = scenario_of(SMALL_BAY, plugins), bay_of(SMALL_BAY, plugins)
    before = [part.shape.bounds() for part in bay.parts if part.name != "floor"]
    lower = bay.lower.copy()
    getattr(plugins, hook)(scenario, bay, BALL, shipped_facings())
    after = [part.shape.bounds() for part in bay.parts if part.name != "floor"]
    assert all(np.array_equal(one, two, equal_nan=True) for one, two in zip(before, after, strict=True))
    assert np.array_equal(bay.lower, lower)
    assert (scenario.name, scenario.room.width) == ("A small bay", 3.4)


def test_a_part_that_a_plugin_moves_when_it_has_been_looked_at_stays_where_it_was():
    kept = lamp()
    plugins = visitor(parts=lambda context: BayPieces((kept,)))
    bay, _ = bay_of(SMALL_BAY, plugins)
    (part,) = bay.owned_by("visitor")
    before = [corner.copy() for corner in part.shape.bounds()]
    for value in vars(kept.shape).values():
        if isinstance(value, np.ndarray):
            force(value)
    assert np.array_equal(before, part.shape.bounds())


@pytest.mark.parametrize(
    ("marked", "words"),
    [
        (True, "unknown hook 'flightsim_juge' .*flightsim_juge may be meant as flightsim_judge; the hooks are"),
        (False, "flightsim_juge is not marked with @hookimpl.*; flightsim_juge may be meant as flightsim_judge"),
    ],
)
def test_a_misspelt_hook_gets_the_nearest(marked, words):
    module = ModuleType("visitor")
    module.HOOK_API = 2

    def flightsim_juge(context):
        return []

    module.flightsim_parts = hookimpl(lambda context: BayPieces(), specname="flightsim_parts")
    module.flightsim_juge = hookimpl(flightsim_juge) if marked else flightsim_juge
    with pytest.raises(PluginError, match=f"(?s){BLAME}.*{words}"):
        with_plugins({"visitor": module})


def test_a_facing_that_a_plugin_makes_up_is_its_own_fault_and_told_once():
    plugins = visitor(parts=lambda context: BayPieces((lamp("glas"),)))
    pieces = bay_of(SMALL_BAY, plugins)[1]
    with pytest.raises(PluginError, match=r"plugin 'visitor': part 'lamp' has the facing 'glas'.*\n.*\n  try: glass"):
        facing_problems(scenario_of(SMALL_BAY, plugins), pieces.parts, shipped_facings())


RACK = """
from pydantic import field_validator
from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import block
from flightsim.plugin.hookspecs import BayPieces, Finding, hookimpl
from flightsim.scenario.reading.models import Model, Section
import numpy as np

HOOK_API = 2

class Rack(Model):
    made_of: str = "steel"

    @field_validator("made_of")
    @classmethod
    def _known(cls, word):
        return {"": 1}[word] if word == "nothing" else word

@hookimpl
def flightsim_section():
    return Section("ball_rack", Rack, "A rack", owner="rack")

@hookimpl
def flightsim_parts(context):
    low = np.array([-1.0, 0.9, 2.0])
    return BayPieces([
        Part(f"rack {k}", block(low + 0.1 * k, low + 0.1 * k + 0.05), Role.UNPROTECTED, rack.made_of, "rack")
        for rack in context.entries for k in range(3)
    ])

@hookimpl
def flightsim_judge(context):
    raise OSError("the dog ate it")
"""


@pytest.fixture
def rack(tmp_path, monkeypatch):
    """A maker of scenarios with a rack, whose plugin is installed, and named where asked."""
    monkeypatch.syspath_prepend(str(tmp_path))
    info = tmp_path / "flightsim_rack-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: flightsim-rack\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text("[flightsim]\nrack = rack_plugin\n")
    (tmp_path / "rack_plugin.py").write_text(RACK)

    def make(section: str = "ball_rack: {made_of: steel}", named: str = "plugins: [rack]\n") -> Path:
        path = tmp_path / "bay.yaml"
        path.write_text(named + GARAGE.read_text(encoding="utf-8") + f"\n{section}\n", encoding="utf-8")
        return path

    yield make
    sys.modules.pop("rack_plugin", None)


def test_a_facing_that_the_file_gave_is_the_files_and_told_once(rack):
    with pytest.raises(ScenarioError) as raised:
        open_bay(rack("ball_rack: {made_of: stel}"))
    (problem,) = raised.value.problems
    assert (problem.key, problem.fix) == ("ball_rack", "steel")


def test_a_section_of_an_installed_plugin_that_the_file_does_not_name_says_so(rack):
    with pytest.raises(ScenarioError) as raised:
        open_bay(rack(named=""))
    (problem,) = raised.value.problems
    assert problem.key == "ball_rack"
    assert "the plugin 'rack', which is installed, owns this key, but the file does not name it" in problem.found
    assert problem.fix == "plugins: [rack]"


def test_a_model_that_fails_in_its_own_way_is_its_plugins_fault(rack):
    with pytest.raises(PluginError, match="plugin 'rack': its model of 'ball_rack' failed: KeyError"):
        open_bay(rack("ball_rack: {made_of: nothing}"))


def test_a_judge_that_fails_takes_nothing_from_the_run(rack):
    result = run(open_bay(rack()), 300)
    assert len(result.shots) == 300
    assert "flightsim_judge failed: OSError: the dog ate it" in result.failed[0]
    assert result.findings[-1].level == "warning"
    assert "the dog ate it" in result.findings[-1].text


def test_a_run_that_a_plugin_failed_over_is_written_and_ends_as_a_plugins_failure(rack, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(write, "write_figures", lambda *_, **__: [])
    order = Order(rack(), 300, None, tmp_path / "out", 1, (), (), False, True)
    with pytest.raises(PluginError, match=f"the dog ate it.*\n  the result is complete.*{tmp_path / 'out'}"):
        run_and_report(order)
    assert (tmp_path / "out" / "shots.csv").exists()
    assert "A plugin failed over this run" in " ".join(capsys.readouterr().out.split())
    assert session.MET == 0


def test_the_others_are_heard_when_one_fails_after_the_flight():
    good = ModuleType("good")
    good.HOOK_API = 2
    good.flightsim_judge = hookimpl(lambda context: [Finding("Good", "day")], specname="flightsim_judge")
    bad = ModuleType("bad")
    bad.HOOK_API = 2
    bad.flightsim_judge = hookimpl(lambda context: [Finding("Bad", 7)], specname="flightsim_judge")
    plugins: Plugins = with_plugins({"bad": bad, "good": good})
    scenario, (bay, _) = scenario_of(SMALL_BAY, plugins), bay_of(SMALL_BAY, plugins)
    failed: list[PluginError] = []
    findings = plugins.judge(scenario, bay, run_columns(bay), failed)
    assert findings[-1] == Finding("Good", "day")
    assert [str(error).split(" (")[0] for error in failed] == ["plugin 'bad'"]
