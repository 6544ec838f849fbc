"""A rounded end that two halves are sewn along: from a dart at the mirror line over its summit down into the side.

Horizontal at the mirror line it would be a square corner when folded; so it rises there, in a narrow dart. It is
horizontal at its summit and runs upright into the side. Common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from grading.drafting.parts.part import At, Part, Sum, move
from grading.drafting.parts.sewn import OVERSEWN
from grading.model.block import Edge

__all__ = ["Reach", "rounded"]

#: The points of a curve by name: how far along they lie, of all the way across and of all the way up or down.
Knots = Mapping[str, tuple[float, float]]

#: How far below the top the dart begins, of half the round.
DART = 0.25
#: The curve from the dart to the summit: how far along across, and how far up, of what lies between them.
RISE: Knots = {"rise": (0.19, 0.44), "shoulder": (0.55, 0.82)}


@dataclass(frozen=True)
class Reach:
    """How far something reaches, across or up: the sum that says so, and its shares of values."""

    what: str
    shares: Mapping[str, float]


def rounded(
    stage: str, piece: str, name: str, *, half: Reach, summit: Reach, top: Reach, end: Reach, fall: Knots, centre: str
) -> Part:
    """The rounded end of a piece; its points are called by ``name``, the one on the mirror line ``centre``.

    ``half`` is the side and ``summit`` where the summit lies, across; ``top`` how high the summit is and ``end`` the
    height at which the curve has become the side; ``fall`` are the points of the curve between those two: how far
    along across, and how far down. The part ends at its summit, and its side where the curve has become the side.
    """
    dart = f"dart of the {name}"
    low = {**top.shares, **{value: top.shares.get(value, 0.0) - DART * share for value, share in half.shares.items()}}
    sums = [Sum(stage, dart, f"{{{top.what}}} − {DART:g} × {{{half.what}}}")]
    moves = [move(dart, _both({}, low))]
    points = [At(piece, centre, None, dart, (dart,), turn=True)]

    def lay(called: str, across: Reach, up: Reach) -> None:
        """A point that two reaches say the place of, with its move."""
        moves.append(move(f"to {called}", _both(across.shares, up.shares)))
        points.append(At(piece, called, across.what, up.what, (f"to {called}",)))

    def point(called: str, across: tuple[str, Mapping[str, float]], up: tuple[str, Mapping[str, float]]) -> None:
        """A point between two reaches each way, each given as the sum for it and its shares."""
        for way, (written, _) in (("across", across), ("up", up)):
            sums.append(Sum(stage, f"{called}, {way}", written))
        lay(called, Reach(f"{called}, across", across[1]), Reach(f"{called}, up", up[1]))

    for part, (along, rise) in RISE.items():
        point(
            f"{name} {part}",
            (f"{along:g} × {{{summit.what}}}", _between({}, summit.shares, along)),
            (f"{{{dart}}} + {rise:g} × ({{{top.what}}} − {{{dart}}})", _between(low, top.shares, rise)),
        )
    lay(f"{name} summit", summit, top)
    for part, (along, down) in fall.items():
        point(
            f"{name} {part}",
            (
                f"{{{summit.what}}} + {along:g} × ({{{half.what}}} − {{{summit.what}}})",
                _between(summit.shares, half.shares, along),
            ),
            (f"{{{top.what}}} − {down:g} × ({{{top.what}}} − {{{end.what}}})", _between(top.shares, end.shares, down)),
        )
    lay(f"{name} end", half, end)
    edge = Edge(piece, name, "boundary", tuple(at.name for at in points), OVERSEWN)
    return Part(
        end=f"{name} summit", side=f"{name} end", sums=(*sums,), moves=(*moves,), points=(*points,), edges=(edge,)
    )


def _between(one: Mapping[str, float], other: Mapping[str, float], along: float) -> dict[str, float]:
    """The shares of what lies part of the way from one reach to another."""
    return {value: (1 - along) * one.get(value, 0.0) + along * other.get(value, 0.0) for value in {**one, **other}}


def _both(across: Mapping[str, float], up: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    return {value: (across.get(value, 0.0), up.get(value, 0.0)) for value in {**across, **up}}
