"""Whether the font of the printed sheets has every character of the names in the tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from grading.drawing.fonts import missing_glyphs
from grading.findings import Finding, Place, Severity
from grading.model.block import Block
from grading.model.sizes import SizeTable
from grading.model.stock import StockTable

__all__ = ["unprintable", "unprintable_stock"]


def unprintable(block: Block, table: SizeTable) -> Iterator[Finding]:
    """A finding for every printed name or text with a character that the font lacks: it would come out as a box."""
    names: dict[str, Place] = {block.name: Place(group=table.group)}
    names |= dict.fromkeys((table.group, *table.sizes), Place(sheet=table.group))
    names |= {name: table.place(name) for name in table.measurements}
    for things in (block.values, block.pieces, block.points, block.edges, block.marks, block.measures, block.seams):
        names |= {thing.name: thing.place for thing in things}
    names |= {text: piece.place for piece in block.pieces for text in (piece.material, piece.pile_arrow, piece.note)}
    names |= {mark.note: mark.place for mark in block.marks}
    for measure in block.measures:
        names[measure.how_to_measure] = measure.place
    for seam_type in block.seam_types:
        names |= dict.fromkeys((seam_type.name, seam_type.stitch, seam_type.needle, seam_type.note), seam_type.place)
    for step in block.making:
        names |= dict.fromkeys((step.what_to_do, step.stitch, step.needle, step.thread, step.note), step.place)
    for instruction in block.work:
        names |= dict.fromkeys((instruction.topic, instruction.text), instruction.place)
    yield from _lacking(names)


def unprintable_stock(table: StockTable) -> Iterator[Finding]:
    """The same for what a batch prints: skins, outworkers and the currency."""
    names = {skin.name: skin.place for skin in table.skins}
    names |= {outworker.name: outworker.place for outworker in table.outworkers}
    names |= {table.terms.currency: Place(sheet="Stock")}
    yield from _lacking(names)


def _lacking(names: Mapping[str, Place]) -> Iterator[Finding]:
    for name, place in names.items():
        missing = missing_glyphs(name)
        if missing:
            yield Finding(
                "character-not-printable",
                Severity.ERROR,
                place,
                f"'{name}' has characters that cannot be printed: {' '.join(missing)}",
                "Letters of the European alphabets, figures and common signs.",
                "Write the name with other characters.",
            )
