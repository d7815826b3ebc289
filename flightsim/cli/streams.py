"""Standard output and error as every command meets them: what cannot be told ends nothing without a word.

A reader who goes away (`| head`) changes neither the result nor the exit code. A full device ends with an exit code
of its own. Characters that would move the cursor, hide text or turn its direction are shown as escapes. What is
written from right to left keeps to its place in the line: commas and numbers beside it do not change sides.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, TextIO, cast

from flightsim.errors import NotToldError
from flightsim.scenario.reading.letters import set_apart
from flightsim.scenario.reading.text import DIRECTION

# Colour and bold, and what a progress line needs: back to its start, up, erase, the cursor hidden and shown.
_OURS = r"\x1b\[(?!8m)[0-9;]*m|\x1b\[[12]?[AK]|\x1b\[\?25[lh]|\r(?=\n|\x1b\[[12]?[AK])|\r\Z"
_OTHER = f"[\x00-\x08\x0b-\x1f\x7f-\x9f{DIRECTION}]"
_SIGNS = re.compile(f"({_OURS})|({_OTHER})")


def showable(text: str) -> str:
    """The text with every control character and sign of direction that is not our own as an escape, and each name that
    runs from right to left set apart.
    """
    plain = _SIGNS.sub(lambda found: found[1] or found[2].encode("unicode_escape").decode("ascii"), text)
    return set_apart(plain)


class Stream:
    """A text stream that shows nothing raw, and goes on when nobody reads.

    Raises NotToldError, once, when its device is full or broken; with `quiet` never.
    """

    def __init__(self, inner: TextIO, quiet: bool = False) -> None:
        self.inner, self.quiet, self.deaf = inner, quiet, False

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)

    def write(self, text: str) -> int:
        """Write text; the number of characters that were given."""
        if not isinstance(text, str):
            raise TypeError(f"write() takes text, not {type(text).__name__}")
        if text:  # a probe with nothing in it (click's) must not be what finds the device full
            self._try(lambda: self.inner.write(showable(text)))
        return len(text)

    def writelines(self, lines: Any) -> None:
        """Write each."""
        for line in lines:
            self.write(line)

    def flush(self) -> None:
        """Hand on what waits."""
        self._try(self.inner.flush)

    def _try(self, step: Any) -> None:
        if self.deaf:
            return
        try:
            step()
        except BrokenPipeError:
            self._give_up()
        except OSError as error:
            self._give_up()
            if not self.quiet:
                words = error.strerror or str(error)
                raise NotToldError(f"the answer could not be printed: {words}") from error

    def _give_up(self) -> None:
        """What still waits in the stream goes nowhere, so that closing it fails no more."""
        self.deaf = True
        with suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self.inner.fileno())
            os.close(nowhere)


@contextmanager
def guarded_streams() -> Iterator[None]:
    """Standard output and error behind a Stream each."""
    before = sys.stdout, sys.stderr
    if sys.stdout is not None:
        sys.stdout = cast(TextIO, Stream(sys.stdout))
    if sys.stderr is not None:
        sys.stderr = cast(TextIO, Stream(sys.stderr, quiet=True))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before
