"""How plugins are found, loaded and named."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pluggy
import pytest
from click.testing import CliRunner

from flightsim.cli import cli
from flightsim.cli.plugins import plugins as plugins_command
from flightsim.errors import PluginError
from flightsim.plugin.hookspecs import BayPieces, hookimpl
from flightsim.plugin.loading import BUNDLED, installed
from flightsim.plugin.manager import load_plugins
from flightsim.plugin.testing import with_plugins
from flightsim.scenario.reading.models import Model, Section

GOOD = """
from flightsim.plugin.hookspecs import BayPieces, hookimpl

HOOK_API = 2


@hookimpl
def flightsim_parts(context):
    return BayPieces()
"""


class Site:
    """A folder on the path with invented installed distributions."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def install(self, name: str, source: str, distribution: str = "", module: str = "") -> None:
        module = module or f"{name}_plugin_module"
        (self.folder / f"{module}.py").write_text(source)
        distribution = distribution or f"flightsim-{name}"
        info = self.folder / f"{distribution.replace('-', '_')}-2.1.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {distribution}\nVersion: 2.1\n")
        (info / "entry_points.txt").write_text(f"[flightsim]\n{name} = {module}\n")
        sys.modules.pop(module, None)


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Site:
    monkeypatch.syspath_prepend(str(tmp_path))
    return Site(tmp_path)


def test_the_bundled_plugins_come_in_a_fixed_order_and_own_their_sections() -> None:
    plugins = load_plugins()
    assert plugins.names == BUNDLED == (
        "room", "obstacles", "screen", "canopy", "side_nets", "ceiling", "frame", "people", "facings",
        "swing_room", "screen_give", "build",
    )  # fmt: skip
    assert [section.key for section in plugins.sections()] == list(BUNDLED)
    assert [section.key for section in plugins.sections() if section.required] == ["room"]
    assert [section.key for section in plugins.sections() if section.several] == [
        "obstacles", "screen", "canopy", "frame", "facings", "screen_give",
    ]  # fmt: skip


def test_loading_twice_gives_two_sets_that_share_no_manager() -> None:
    assert load_plugins() is not load_plugins()
    with_plugins({"visitor": _plugin()})
    assert load_plugins().names == BUNDLED


def test_a_plugin_says_its_name_version_distribution_hooks_and_section(site: Site) -> None:
    site.install("visitor", GOOD)
    room, *_, visitor = load_plugins(["visitor"]).describe()
    assert room == {
        "name": "room",
        "version": "0.1.0",
        "distribution": "flightsim",
        "hooks": ["flightsim_parts", "flightsim_pieces", "flightsim_section"],
        "section": "room",
    }
    assert visitor == {
        "name": "visitor",
        "version": "2.1",
        "distribution": "flightsim-visitor",
        "hooks": ["flightsim_parts"],
        "section": None,
    }


def test_only_the_plugins_that_are_named_are_imported(site: Site) -> None:
    site.install("visitor", "raise RuntimeError('I must not be imported')")
    assert "visitor" in installed()
    assert load_plugins().names == BUNDLED


def test_a_misspelt_plugin_is_an_error_with_the_nearest_name(site: Site) -> None:
    site.install("visitor", GOOD)
    with pytest.raises(PluginError, match="'vistor' is not installed") as caught:
        load_plugins(["vistor"])
    assert "try: visitor" in str(caught.value)
    assert "installed: visitor" in str(caught.value)
    assert "bundled: room, obstacles" in str(caught.value)


def test_a_bundled_plugin_needs_no_naming() -> None:
    with pytest.raises(PluginError, match="'canopy' comes with flightsim and is always there"):
        load_plugins(["canopy"])
    with pytest.raises(PluginError, match="'canopy' comes with flightsim and needs no naming"):
        load_plugins(["canopi"])


def test_a_plugin_named_twice_is_an_error(site: Site) -> None:
    site.install("visitor", GOOD)
    with pytest.raises(PluginError, match="'visitor' is named twice"):
        load_plugins(["visitor", "visitor"])


def test_a_plugin_of_two_distributions_is_an_error_that_names_both(site: Site) -> None:
    site.install("visitor", GOOD, "one-kit")
    site.install("visitor", GOOD, "other-kit")
    with pytest.raises(PluginError, match=r"one-kit 2\.1, other-kit 2\.1"):
        load_plugins(["visitor"])


def test_two_names_for_one_module_are_an_error(site: Site) -> None:
    site.install("visitor", GOOD, module="shared_module")
    site.install("guest", GOOD, module="shared_module")
    with pytest.raises(PluginError, match=r"plugin 'guest' \(from flightsim-guest 2\.1\): its hooks do not fit"):
        load_plugins(["visitor", "guest"])


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("import nothing_of_that_name", "cannot be imported from 'visitor_plugin_module': ModuleNotFoundError"),
        ("raise SystemExit(0)", "cannot be imported from 'visitor_plugin_module': SystemExit"),
        ("HOOK_API = 2", "it has no hooks at all"),
        (GOOD.replace("HOOK_API = 2", ""), "HOOK_API is nothing; this flightsim needs a plugin that says HOOK_API = 2"),
        (GOOD.replace("HOOK_API = 2", "HOOK_API = 7"), "HOOK_API is 7"),
        (GOOD.replace("flightsim_parts", "flightsim_prats"), "unknown hook 'flightsim_prats'"),
        (
            GOOD.replace("(context)", "(context, mood)"),
            "mood.* are declared in the hookimpl but can not be found in the hookspec",
        ),
        (GOOD.replace("@hookimpl", ""), "flightsim_parts is not marked with @hookimpl"),
        (GOOD.replace("@hookimpl", "@hookimpl(wrapper=True)").replace("return", "yield\n    return"), "is a wrapper"),
    ],
)
def test_a_broken_plugin_is_blamed_by_name_and_distribution(site: Site, source: str, words: str) -> None:
    site.install("visitor", source)
    with pytest.raises(PluginError, match=rf"(?s)plugin 'visitor' \(from flightsim-visitor 2\.1\): .*{words}"):
        load_plugins(["visitor"])


