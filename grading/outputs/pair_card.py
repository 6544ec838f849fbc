"""The card of a customer whose two hands differ: one card to work by, both hands side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from grading.drawing.marks import Drawing
from grading.drawing.pages import PlainFrame, TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.engine.run import SizeRun
from grading.outputs.cards import card
from grading.outputs.size_sheet import (
    PICTURE,
    Section,
    SizeRow,
    SizeSheet,
    decimals,
    letters,
    shown_figure,
    size_sheets,
)
from grading.outputs.sketch import sketches
from grading.readings.targets import Target, targets
from grading.units import UNIT_WORDS, said_in

__all__ = ["PAIR_CARD", "pair_card", "pair_sheet"]

#: The name of its file: that of the card of a pair whose hands are alike.
PAIR_CARD = "spec-cards.pdf"

#: Between the pictures of the two hands, mm, and what part of the height of one as wide as the sheet they need.
_BETWEEN, _HEIGHT = 4.0, 0.75


def pair_card(left: SizeRun, right: SizeRun, name: str, printing: Printing, *, run_id: str, unit: str) -> bytes:
    """The card as a PDF file; ``left`` and ``right`` are the hands of a pair called ``name``, each graded alone.

    Its steps are drawn of the right hand.
    """
    block = right.block
    title = TitleBlock(
        "card", block.name, name, hand="both hands", face=block.shown.face, scale="", date=block.date, run=run_id
    )
    frame = PlainFrame(printing.not_cut_to_fit().upright(), replace(title, size=right.sizes[0]))
    content = pair_sheet(left, right, name, run_id=run_id, unit=unit)
    about = About(content.title, subject=f"Spec card, run {run_id}", keywords=("mitten", "spec sheet", name, run_id))
    return pdf_bytes(numbered(card(content, frame, unit)), about)


def pair_sheet(left: SizeRun, right: SizeRun, name: str, *, run_id: str, unit: str) -> SizeSheet:
    """What the card says: the figures of both hands beside one another, and how many pieces are cut of each pattern."""
    one, other = (size_sheets(run, run_id=run_id, unit=unit)[0] for run in (left, right))
    of_left, of_right = (targets(run, unit)[0] for run in (left, right))
    measures = [target.measure for target in of_right]
    named = letters(right.block, measures)

    def picture(height: float) -> Drawing:
        """Both with the letters of their measures: the figures stand in the table."""
        width = (PICTURE[0] - _BETWEEN) / 2
        drawn = sketches([left, right], 0, list(zip(named, measures, strict=True)), width, _HEIGHT * height)
        up = height - _HEIGHT * height
        return drawn[0].moved(0, up) + drawn[1].moved(width + _BETWEEN, up)

    return replace(
        other,
        title=f"{right.block.name} · {name} · both hands",
        picture=picture,
        in_words=f"{one.in_words} {other.in_words}",
        measures=_measures(named, of_left, of_right, unit),
        cut=_cut(one.cut, other.cut),
    )


def _measures(named: Sequence[str], left: Sequence[Target], right: Sequence[Target], unit: str) -> Section:
    """The figure of each hand, with the least and the most that passes below it."""
    rows = []
    for letter, *both in zip(named, left, right, strict=True):
        bounds = ([shown_figure(value, unit) for value in target.bounds] for target in both)
        measure = both[0].measure
        rows.append(
            SizeRow(
                letter,
                said_in(unit, measure.name),
                tuple(target.shown[0] for target in both),
                decimals(both, unit) + said_in(unit, measure.how_to_measure),
                below=tuple(f"{least}–{most}" for least, _, most in bounds),
            )
        )
    words = f"How to measure; figures in {UNIT_WORDS[unit]}. Below each figure: it passes from least to most."
    return Section(("Letter", "Finished measure", "left hand", "right hand", "", words), tuple(rows), "Measures")


def _cut(left: Section, right: Section) -> Section:
    """How many pieces are cut for each hand, by the pattern of that hand."""
    rows: list[SizeRow] = []
    for one, other in zip(left.rows, right.rows, strict=True):
        counts = tuple(sum(count or 0 for count in both) for both in zip(one.figures, other.figures, strict=True))
        rows.append(replace(other, figures=counts))
    words = "From what: single layer, each hand by its own pattern"
    return Section(("", "Cut for this pair", "left", "right", "", words), tuple(rows))
