"""Products of vectors and matrices for whole batches, component by component.

A batch of a few thousand stays in the processor's cache, and each product is a handful of passes over it. The order of
the sums is fixed, so a strike's numbers do not depend on the batch that it stands in.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def dot(a: Array, b: Array) -> Array:
    """a . b `(n,)` of vectors `(3, n)`."""
    return np.asarray(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


def cross(a: Array, b: Array) -> Array:
    """a x b `(3, n)` of vectors `(3, n)`."""
    product = np.empty(np.broadcast_shapes(a.shape, b.shape))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        np.subtract(a[j] * b[k], a[k] * b[j], out=product[i])
    return product


def times(K: Array, b: Array) -> Array:
    """K b `(3, n)` of matrices `(3, 3, n)` and vectors `(3, n)`."""
    product = np.empty(np.broadcast_shapes(K.shape[1:], b.shape))
    for i in range(3):
        np.add(K[i, 0] * b[0] + K[i, 1] * b[1], K[i, 2] * b[2], out=product[i])
    return product


def transposed_times(K: Array, b: Array) -> Array:
    """K^T b `(3, n)` of matrices `(3, 3, n)` and vectors `(3, n)`."""
    return times(K.swapaxes(0, 1), b)


def solve_symmetric(K: Array, b: Array) -> Array:
    """x `(3, n)` with K x = b, for symmetric K `(3, 3, n)`, by cofactors: no loop over strikes."""
    c00 = K[1, 1] * K[2, 2] - K[1, 2] * K[1, 2]
    c01 = K[1, 2] * K[0, 2] - K[0, 1] * K[2, 2]
    c02 = K[0, 1] * K[1, 2] - K[1, 1] * K[0, 2]
    c11 = K[0, 0] * K[2, 2] - K[0, 2] * K[0, 2]
    c12 = K[0, 2] * K[0, 1] - K[0, 0] * K[1, 2]
    c22 = K[0, 0] * K[1, 1] - K[0, 1] * K[0, 1]
    per = 1.0 / (K[0, 0] * c00 + K[0, 1] * c01 + K[0, 2] * c02)
    x = np.empty(b.shape)
    for i, row in enumerate(((c00, c01, c02), (c01, c11, c12), (c02, c12, c22))):
        np.multiply(row[0] * b[0] + row[1] * b[1] + row[2] * b[2], per, out=x[i])
    return x
