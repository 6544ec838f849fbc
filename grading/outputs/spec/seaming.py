"""The sheet of seams: both sides of each walked in every size, their ease, and what balances it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from grading.engine.run import SizeRun
from grading.geometry.arrays import Floats
from grading.model.block import Side
from grading.outputs.spec.figures import LengthRow, in_unit, room_of_lengths, table_of_lengths
from grading.readings.seams import walked_seams
from grading.units import DECIMALS, UNIT_WORDS
from grading.workbooks.book import Area, Book, Content, Formula, Heading, Look

__all__ = ["seams"]

#: Seam ease is held to its bounds to within this, mm.
_CLOSE = 0.01
_WORDS = (Heading("Seam"), Heading("Size", width=6))
_LENGTHS = (
    Heading("side A", Look.NUMBER, 6.5),
    Heading("side B", Look.NUMBER, 6.5),
    Heading("ease", Look.FINE),
    Heading("least ease", Look.FINE),
    Heading("target ease", Look.FINE),
    Heading("most ease", Look.FINE),
)
_OTHERS = (Heading("% of B", Look.FINE, 7), Heading("balanced by"), Heading("solved at", Look.FINE, 8))
_SIDES, _EASE, _LEAST, _MOST = (2, 3), 4, 5, 7


@dataclass(frozen=True, eq=False)
class _SeamRows:
    """What a seam's rows show, in the unit shown: ``sides`` (2, sizes) and the least, target and most ease (3, sizes).

    ``parts`` are the first rows of the seams that it is the sum of, if it is one.
    """

    name: str
    sides: Floats
    asked: Floats
    driver: str = ""
    solved: Floats | None = None
    parts: Sequence[int] = ()


def seams(book: Book, run: SizeRun, unit: str) -> None:
    """Every seam in every size; then, for each balance value, all the seams together that it balances."""
    # Upright, the seams of a common block stand on one page; sixteenths of an inch take more room.
    sheet = book.sheet("Seams", landscape=unit == "in", frozen_columns=2)
    sheet.title(f"Seams, {UNIT_WORDS[unit]}")
    sheet.note(
        "Both sides of every seam, walked on the sew lines. Seam ease is side A less side B: what has to be eased in "
        "when sewing; below zero, side A is too short. Marked: outside what the block asks. A balance value is solved "
        "for each size, so that all the seams it balances come to their target together."
    )
    sheet.note(
        " ".join(
            f"{seam.name}: A is {_edges_of(seam.side_a)}; B is {_edges_of(seam.side_b)}." for seam in run.block.seams
        )
    )
    shown = _shown(run, unit)
    area = room_of_lengths(sheet, len(shown) * len(run.sizes), len(_WORDS) + len(_LENGTHS), unit)
    rows: list[LengthRow] = []
    for seam in shown:
        rows += _rows(area, len(rows), seam, run.sizes)
    area = table_of_lengths(sheet, (_WORDS, _LENGTHS, _OTHERS), rows, unit, name="Seams")
    if rows:
        ease, least, most = (area.cell(0, column) for column in (_EASE, _LEAST, _MOST))
        close = f"{float(in_unit(_CLOSE, unit)):g}"
        short = f"AND(ISNUMBER({least}),{ease}<{least}-{close})"
        long = f"AND(ISNUMBER({most}),{ease}>{most}+{close})"
        sheet.flag(area.column(_EASE), f"OR({short},{long})")


def _shown(run: SizeRun, unit: str) -> list[_SeamRows]:
    solved = {balance.driver: np.round(in_unit(balance.solved, unit), DECIMALS[unit] + 1) for balance in run.balances}
    shown: list[_SeamRows] = []
    for walked in walked_seams(run):
        sides = in_unit(np.array([walked.side_a, walked.side_b]), unit)
        asked = in_unit(np.array([walked.least, walked.target, walked.most]), unit)
        driver = walked.seam.balance if walked.seam.balance in solved else ""
        shown.append(_SeamRows(walked.seam.name, sides, asked, driver, solved.get(driver)))
    for balance in run.balances:
        parts = [index for index, seam in enumerate(run.block.seams) if seam.name in balance.seams]
        if len(parts) > 1:
            sides = np.sum([shown[part].sides for part in parts], axis=0)
            asked = np.sum([shown[part].asked for part in parts], axis=0)
            first_rows = [part * len(run.sizes) for part in parts]
            name = f"all by {balance.driver}"
            shown.append(_SeamRows(name, sides, asked, balance.driver, solved[balance.driver], first_rows))
    return shown


def _rows(area: Area, first: int, seam: _SeamRows, sizes: Sequence[str]) -> list[LengthRow]:
    """A row for each size; the first of them is row ``first`` of the table, counted from 0."""
    rows: list[LengthRow] = []
    for index, size in enumerate(sizes):
        a, b = seam.sides[:, index].tolist()
        sides: list[Content] = [a, b]
        if seam.parts:
            sums = ["+".join(area.cell(part + index, column) for part in seam.parts) for column in _SIDES]
            sides = [Formula(f"={text}", value) for text, value in zip(sums, (a, b), strict=True)]
        cell_a, cell_b, ease = (area.cell(first + index, column) for column in (*_SIDES, _EASE))
        rows.append(
            (
                [seam.name, size],
                [
                    *sides,
                    Formula(f"={cell_a}-{cell_b}", a - b),
                    *(None if np.isnan(value) else value for value in seam.asked[:, index].tolist()),
                ],
                [
                    Formula(f"=100*{ease}/{cell_b}", 100 * (a - b) / b),
                    seam.driver,
                    None if seam.solved is None else float(seam.solved[index]),
                ],
            )
        )
    return rows


def _edges_of(side: Side) -> str:
    return f"{side.piece}: {', '.join(side.edges)}"
