"""The columns of a very long run: in files without a name, mapped into memory, that are gone with the run.

A run of ten million shots has 5 GB of columns. Held in memory they decide which machine can fly it; in mapped files the
system keeps as much of them at hand as there is room for, and `let_go` says what is not needed now.
"""

from __future__ import annotations

import mmap
import os
import tempfile
from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates
from flightsim.errors import BadInputError
from flightsim.shots.shot_table import ShotTable

IN_MEMORY = 1_500_000  # shots whose columns are held in memory
HELD, ON_DISK = 100, 600  # bytes a shot of a run on disk, generously: in memory all the same, and on disk
PIECE = 1 << 19  # balls
T = TypeVar("T", ShotTable, Contacts, Fates)


def room_for(shots: int, make: Callable[[int], T]) -> T:
    """Columns for so many shots, as `make` gives them for a number; beyond IN_MEMORY on disk, and to be filled.

    Raises BadInputError where the disk does not take them.
    """
    if shots <= IN_MEMORY:
        return make(shots)
    like = make(1)
    try:
        return replace(like, **{column.name: _on_disk(getattr(like, column.name), shots) for column in fields(like)})
    except OSError as error:
        raise BadInputError(
            f"{shots:,} shots do not fit into {tempfile.gettempdir()}: {error.strerror}\n"
            "  try: fewer shots, or TMPDIR set to a folder with room"
        ) from error


def _on_disk(like: np.ndarray, shots: int) -> np.ndarray:
    """An array as one, but of so many shots, in a file that no name leads to."""
    shape = (*like.shape[:-1], shots)
    with tempfile.TemporaryFile(prefix="flightsim-") as file:  # the map holds it open
        if hasattr(os, "posix_fallocate") and (size := like.itemsize * int(np.prod(shape))):
            os.posix_fallocate(file.fileno(), 0, size)  # a full disk is told now: a map that finds it full ends us
        return np.asarray(np.memmap(file, like.dtype, "w+", shape=shape))


def in_pieces(fates: Fates, make: Callable[[Fates], NDArray[Any]]) -> NDArray[Any]:
    """What `make` gives of all balls; of a run on disk worked out piece by piece, and let go between."""
    if len(fates) <= IN_MEMORY:
        return make(fates)
    found = []
    for first in range(0, len(fates), PIECE):
        found.append(make(fates.of_balls(slice(first, first + PIECE))))
        let_go(fates)
    return np.concatenate(found, axis=-1)


def let_go(*tables: ShotTable | Contacts | Fates) -> None:
    """What is on disk need not be at hand now. It is read again when it is asked for."""
    if not hasattr(mmap, "MADV_DONTNEED"):
        return
    for table in tables:
        for column in fields(table):
            if (kept := _map_of(getattr(table, column.name))) is not None:
                kept.madvise(mmap.MADV_DONTNEED)


def _map_of(array: object) -> mmap.mmap | None:
    """The map that an array is a view of; None where it is in memory."""
    while isinstance(array, np.ndarray):
        array = array.base
    return array if isinstance(array, mmap.mmap) else None
