"""Audit the seams of a block as they are written: every edge that is sewn is sewn once, to an edge made like it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import groupby, pairwise

from grading.codes import Code
from grading.findings import Finding, Place
from grading.geometry.outlines import image
from grading.model.block import Block, Edge, Kind, Seam, Side, drawn_by_half
from grading.model.mark_kinds import MARK_KINDS
from grading.model.names import plain_words

__all__ = ["SEAM_RULES"]

#: How a stitch is written that is none.
NO_STITCH = ("", "none", "-", "–", "no")
#: The sheets without which checks are off, and which.
NEEDED = {
    "Seams": "whether the thumb fits its hole, whether sides that are sewn together are equally long, and the ticks "
    "that meet",
    "Limits": "whether the hand can get in, whether there is room for the material, and whether any allowance was "
    "typed in another unit",
    "Marks": "whether turned parts fit the body under them and stay clear of the hole",
}

#: Marks, strokes, and the share of a seam without ease, more than which a maker could not use. Common practice.
MOST_MARKS, MOST_STROKES, MOST_WITHOUT = 12, 4, 0.6

#: An edge as it is sewn: its piece, and its name, with a stroke for the image of a mirrored one.
_Sewn = tuple[str, str]


def _missing_sheets(block: Block) -> Iterator[Finding]:
    for sheet, rows in (("Seams", block.seams), ("Limits", block.limits), ("Marks", block.marks)):
        if not rows:
            yield Finding.warning(
                Code.SHEET_WITHOUT_ROWS,
                Place(block.values[0].place.workbook if block.values else "", sheet),
                f"The block has no {sheet.lower()}.",
                f"Rows on the sheet {sheet}: without them nobody checks {NEEDED[sheet]}.",
                "Fill in the sheet; 'grading draft' writes one to start from.",
            )


def _sewn_to_itself(block: Block) -> Iterator[Finding]:
    for seam in block.seams:
        twice = set(_edges_of(seam.side_a)) & set(_edges_of(seam.side_b))
        for piece, edge in sorted(twice):
            yield Finding.error(
                Code.EDGE_SEWN_TO_ITSELF,
                seam.place,
                f"The seam '{seam.name}' sews {edge} of {piece} to itself.",
                f"Another edge, or its image beyond the mirror line, {edge.removesuffix(chr(39))}'.",
                "Correct side A or side B.",
            )


def _sewn_twice(block: Block) -> Iterator[Finding]:
    """What is folded double may be sewn on with both its edges."""
    double = {mark.piece for mark in block.marks if MARK_KINDS[mark.kind].doubles}
    users: dict[_Sewn, list[Seam]] = defaultdict(list)
    for seam in block.seams:
        for edge in dict.fromkeys((*_edges_of(seam.side_a), *_edges_of(seam.side_b))):
            users[edge].append(seam)
    for (piece, name), seams in users.items():
        others = {side.piece for seam in seams for side in seam.sides} - {piece}
        if len(seams) > (2 if len(others) == 1 and others <= double else 1):
            names = " and ".join(f"'{seam.name}'" for seam in seams)
            yield Finding.warning(
                Code.EDGE_IN_TWO_SEAMS,
                seams[1].place,
                f"{name} of {piece} is sewn in {names}.",
                "Once: the other half, or another edge, is probably meant in one of them.",
                "Correct the sides; leave it if three layers are sewn together there.",
            )


def _sewn_to_nothing(block: Block) -> Iterator[Finding]:
    """An edge whose seam type joins two edges elsewhere is in some seam itself; a hem or a binding joins none."""
    if not block.seams:
        return
    drawn = _edges_by_name(block)
    sewn = {edge for seam in block.seams for side in seam.sides for edge in _edges_of(side)}
    joining = {drawn[edge].seam_type for edge in sewn if edge in drawn}
    joining -= {kind.name for kind in block.seam_types if not _stitched(kind.stitch)}
    pieces = {piece.name: piece for piece in block.pieces}
    for edge in block.edges:
        if edge.seam_type not in joining:
            continue
        loop = [one for one in block.edges if (one.piece, one.loop) == (edge.piece, edge.loop)]
        halves = [edge.name, image(edge.name)] if drawn_by_half(pieces[edge.piece], loop) else [edge.name]
        loose = [name for name in halves if (edge.piece, name) not in sewn]
        if loose:
            yield Finding.warning(
                Code.EDGE_IN_NO_SEAM,
                edge.place,
                f"{' and '.join(loose)} of {edge.piece}: '{edge.seam_type}', but in no seam.",
                "A row on the sheet Seams that says what it is sewn to: or nobody checks that the two fit.",
                "Add the seam, or give the edge the seam type of one that is left as cut.",
            )


def _sewn_without_stitch(block: Block) -> Iterator[Finding]:
    stitches = {kind.name: kind.stitch for kind in block.seam_types}
    drawn = _edges_by_name(block)
    first_seam: dict[Edge, Seam] = {}
    for seam in block.seams:
        for sewn in (*_edges_of(seam.side_a), *_edges_of(seam.side_b)):
            if sewn in drawn:
                first_seam.setdefault(drawn[sewn], seam)
    for edge, seam in first_seam.items():
        stitch = stitches.get(edge.seam_type, "")
        if stitch.strip() and not _stitched(stitch):
            yield Finding.warning(
                Code.SEWN_WITHOUT_STITCH,
                edge.place,
                f"{edge.name} of {edge.piece} is sewn in '{seam.name}', but its seam type '{edge.seam_type}' has no "
                "stitch.",
                "A seam type that is sewn.",
                "Correct the edge's seam type, or take it out of the seam.",
            )


def _allowances_differ(block: Block) -> Iterator[Finding]:
    """Two sides that are sewn together have the same allowance, edge by edge: or their cut edges do not meet."""
    drawn, mm = _edges_by_name(block), {kind.name: kind.allowance for kind in block.seam_types}
    for seam in block.seams:
        types = ([drawn[edge].seam_type for edge in _edges_of(side) if edge in drawn] for side in seam.sides)
        a, b = ([width for width, _ in groupby(mm.get(kind, 0.0) for kind in of_side)] for of_side in types)
        if a != b:
            yield Finding.warning(
                Code.SEAM_ALLOWANCES_DIFFER,
                seam.place,
                f"Sewn in '{seam.name}', side A has an allowance of {_in_words(a)} mm, side B of {_in_words(b)} mm.",
                "The same on both sides: the cut edges are laid on one another to be sewn.",
                "Give the edges of both sides the same seam type; leave it if one side is to lap over the other.",
            )


def _allowance_steps(block: Block) -> Iterator[Finding]:
    """One line of stitches goes on from an edge to the next, sewn to its own image too: so does the allowance."""
    mm = {kind.name: kind.allowance for kind in block.seam_types}
    to_its_image = {
        (piece, name.removesuffix("'"))
        for seam in block.seams
        for piece, name in _edges_of(seam.side_a)
        if (piece, image(name)) in _edges_of(seam.side_b)
    }
    for one, other in pairwise(block.edges):
        if (one.piece, one.loop, one.points[-1]) != (other.piece, other.loop, other.points[0]):
            continue
        widths = [mm.get(edge.seam_type, 0.0) for edge in (one, other)]
        if {(edge.piece, edge.name) for edge in (one, other)} <= to_its_image and widths[0] != widths[1]:
            yield Finding.note(
                Code.SEAM_ALLOWANCE_STEPS,
                other.place,
                f"At {other.points[0]} of {one.piece} the allowance goes from {widths[0]:g} to {widths[1]:g} mm: "
                f"{one.name} is '{one.seam_type}', {other.name} '{other.seam_type}'.",
                "The same allowance where the seam goes on: or the cut edge has a step there.",
                "Check both seam types; leave them if the seam is made otherwise from there on.",
            )


def _wrong_half(block: Block) -> Iterator[Finding]:
    """A seam that is named for one half of a loop has that half among its edges, and not only the other."""
    drawn = _edges_by_name(block)
    for seam in block.seams:
        said = set(plain_words(seam.name))
        for side in seam.sides:
            for edge in (drawn[one] for one in _edges_of(side) if one in drawn):
                for other in block.edges:
                    if (other.piece, other.loop) != (edge.piece, edge.loop) or other.name in side.edges:
                        continue
                    words, others = set(plain_words(edge.name)), set(plain_words(other.name))
                    own, others = words - others, others - words
                    if len(own) == len(others) == 1 and others <= said and not own <= said:
                        yield Finding.warning(
                            Code.WRONG_HALF,
                            seam.place,
                            f"The seam '{seam.name}' sews {edge.name} of {edge.piece}.",
                            f"By its name, {other.name}.",
                            "Correct the side, or the name of the seam.",
                        )


def _balances_nothing(block: Block) -> Iterator[Finding]:
    """A balance value is solved to hold a seam's ease; one that no seam names stands still in every size."""
    named = {seam.balance for seam in block.seams}
    # Where the sheet is missing altogether, that is told.
    for value in block.values if block.seams else ():
        if value.kind is Kind.BALANCE and value.name not in named:
            yield Finding.error(
                Code.BALANCE_OF_NO_SEAM,
                value.place,
                f"{value.name} is a balance value, but no seam is balanced by it.",
                "It is worked out for each size to hold a seam's ease: so it would stay as drafted in all.",
                "Make its Kind body or allowance, or name it under 'Balance by' on the sheet Seams.",
            )


