"""A run's folder: the data are written before a plugin is asked, and one that fails costs its own words alone."""

import json
from types import ModuleType

import pytest
from baselines import baseline

import flightsim.report.pages.run_folder as folder
from flightsim.errors import PluginError
from flightsim.plugin.hookspecs import ReportFigure, ReportSection, hookimpl
from flightsim.plugin.testing import SMALL_BAY, bay_of, run_columns, scenario_of, with_plugins
from flightsim.report.pages.run_folder import Added, write_run

GOOD = ReportSection("Order the rack", ("Of steel.",))


@pytest.fixture
def small(monkeypatch):
    monkeypatch.setattr(folder, "write_figures", lambda *_, **__: [])
    return baseline("single_garage")


def test_a_plugin_is_asked_when_the_data_are_written_and_named_in_the_place_of_its_words(small, tmp_path):
    seen = []

    def add():
        (building,) = tmp_path.glob(".bay.*.part")
        seen.extend(path.name for path in building.iterdir())
        return Added([GOOD], (), [PluginError("plugin 'rack' (flightsim-rack 1.0): flightsim_figures failed: <dog>")])

    result = write_run(small, (), add, tmp_path / "bay")
    assert {"shots.csv", "run.json", "summary.json"} <= set(seen)
    page = (tmp_path / "bay" / "report.html").read_text(encoding="utf-8")
    assert "Order the rack" in page
    assert "Failed: plugin &#39;rack&#39;" in page
    assert "flightsim_figures failed: &lt;dog&gt;" in page
    assert "flightsim_figures failed" in result.failed[0]
    summary = json.loads((tmp_path / "bay" / "summary.json").read_text(encoding="utf-8"))
    assert summary["findings"][-1]["title"] == "A plugin failed over this run"
    assert (tmp_path / "bay" / "shots.csv").stat().st_size > 10_000


@pytest.mark.parametrize("hook", ["report_sections", "figures"])
def test_the_others_words_stand_beside_one_that_fails(hook):
    def bad(context):
        raise OSError("the dog ate it")

    said = {"report_sections": GOOD, "figures": ReportFigure("rack", "Rack", "The rack", b"\x89PNG")}[hook]
    modules = {}
    for name, body in (("good", lambda context: [said]), ("bad", bad)):
        modules[name] = ModuleType(name)
        modules[name].HOOK_API = 1
        setattr(modules[name], f"flightsim_{hook}", hookimpl(body, specname=f"flightsim_{hook}"))
    plugins = with_plugins(modules)
    bay, _ = bay_of(SMALL_BAY, plugins)
    failed: list[PluginError] = []
    answers = getattr(plugins, hook)(scenario_of(SMALL_BAY, plugins), bay, run_columns(bay), failed)
    assert said in answers
    assert [str(error).split(" (")[0] for error in failed] == ["plugin 'bad'"]
