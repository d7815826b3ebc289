"""Plugins that raise, or hand over what cannot be used: each is blamed by name, at the border."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flightsim.bay.parts import Bay, Opening, Part, Role
from flightsim.bay.shapes import Box, block
from flightsim.contact.touch import Touch, first_touches
from flightsim.errors import PluginError
from flightsim.plugin.hookspecs import (
    BayPieces,
    BaySetup,
    Finding,
    FinishedRun,
    ReportFigure,
    ReportSection,
    TouchTest,
    hookimpl,
)
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import (
    SMALL_BAY,
    all_directions,
    arcs_from,
    bay_of,
    run_columns,
    scenario_of,
    with_plugins,
)

BLAME = r"plugin 'visitor' \(from visitor-in-memory 0\): .*"
LAMP = block(np.array([0.5, -0.1, 1.5]), np.array([0.9, 0.1, 1.6]))


def plugin(**hooks: Callable[..., object]) -> ModuleType:
    """A plugin in memory with these hooks."""
    module = ModuleType("visitor")
    module.HOOK_API = 1  # type: ignore[attr-defined]
    for name, function in hooks.items():
        setattr(module, f"flightsim_{name}", hookimpl(function, specname=f"flightsim_{name}"))
    return module


def lamp(shape: object = LAMP, **changes: Any) -> Part:
    return replace(Part("lamp", shape, Role.UNPROTECTED, "glass", "visitor"), **changes)  # type: ignore[arg-type]


def giving(*parts: Part, **pieces: Any) -> Plugins:
    return with_plugins({"visitor": plugin(parts=lambda context: BayPieces(tuple(parts), **pieces))})


def test_a_plugin_that_raises_is_blamed_with_the_place() -> None:
    def parts(context: BaySetup) -> BayPieces:
        raise KeyError("mood")

    with pytest.raises(PluginError, match=rf"{BLAME}flightsim_parts failed: KeyError: 'mood' \(.*, line \d+\)"):
        bay_of(SMALL_BAY, with_plugins({"visitor": plugin(parts=parts)}))


def test_a_plugin_that_leaves_the_program_does_not_end_the_run_as_if_all_was_well() -> None:
    def parts(context: BaySetup) -> BayPieces:
        raise SystemExit(0)

    with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts failed: SystemExit: 0"):
        bay_of(SMALL_BAY, with_plugins({"visitor": plugin(parts=parts)}))


@pytest.mark.parametrize(
    ("returned", "words"),
    [
        ("a lamp", "returned a str; it must return BayPieces"),
        ([lamp()], "returned a list; it must return BayPieces"),
        (BayPieces(parts="lamp"), "parts: a str; it must be a list or tuple of Part"),  # type: ignore[arg-type]
        (BayPieces(parts=(LAMP,)), "parts: holds a Box; all must be Part"),  # type: ignore[arg-type]
        (BayPieces(openings=(lamp(),)), "openings: holds a Part; all must be Opening"),  # type: ignore[arg-type]
        (BayPieces(problems=("odd",)), "problems: holds a str; all must be Problem"),  # type: ignore[arg-type]
        (BayPieces(bounds=(np.zeros(3), np.ones(3))), "gives bounds, and another plugin gives the room already"),
        (BayPieces(bounds=np.zeros(6)), "bounds must be a lower and an upper corner"),  # type: ignore[arg-type]
    ],
)
def test_what_is_no_bay_pieces_is_blamed(returned: object, words: str) -> None:
    with pytest.raises(PluginError, match=f"{BLAME}{words}"):
        bay_of(SMALL_BAY, with_plugins({"visitor": plugin(parts=lambda context: returned)}))


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (lamp(owner="screen"), "part 'lamp': owner is 'screen', it must be 'visitor'"),
        (lamp(name=""), "part '': name must be a plain word"),
        (lamp(facing=None), "facing must be a plain word, found None"),
        (lamp(role="guard-ish"), "role must be a Role"),
        (lamp("a box"), "a str is not a Shape"),
        (lamp(Box(np.full(3, np.nan), np.eye(3), np.ones(3))), "12 of 12 values are NaN or infinite"),
        (lamp(Box(np.zeros(3), np.eye(3), -np.ones(3))), "the lower corner of its bounds lies above the upper one"),
        (lamp(Box(np.zeros(3), 2 * np.eye(3), np.ones(3))), "must have length 1"),
    ],
)
def test_a_part_that_cannot_be_is_blamed(part: Part, words: str) -> None:
    with pytest.raises(PluginError, match=f"{BLAME}{words}"):
        bay_of(SMALL_BAY, giving(part))


def test_two_parts_of_one_name_from_one_plugin_are_blamed_on_it() -> None:
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_parts gave two things of one name: lamp"):
        bay_of(SMALL_BAY, giving(lamp(), lamp()))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"owner": "room"}, "opening 'hatch': owner is 'room'"),
        ({"corners": np.zeros((2, 3))}, "opening 'hatch': a polygon needs at least three corners"),
        ({"corners": np.zeros((4, 2))}, r"corners: shape \(4, 2\)"),
        ({"normal": np.array([1.0, 1.0, 0.0])}, "normal: must have length 1"),
        ({"normal": np.array([1.0, 0.0, 0.0])}, "must stand square on its outline"),
        ({"normal": None}, "normal: None; it must be a numpy array of shape"),
    ],
)
def test_an_opening_that_cannot_be_is_blamed(changes: dict[str, Any], words: str) -> None:
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    hatch = replace(Opening("hatch", corners, np.array([0.0, 0, 1]), "visitor"), **changes)
    with pytest.raises(PluginError, match=f"{BLAME}.*{words}"):
        bay_of(SMALL_BAY, giving(openings=(hatch,)))


@dataclass(frozen=True)
class Ball:
    """A shape of a plugin's own, with something wrong. Its distance is that to a sphere."""

    wrong: Callable[[np.ndarray, np.ndarray], Any] = lambda distance, normal: (distance, normal)
    convex: bool = True
    centre: tuple[float, float, float] = (0.7, 0.0, 1.5)
    radius: float = 0.1

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        return np.array(self.centre) - self.radius, np.array(self.centre) + self.radius

    def distance(self, points: np.ndarray) -> Any:
        off = points - np.array(self.centre)[:, None]
        length = np.linalg.norm(off, axis=0)
        return self.wrong(length - self.radius, off / length)

    def outlines(self) -> list[np.ndarray]:
        return []


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda d, n: d, "returned a ndarray; it must return distances and normals"),
        (lambda d, n: (d, n.T), r"normals: shape \(\d+, 3\)"),
        (lambda d, n: (d[:, None], n), r"distances: shape \(\d+, 1\)"),
        (lambda d, n: (d.astype(np.float32), n), "distances: dtype float32; it must be float64"),
        (lambda d, n: (np.where(d > 0.05, np.nan, d), n), "values are NaN or infinite"),
        (lambda d, n: (list(d), n), "distances: a list; it must be a numpy array"),
        (lambda d, n: (d, 2 * n), "normals: must have length 1, found 2"),
        (lambda d, n: (2 * d, n), "grows faster than the point moves: balls could pass through"),
        (lambda d, n: (-d, n), "the shape is not convex, though it says so"),
        (lambda d, n: 1 / 0, "failed: ZeroDivisionError"),
    ],
)
def test_a_shape_that_breaks_its_promises_is_blamed_before_a_ball_flies(wrong: Callable[..., Any], words: str) -> None:
    with pytest.raises(PluginError, match=f"{BLAME}part 'lamp': Ball.distance.*{words}"):
        bay_of(SMALL_BAY, giving(lamp(Ball(wrong))))


