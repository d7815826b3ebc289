"""shots.npz: the columns of shots.csv as numpy arrays, one member a column, written a chunk at a time.

Text stands as whole numbers, with their words in the member NAME.words: a run of ten million shots is read in seconds,
one column at a time. `np.load("shots.npz")` opens it, and so does anything that reads zip files of npy.
"""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Column = NDArray[Any]
WORDS = ".words"
LEVEL = 1  # of compression: half the size for a tenth of the time of the highest


class _Growing:
    """One column as an npy file that grows; its header is written when its length is known."""

    def __init__(self, path: Path, first: Column) -> None:
        self.path, self.length = path, 0
        self.words: dict[str, int] | None = {} if first.dtype.kind in "UO" else None
        self.dtype = np.dtype({"f": "<f8", "i": "<i4", "u": "<i4", "b": "?"}.get(first.dtype.kind, "<i2"))
        self.raw = path.open("wb")

    def add(self, column: Column) -> None:
        """More values."""
        values = column if self.words is None else self._coded(column, self.words)
        self.raw.write(np.ascontiguousarray(values, dtype=self.dtype).tobytes())
        self.length += column.size

    @staticmethod
    def _coded(column: Column, words: dict[str, int]) -> Column:
        found, index = np.unique(column.astype(str), return_inverse=True)
        return np.array([words.setdefault(word, len(words)) for word in found.tolist()], dtype=np.int16)[index]

    def write_into(self, archive: zipfile.ZipFile, name: str, between: Callable[[], None]) -> None:
        """The column as a member, and its words; the growing file is removed. between: called for each megabyte."""
        self.raw.close()
        with archive.open(f"{name}.npy", "w", force_zip64=True) as member, self.path.open("rb") as raw:
            head = {"descr": np.lib.format.dtype_to_descr(self.dtype), "fortran_order": False, "shape": (self.length,)}
            np.lib.format.write_array_header_1_0(member, head)
            while piece := raw.read(1 << 20):
                member.write(piece)
                between()
        self.path.unlink()
        if self.words is not None:
            with archive.open(f"{name}{WORDS}.npy", "w") as member:
                np.lib.format.write_array(member, np.array(list(self.words), dtype=str), allow_pickle=False)


def write_columns(
    chunks: Iterable[Mapping[str, Column]], path: Path, between: Callable[[], None] = lambda: None
) -> None:
    """Write columns, given in chunks of the same names, to an npz file. between: called for each megabyte of it; what
    it raises ends the writing. Raises OSError; then nothing is left behind.
    """
    growing: dict[str, _Growing] = {}
    try:
        for chunk in chunks:
            for name, column in chunk.items():
                if name not in growing:
                    growing[name] = _Growing(path.with_name(f"{path.name}.{len(growing)}"), column)
                growing[name].add(column)
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=LEVEL) as archive:
            for name, column_file in growing.items():
                column_file.write_into(archive, name, between)
    finally:
        for column_file in growing.values():
            column_file.raw.close()
            column_file.path.unlink(missing_ok=True)


def read_columns(path: Path) -> dict[str, Column]:
    """The columns as `flightsim.study.run.columns` gives them: text as words."""
    with np.load(path, allow_pickle=False) as kept:
        names = [name for name in kept.files if not name.endswith(WORDS)]
        return {
            name: kept[f"{name}{WORDS}"].astype(object)[kept[name]] if f"{name}{WORDS}" in kept.files else kept[name]
            for name in names
        }
