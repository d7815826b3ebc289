"""What plugins that are installed, but not named by any scenario, add: commands and sections."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from flightsim.errors import PluginError
from flightsim.plugin.loading import Loaded, installed, load_named, new_manager
from flightsim.plugin.manager import gather, load_plugins

if TYPE_CHECKING:
    import click


def installed_command(name: str) -> click.Command | None:
    """The command of this name that an installed plugin adds.

    Raises PluginError when two plugins add it, or when there is none and a plugin that may have it is broken.
    """
    found: list[tuple[Loaded, click.Command]] = []
    broken: list[str] = []
    for stranger in installed():
        try:
            *_, plugin = (plugins := load_plugins([stranger])).loaded
            found += [(plugin, command) for command in plugins.commands() if command.name == name]
        except PluginError as error:
            broken.append(str(error))
    if len(found) > 1:
        raise found[1][0].blame(f"command '{name}' is also added by plugin '{found[0][0].name}'")
    if not found and broken:
        raise PluginError("\n".join(broken))
    return found[0][1] if found else None


def installed_owners(key: str) -> list[str]:
    """Installed plugins that own a section of this key. One that is broken owns none here."""
    owners = []
    for stranger in installed():
        with suppress(PluginError):
            if any(section.key == key and section.owner == stranger for section in load_plugins([stranger]).sections()):
                owners.append(stranger)
    return owners


def installed_commands() -> dict[str, str]:
    """Names and short helps of the commands that installed plugins add. One that is broken adds none here."""
    found: dict[str, str] = {}
    for stranger in installed():
        with suppress(PluginError):
            for command in gather([load_named(new_manager(), stranger)]).commands():
                found[command.name or ""] = f"{command.get_short_help_str(60)} (plugin {stranger})"
    return found
