"""Options that take a number, with its unit or without, and say what is allowed when they refuse one."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from math import isnan, nan
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from flightsim.errors import BadInputError

if TYPE_CHECKING:
    FloatParam = click.ParamType[float]
else:
    FloatParam = click.ParamType  # older click cannot be subscripted

Command = TypeVar("Command", bound=Callable[..., Any])


class Quantity(FloatParam):
    """A value with its unit, read into SI and held against limits in SI; None is no limit."""

    def __init__(self, kind: str, least: float | None, most: float | None, above: float | None = None) -> None:
        self.name = self.kind = kind
        self.least, self.most, self.above = least, most, above

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Radians, m/s, ... as the scenario room reads them."""
        from pydantic import TypeAdapter, ValidationError

        from flightsim.scenario.reading.quantities import quantity as annotation
        from flightsim.scenario.reading.text import UNPRINTABLE

        if isinstance(value, float):
            return value
        if UNPRINTABLE.search(str(value)):
            raise refusal(param, f"{value!r} is no plain text", f"a {self.kind} with its unit", "type it again")
        limited = annotation(self.kind, above=self.above, least=self.least, most=self.most)
        try:
            return float(TypeAdapter(limited).validate_python(value))
        except ValidationError as error:
            problem = error.errors()[0]["ctx"]
            raise refusal(param, problem["found"], problem["allowed"], problem["fix"]) from None


class Number(FloatParam):
    """A plain number between two limits, which it may meet."""

    name = "number"

    def __init__(self, least: float, most: float) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number."""
        if isinstance(value, float):
            return value
        allowed = f"a number from {self.least:g} to {self.most:g}"
        try:
            number = float(value)
        except ValueError:
            number = nan
        if isnan(number):
            raise refusal(param, f"'{value}' is not a number", allowed, "no unit here, and a point for decimals")
        if not self.least <= number <= self.most:
            raise refusal(param, f"'{value}' is out of range", allowed, f"{min(max(number, self.least), self.most):g}")
        return number


def refusal(param: click.Parameter | None, found: str, allowed: str, fix: str) -> BadInputError:
    """What to say of an option's value that cannot be used."""
    option = param.opts[0] if param else "value"
    return BadInputError(f"{option}: {found}\n  allowed: {allowed}\n  try: {fix}")


def quantity(
    name: str,
    kind: str,
    help_text: str,
    *,
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
    **more: Any,
) -> Callable[[Command], Command]:
    """An option that takes a number with its unit; limits in SI."""
    return click.option(name, type=Quantity(kind, least, most, above), help=help_text, **more)


def number(name: str, least: float, most: float, help_text: str, **more: Any) -> Callable[[Command], Command]:
    """An option that takes a plain number between two limits."""
    return click.option(name, type=Number(least, most), help=help_text, **more)


def plugin_files(function: Callable[..., Any]) -> Callable[..., Any]:
    """An option that names files which are plugins: they are used before the command itself begins."""

    @wraps(function)
    def with_files(*args: Any, plugin_files: tuple[Path, ...], **options: Any) -> Any:
        from flightsim.plugin.loading import drop_in

        drop_in(plugin_files)
        return function(*args, **options)

    return click.option(
        "--plugin", "plugin_files", multiple=True, metavar="FILE", type=click.Path(path_type=Path),
        help="Use this Python file as a plugin; no package is needed. Repeatable.",
    )(with_files)  # fmt: skip


def json_answer(function: Command) -> Command:
    """The option by which an answer goes to a program: one JSON object on the standard output, and nothing else."""
    return click.option("--json", "as_json", is_flag=True, help="Print the answer as one JSON object, in SI units.")(
        function
    )