def _marks_too_many(block: Block) -> Iterator[Finding]:
    """Matching marks are counted by hand and eye, and leave the seam some length to ease in."""
    for seam in block.seams:
        if seam.matching > MOST_MARKS or seam.strokes > MOST_STROKES or not 0 <= seam.without_ease <= MOST_WITHOUT:
            yield Finding.warning(
                Code.MATCHING_MARKS_UNUSUAL,
                seam.place,
                f"'{seam.name}' asks for {seam.matching} matching marks of {seam.strokes} strokes, and no ease along "
                f"{seam.without_ease:g} of it.",
                f"At most {MOST_MARKS} marks, {MOST_STROKES} strokes, and no ease along at most {MOST_WITHOUT:g}.",
                "Check the three figures.",
            )


def _edges_of(side: Side) -> list[_Sewn]:
    return [(side.piece, name) for name in side.edges]


def _edges_by_name(block: Block) -> dict[_Sewn, Edge]:
    """The edges of a block as they are drawn, each by itself as it is sewn and by its image."""
    return {(edge.piece, name): edge for edge in block.edges for name in (edge.name, image(edge.name))}


def _stitched(stitch: str) -> bool:
    return " ".join(plain_words(stitch)) not in NO_STITCH


def _in_words(allowances: list[float]) -> str:
    return ", then ".join(f"{mm:g}" for mm in allowances) or "no"


#: The rules for seams as they are written, in the order in which their findings are told.
SEAM_RULES = (
    _balances_nothing,
    _missing_sheets,
    _sewn_to_itself,
    _sewn_twice,
    _sewn_to_nothing,
    _sewn_without_stitch,
    _allowances_differ,
    _allowance_steps,
    _wrong_half,
    _marks_too_many,
)
