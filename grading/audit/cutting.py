"""Audit how often each piece is cut: as often for a left hand as for a right one, and as often as what it joins."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from grading.findings import Finding, Severity
from grading.model.block import Block, Piece

__all__ = ["CUTTING_RULES"]

#: Words that tell apart two pieces which stand for one another.
HANDS = ("left", "right")


def _pairs(block: Block) -> Iterator[Finding]:
    """A pair needs each piece as often for the left hand as for the right, over all that stand for one another."""
    for pieces in _standing_for_one_another(block):
        left, right = sum(piece.cut_left for piece in pieces), sum(piece.cut_right for piece in pieces)
        names = " and ".join(piece.name for piece in pieces)
        if left != right:
            yield Finding(
                "cut-makes-no-pair",
                Severity.ERROR,
                pieces[0].place,
                f"{names}: {left} cut for a left hand, {right} for a right hand.",
                "As many for either: or one hand of a pair is left over, and the other is short of a piece.",
                "Correct 'Cut left' or 'Cut right'.",
            )
        elif left == 0:
            yield Finding(
                "piece-never-cut",
                Severity.WARNING,
                pieces[0].place,
                f"{names}: none is cut for either hand.",
                "One or more for each hand: or the piece is missing from every pair.",
                "Fill in 'Cut left' and 'Cut right', or delete the piece.",
            )


def _sewn_together(block: Block) -> Iterator[Finding]:
    """Two pieces with a seam between them are cut equally often."""
    of_piece = {piece.name: pieces for pieces in _standing_for_one_another(block) for piece in pieces}
    told = set()
    for seam in block.seams:
        sides = (seam.side_a.piece, seam.side_b.piece)
        if not of_piece.keys() >= set(sides) or frozenset(sides) in told:
            continue
        a, b = (sum(piece.cut_left for piece in of_piece[side]) for side in sides)
        if a and b and a != b:
            told.add(frozenset(sides))
            yield Finding(
                "cut-counts-differ",
                Severity.WARNING,
                of_piece[sides[0]][0].place,
                f"{sides[0]} is cut {_times(a)} for a hand, {sides[1]} {_times(b)}; the seam '{seam.name}' joins them.",
                "Equally often: each edge of the one is sewn to one of the other.",
                "Correct the counts; leave them if more of one piece is cut for another use.",
            )


def _standing_for_one_another(block: Block) -> list[list[Piece]]:
    """The pieces in groups that fill one place: 'Thumb left' and 'Thumb right', cut for one hand each."""
    groups: dict[str, list[Piece]] = defaultdict(list)
    for piece in block.pieces:
        words = [word for word in piece.name.casefold().replace("-", " ").split() if word.strip("()") not in HANDS]
        groups[" ".join(words) or piece.name.casefold()].append(piece)
    return list(groups.values())


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


#: The rules for how often pieces are cut, in the order in which their findings are told.
CUTTING_RULES = (_pairs, _sewn_together)
