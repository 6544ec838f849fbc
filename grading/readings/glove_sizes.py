"""The published glove size nearest to a hand: a comparison, not a claim of conformity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from grading.geometry.arrays import Floats

__all__ = ["FRENCH_INCH", "PUBLISHED", "GloveSize", "Nearest", "nearest_by_girth", "nearest_by_length"]

#: The pouce, mm: the traditional glove size is the girth of the hand in these. Pre-metric French measure; glove trade.
FRENCH_INCH = 27.07


@dataclass(frozen=True, slots=True)
class GloveSize:
    """One published size: its number, and the hand's girth and length in mm."""

    number: int
    girth: float
    length: float


@dataclass(frozen=True, slots=True)
class Nearest:
    """The published size nearest to a hand; ``beyond`` is -1 or 1 where the hand lies under or over all of them.

    That is where it is further under the first of them than half the step there, or over the last by as much or more.
    """

    size: GloveSize
    beyond: int = 0

    def __str__(self) -> str:
        return f"{('', 'over ', 'under ')[self.beyond]}{self.size.number}"


#: The hand sizes of EN 420:2003+A1:2009, carried into EN ISO 21420:2020; girth is that of the open hand.
PUBLISHED = (
    GloveSize(6, 152.0, 160.0),
    GloveSize(7, 178.0, 171.0),
    GloveSize(8, 203.0, 182.0),
    GloveSize(9, 229.0, 192.0),
    GloveSize(10, 254.0, 204.0),
    GloveSize(11, 279.0, 215.0),
)


def nearest_by_girth(girth: Floats) -> list[Nearest]:
    """For each girth (sizes,) of an open hand, in mm, the published size nearest to it.

    Of two equally near it is the larger, since a mitten is drafted for the larger hand.

    >>> [str(nearest) for nearest in nearest_by_girth(np.array([126.0, 164.0, 165.0, 217.0]))]
    ['under 6', '6', '7', '9']
    """
    return _nearest(girth, [size.girth for size in PUBLISHED])


def nearest_by_length(length: Floats) -> list[Nearest]:
    """As ``nearest_by_girth``, by the length (sizes,) of the hand in mm."""
    return _nearest(length, [size.length for size in PUBLISHED])


def _nearest(figures: Floats, published: Sequence[float]) -> list[Nearest]:
    middles = np.convolve(published, [0.5, 0.5], "valid")
    bounds = [2 * published[0] - middles[0], *middles, 2 * published[-1] - middles[-1]]
    smallest, *_, largest = PUBLISHED
    every = (Nearest(smallest, -1), *(Nearest(size) for size in PUBLISHED), Nearest(largest, 1))
    return [every[index] for index in np.searchsorted(bounds, figures, side="right")]