def test_an_entry_point_that_names_a_class_is_an_error() -> None:
    with pytest.raises(PluginError, match="a module or an object"):
        with_plugins({"visitor": SimpleNamespace})


def test_a_hook_given_twice_is_an_error() -> None:
    plugin = _plugin()

    @hookimpl(specname="flightsim_parts")
    def flightsim_more_parts(context: object) -> BayPieces:
        return BayPieces()

    plugin.flightsim_more_parts = flightsim_more_parts  # type: ignore[attr-defined]
    plugin.flightsim_parts = hookimpl(lambda context: BayPieces())  # type: ignore[attr-defined]
    with pytest.raises(PluginError, match="flightsim_parts is given twice"):
        with_plugins({"visitor": plugin})


def test_a_section_that_another_plugin_owns_is_an_error_that_names_both() -> None:
    with pytest.raises(PluginError, match=r"'visitor' .*section 'canopy' already belongs to plugin 'canopy'"):
        with_plugins({"visitor": _plugin(Section("canopy", Model, "", owner="visitor"))})


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ("canopy", "returned a str; it must return a Section"),
        (Section("tee", Model, "", owner="visitor"), "section 'tee': the key must be a word and none of name, units"),
        (Section("launches", Model, "", owner="visitor"), "section 'launches': the key must be"),
        (Section("my lamp", Model, "", owner="visitor"), "section 'my lamp': the key must be a word"),
        (Section("lamps", Model, "", owner="other"), "owner is 'other', it must be 'visitor'"),
        (Section("lamps", dict, "", owner="visitor"), "must be a pydantic model"),  # type: ignore[arg-type]
    ],
)
def test_a_section_that_cannot_be_is_blamed_on_its_plugin(section: object, words: str) -> None:
    with pytest.raises(PluginError, match=rf"plugin 'visitor' .*{words}"):
        with_plugins({"visitor": _plugin(section)})


def test_the_command_lists_every_plugin_in_plain_lines_in_a_pipe(site: Site) -> None:
    site.install("visitor", GOOD)
    result = CliRunner().invoke(plugins_command)
    assert result.exit_code == 0
    lines = [line.split("\t") for line in result.output.splitlines()]
    assert lines[0] == ["name", "version", "from", "section", "hooks"]
    assert [line[0] for line in lines[1:]] == [*BUNDLED, "visitor"]
    assert lines[-1] == ["visitor", "2.1", "flightsim-visitor", "-", "parts"]


def test_the_command_lists_the_others_before_it_fails_on_a_broken_one(site: Site) -> None:
    site.install("visitor", "HOOK_API = 2")
    result = CliRunner().invoke(plugins_command)
    assert "ceiling" in result.output
    assert isinstance(result.exception, PluginError)


COMMAND = """
import click

from flightsim.plugin.hookspecs import hookimpl

HOOK_API = 2


@hookimpl
def flightsim_commands():
    return [click.Command("rack", callback=lambda: click.echo("three balls"))]
"""


def test_an_installed_plugins_command_runs_from_the_command_line(site: Site) -> None:
    site.install("visitor", COMMAND)
    result = CliRunner().invoke(cli, ["rack"])
    assert (result.exit_code, result.output) == (0, "three balls\n")
    assert CliRunner().invoke(cli, ["rakc"]).exit_code == 2


def test_a_command_that_two_plugins_add_is_an_error_that_names_both(site: Site) -> None:
    site.install("visitor", COMMAND)
    site.install("guest", COMMAND)
    result = CliRunner().invoke(cli, ["rack"])
    assert isinstance(result.exception, PluginError)
    assert "plugin 'visitor'" in str(result.exception)
    assert "command 'rack' is also added by plugin 'guest'" in str(result.exception)


def test_an_unknown_command_blames_a_broken_plugin_that_may_have_it(site: Site) -> None:
    site.install("visitor", "raise RuntimeError('broken')")
    result = CliRunner().invoke(cli, ["rack"])
    assert isinstance(result.exception, PluginError)
    assert "RuntimeError: broken" in str(result.exception)


def _plugin(section: object = None) -> ModuleType:
    plugin = ModuleType("visitor")
    plugin.HOOK_API = 2  # type: ignore[attr-defined]

    @hookimpl
    def flightsim_section() -> object:
        return section

    plugin.flightsim_section = flightsim_section  # type: ignore[attr-defined]
    return plugin


def test_the_installed_pluggy_checks_what_it_should() -> None:
    assert tuple(int(n) for n in pluggy.__version__.split(".")[:2]) >= (1, 7)
