"""The array type that geometry works on, and the one product that every size goes through."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "product"]

Floats = NDArray[np.float64]


def product(subscripts: str, *operands: Floats) -> Floats:
    """The product of two arrays summed as einsum's subscripts say.

    einsum sums in the same order whatever the number of sizes, where a BLAS product does not: what is found for
    one size does not depend, to the last bit, on which sizes are computed with it.

    >>> product("sk,k->s", np.ones((2, 3)), np.array([1.0, 2.0, 3.0]))
    array([6., 6.])
    """
    result: Floats = np.einsum(subscripts, *operands)
    return result
