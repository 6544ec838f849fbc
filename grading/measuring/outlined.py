"""What measuring asks of a piece: its points and its sew lines, in every size."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from grading.geometry.arrays import Floats
from grading.geometry.outlines import Loop

__all__ = ["Outlined"]


class Outlined(Protocol):
    """A piece in every size: ``points`` (sizes, points, 2) in mm, and the ``loops`` that run through them."""

    @property
    def points(self) -> Floats: ...

    @property
    def loops(self) -> Mapping[str, Loop]: ...

    @property
    def beziers(self) -> Mapping[str, Floats]:
        """For each loop its handles (sizes, segments, 4, 2) in mm."""

    @property
    def boundary(self) -> Floats:
        """The boundary's handles (sizes, segments, 4, 2) in mm."""

    @property
    def drawn(self) -> Floats:
        """The boundary's handles as far as it is drawn: half of a mirrored one."""

    @property
    def mirrored(self) -> bool: ...

    def point(self, name: str) -> Floats:
        """A point (sizes, 2) in every size."""

    def loop_of(self, point: str) -> str:
        """The first loop that a point lies on."""
