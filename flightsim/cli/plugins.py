"""`flightsim plugins`: the plugins, their hooks and their sections."""

from __future__ import annotations

import sys
from typing import Any

import click

from flightsim.cli.options import json_answer
from flightsim.errors import PluginError

HEAD = ("name", "version", "from", "section", "hooks")


@click.command()
@click.option("--new", "new", metavar="NAME", default=None, help="Write a package with a plugin that works, to change.")
@json_answer
def plugins(new: str | None, as_json: bool) -> None:
    """List the plugins: name, version, distribution, section of the scenario file, and hooks.

    Plugins of other distributions are used only by scenarios that name them in `plugins: [...]`. Exit code 3
    when one that is installed cannot be loaded.
    """
    if new is not None:
        _write(new, as_json)
        return
    from flightsim.jobs.print_json import print_json
    from flightsim.plugin.loading import installed
    from flightsim.plugin.manager import load_plugins

    found, broken = load_plugins().describe(), []
    for name in installed():
        try:
            found.append(load_plugins([name]).describe()[-1])
        except PluginError as error:
            broken.append(str(error))
    if as_json:
        print_json({"schema_version": 1, "plugins": found, "broken": broken})
    else:
        show([row(plugin) for plugin in found])
    if broken:
        raise PluginError("\n".join(broken))


def _write(name: str, as_json: bool) -> None:
    from pathlib import Path

    from flightsim.jobs.print_json import print_json
    from flightsim.plugin.new.write_plugin import write_plugin

    folder = write_plugin(name, Path())
    if as_json:
        print_json({"schema_version": 1, "folder": str(folder)})
        return
    click.echo(f"Wrote {folder}: a section, a guard, a facing, a law, a figure and tests. Next:")
    click.echo(f"  cd {folder} && python -m pip install -e . && flightsim run example.yaml --shots 2000")


def row(plugin: dict[str, Any]) -> tuple[str, ...]:
    """One plugin in words, in the order of HEAD."""
    hooks = ", ".join(hook.removeprefix("flightsim_") for hook in plugin["hooks"])
    return plugin["name"], plugin["version"], plugin["distribution"], plugin["section"] or "-", hooks


def show(rows: list[tuple[str, ...]]) -> None:
    """A table on a terminal; lines with tabs in a pipe, for other programs."""
    if sys.stdout is None or not sys.stdout.isatty():
        for words in (HEAD, *rows):
            click.echo("\t".join(words))
        return
    from rich.console import Console
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in HEAD:
        table.add_column(head)
    for words in rows:
        table.add_row(*words)
    Console().print(table)
