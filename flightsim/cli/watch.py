"""Watched from outside: a plugin that ends, crashes or hangs the program is named, and the run it spoilt flown again.

Where plugins of others are installed, a command does its work in a process of its own. This one waits for it, passes
signals on, and reads the note that says in which plugin and hook it is (`flightsim.plugin.notes`). Linux only: it needs
`sigtimedwait` and to end with its parent; elsewhere nothing is watched.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable

PLUGIN_FAILED = 3
SECONDS = "FLIGHTSIM_PLUGIN_SECONDS"  # environment: how long one call of a plugin's may take
PATIENCE = 300.0  # s, where the environment says nothing: long for a picture, short for a night (judgement)
AFTER_FLIGHT = (
    "flightsim_judge", "flightsim_report_sections", "flightsim_figures", "flightsim_files", "flightsim_columns",
    "flightsim_remedies",
)  # fmt: skip
_ALONE = {"fly", "strike", "measured", "--version"}  # they load no plugin
_TICK = 0.5  # s
_PARENT_DIES = 1  # PR_SET_PDEATHSIG of prctl(2)
_SENT_BY_KERNEL = 0x80  # si_code SI_KERNEL: by the terminal, which the child hears as well
_PASSED_ON = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


def watched(work: Callable[[], None]) -> None:
    """Do the work, in a process that is watched where plugins of others are installed. Never comes back: exits."""
    if sys.platform != "linux" or set(sys.argv[1:2]) <= _ALONE or not _others_are_installed():
        work()
        return
    folder, me = tempfile.mkdtemp(prefix="flightsim-notes-"), os.getpid()
    try:
        code = _until_it_stands(work, folder)
    finally:
        if os.getpid() == me:  # not where the work is done and ends by itself
            shutil.rmtree(folder, ignore_errors=True)
    sys.exit(code)


def _others_are_installed() -> bool:
    from importlib.metadata import entry_points

    if any(arg == "--plugin" or arg.startswith("--plugin=") for arg in sys.argv):
        return True
    return bool(entry_points(group="flightsim"))


def _until_it_stands(work: Callable[[], None], folder: str) -> int:
    """The exit code of the work; done again without what failed after the flight, which takes nothing from a run."""
    from flightsim.plugin.notes import FOLDER, WITHOUT

    os.environ[FOLDER] = folder
    without: list[str] = []
    while True:
        os.environ[WITHOUT] = "\n".join(without)
        for name in os.listdir(folder):
            os.unlink(os.path.join(folder, name))
        before = signal.pthread_sigmask(signal.SIG_BLOCK, (*_PASSED_ON, signal.SIGCHLD))
        child = os.fork()
        if child == 0:
            _die_with_parent()
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
            work()
            os._exit(0)  # work ends by itself
        status, hung = _wait(child, folder)
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        again = _told(child, status, hung, folder)
        if isinstance(again, int):
            return again
        if again in without:
            return PLUGIN_FAILED
        without.append(again)


def _wait(child: int, folder: str) -> tuple[int, bool]:
    """Wait for the child, signals passed on: its wait status, and whether it was ended for hanging in a plugin."""
    from flightsim.plugin.notes import Note, read_notes

    since: dict[Note, float] = {}
    patience = _patience()
    while True:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return status, False
        began = time.monotonic()
        heard = signal.sigtimedwait((*_PASSED_ON, signal.SIGCHLD), _TICK)
        if heard is not None and heard.si_signo in _PASSED_ON and heard.si_code != _SENT_BY_KERNEL:
            os.kill(child, heard.si_signo)
        # Counted in steps, so that a program that was stopped (Ctrl-Z, a closed lid) has not hung.
        step = min(time.monotonic() - began, 2.0 * _TICK)
        since = {note: since.get(note, 0.0) + step for note in read_notes(folder)}
        stuck = [note for note, waited in since.items() if waited > patience]
        if stuck:
            for pid in {child, *(note.pid for note in stuck)}:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            return os.waitpid(child, 0)[1], True


def _told(child: int, status: int, hung: bool, folder: str) -> int | str:
    """The exit code; or what to go on without, where a plugin spoilt something that it had only a word to say of."""
    from flightsim.plugin.notes import read_notes

    notes = [note for note in read_notes(folder) if hung or note.pid == child]
    code = os.waitstatus_to_exitcode(status)
    if not notes:
        return code if code >= 0 else 128 - code
    note = notes[-1]
    if hung:
        did = f"did not come back within {_patience():g} s (the environment's {SECONDS} gives it longer)"
    else:
        died = "was killed (signal 9): out of memory?" if code == -signal.SIGKILL else f"crashed (signal {-code})"
        did = died if code < 0 else f"ended the program (exit code {code})"
    sys.stderr.write("\x1b[?25h" if sys.stderr.isatty() else "")  # a progress line hides the cursor
    print(f"plugin '{note.plugin}' (from {note.source}): {note.what} {did}", file=sys.stderr, flush=True)
    if note.what in AFTER_FLIGHT:
        print("  the same command goes on from the start without it", file=sys.stderr, flush=True)
        return f"{note.plugin}/{note.what}/{did}"
    return PLUGIN_FAILED


def _patience() -> float:
    try:
        seconds = float(os.environ.get(SECONDS, ""))
    except ValueError:
        return PATIENCE
    return seconds if seconds > 0.0 else PATIENCE


def _die_with_parent() -> None:
    """Whoever kills the parent hard must not leave a run that goes on unseen."""
    parent = os.getppid()
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_PARENT_DIES, signal.SIGKILL)
    if os.getppid() != parent:
        os._exit(1)
