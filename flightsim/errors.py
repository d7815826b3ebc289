"""The ways in which a run can end for the person who started it, other than well."""

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

STOPPED, TERMINATED = 130, 143  # exit codes: by Ctrl-C, by the system


@dataclass(frozen=True)
class Asked:
    """Something that can be asked for, by its name in the library, and its value as text; bare without one.

    In a message: whoever reads it gets it as he writes it, in Python or on a command line.
    """

    name: str
    value: str | int | None = None

    def __str__(self) -> str:
        """As in Python: `shots=20000`, `keep='swing_room > 0.15 m'`; a change to the scenario as itself."""
        if self.name == "changes" and self.value is not None:
            return f"the change {self.value}"
        return self.name if self.value is None else f"{self.name}={self.value!r}"


class BadInputError(Exception):
    """What was given cannot be used: the message says what was found, what is allowed, and a way out.

    parts: of the message, in order: text, and what can be asked for, which `write` writes.
    """

    write: Callable[[Asked], str] = str

    def __init__(self, *parts: str | Asked) -> None:
        """Keep the parts."""
        super().__init__(*parts)
        self.parts = parts

    def __str__(self) -> str:
        """The message, for whoever asked."""
        write = type(self).write if "write" not in vars(self) else vars(self)["write"]
        return "".join(write(part) if isinstance(part, Asked) else str(part) for part in self.parts)


class NotToldError(Exception):
    """The answer could not be printed: the message says why, and where the result is."""


class PluginError(Exception):
    """A plugin is missing, broken, or gave something that cannot be used: the message names it."""


class TerminatedError(KeyboardInterrupt):
    """The system asks us to end: handled as Ctrl-C is, so that nothing half written stays behind."""


class CtrlCError(KeyboardInterrupt):
    """Ctrl-C. Of a class of its own: where the exact KeyboardInterrupt passes through an `exec` of text, as in the
    making of a dataclass, Python 3.11 ends `python -m` by the signal, whatever is made of the exception afterwards.
    """


_asked: list[type[KeyboardInterrupt]] = []  # how the system has asked us to end


_compiling: list[None] = []  # not empty while the compiler runs


@contextmanager
def compiling() -> Iterator[None]:
    """While the block runs nothing is written yet, and an exception within the compiler's callbacks may end us with a
    fault of memory: what asks us to stop ends the process there and then.
    """
    _compiling.append(None)
    try:
        yield
    finally:
        _compiling.pop()


def ask_to_stop(kind: type[KeyboardInterrupt] = CtrlCError) -> None:
    """End as the system asks: at once, and at the next `stop_if_asked` where something has swallowed that.

    An exception that a signal raises within a callback of compiled code may be lost there.
    """
    if _compiling:
        os.write(2, b"Stopped. Nothing was written.\n")
        os._exit(TERMINATED if issubclass(kind, TerminatedError) else STOPPED)
    _asked.append(kind)
    raise kind


def may_be_ctrl_c() -> bool:
    """Whether a KeyboardInterrupt may have come from outside; else whoever raised it made it up.

    Where the command line listens it knows; where Python itself does, nobody can tell.
    """
    return bool(_asked) or signal.getsignal(signal.SIGINT) is signal.default_int_handler


def forget_stop() -> None:
    """Forget that somebody asked to stop: it was heard."""
    _asked.clear()


def stop_if_asked() -> None:
    """Raise again what was asked for and lost."""
    if _asked:
        raise _asked.pop()
