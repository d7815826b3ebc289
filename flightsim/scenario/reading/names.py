"""What people call things: names that fit into a table, and read as they are."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator

from flightsim.scenario.reading.quantities import refusal

_NOT_IN_A_LINE = re.compile("[\t\n\r\x85\u2028\u2029]")
LONGEST_NAME = 100  # characters: more fits in no table or drawing


def _a_name(name: str) -> str:
    if not name.strip():
        raise refusal("a blank name", "a word or more", "what people call it")
    if _NOT_IN_A_LINE.search(name):
        raise refusal("a name with a tab, or of several lines", "words in one line", " ".join(name.split())[:60])
    if len(name) > LONGEST_NAME:
        raise refusal(f"a name of {len(name):,} characters", f"up to {LONGEST_NAME}", "a shorter one")
    return name


Called = Annotated[str, AfterValidator(_a_name)]  # what people call something: it stands in tables and on drawings


def one_word(name: str) -> str:
    """A name as the end of a measure's name: `swing_room.left_side_net`."""
    return "_".join("".join(sign if sign.isalnum() else " " for sign in name).split()) or "thing"
