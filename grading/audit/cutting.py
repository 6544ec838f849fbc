"""Audit how often each piece is cut: as often for either hand, as often as what it joins, one way of the pile."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from grading.codes import Code
from grading.findings import Finding
from grading.model.block import PILE_RUNS, Block, Piece
from grading.model.names import name_key, plain_words

__all__ = ["CUTTING_RULES"]

#: Words that tell apart two pieces which stand for one another.
HANDS = ("left", "right")


def _pairs(block: Block) -> Iterator[Finding]:
    """A pair needs each piece as often for the left hand as for the right, over all that stand for one another."""
    for pieces in _standing_for_one_another(block):
        left, right = sum(piece.cut_left for piece in pieces), sum(piece.cut_right for piece in pieces)
        names = " and ".join(piece.name for piece in pieces)
        if left != right:
            yield Finding.error(
                Code.CUT_MAKES_NO_PAIR,
                pieces[0].place,
                f"{names}: {left} cut for a left hand, {right} for a right hand.",
                "As many for either: or one hand of a pair is left over, and the other is short of a piece.",
                "Correct 'Cut left' or 'Cut right'.",
            )
        elif left == 0:
            yield Finding.warning(
                Code.PIECE_NEVER_CUT,
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
        sides = seam.pieces
        if not of_piece.keys() >= set(sides) or frozenset(sides) in told:
            continue
        a, b = (sum(piece.cut_left for piece in of_piece[side]) for side in sides)
        if a and b and a != b:
            told.add(frozenset(sides))
            yield Finding.warning(
                Code.CUT_COUNTS_DIFFER,
                of_piece[sides[0]][0].place,
                f"{sides[0]} is cut {_often(a)} for a hand, {sides[1]} {_often(b)}; the seam '{seam.name}' joins them.",
                "Equally often: each edge of the one is sewn to one of the other.",
                "Correct the counts; leave them if more of one piece is cut for another use.",
            )


def _pile_by_its_ends(block: Block) -> Iterator[Finding]:
    """The pile of a piece runs between ends that the piece has: from cuff to fingers on a hand, not on a thumb."""
    for piece in block.pieces:
        names = {edge.name for edge in block.edges if edge.piece == piece.name}
        names |= {point.name for point in block.points if point.piece == piece.name}
        own = _stems(" ".join(names))
        ends = {run for run in PILE_RUNS if _stems(run) & own}
        if ends and piece.pile_arrow and piece.pile_arrow not in ends:
            yield Finding.warning(
                Code.PILE_OF_ANOTHER_PIECE,
                piece.place,
                f"The pile of {piece.name} runs '{piece.pile_arrow}', and no point or edge of it has such a name.",
                f"{' or '.join(sorted(ends))}.",
                "Correct 'Pile arrow': these words stand beside the arrow on the pattern.",
            )


def _piles_run_alike(block: Block) -> Iterator[Finding]:
    runs = {piece.name: piece.pile for piece in block.pieces if piece.pile and piece.cut_left + piece.cut_right}
    up, down = ([name for name, pile in runs.items() if pile == way] for way in (1, -1))
    if up and down:
        yield Finding.note(
            Code.PILES_RUN_AGAINST_ONE_ANOTHER,
            next(piece.place for piece in block.pieces if piece.name == min(up, down, key=len)[0]),
            f"The pile runs up on {', '.join(up)}, down on {', '.join(down)}.",
            "The same way on every piece: or the mitten strokes and shines unevenly.",
            "Check 'Pile arrow'; leave it if it is meant.",
        )


def _stems(name: str) -> set[str]:
    """The words of a name, several of a thing as one."""
    return {word.strip("'").removesuffix("s") for word in plain_words(name)} - {"to"}


def _standing_for_one_another(block: Block) -> list[list[Piece]]:
    """The pieces in groups that fill one place: 'Thumb left' and 'Thumb right', cut for one hand each."""
    groups: dict[str, list[Piece]] = defaultdict(list)
    for piece in block.pieces:
        words = [word for word in plain_words(piece.name) if word.strip("()") not in HANDS]
        groups[" ".join(words) or name_key(piece.name)].append(piece)
    return list(groups.values())


def _often(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


#: The rules for how often pieces are cut and how their pile runs, in the order in which their findings are told.
CUTTING_RULES = (_pairs, _sewn_together, _pile_by_its_ends, _piles_run_alike)
