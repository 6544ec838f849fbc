"""The cut list: how many of which piece, from what, and which allowance each edge gets."""

from __future__ import annotations

from collections.abc import Sequence

from grading.engine.cut_lines import CutLoop
from grading.engine.run import SizeRun
from grading.model.block import Edge, SeamType
from grading.model.hands import EITHER
from grading.outputs.spec.figures import LengthRow, in_unit, length_cell, length_column, table_of_lengths
from grading.readings.cut_lines import cut_measures
from grading.units import UNIT_WORDS
from grading.workbooks.book import Book, BookSheet, Content, Formula, Heading, Look, Styled

__all__ = ["cut_list", "cut_pieces"]

_FIRST_SIZE = 5  # the column of the first size in the table of pieces


def cut_list(book: Book, run: SizeRun, unit: str) -> None:
    """Pieces by size and hand for as many pairs as are typed in, and the edges with their seam types."""
    sheet = book.sheet("Cut list", landscape=True, frozen_columns=2)
    sheet.title("Cut list")
    apart = len(run.block.hands) > 1 and run.block.shown.hand != EITHER
    mirrored = ", left and right apart; the left piece is the mirror image of the right" if apart else ""
    sheet.note(
        "Type in the boxes how many of each size are to be made: the pieces are counted from that. Cut single "
        f"layer{mirrored}. The pile arrow says which way the pile runs; on a part that is turned it then runs the "
        "other way, rightly."
    )
    _pieces(sheet, run)
    sheet.gap()
    sheet.note(
        f"Seam types and allowances by edge, {UNIT_WORDS[unit]}. The allowance is laid on outside the sew line and is "
        "the same in every size; at an internal cut-out it goes into the hole. Where a piece has a mirror line, an "
        "edge stands for its image too."
    )
    columns = [
        Heading("Piece"),
        Heading("Edge"),
        Heading("Seam type"),
        length_column("allowance", unit),
        Heading("Stitch", span=2 + len(run.sizes)),
    ]
    sheet.table(columns, [_edge(edge, run.block.seam_type(edge.seam_type), unit) for edge in run.block.edges])


def cut_pieces(book: Book, run: SizeRun, loops: Sequence[CutLoop], unit: str) -> None:
    """What the flat, cut pieces measure, beside the same measure on the sew line."""
    sheet = book.sheet("Cut pieces", frozen_columns=3)
    sheet.title(f"Cut pieces, {UNIT_WORDS[unit]}")
    sheet.note(
        "Pieces laid flat, before sewing: to check a cut piece by. On the cut line a measure has its seam "
        "allowances with it; on the sew line it has none, as the finished measures have none. A cut-out is smaller "
        "on its cut line, since its allowance lies in the hole. Width and height are the greatest there are."
    )
    columns = [Heading("Piece"), Heading("Outline"), Heading("Measure", width=26)]
    sizes = [Heading(size, Look.NUMBER) for size in run.sizes]
    rows: list[LengthRow] = [
        ([measure.piece, measure.loop, f"{measure.name}, {line}"], in_unit(figures, unit).tolist(), [])
        for measure in cut_measures(run, loops)
        for line, figures in (("on the cut line", measure.on_cut_line), ("on the sew line", measure.on_sew_line))
    ]
    table_of_lengths(sheet, (columns, sizes, []), rows, unit, name="Cut pieces")


def _pieces(sheet: BookSheet, run: SizeRun) -> None:
    sizes = len(run.sizes)
    cut = [(piece, hand, count) for piece in run.block.pieces for hand, count in sorted(run.block.cut_for(piece))]
    area = sheet.room(len(cut) + 2, _FIRST_SIZE + sizes + 1)

    def across(row: int, each: int) -> Formula:
        """The sum of a row's sizes, in each of which ``each`` stands at first."""
        span = f"{area.cell(row, _FIRST_SIZE)}:{area.cell(row, _FIRST_SIZE + sizes - 1)}"
        return Formula(f"=SUM({span})", each * sizes)

    boxes = [Styled(1, Look.INPUT)] * sizes
    rows: list[list[Content]] = [["Pairs to make", "", "", "", None, *boxes, across(0, 1)]]
    for row, (piece, hand, count) in enumerate(cut, 1):
        each = area.cell(row, _FIRST_SIZE - 1)
        pairs = (area.cell(0, _FIRST_SIZE + size) for size in range(sizes))
        counts = [Formula(f"={each}*{of_size}", count) for of_size in pairs]
        rows.append([piece.name, hand, piece.material, piece.pile_arrow, count, *counts, across(row, count)])
    in_a_pair = sum(count for _, _, count in cut)
    down = [
        Formula(f"=SUM({area.cell(1, column)}:{area.cell(len(cut), column)})", in_a_pair)
        for column in range(_FIRST_SIZE - 1, _FIRST_SIZE + sizes)
    ]
    rows.append(["Pieces in all", "", "", "", *down, across(len(cut) + 1, in_a_pair)])
    columns = [Heading("Piece", width=16), Heading("Hand", width=20), Heading("Material", width=28)]
    columns += [Heading("Pile arrow", width=18)]
    columns += [Heading(heading, Look.COUNT) for heading in ("in a pair", *run.sizes, "all sizes")]
    sheet.table(columns, rows)
    boxed = f"{area.cell(0, _FIRST_SIZE)}:{area.cell(0, _FIRST_SIZE + sizes - 1)}"
    sheet.choose_number(boxed, "0", "100000", "Type how many pairs of this size are to be made, 0 for none.")


def _edge(edge: Edge, seam_type: SeamType, unit: str) -> list[Content]:
    stitch = "; ".join(text for text in (seam_type.stitch, seam_type.note) if text)
    return [edge.piece, edge.name, edge.seam_type, length_cell(seam_type.allowance, unit), stitch]
