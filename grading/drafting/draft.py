"""Draft a base block from one hand, the way it is done on grid paper: line by line, from the measurements.

Each point is constructed from the figures of the hand by the sums of its style, in the trade's order, without the
moves by which the block is graded afterwards: the two are two routes to the same pattern.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from grading.drafting.style import STANDARD, Mitten, Style, mitten
from grading.drafting.sums import worked
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.block import Amount, Block, Kind, Point, Seam, Value
from grading.model.sizes import SizeTable

__all__ = ["base_values", "construct", "draft", "own_table"]

Coordinates = dict[tuple[str, str], tuple[float, float]]

#: Drafted coordinates are kept to this many decimals of a millimetre.
DECIMALS = 3


def draft(
    name: str,
    groups: tuple[str, ...],
    body: Mapping[str, float],
    allowances: Mapping[str, float],
    *,
    compressed_pile: float,
    leather: float,
    lining: float = 0.0,
    date: str,
    notes: str = "",
    thumb_longer_by: float | None = None,
    style: Style = STANDARD,
) -> Block:
    """A base block for one hand, its thumb already as much longer than its hole as the seam asks.

    ``body`` and ``allowances`` give every figure that the style's mitten names, in mm; those that are worked out of the
    layers of material may be left out. The rim of a thumb becomes longer than the whole hole by ``thumb_longer_by`` mm,
    or else by the share that is usual. Raises KeyError for a missing figure.
    """
    made = mitten(style)
    layers = compressed_pile, leather, lining
    allowances = {**{one.name: one.of_layers(*layers) for one in made.allowances if one.of_layers}, **allowances}
    blank = replace(
        made.block,
        name=name,
        groups=groups,
        compressed_pile=compressed_pile,
        leather=leather,
        lining=lining,
        date=date,
        notes=notes,
        values=base_values(made, body, allowances),
    )
    if thumb_longer_by is not None:
        blank = replace(blank, seams=_longer_by(blank.seams, thumb_longer_by))

    def block(balances: Mapping[str, float]) -> Block:
        coordinates = construct(made, body, allowances, balances)
        points = tuple(
            Point(at.piece, at.name, round(x, DECIMALS), round(y, DECIMALS), at.turn, at.moves)
            for at in made.points
            for x, y in [coordinates[at.piece, at.name]]
        )
        return replace(blank, points=points)

    return _fitted(block, made, body)


def base_values(made: Mitten, body: Mapping[str, float], allowances: Mapping[str, float]) -> tuple[Value, ...]:
    """The values of a mitten, drafted with the figures given, in mm. Raises KeyError for a missing one."""
    return (
        *(Value(name, Kind.BODY, body[name], body[name]) for name in made.body),
        *(
            Value(one.name, Kind.ALLOWANCE, allowances[one.name], allowances[one.name], note=one.note)
            for one in made.allowances
        ),
        *made.balances,
    )


def construct(
    made: Mitten,
    body: Mapping[str, float],
    allowances: Mapping[str, float],
    balances: Mapping[str, float] | None = None,
) -> Coordinates:
    """The coordinates in mm of every point of a mitten, by piece and point; balance values are 0 if not given.

    Raises KeyError for a missing figure.
    """
    at_zero = {value.name: 0.0 for value in made.balances}
    known = worked(made.sums, {**body, **allowances, **at_zero, **(balances or {})})
    return {(at.piece, at.name): (known[at.x] if at.x else 0.0, known[at.y] if at.y else 0.0) for at in made.points}


def _longer_by(seams: tuple[Seam, ...], ease: float) -> tuple[Seam, ...]:
    """The seams, those of one balance value with so much longer first sides together, each by its part of it."""
    parts = Counter(seam.balance for seam in seams)
    return tuple(
        replace(seam, target=Amount(mm=ease / parts[seam.balance])) if seam.balance else seam for seam in seams
    )


def own_table(body: Mapping[str, float]) -> SizeTable:
    """The size table of the one hand that a block is drafted for."""
    values = np.array([[mm] for mm in body.values()], dtype=float)
    return SizeTable("", ("drafted",), tuple(body), values)


def _fitted(block: Callable[[Mapping[str, float]], Block], made: Mitten, body: Mapping[str, float]) -> Block:
    """The block with the balance values at which its seams have the ease that they ask for.

    The engine's balance says how far the drafted pieces are from that. Drafting anew moves their knots a little, so
    it is asked again until it has nothing left to say. What was found stays in the points: the block starts at 0.
    """
    table = own_table(body)
    solved = {value.name: 0.0 for value in made.balances}
    for _ in range(5 if solved else 0):
        for balance in balanced(grade(block(solved), table)).balances:
            solved[balance.driver] += float(balance.solved[0])
    return block(solved)
