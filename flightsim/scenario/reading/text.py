"""Text that people gave: what can be shown, and how much of it to repeat."""

from __future__ import annotations

import re

# Signs that turn the direction of what follows (Unicode Bidirectional Algorithm, UAX #9, section 2): a line with one
# of them reads otherwise than it is.
DIRECTION = "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
# What YAML cannot hold (yaml.org/spec/1.2.2, section 5.1), and signs of direction.
UNPRINTABLE = re.compile(
    f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x84\x86-\x9f\ud800-\udfff\ufeff\ufffe\uffff{DIRECTION}]"
)

# A cell that begins so is run as a formula by spreadsheets (OWASP, CSV Injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def harmless(text: str) -> str:
    """The text for a cell of a table: with an apostrophe before what a spreadsheet would take for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def cut(text: str, most: int) -> str:
    """The text, or its beginning and how long it is."""
    return text if len(text) <= most else f"{text[: most - 30]}... ({len(text):,} characters)"
