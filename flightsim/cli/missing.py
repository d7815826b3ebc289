"""What to type where a command lacks its scenario, or an option its value."""

from __future__ import annotations

from pathlib import Path

import click


def way_out(error: click.ClickException) -> str:
    """A line that says what to type, or "" where click's own words are enough."""
    if isinstance(error, click.MissingParameter):
        return _scenario(error)
    if isinstance(error, click.BadOptionUsage) and "requires an argument" in error.message:
        return f"  try: {error.option_name} and what it is to be; --help shows each option"
    return ""


def _scenario(error: click.MissingParameter) -> str:
    """The command with a scenario file that is here and was given for nothing else."""
    param, context = error.param, error.ctx
    if param is None or param.name != "scenario" or context is None:
        return ""
    named = {str(value): name for name, value in context.params.items()}
    here = sorted(file.name for file in Path().glob("*.y*ml") if file.name not in named and file.is_file())
    command = f"flightsim {context.info_name}"
    taken = next((name for name in named if Path(name).suffix in (".yaml", ".yml") and Path(name).is_file()), None)
    if taken is not None and not here:
        option = f"--{named[taken].replace('_', '-')}"
        return f"  {option} took {taken}: the scenario comes first\n  try: {command} {taken}"
    return f"  try: {command} {here[0]}" if here else f"  try: flightsim new bay.yaml, then {command} bay.yaml"
