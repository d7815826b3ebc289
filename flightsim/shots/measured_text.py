"""The bytes of a table to text: encodings, byte order marks, and a line that says what parts the cells."""

from __future__ import annotations

import re

ENCODINGS = {"utf-8": "utf-8-sig", "utf-16": "utf-16", "windows-1252": "cp1252"}
_BYTE_ORDER_16 = (b"\xff\xfe", b"\xfe\xff")
_PARTED_BY = re.compile(r'"?sep=(.)"?[ \t]*\r?\n', re.IGNORECASE)


class TextError(ValueError):
    """Bytes that are no text: line, what was found, what is allowed, and a way out."""

    def __init__(self, line: int, found: str, allowed: str, fix: str) -> None:
        super().__init__(found)
        self.line, self.found, self.allowed, self.fix = line, found, allowed, fix


def text_of(raw: bytes, encoding: str | None = None) -> str:
    """The text. A byte order mark says what it is in; else it is UTF-8 unless `encoding`, of ENCODINGS, says otherwise.

    Raises TextError.
    """
    marked = "utf-16" if raw.startswith(_BYTE_ORDER_16) else None
    name = encoding or marked or "utf-8"
    try:
        text = raw.decode(ENCODINGS[name])
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        other = "windows-1252" if name == "utf-8" else "utf-8"
        fix = f"encoding: {other}, if that is what wrote it; or save it as UTF-8"
        raise TextError(line, f"the table is not {name.upper()} text", ", ".join(ENCODINGS), fix) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        fix = "remove it, or encoding: utf-16"
        raise TextError(line, "a character that no text has, NUL", "plain text", fix)
    return text


def declared_delimiter(text: str) -> str | None:
    """What the first line says parts the cells, as in `sep=;`; None where it says nothing of it."""
    found = _PARTED_BY.match(text)
    return found[1] if found else None
