"""The commands, one file each, loaded only when called: help must come at once."""

from __future__ import annotations

import gc
import os
import signal
import sys
import traceback
from functools import partial
from importlib import import_module
from io import TextIOWrapper
from types import FrameType
from typing import Any

import click

from flightsim import __version__
from flightsim.engine import notice
from flightsim.errors import (
    STOPPED,
    TERMINATED,
    BadInputError,
    NotToldError,
    PluginError,
    TerminatedError,
    ask_to_stop,
    forget_stop,
)

BAD_INPUT = 2
PLUGIN_FAILED = 3
OUR_FAULT = 70
NOT_TOLD = 74  # as EX_IOERR of sysexits.h
LONGEST_REFUSAL = 1000  # characters
# New objects between two searches for rings of dead ones. A command makes some hundred thousand that live to its end:
# searched as often as Python does by itself they cost a fifteenth of its time.
SEARCHED = 100_000
# Read when numpy is imported. Our matrices are small: more threads than one wait for each other, and whoever waits runs
# round and round on a processor that could fly balls.
LINEAR_ALGEBRA = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
_ENDINGS = (signal.SIGINT, signal.SIGTERM, getattr(signal, "SIGHUP", signal.SIGTERM))  # Windows has no SIGHUP

COMMANDS = {
    "build": "What to order, cut and check to build a bay, and what it costs.",
    "check": "Read a scenario, build its bay, and say what is wrong with it.",
    "compare": "Several bays, or one and changes of it, on the same shots.",
    "cut": "The least stock for a list of lengths, and what to cut from each bar.",
    "fly": "Fly one ball over level ground.",
    "improve": "Find what to change so that the bay meets its targets.",
    "map": "Every launch direction: what stops it, and the smallest turn that gets a ball out.",
    "measured": "Draft the section for a table of measured shots, and read it back in words.",
    "new": "Write a new scenario, asking or from a starter.",
    "plugins": "List the plugins, their hooks and their sections.",
    "run": "Fly a scenario's shots and say what they meet first.",
    "spot": "Find where a projector, lamp or sensor can hang, hit by the fewest balls.",
    "schema": "Print the JSON Schema of a scenario file, for editors.",
    "size": "The least size that meets a target, confirmed on fresh shots.",
    "strike": "One strike in, launch out; or how a player strikes with a club.",
}


class LazyGroup(click.Group):
    """A group that imports a command's file when the command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of ours and of added commands."""
        return sorted({*COMMANDS, *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, imported now."""
        if cmd_name in COMMANDS:
            command = getattr(import_module(f"flightsim.cli.{cmd_name}"), cmd_name)
            assert isinstance(command, click.Command)
            return command
        from flightsim.plugin.others import installed_command

        return super().get_command(ctx, cmd_name) or installed_command(cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        """Call the command; what it refuses names what was asked by its options."""
        from flightsim.cli.typed import as_option

        try:
            return super().invoke(ctx)
        except BadInputError as error:
            error.write = as_option
            raise

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing any of ours; those of installed plugins below."""
        from importlib.metadata import entry_points

        with formatter.section("Commands"):
            formatter.write_dl(sorted(COMMANDS.items()))
        if entry_points(group="flightsim"):
            from flightsim.plugin.others import installed_commands

            if added := {name: words for name, words in installed_commands().items() if name not in COMMANDS}:
                with formatter.section("Commands of installed plugins"):
                    formatter.write_dl(sorted(added.items()))


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, package_name="flightsim")
def cli() -> None:
    """Which balls do the screen, canopy, side nets and ceiling of an indoor golf bay meet, and where do the
    others go? Results guide a design; they do not certify it."""


def start() -> None:
    """The command line as a program of its own: watched from outside where plugins of others are installed."""
    gc.set_threshold(SEARCHED)
    for library in LINEAR_ALGEBRA:
        os.environ.setdefault(library, "1")
    _listen()
    try:
        from flightsim.cli.watch import watched

        watched(main)
    except KeyboardInterrupt as stop:  # before the work began, or as its ending was told
        click.echo("Stopped.", err=True)
        sys.exit(_code(stop))
    finally:
        for ending in _ENDINGS:  # too late to change how it ended: not heard as the interpreter is taken down
            signal.signal(ending, signal.SIG_IGN)


def main() -> None:
    """Run the command line; every known failure ends with a message and its exit code, not a traceback."""
    from flightsim.cli.streams import guarded_streams

    with guarded_streams():
        try:
            _run()
        except (KeyboardInterrupt, click.Abort) as stop:  # wherever it came, in the midst of another ending too
            forget_stop()
            sys.exit(_stopped(stop))


def _run() -> None:
    from flightsim.scenario.reading.text import cut

    for stream in (sys.stdout, sys.stderr):
        inner = getattr(stream, "inner", None)
        if isinstance(inner, TextIOWrapper):
            inner.reconfigure(errors="replace")  # a name that a terminal cannot show must not end a run
    _listen()
    notice.tell_with(partial(click.echo, err=True))
    try:
        code = cli(standalone_mode=False)  # a command's exit code comes back as its value
        if sys.stdout is not None:
            sys.stdout.flush()
        sys.exit(code if isinstance(code, int) else 0)
    except NotToldError as error:
        click.echo(f"{error}", err=True)
        sys.exit(NOT_TOLD)
    except BadInputError as error:
        click.echo(f"{error}", err=True)
        sys.exit(BAD_INPUT)
    except PluginError as error:
        click.echo(f"{error}", err=True)
        sys.exit(PLUGIN_FAILED)
    except click.ClickException as error:
        from flightsim.cli.missing import way_out

        error.message = cut(error.message, LONGEST_REFUSAL)  # type: ignore[misc]
        error.show()
        if words := way_out(error):
            click.echo(words, err=True)
        sys.exit(error.exit_code)
    except click.Abort:
        raise
    except Exception:  # noqa: BLE001 - shown whole; by itself it would end with 1, which means a requirement not met
        traceback.print_exc()
        click.echo("This is a fault in flightsim, not in what you gave it. Nothing was written.", err=True)
        sys.exit(OUR_FAULT)


def _listen() -> None:
    """From now on Ctrl-C, and the system, end us as `ask_to_stop` says."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _interrupted)
    for ending in _ENDINGS[1:]:
        if signal.getsignal(ending) is signal.SIG_DFL:  # nohup has told it to be ignored
            signal.signal(ending, _terminated)


def _interrupted(number: int, frame: FrameType | None) -> None:
    ask_to_stop()


def _terminated(number: int, frame: FrameType | None) -> None:
    ask_to_stop(TerminatedError)


def _stopped(stop: BaseException) -> int:
    """Say that it was stopped, and what became of the result; the exit code."""
    # click wraps Ctrl-C in one of its own; at a question it hides what that came from
    cause = stop.__cause__ or stop.__context__ if isinstance(stop, click.Abort) else stop
    outcome = (
        "" if isinstance(cause, EOFError) else str(cause or "")
    )  # Python's words for Ctrl-D say nothing to a builder
    click.echo(f"Stopped. {outcome or 'Nothing was written.'}", err=True)
    return _code(cause)


def _code(stop: BaseException | None) -> int:
    return TERMINATED if isinstance(stop, TerminatedError) else STOPPED
