"""Names in any script, in a line or on a drawing: what cannot be drawn is told, never dropped, and what runs from right
to left keeps to its place.
"""

from __future__ import annotations

import re
from collections.abc import Container

STAND_IN = "\u25af"  # an empty upright box, which every font of matplotlib's own has
NOTE = f"{STAND_IN}: a letter that cannot be drawn here; the page has it"
# Letters that run from right to left (bidirectional classes R and AL of UAX #9), and names of them: words with a space
# or a hyphen between. Marks over letters are within the blocks.
_LEFTWARD = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff]")
_LEFTWARD_NAME = re.compile(f"{_LEFTWARD.pattern}+(?:[ '-]{_LEFTWARD.pattern}+)*")
_ISOLATE, _END = "\u2068", "\u2069"  # first strong isolate, pop directional isolate (UAX #9, section 2.4)
ORDERS_LEFTWARD = (3, 11)  # the first matplotlib that lays text out by its direction


def drawable(text: str, known: Container[int]) -> str:
    """The text with each character that is not known replaced by a box. known: code points that can be drawn."""
    if text.isascii():
        return text
    return "".join(letter if letter.isspace() or ord(letter) in known else STAND_IN for letter in text)


def set_apart(text: str) -> str:
    """The text with each name that runs from right to left isolated: numbers and commas beside it stay in place."""
    return _LEFTWARD_NAME.sub(lambda found: f"{_ISOLATE}{found[0]}{_END}", text)


def as_drawn(text: str, known: Container[int], version: tuple[int, ...]) -> str:
    """The text as a drawing by a matplotlib of this version is given it. Before ORDERS_LEFTWARD letters that run from
    right to left would stand in the wrong order: they become boxes. known: code points that can be drawn.
    """
    text = text.replace(_ISOLATE, "").replace(_END, "")  # of an earlier time
    if version < ORDERS_LEFTWARD:
        return drawable(_LEFTWARD.sub(STAND_IN, text), known)
    return set_apart(drawable(text, known))


def runs_leftward(text: str) -> bool:
    """Whether any of it runs from right to left."""
    return _LEFTWARD.search(text) is not None