def test_a_shape_that_goes_wrong_in_flight_is_blamed_too() -> None:
    flying = []

    def later(distance: np.ndarray, normal: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return (distance * np.nan if flying else distance), normal

    plugins = giving(lamp(Ball(later)))
    bay, _ = bay_of(SMALL_BAY, plugins)
    flying.append(True)
    with pytest.raises(PluginError, match=f"{BLAME}part 'lamp': Ball.distance: distances: .* NaN"):
        touches_of(plugins, bay)


def test_a_shape_that_would_write_into_the_points_it_is_given_is_blamed() -> None:
    @dataclass(frozen=True)
    class Careless(Ball):
        def distance(self, points: np.ndarray) -> Any:
            points[0] += 1.0
            return super().distance(points)

    with pytest.raises(PluginError, match=f"{BLAME}.*Careless.distance failed: ValueError: .*read-only"):
        bay_of(SMALL_BAY, giving(lamp(Careless())))


def touches_of(plugins: Plugins, bay: Bay, n: int = 200) -> list[Touch]:
    arcs = arcs_from((0.0, 0.0, 0.5), all_directions(n, 60.0))
    return [touch for test in plugins.touch_tests(bay) for touch in test(arcs)]


def with_touch(returned: Callable[[TouchTest], object]) -> tuple[Plugins, Bay]:
    plugins = with_plugins({"visitor": plugin(parts=lambda context: BayPieces((lamp(),)), touch=returned)})
    return plugins, bay_of(SMALL_BAY, plugins)[0]


def one_touch(**changes: Any) -> Callable[[TouchTest], object]:
    good = {
        "balls": np.array([3]),
        "tau": np.array([0.5]),
        "normal": np.array([[1.0], [0], [0]]),
        "undecided": np.array([], dtype=np.intp),
    }
    return lambda context: [Touch(context.parts[0], **{**good, **changes})]


def test_a_touch_test_that_is_sound_is_taken_as_it_is() -> None:
    plugins, bay = with_touch(one_touch())
    (touch,) = [t for t in touches_of(plugins, bay) if t.part.name == "lamp"]
    assert touch.balls.tolist() == [3]


def test_a_touch_test_that_gives_none_leaves_it_to_the_shapes() -> None:
    plugins, bay = with_touch(lambda context: None)
    plain = giving(lamp())
    both = [{t.part.name: t.balls.tolist() for t in touches_of(which, bay, 4000)}["lamp"] for which in (plugins, plain)]
    assert both[0] == both[1] != []


@pytest.mark.parametrize(
    ("returned", "words"),
    [
        (one_touch(balls=np.array([3.0])), "balls: dtype float64; it must be int"),
        (one_touch(balls=np.array([200])), "balls must lie from 0 to 199, found 200 to 200"),
        (one_touch(balls=np.array([-1])), "balls must lie from 0 to 199"),
        (one_touch(balls=np.array([3, 3])), "balls names a ball twice"),
        (one_touch(balls=[3]), "balls: a list; it must be a numpy array"),
        (one_touch(undecided=np.array([500])), "undecided must lie from 0 to 199"),
        (one_touch(tau=np.array([1.5])), "tau must lie from 0 to 1, found 1.5 to 1.5"),
        (one_touch(tau=np.array([np.nan])), "tau: 1 of 1 values are NaN or infinite"),
        (one_touch(tau=np.array([0.1, 0.2])), r"tau: shape \(2,\); it must be a numpy array of shape \(1,\)"),
        (one_touch(normal=np.array([[1.0, 0, 0]])), r"normal: shape \(1, 3\)"),
        (one_touch(normal=np.array([[1.0], [1], [0]])), "normal: must have length 1"),
        (lambda context: 7, "flightsim_touch: a int; it must be a list or tuple of Touch"),
        (lambda context: ["lamp"], "holds a str; all must be Touch"),
        (lambda context: [], "gave no Touch .* of its part: lamp"),
        (lambda context: 2 * one_touch()(context), "gave two touches of one part: lamp"),
        (lambda context: context.arcs.flights.path.fill(0.0), "flightsim_touch failed: ValueError: .*read-only"),
    ],
)
def test_touches_that_cannot_be_are_blamed(returned: Callable[[TouchTest], Any], words: str) -> None:
    plugins, bay = with_touch(returned)
    with pytest.raises(PluginError, match=f"{BLAME}.*{words}"):
        touches_of(plugins, bay)


def test_a_touch_of_another_plugins_part_is_blamed() -> None:
    screen = Part("screen", LAMP, Role.GUARD, "cloth", "screen")
    empty = np.array([], dtype=np.intp)
    other = Touch(screen, empty, np.empty(0), np.empty((3, 0)), empty)
    plugins, bay = with_touch(lambda context: [other])
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_touch gave a touch of a part .* not its own: screen"):
        touches_of(plugins, bay)


def test_what_a_touch_test_does_to_the_arcs_binds_nobody_else() -> None:
    seen = []

    def greedy(context: TouchTest) -> object:
        context.arcs.until[:] = 0.0  # would hide every other part
        for corner in context.arcs.boxes:
            corner[:] = 0.0
        seen.append(context.arcs)
        return None

    plugins, bay = with_touch(greedy)
    found = {touch.part.name: touch.balls.size for touch in touches_of(plugins, bay)}
    assert seen
    assert found["end wall"] + found["screen"] + found["slab"] > 0


def test_a_touch_test_may_call_the_search_of_flightsim_itself() -> None:
    plugins, bay = with_touch(lambda context: first_touches(context.parts, context.arcs))
    plain = {touch.part.name: touch.balls.tolist() for touch in touches_of(giving(lamp()), bay)}
    assert {touch.part.name: touch.balls.tolist() for touch in touches_of(plugins, bay)} == plain


def test_parts_of_a_plugin_that_is_not_loaded_are_an_error() -> None:
    bay, _ = bay_of(SMALL_BAY, giving(lamp()))
    with pytest.raises(PluginError, match="parts of plugins that are not loaded: visitor"):
        with_plugins().touch_tests(bay)


def test_a_plugin_cannot_spoil_the_scenario_or_the_columns_for_others() -> None:
    def judge(context: FinishedRun) -> list[Finding]:
        context.scenario.sections.clear()
        context.columns["first_speed_m_s"][0] = 0.0
        return []

    def parts(context: BaySetup) -> BayPieces:
        context.scenario.sections.clear()
        return BayPieces()

    plugins = with_plugins({"visitor": plugin(parts=parts, judge=judge)})
    scenario = scenario_of(SMALL_BAY, plugins)
    plugins.parts(scenario)
    assert scenario.entries("screen")
    bay, _ = bay_of(SMALL_BAY, plugins)
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_judge failed: ValueError: .*read-only"):
        plugins.judge(scenario, bay, run_columns(bay))
    assert scenario.entries("screen")


def test_the_arrays_of_a_parts_shape_cannot_be_changed_once_given() -> None:
    given = lamp(block(np.zeros(3), np.ones(3)))
    bay_of(SMALL_BAY, giving(given))
    with pytest.raises(ValueError, match="read-only"):
        given.shape.centre[0] = 5.0  # type: ignore[attr-defined]


@pytest.mark.parametrize("hook", ["judge", "report_sections", "figures"])
def test_what_a_hook_says_of_a_finished_run_must_be_of_its_kind(hook: str) -> None:
    plugins = with_plugins({"visitor": plugin(**{hook: lambda context: ["fine"]})})
    bay, _ = bay_of(SMALL_BAY, plugins)
    scenario = scenario_of(SMALL_BAY, plugins)
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_{hook}: holds a str"):
        getattr(plugins, hook)(scenario, bay, run_columns(bay))


def test_findings_sections_figures_and_commands_are_gathered() -> None:
    import click

    figure = ReportFigure("lamp", "Lamp", "Where it hangs", b"<svg/>", "image/svg+xml")
    plugins = with_plugins(
        {
            "visitor": plugin(
                judge=lambda context: [Finding("Lamp", f"{len(context.columns['shot'])} shots")],
                report_sections=lambda context: (ReportSection("Lamps", ("One.",)),),
                figures=lambda context: [figure],
                commands=lambda: [click.Command("lamp")],
            )
        }
    )
    bay, _ = bay_of(SMALL_BAY, plugins)
    scenario, columns = scenario_of(SMALL_BAY, plugins), run_columns(bay)
    assert plugins.judge(scenario, bay, columns)[-1] == Finding("Lamp", "3 shots")
    assert plugins.report_sections(scenario, bay, columns)[0].title == "Lamps"
    assert plugins.figures(scenario, bay, columns)[-1] == figure
    assert [command.name for command in plugins.commands()] == ["lamp"]


def test_a_command_that_is_no_click_command_is_blamed() -> None:
    plugins = with_plugins({"visitor": plugin(commands=lambda: [SimpleNamespace(name="lamp")])})
    with pytest.raises(PluginError, match=f"{BLAME}flightsim_commands: holds a SimpleNamespace; all must be Command"):
        plugins.commands()
