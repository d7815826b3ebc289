"""What a plugin says of a run must be words and pictures; else the plugin is blamed, and not flightsim."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import block
from flightsim.errors import PluginError
from flightsim.plugin.hookspecs import BayPieces, Finding, ReportFigure, ReportSection, hookimpl
from flightsim.plugin.testing import SMALL_BAY, bay_of, run_columns, scenario_of, with_plugins

FIGURE = ReportFigure("rack", "Rack", "The rack", b"\x89PNG")
SECTION = ReportSection("Rack", ["One", "Two"], ["a"], [["b"], ("c",)])


def asked(hook: str, said: object) -> object:
    module = ModuleType("visitor")
    module.HOOK_API = 2  # type: ignore[attr-defined]
    setattr(module, f"flightsim_{hook}", hookimpl(lambda context: [said], specname=f"flightsim_{hook}"))
    plugins = with_plugins({"visitor": module})
    bay, _ = bay_of(SMALL_BAY, plugins)
    ask = {"judge": plugins.judge, "report_sections": plugins.report_sections, "figures": plugins.figures}[hook]
    return ask(scenario_of(SMALL_BAY, plugins), bay, run_columns(bay))


@pytest.mark.parametrize(
    ("hook", "said", "words"),
    [
        ("judge", Finding(3, "text"), "finding: title: a int; it must be text"),  # type: ignore[arg-type]
        ("judge", Finding("Rack", None), "finding: text: None; it must be text"),  # type: ignore[arg-type]
        ("judge", Finding("Rack", "text", "loud"), "finding 'Rack': level: found 'loud'; it must be note or warning"),
        ("report_sections", replace(SECTION, title=1), "section: title: a int; it must be text"),
        ("report_sections", replace(SECTION, paragraphs="One"), "section 'Rack': paragraphs: a str; it must be a list"),
        ("report_sections", replace(SECTION, paragraphs=[1]), "paragraphs: holds a int; all must be str"),
        ("report_sections", replace(SECTION, table_head=[None]), "table_head: holds None; all must be str"),
        ("report_sections", replace(SECTION, table_rows=["b"]), "a table row: a str; it must be a list"),
        ("report_sections", replace(SECTION, table_rows=[[1.0]]), "a table row: holds a float; all must be str"),
        ("figures", replace(FIGURE, name=5), "figure: name: a int; it must be text"),
        ("figures", replace(FIGURE, data="x"), "figure 'rack': data: a str; it must be bytes"),
        ("figures", replace(FIGURE, media_type="text/html"), "media_type: found 'text/html'; it must be image/png or"),
    ],
)
def test_what_is_no_text_and_no_picture_is_blamed_on_the_plugin(hook: str, said: object, words: str) -> None:
    with pytest.raises(PluginError, match=rf"plugin 'visitor' \(.*\): flightsim_{hook}, .*{words}"):
        asked(hook, said)


@pytest.mark.parametrize(
    ("hook", "said"),
    [
        ("judge", Finding("Rack", np.str_("text"), "warning")),
        ("report_sections", SECTION),
        ("figures", FIGURE),
        ("figures", replace(FIGURE, media_type="image/svg+xml", data=b"<svg/>")),
    ],
)
def test_words_and_pictures_are_taken(hook: str, said: object) -> None:
    found = asked(hook, said)  # the bundled plugins have something to say as well
    assert isinstance(found, list)
    assert found.count(said) == 1


@pytest.mark.parametrize("changes", [{"group": 7}, {"fragile": "yes"}])
def test_a_part_with_an_odd_group_or_fragile_is_blamed(changes: dict[str, Any]) -> None:
    crate = Part("crate", block(np.zeros(3), np.full(3, 0.1)), Role.GUARD, "steel", "visitor", **changes)
    module = ModuleType("visitor")
    module.HOOK_API = 2  # type: ignore[attr-defined]
    module.flightsim_parts = hookimpl(lambda context: BayPieces([crate]), specname="flightsim_parts")  # type: ignore[attr-defined]
    with pytest.raises(PluginError, match=r"part 'crate': group must be text and fragile true or false"):
        bay_of(SMALL_BAY, with_plugins({"visitor": module}))
