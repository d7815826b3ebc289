"""What plugins find wrong with the finished bay, and what they measure of it, strangers' plugins included."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flightsim.bay.parts import Bay
from flightsim.contact.facings import shipped_facings
from flightsim.errors import PluginError
from flightsim.flight.ball import BALLS
from flightsim.plugin.hookspecs import BayView, hookimpl
from flightsim.plugin.manager import Plugins
from flightsim.plugin.testing import SMALL_BAY, scenario_of, shuffled, with_plugins
from flightsim.scenario.reading.problems import Problem, ScenarioError, Severity
from flightsim.study.run import open_bay as build
from flightsim.study.run.open_bay import open_bay

FILE = SMALL_BAY + "launches: {use: [driver]}\n"


def stranger(**hooks: Any) -> SimpleNamespace:
    made = {}
    for name, function in hooks.items():
        function.__name__ = f"flightsim_{name}"
        made[f"flightsim_{name}"] = hookimpl(function)
    return SimpleNamespace(HOOK_API=2, **made)


def asked(plugins: Plugins, what: str) -> Any:
    scenario = scenario_of(SMALL_BAY, plugins)
    pieces = plugins.parts(scenario)
    assert pieces.bounds is not None
    bay = Bay(tuple(pieces.parts), tuple(pieces.openings), *pieces.bounds, tuple(pieces.zones))
    return getattr(plugins, what)(scenario, bay, BALLS["legal"], shipped_facings())


def measured(values: object) -> Mapping[str, float]:
    def measures(context: BayView) -> object:
        return values

    plugins = with_plugins({"visitor": stranger(measures=measures)})
    return {key: value for key, value in asked(plugins, "measures").items() if key.startswith("visitor")}


def test_a_strangers_checks_and_measures_see_all_parts_and_zones() -> None:
    def measures(context: BayView) -> dict[str, float]:
        screen = next(part for part in context.bay.parts if part.name == "screen")
        return {
            "visitor": float(screen.shape.distance(np.zeros((3, 1)))[0][0]),
            "visitor.zones": len(context.bay.zones),
        }

    def checks(context: BayView) -> list[Problem]:
        radius = f"a ball of {context.ball_radius:.6f} m and {len(context.facings)} facings"
        return [context.scenario.problem("screen", radius, severity=Severity.WARNING)]

    plugins = with_plugins({"visitor": stranger(measures=measures, checks=checks)})
    found = asked(plugins, "measures")
    assert found["visitor"] == pytest.approx(3.25)
    assert found["visitor.zones"] == 4
    (own_problem,) = (problem for problem in asked(plugins, "checks") if problem.key == "screen")
    assert own_problem.found == f"a ball of 0.021335 m and {len(shipped_facings())} facings"
    assert own_problem.line == 5


@pytest.mark.parametrize("what", ["measures", "checks"])
def test_the_order_of_plugins_changes_no_check_and_no_measure(what: str) -> None:
    plugins = with_plugins()
    one, other = asked(shuffled(plugins, 3), what), asked(plugins, what)
    if what == "checks":  # but for the file, which is a new one each time
        one, other = ([(problem.key, problem.found) for problem in problems] for problems in (one, other))
    assert one == other


def test_words_after_points_are_names_too() -> None:
    assert measured({"visitor": 1, "visitor.left_post": -0.5}) == {"visitor": 1.0, "visitor.left_post": -0.5}
    assert measured(None) == measured({}) == {}


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ([("visitor", 1.0)], "a list; it must be a mapping of names to metres"),
        ({"swing_room": 1.0}, "a name must be 'visitor' or 'visitor.some_word', found 'swing_room'"),
        ({"visitor > 1": 1.0}, "found 'visitor > 1'"),
        ({"visitor.": 1.0}, "found 'visitor.'"),
        ({"visitors": 1.0}, "found 'visitors'"),
        ({3: 1.0}, "found 3"),
        ({"visitor": float("nan")}, "'visitor': it must be a finite number of metres, found nan"),
        ({"visitor": float("inf")}, "it must be a finite number of metres, found inf"),
        ({"visitor": True}, "it must be a finite number of metres, found True"),
        ({"visitor": "1 m"}, "it must be a finite number of metres, found '1 m'"),
    ],
)
def test_a_plugin_is_blamed_for_measures_that_are_none(values: object, words: str) -> None:
    with pytest.raises(PluginError, match="plugin 'visitor'") as raised:
        measured(values)
    assert words in str(raised.value)


@pytest.mark.parametrize("found", ["too low", [3], "x"])
def test_a_plugin_is_blamed_for_checks_that_are_none(found: object) -> None:
    def checks(context: BayView) -> object:
        return found

    with pytest.raises(PluginError, match=r"plugin 'visitor'.*flightsim_checks"):
        asked(with_plugins({"visitor": stranger(checks=checks)}), "checks")


def test_a_plugin_is_blamed_for_what_its_checks_raise() -> None:
    def checks(context: BayView) -> object:
        raise KeyError("lamp")

    with pytest.raises(PluginError, match=r"plugin 'visitor'.*flightsim_checks failed: KeyError: 'lamp'"):
        asked(with_plugins({"visitor": stranger(checks=checks)}), "checks")


@pytest.mark.parametrize("severity", list(Severity))
def test_an_error_of_a_check_refuses_the_bay_and_a_warning_is_told(
    severity: Severity, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def checks(context: BayView) -> list[Problem]:
        return [context.scenario.problem("screen", "it hangs askew", "plumb", "a level", severity)]

    plugins = with_plugins({"visitor": stranger(checks=checks)})
    monkeypatch.setattr(build, "load_plugins", lambda names: plugins)
    path = tmp_path / "bay.yaml"
    path.write_text(FILE)
    if severity is Severity.ERROR:
        with pytest.raises(ScenarioError, match=r"bay.yaml, line 5: screen: it hangs askew"):
            open_bay(path)
    else:
        assert "it hangs askew" in [problem.found for problem in open_bay(path).warnings]
