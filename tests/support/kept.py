"""Answers of slow functions, kept beside pytest's own cache: worked out once for all tests, workers and sessions.

A key is a hash of what was asked and of every source that the answer can depend on, so that an edit asks anew. Whoever
asks while another works an answer out waits for it.
"""

from __future__ import annotations

import fcntl
import os
import pickle
import platform
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import scipy

ROOT = Path(__file__).parents[2]
Answer = TypeVar("Answer")
_folder: list[Path] = []


def keep_in(folder: Path) -> None:
    """Where answers are kept."""
    _folder[:] = [folder]


@cache
def sources(*places: str) -> str:
    """A hash of all files at these places of the tree, and of what runs them."""
    found = sha256(repr((platform.python_version(), platform.machine(), np.__version__, scipy.__version__)).encode())
    for place in places:
        for path in sorted((ROOT / place).rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                found.update(str(path.relative_to(ROOT)).encode() + path.read_bytes())
    return found.hexdigest()


@contextmanager
def alone(name: str) -> Iterator[None]:
    """One process at a time with what has this name; no order where nothing is kept."""
    if not _folder:
        yield
        return
    with (_folder[0] / f"{name}.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


def kept(name: str, asked: Any, places: tuple[str, ...], work: Callable[[], Answer]) -> Answer:
    """The answer to what was asked, from where it is kept, or worked out and kept.

    name: of the kind of question, a part of a file name; asked: can be pickled, and holds all that the answer depends
    on but the sources; places: of those sources, folders of the tree; work: gives an answer that can be pickled.
    """
    if not _folder:
        return work()
    key = sha256(pickle.dumps((sources(*places), asked))).hexdigest()[:24]
    file = _folder[0] / f"{name}-{key}.pickle"
    with alone(file.stem):
        if file.exists():
            answer: Answer = pickle.loads(file.read_bytes())
            return answer
        answer = work()
        write_at_once(file, pickle.dumps(answer))
    return answer


def write_at_once(file: Path, data: bytes) -> None:
    """Write a whole file or none: a test may be ended at any time."""
    handle, part = tempfile.mkstemp(dir=file.parent)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
    Path(part).replace(file)
