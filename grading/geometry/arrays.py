"""The array type that geometry works on, and the one product that every size goes through."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "product", "product_by_size"]

Floats = NDArray[np.float64]


def product(subscripts: str, *operands: Floats) -> Floats:
    """The product of two arrays summed as einsum's subscripts say.

    einsum sums in the same order whatever the number of sizes, where a BLAS product does not: so a size's figures do
    not depend, to the last bit, on which other sizes are computed with it.

    >>> product("sk,k->s", np.ones((2, 3)), np.array([1.0, 2.0, 3.0]))
    array([6., 6.])
    """
    result: Floats = np.einsum(subscripts, *operands)
    return result


def product_by_size(subscripts: str, fixed: Floats, graded: Floats) -> Floats:
    """The product of fixed factors and an array whose last axis is the sizes, which comes last in the result too.

    The sizes lie side by side in memory, and einsum runs along them: much the quickest way through many. A lone
    size is computed twice, since einsum would run, and add up, along another axis then.

    >>> product_by_size("n,ns->s", np.array([1.0, 2.0]), np.ones((2, 3)))
    array([3., 3., 3.])
    """
    sizes = graded.shape[-1]
    result: Floats = np.einsum(subscripts, fixed, np.repeat(graded, 2, axis=-1) if sizes == 1 else graded)
    return result[..., :sizes]
