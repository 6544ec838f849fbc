"""A closed loop of a piece as Bézier segments: mirrored first where the piece is, splined after, in every size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats, product, product_by_size
from grading.geometry.beziers import VELOCITY, WEIGHTS
from grading.geometry.splines import handle_matrix

__all__ = ["Loop", "closed_loop", "image", "mirrored_loop"]


def image(name: str) -> str:
    """The name of a point's or an edge's mirror image; the image of an image is the thing itself.

    >>> image("A"), image("A'")
    ("A'", 'A')
    """
    return name[:-1] if name.endswith("'") else name + "'"


@dataclass(frozen=True, eq=False)
class Loop:
    """One closed loop of a piece: its points by name, in order, and the fixed map from points to handles.

    ``names`` has one name a loop point; segment i runs from point i to point i + 1, the last to the first.
    ``turns`` marks the turn points. ``map`` is (2, segments, 4, points of the piece): one matrix for x and one
    for y, which differ only by the sign that the mirror line gives to x.
    """

    names: tuple[str, ...]
    turns: NDArray[np.bool_]
    map: Floats
    drawn: int

    def __repr__(self) -> str:
        return f"<Loop {self.names[0]} … {self.names[-1]}: {len(self.names)} points>"

    def beziers(self, points: Floats) -> Floats:
        """The handles (sizes, segments, 4, 2) in mm of the loop, from the piece's points (sizes, points, 2)."""
        # Laid out anew in memory: that decides how sums over them are rounded, which has to be the same for all.
        return np.ascontiguousarray(product("cgbp,spc->sgbc", self.map, points))

    def stretch(self, points: Floats, segments: NDArray[np.intp]) -> Floats:
        """The handles (sizes, segments, 4, 2) of some segments; of many sizes much quicker than those of all."""
        by_size = np.ascontiguousarray(points.T)
        handles = product_by_size("cgbp,cps->cgbs", self.map[:, segments], by_size)
        return np.ascontiguousarray(np.moveaxis(handles, (3, 0), (0, 3)))

    def velocities(self, points: Floats, segments: NDArray[np.intp]) -> Floats:
        """The derivatives (2, nodes, sizes) by the parameter at every quadrature node of some segments, in order."""
        nodes = product("nb,cgbp->cgnp", VELOCITY, self.map[:, segments])
        nodes = nodes.reshape(2, -1, self.map.shape[-1])
        own = np.flatnonzero(nodes.any(axis=(0, 1)))  # the piece's other points take no part
        return product_by_size("cnp,cps->cns", nodes[..., own], np.ascontiguousarray(points[:, own].T))

    def length(self, points: Floats, segments: NDArray[np.intp]) -> Floats:
        """The arc length (sizes,) in mm of some segments together, from the piece's points (sizes, points, 2)."""
        across, up = self.velocities(points, segments)
        return product_by_size("n,ns->s", np.tile(WEIGHTS, len(segments)), np.sqrt(across * across + up * up))

    def segments(self, start: str, end: str) -> NDArray[np.intp]:
        """The segments walked in drafted direction from one point to another; all of them if they are the same.

        Raises ValueError if a name is not a point of this loop.
        """
        first, last = self.names.index(start), self.names.index(end)
        count = (last - first) % len(self.names) or len(self.names)
        return np.arange(first, first + count) % len(self.names)


def closed_loop(names: Sequence[str], turns: Sequence[bool], own: Sequence[int], points: Floats) -> Loop:
    """The loop through ``points[own]``, in order; ``points`` (n, 2) are all the piece's points as drafted."""
    return _loop(names, turns, own, [1.0] * len(own), points, len(own))


def mirrored_loop(names: Sequence[str], turns: Sequence[bool], own: Sequence[int], points: Floats) -> Loop:
    """The loop of a half drawn from mirror line to mirror line (x = 0), joined to its mirror image.

    The first and the last point lie on the mirror line and are their own images; the rest come back, in
    reverse, with x negated and names marked by ``image``.
    """
    inner = range(len(own) - 2, 0, -1)
    return _loop(
        [*names, *(image(names[i]) for i in inner)],
        [*turns, *(turns[i] for i in inner)],
        [*own, *(own[i] for i in inner)],
        [1.0] * len(own) + [-1.0] * len(inner),
        points,
        len(own) - 1,
    )


def _loop(
    names: Sequence[str], turns: Sequence[bool], own: Sequence[int], signs: Sequence[float], points: Floats, drawn: int
) -> Loop:
    pick = np.zeros((2, len(own), len(points)))
    pick[0, np.arange(len(own)), own] = signs
    pick[1, np.arange(len(own)), own] = 1
    turn = np.array(turns, dtype=bool)
    drafted = product("clp,pc->lc", pick, points)
    handles = handle_matrix(drafted, turn)
    return Loop(tuple(names), turn, product("gbl,clp->cgbp", handles, pick), drawn)
