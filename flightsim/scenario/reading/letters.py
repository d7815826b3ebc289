"""Names in any script, on a drawing whose font may not have it: what no font can draw is told, never dropped."""

from __future__ import annotations

from collections.abc import Container

STAND_IN = "\u25af"  # an empty upright box, which every font of matplotlib's own has
NOTE = f"{STAND_IN}: a letter that no font here can draw; the page has it"


def drawable(text: str, known: Container[int]) -> str:
    """The text with each character that is not known replaced by a box. known: code points that can be drawn."""
    if text.isascii():
        return text
    return "".join(one if one.isspace() or ord(one) in known else STAND_IN for one in text)
