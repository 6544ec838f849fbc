"""Directions in the plane: how far one turns into another, and which way lies to the left."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats

__all__ = ["cross", "left_of", "turn_into"]


def cross(one: Floats, other: Floats) -> Floats:
    """The cross product (...) of vectors (..., 2): above zero where ``other`` points to the left of ``one``."""
    return one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]


def turn_into(one: Floats, other: Floats) -> Floats:
    """The angle (...) in radians, from −π to π, from vectors (..., 2) to others, positive to the left.

    >>> np.degrees(turn_into(np.array([1.0, 0.0]), np.array([[0.0, 2.0], [1.0, -1.0]]))).tolist()
    [90.0, -45.0]
    """
    angle: Floats = np.arctan2(cross(one, other), np.sum(one * other, axis=-1))
    return angle


def left_of(vectors: Floats) -> Floats:
    """Vectors (..., 2) turned to the left by a right angle."""
    return np.stack([-vectors[..., 1], vectors[..., 0]], axis=-1)
