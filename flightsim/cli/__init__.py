"""The commands, one file each, loaded only when called: help must come at once."""

from __future__ import annotations

import sys
from importlib import import_module

import click

from flightsim import __version__

BAD_INPUT = 2
PLUGIN_FAILED = 3
STOPPED = 130

COMMANDS = {
    "check": "Read a scenario, build its bay, and say what is wrong with it.",
    "fly": "Fly one ball over level ground.",
    "new": "Write a new scenario, asking or from a starter.",
    "plugins": "List the plugins, their hooks and their sections.",
    "run": "Fly a scenario's shots and say what they meet first.",
    "schema": "Print the JSON Schema of a scenario file, for editors.",
}


class LazyGroup(click.Group):
    """A group that imports a command's file when the command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*COMMANDS, *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in COMMANDS:
            command = getattr(import_module(f"flightsim.cli.{cmd_name}"), cmd_name)
            assert isinstance(command, click.Command)
            return command
        from flightsim.plugin.manager import installed_command

        return super().get_command(ctx, cmd_name) or installed_command(cmd_name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(sorted(COMMANDS.items()))


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, package_name="flightsim")
def cli() -> None:
    """Which balls do the screen, canopy, side nets and ceiling of an indoor golf bay meet, and where do the
    others go? Results guide a design; they do not certify it."""


def main() -> None:
    """Run the command line; every known failure ends with a message and its exit code, not a traceback."""
    from flightsim.errors import BadInputError, PluginError

    try:
        code = cli(standalone_mode=False)  # a command's exit code comes back as its value
        sys.exit(code if isinstance(code, int) else 0)
    except BadInputError as error:
        click.echo(f"{error}", err=True)
        sys.exit(BAD_INPUT)
    except PluginError as error:
        click.echo(f"{error}", err=True)
        sys.exit(PLUGIN_FAILED)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except (KeyboardInterrupt, click.Abort):
        click.echo("Stopped. Nothing was written.", err=True)
        sys.exit(STOPPED)
