"""What can be asked for, as one types it: the core names it as the library does."""

from __future__ import annotations

import re

from flightsim.errors import Asked

# Of the library's names, those whose option is called otherwise.
_OPTIONS = {"changes": "set", "clubs": "club", "folder": "out", "prices": "price"}
_BARE = re.compile(r"[\w.:/@%+,=-]+")


def as_option(asked: Asked) -> str:
    """`--shots 20000`, `--keep 'swing_room > 0.15 m'`; without a value the option alone."""
    option = f"--{_OPTIONS.get(asked.name, asked.name).replace('_', '-')}"
    if asked.value is None:
        return option
    value = str(asked.value)
    return f"{option} {value}" if _BARE.fullmatch(value) else f"{option} '{value}'"
