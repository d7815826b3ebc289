"""Random numbers addressed by shot, never by worker or chunk.

A stream belongs to (seed, block of 1,024 shots, purpose): shot i draws the same numbers in any run that has it,
whatever the run's length, its chunks and its workers.
"""

from __future__ import annotations

import zlib

import numpy as np
from numpy.typing import NDArray

BLOCK = 1024  # shots a stream; part of what a seed means, never to be changed
_SHIFT = np.uint64(12)  # of 64 random bits: 52 are left, so that half a step keeps every draw inside (0, 1)


def uniforms(seed: int, first: int, count: int, purpose: str, dims: int) -> NDArray[np.float64]:
    """Uniform draws `(dims, count)`, strictly between 0 and 1, of shots first..first+count-1.

    From 2^-53 to 1 - 2^-53, in steps of 2^-52. A purpose's first dimensions do not depend on how many are asked for.
    seed: nought or more. Raises ValueError for a negative seed, shot or count.
    """
    if min(seed, first, count, dims) < 0:
        raise ValueError(f"seed {seed}, first {first}, count {count} and dims {dims} must be nought or more")
    out = np.empty((dims, count))
    for block in range(first // BLOCK, (first + count - 1) // BLOCK + 1):
        start = max(first, block * BLOCK)
        stop = min(first + count, (block + 1) * BLOCK)
        whole = _block(seed, block, purpose, dims)
        out[:, start - first : stop - first] = whole[:, start - block * BLOCK : stop - block * BLOCK]
    return out


def _block(seed: int, block: int, purpose: str, dims: int) -> NDArray[np.float64]:
    """All draws of one block, one row a dimension.

    From the generator's raw bits, which numpy promises to keep between versions; its `Generator` it does not.
    """
    entropy = np.random.SeedSequence([seed, block, zlib.crc32(purpose.encode("utf-8"))])
    words = np.random.Philox(entropy).random_raw(dims * BLOCK).reshape(dims, BLOCK)
    return np.asarray(((words >> _SHIFT).astype(np.float64) + 0.5) * 2.0**-52)
