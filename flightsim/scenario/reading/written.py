"""A scenario that stands in no file: text, or plain data written out as text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from flightsim.errors import BadInputError

UNNAMED = "(in code)"  # what messages call a scenario that has no file


@dataclass(frozen=True)
class Written:
    """A scenario's YAML text. name: what messages call it in place of a file; where a table of measured shots is named,
    its path starts at the folder of that name, else where Python runs.
    """

    text: str
    name: str = UNNAMED


Origin = str | Path | Written


def written(data: Mapping[str, Any], name: str = UNNAMED) -> Written:
    """Plain data, as a scenario file holds it, written out. Raises BadInputError for what YAML has no words for."""
    try:
        text = yaml.safe_dump(_plain(data), sort_keys=False, allow_unicode=True)
    except yaml.YAMLError as error:
        found = str(error).splitlines()[-1]
        raise BadInputError(
            f"{name}: a scenario cannot hold this: {found}\n"
            "  allowed: text, numbers, true or false, lists and groups of these\n  try: '1.4 m' as text for a length"
        ) from None
    return Written(text, name)


def _plain(value: Any) -> Any:
    """The data without types of other libraries: NumPy's numbers and arrays, paths, tuples."""
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return str(value) if isinstance(value, Path) else value
