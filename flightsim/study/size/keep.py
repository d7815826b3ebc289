"""What must hold whatever the size: `swing_room > 0.15 m`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from pydantic_core import PydanticCustomError

from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.quantities import KINDS, parse

_FORM = re.compile(r"\s*([\w.]+)\s*(>=|<=|>|<)\s*(.+?)\s*")
_EXAMPLE = "swing_room > 0.15 m"


@dataclass(frozen=True)
class Keep:
    """A limit on something that a plugin measures, m."""

    text: str
    name: str
    more: bool
    limit: float

    def holds(self, measures: Mapping[str, float]) -> bool:
        """Whether it does. Raises BadInputError where nothing of that name is measured."""
        if self.name not in measures:
            known = sorted(measures)
            near = get_close_matches(self.name, known, 1)
            allowed = ", ".join(known) or "no plugin measures anything here"
            raise BadInputError(
                Asked("keep", self.text),
                f": nothing measures '{self.name}'\n  allowed: {allowed}\n  try: ",
                Asked("keep", f"{near[0] if near else (known or ['clearance'])[0]} > 0.15 m"),
            )
        value = measures[self.name]
        return value > self.limit if self.more else value < self.limit


def parse_keeps(texts: Sequence[str]) -> tuple[Keep, ...]:
    """Read them. Raises BadInputError that shows how to write one."""
    found = []
    for text in texts:
        form = _FORM.fullmatch(text)
        if form is None:
            words = " cannot be read\n  allowed: NAME > LENGTH\n  try: "
            raise BadInputError(Asked("keep", text), words, Asked("keep", _EXAMPLE))
        try:
            limit = parse(KINDS["length"], form[3])
        except PydanticCustomError as error:
            words = f": {error.message()}\n  try: "
            raise BadInputError(Asked("keep", text), words, Asked("keep", _EXAMPLE)) from None
        found.append(Keep(text.strip(), form[1], form[2].startswith(">"), limit))
    return tuple(found)
