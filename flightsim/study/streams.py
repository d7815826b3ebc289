"""Random numbers addressed by shot, never by worker or chunk.

A stream belongs to (seed, block of 1,024 shots, purpose): shot i draws the same numbers in any run that has it.
"""

from __future__ import annotations

import zlib

import numpy as np
from numpy.typing import NDArray

BLOCK = 1024  # shots a stream; part of what a seed means, never to be changed


def uniforms(seed: int, first: int, count: int, purpose: str, dims: int) -> NDArray[np.float64]:
    """Uniform draws `(dims, count)`, strictly between 0 and 1, of shots first..first+count-1."""
    out = np.empty((dims, count))
    for block in range(first // BLOCK, (first + count - 1) // BLOCK + 1):
        start = max(first, block * BLOCK)
        stop = min(first + count, (block + 1) * BLOCK)
        whole = _block(seed, block, purpose, dims)
        out[:, start - first : stop - first] = whole[:, start - block * BLOCK : stop - block * BLOCK]
    return out


def _block(seed: int, block: int, purpose: str, dims: int) -> NDArray[np.float64]:
    """All draws of one block, one row a dimension: more dimensions never change those before."""
    entropy = np.random.SeedSequence([seed, block, zlib.crc32(purpose.encode("utf-8"))])
    bits = np.random.Philox(entropy)
    words = np.random.Generator(bits).integers(0, 1 << 52, size=(dims, BLOCK), dtype=np.uint64)
    return (words.astype(np.float64) + 0.5) * 2.0**-52
