"""The working of a drafted block: every figure and the sum it came from, to be checked with a ruler and a pencil."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from grading import units
from grading.drafting.draft import DECIMALS, construct, own_table
from grading.drafting.style import Mitten, mitten, style_of
from grading.drafting.sums import worked
from grading.engine.run import grade
from grading.model.block import Block, Kind

__all__ = ["WorkedSum", "figure", "working"]


@dataclass(frozen=True)
class WorkedSum:
    """One line of the working: its step, what it gives in mm, and the sum, its names in braces with their figures."""

    step: str
    what: str
    mm: float
    names: str
    figures: Mapping[str, float]

    def made_of(self, unit: str) -> str:
        """The sum in words, a figure in that unit behind each name.

        >>> WorkedSum("1.", "a side", 120.0, "{round} ÷ 2", {"round": 240.0}).made_of("cm")
        'round 24 ÷ 2'
        """
        return re.sub(r"\{(.+?)\}", lambda name: f"{name[1]} {figure(self.figures[name[1]], unit)}", self.names)


def figure(mm: float, unit: str) -> str:
    """A drafted length as it is read off grid paper: to a hundredth of a millimetre, or a sixteenth of an inch.

    >>> figure(114.5, "cm"), figure(114.5, "mm"), figure(-80.0, "cm"), figure(35.56, "mm")
    ('11.45', '114.5', '-8', '35.56')
    """
    if unit == "in":
        return units.show(mm, unit)
    text = f"{mm / float(units.MM_PER[unit]):.{3 if unit == 'cm' else 2}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def working(block: Block, body: Mapping[str, float]) -> Iterator[WorkedSum]:
    """The working of a block that ``draft`` made for this hand, line by line in the order in which it is drawn.

    Figures are the block's own, to its decimals; the sums say where each came from. ``body`` in mm may have more than
    the construction needs: with a 'hand breadth' it says what is added beside the flat hand.
    """
    made = mitten(style_of(block))
    given = {value.name: value.now for value in block.values if value.kind is Kind.ALLOWANCE} | dict(body)
    given |= _balance_figures(block, made, given) | _edge_lengths(block, made, body)
    # Rounded once, so that a figure is the same where it is worked out and where it is used.
    known = {name: round(mm, DECIMALS) for name, mm in worked(made.sums, given).items()}
    for one in made.sums:
        if one.what in known and all(name in known for name in one.names):
            figures = {name: known[name] for name in one.names}
            yield WorkedSum(one.stage, one.what, known[one.what], one.written, figures)


def _balance_figures(block: Block, made: Mitten, given: Mapping[str, float]) -> dict[str, float]:
    """What each balance value was drafted with: by how far it moved the first point that it moves up or down."""
    moves = {move.name: move for move in made.block.moves}
    drafted = {(point.piece, point.name): point.y for point in block.points}
    unmoved = construct(made, given, given)
    figures = {}
    for value in made.balances:
        at, share = next(
            (at, share.y)
            for at in reversed(made.points)
            for name in at.moves
            for share in moves[name].shares
            if share.value == value.name and share.y
        )
        figures[value.name] = (drafted[at.piece, at.name] - unmoved[at.piece, at.name][1]) / share
    return figures


def _edge_lengths(block: Block, made: Mitten, body: Mapping[str, float]) -> dict[str, float]:
    """The figures of what is told in words and is the length of edges."""
    told = [one for one in made.sums if one.along]
    if not told:
        return {}
    pieces = grade(block, own_table(body)).pieces
    return {
        one.what: sum(float(pieces[side.piece].edge_lengths(edge)[0]) for side in one.along for edge in side.edges)
        for one in told
    }
