"""What is known of a size group at one time, to be compared with what is known at another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from grading.model.sizes import SizeTable

__all__ = ["GroupFigures"]


@dataclass(frozen=True, eq=False)
class GroupFigures:
    """A group's figures by size, its allowances (name to mm) and its block's points ('piece, point' to x and y).

    ``by_size`` has body figures, and finished measures where they are known. What is ``None`` is not known.
    """

    by_size: SizeTable
    allowances: Mapping[str, float] | None = None
    points: Mapping[str, tuple[float, float]] | None = None
