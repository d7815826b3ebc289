"""What a plugin sees of a finished run, all contacts among it, and the files that it adds to the result."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flightsim.errors import PluginError
from flightsim.library.fly_bay import Run
from flightsim.plugin.hookspecs import Finding, FinishedRun, OutputFile, hookimpl
from flightsim.plugin.testing import SMALL_BAY, bay_of, run_columns, scenario_of, with_plugins
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.written import Written
from flightsim.study.run.open_bay import BayOrigin, OpenBay, all_sections, core_choices, opened_with
from flightsim.study.run.walk import run

FLOWN = SMALL_BAY + "launches: {hand: right, use: [driver]}\n"


def opened_by_hand(text: str, strangers: dict[str, object]) -> OpenBay:
    """The bay of a scenario's text with these plugins in memory."""
    plugins = with_plugins(strangers)
    scenario = load_scenario(Written(text), all_sections(plugins), (), core_choices())
    return opened_with(scenario, plugins, BayOrigin(Written(text)))


def plugin(**hooks: Any) -> SimpleNamespace:
    made = {}
    for name, hook in hooks.items():
        hook.__name__ = f"flightsim_{name}"
        made[hook.__name__] = hookimpl(hook)
    return SimpleNamespace(HOOK_API=2, **made)


def test_every_contact_of_the_shots_that_are_asked_for_is_that_of_the_run() -> None:
    seen: dict[str, Any] = {}

    def judge(context: FinishedRun) -> list[Finding]:
        seen["asked"] = np.arange(0, context.columns["first_part"].size, 3)
        seen["found"], seen["columns"] = context.contacts(seen["asked"]), context.columns
        seen["names"] = np.array([part.name for part in context.bay.parts])
        return [Finding("Contacts", f"{len(seen['found'].part)}")]

    result = run(opened_by_hand(FLOWN, {"visitor": plugin(judge=judge)}), shots=60)
    found, columns = seen["found"], seen["columns"]
    assert any(finding.title == "Contacts" for finding in result.findings)
    assert set(found.shot) <= set(seen["asked"])
    first = found.number == 0
    np.testing.assert_array_equal(seen["names"][found.part[first]], columns["first_part"][found.shot[first]])
    np.testing.assert_allclose(found.point[0, first], columns["first_x_m"][found.shot[first]], atol=1e-4)
    assert (~first).sum() > 0  # balls touch more than one thing
    assert found.number.max() >= 2


def test_a_context_without_a_run_says_that_there_are_no_contacts() -> None:
    plugins = with_plugins({"visitor": plugin(judge=lambda context: context.contacts(np.arange(3)))})
    bay, _ = bay_of(SMALL_BAY, plugins)
    with pytest.raises(PluginError, match="no run behind these columns"):
        plugins.judge(scenario_of(SMALL_BAY, plugins), bay, run_columns(bay))


def test_files_of_plugins_stand_in_the_result_under_names_that_are_free(tmp_path: Path) -> None:
    first = plugin(files=lambda context: [OutputFile("hits.csv", b"shot\n1\n")])
    second = plugin(files=lambda context: [OutputFile("hits.csv", b"two"), OutputFile("a b.txt", b"")])
    opened = opened_by_hand(FLOWN, {"one": first, "two": second})
    out = Run(opened, run(opened, shots=30)).save(tmp_path / "out")
    files = {path.name: path.read_bytes() for path in (out / "files").iterdir()}
    assert files == {"hits.csv": b"shot\n1\n", "hits 2.csv": b"two", "a b.txt": b""}


@pytest.mark.parametrize("name", ["", "../x.csv", "a/b.csv", ".hidden", "x\ny", "/etc/x", "a\\b", "ü.csv", "x" * 101])
def test_a_file_whose_name_could_lead_elsewhere_is_its_plugins_fault(name: str) -> None:
    plugins = with_plugins({"visitor": plugin(files=lambda context: [OutputFile(name, b"")])})
    bay, _ = bay_of(SMALL_BAY, plugins)
    with pytest.raises(PluginError, match=r"plugin 'visitor'.*flightsim_files"):
        plugins.files(scenario_of(SMALL_BAY, plugins), bay, run_columns(bay))


def test_a_files_content_is_bytes() -> None:
    plugins = with_plugins({"visitor": plugin(files=lambda context: [OutputFile("a.txt", "text")])})  # type: ignore[arg-type]
    bay, _ = bay_of(SMALL_BAY, plugins)
    with pytest.raises(PluginError, match="must be bytes"):
        plugins.files(scenario_of(SMALL_BAY, plugins), bay, run_columns(bay))
