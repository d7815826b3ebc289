"""Plugins that raise, or hand over what cannot be used: each is blamed by name, at the border."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest
from own_tests import compiled_when_asked

from flightsim.bay.parts import Bay, Opening, Part, Role
from flightsim.bay.shapes import Box, block
from flightsim.contact.arc_test import ArcTest
from flightsim.errors import PluginError
from flightsim.plugin.hookspecs import (
    BayPieces,
    BaySetup,
    Finding,
    FinishedRun,
    OwnParts,
    ReportFigure,
    ReportSection,
    hookimpl,
)
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import (
    SMALL_BAY,
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
    module.HOOK_API = 2  # type: ignore[attr-defined]
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


def test_no_shape_of_a_plugins_own_is_asked_once_the_bay_is_built() -> None:
    flying = []

    def later(distance: np.ndarray, normal: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        assert not flying
        return distance, normal

    bay, _ = bay_of(SMALL_BAY, giving(lamp(Ball(later))))
    flying.append(True)
    (thing,) = bay.owned_by("visitor")
    assert np.isfinite(thing.shape.distance(np.zeros((3, 1)))[0][0])


def test_a_shape_that_would_write_into_the_points_it_is_given_is_blamed() -> None:
    @dataclass(frozen=True)
    class Careless(Ball):
        def distance(self, points: np.ndarray) -> Any:
            points[0] += 1.0
            return super().distance(points)

    with pytest.raises(PluginError, match=f"{BLAME}.*Careless.distance failed: ValueError: .*read-only"):
        bay_of(SMALL_BAY, giving(lamp(Careless())))


def with_tests(returned: Callable[[OwnParts], object]) -> tuple[Plugins, Bay]:
    plugins = with_plugins({"visitor": plugin(parts=lambda context: BayPieces((lamp(),)), arc_tests=returned)})
    return plugins, bay_of(SMALL_BAY, plugins)[0]


@compiled_when_asked
def never(path, terms, duration, radius, tau, until, normal):  # type: ignore[no-untyped-def]
    return np.inf


@compiled_when_asked
def too_late(path, terms, duration, radius, tau, until, normal):  # type: ignore[no-untyped-def]
    normal[0] = 1.0
    return 1.5


@compiled_when_asked
def too_early(path, terms, duration, radius, tau, until, normal):  # type: ignore[no-untyped-def]
    normal[0] = 1.0
    return -0.1


@compiled_when_asked
def crooked(path, terms, duration, radius, tau, until, normal):  # type: ignore[no-untyped-def]
    normal[0], normal[1] = 1.0, 1.0
    return 0.5


def test_a_test_of_arcs_that_is_sound_is_taken_as_it_is() -> None:
    plugins, bay = with_tests(lambda context: [ArcTest(context.parts[0].name, never())])
    (test,) = plugins.touch_tests(bay)
    assert (test.part, test.test.address) == ("lamp", never().address)


@pytest.mark.parametrize(
    ("returned", "words"),
    [
        (lambda context: [ArcTest("lamp", too_late())], "part 'lamp': a time must lie from 0 to 1, .* found 1.5"),
        (lambda context: [ArcTest("lamp", too_early())], "a time must lie from 0 to 1, be inf or NaN, found -0.1"),
        (lambda context: [ArcTest("lamp", crooked())], "normal: must have length 1"),
        (lambda context: [ArcTest("lamp", len)], "the test must be compiled by arc_test"),
        (lambda context: 7, "flightsim_arc_tests: a int; it must be a list or tuple of ArcTest"),
        (lambda context: ["lamp"], "holds a str; all must be ArcTest"),
        (lambda context: 2 * [ArcTest("lamp", never())], "gave two tests of one part: lamp"),
        (lambda context: [ArcTest("screen", never())], "gave a test of a part that is not its own: screen"),
        (lambda context: context.nothing, "flightsim_arc_tests failed: AttributeError"),
    ],
)
def test_tests_of_arcs_that_cannot_be_are_blamed(returned: Callable[[OwnParts], Any], words: str) -> None:
    plugins, bay = with_tests(returned)
    with pytest.raises(PluginError, match=f"{BLAME}.*{words}"):
        plugins.touch_tests(bay)


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
