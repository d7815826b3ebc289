"""Where a stranger's plugin is at work, noted outside this process: what ends or hangs the program can then be named.

A program that `os._exit` ends, or that crashes, says nothing. So each process writes the plugin and hook that it is in
into a small file, and empties it when the hook comes back; `flightsim.cli.watch` reads it from outside.
"""

from __future__ import annotations

import mmap
import os
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

FOLDER = "FLIGHTSIM_NOTES"  # environment: where the notes are; without it none are written
WITHOUT = "FLIGHTSIM_WITHOUT"  # environment: hooks that ended an earlier try, `plugin/hook/what it did`, one a line
_SIZE = 2048
_HEAD = struct.Struct("<QI")  # how often anything was entered or left; bytes of the text


@dataclass(frozen=True)
class Note:
    """Where a process is: inside this hook of this plugin. count: changes whenever it goes in or out of one."""

    pid: int
    count: int
    plugin: str
    source: str
    what: str


class _Page:
    """The file of this process."""

    def __init__(self, folder: str) -> None:
        path = Path(folder) / str(os.getpid())
        path.write_bytes(bytes(_SIZE))
        with path.open("r+b") as file:
            self.memory = mmap.mmap(file.fileno(), _SIZE)
        self.count, self.text = 0, b""

    def write(self, text: bytes) -> None:
        self.count, self.text = self.count + 1, text[: _SIZE - _HEAD.size]
        self.memory[_HEAD.size : _HEAD.size + len(self.text)] = self.text
        self.memory[: _HEAD.size] = _HEAD.pack(self.count, len(self.text))


_pages: dict[tuple[int, str], _Page] = {}  # this process's; a forked child makes its own


@contextmanager
def noted(plugin: str, source: str, doing: str) -> Iterator[None]:
    """While the block runs, the note says that the plugin is at work. Nothing is noted where nobody watches."""
    folder = os.environ.get(FOLDER, "")
    if not folder:
        yield
        return
    key = (os.getpid(), folder)
    page = _pages.get(key) or _pages.setdefault(key, _Page(folder))
    before = page.text
    page.write("\0".join((plugin, source, doing)).encode("utf-8", "replace"))
    try:
        yield
    finally:
        page.write(before)


def read_notes(folder: str | Path) -> list[Note]:
    """The notes of all processes that are inside a plugin, or ended there."""
    notes = []
    for path in sorted(Path(folder).glob("[0-9]*")):
        raw = path.read_bytes()
        if len(raw) < _SIZE:
            continue  # it is just being made
        count, length = _HEAD.unpack_from(raw)
        words = raw[_HEAD.size : _HEAD.size + length].decode("utf-8", "replace").split("\0")
        if len(words) == 3:
            notes.append(Note(int(path.name), count, *words))
    return notes


def given_up(plugin: str, doing: str) -> str:
    """What this hook did to an earlier try of the same command, or ""."""
    for line in os.environ.get(WITHOUT, "").splitlines():
        name, hook, words = line.split("/", 2)
        if (name, hook) == (plugin, doing):
            return words
    return ""
