"""An answer for a program: one JSON object on the standard output, and nothing else."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import click


def print_json(answer: Mapping[str, Any]) -> None:
    """Print it in ASCII, which every terminal and pipe takes as it is; no NaN, no infinity. Raises NotToldError."""
    click.echo(json.dumps(answer, indent=2, allow_nan=False))
