"""The sheets that count: pairs of each size, which a maker may change, and the pieces that follow from them."""

from __future__ import annotations

from collections.abc import Mapping

from grading.stock.plan import Plan
from grading.workbooks.book import Area, Bar, BarChart, BookSheet, Content, Formula, Heading, Look, Styled

__all__ = ["Cells", "Sums", "cut_list", "in_dm2", "pairs_sheet", "sums_line", "total_of"]

#: The cell of a figure of each (group, size), as used from another sheet.
Cells = Mapping[tuple[str, str], str]
#: What columns of a table, by their numbers, come to.
Sums = Mapping[int, float | Formula]


def in_dm2(area: float) -> float:
    """mm² as dm², without the noise beyond a millionth."""
    return round(area / 1e4, 6)


def total_of(area: Area, column: int, value: float) -> Formula:
    """A column of a table added up."""
    return Formula(f"=SUM({area.column(column)})", value)


def sums_line(sheet: BookSheet, area: Area, words: str, counts: Sums, figures: Sums) -> None:
    """A line below a table with the sums of some of its columns, and of others what is given as a formula."""
    cells: list[Content] = [words, *[""] * max(*counts, *figures)]
    for sums, look in ((counts, Look.COUNT), (figures, Look.NUMBER)):
        for column, value in sums.items():
            cells[column] = Styled(value if isinstance(value, Formula) else total_of(area, column, value), look)
    sheet.line(cells)


def pairs_sheet(sheet: BookSheet, plan: Plan) -> Cells:
    """How many pairs of each size, how far each is out of what is due, and a chart; where each number stands."""
    sheet.title("Pairs of each size")
    least = f", and {plan.batch.at_least} of every size at least" if plan.batch.at_least else ""
    sheet.note(
        f"Pairs are whole{least}: 'out by' says how many more or less than exactly due each is. Change the pairs in "
        "the boxes: pieces, skins and costs follow. (Lays and bundles do not: plan anew for those.)"
    )
    columns = [
        Heading("Group", width=14),
        Heading("Size", width=10),
        Heading("share of customers, %", Look.NUMBER, 18),
        Heading("exactly due", Look.NUMBER, 10),
        Heading("pairs", Look.INPUT, 10, help="Whole pairs. Pieces, skins and costs follow; lays and bundles do not."),
        Heading("out by", Look.SIGNED, 10),
    ]
    area = sheet.room(len(plan.wanted), len(columns))
    rows: list[list[Content]] = []
    for number, row in enumerate(plan.wanted):
        out_by = Formula(f"={area.cell(number, 4)}-{area.cell(number, 3)}", row.out_by)
        rows.append([row.group, row.size, 100 * row.share, row.exact, row.pairs, out_by])
    sheet.table(columns, rows)
    share, due = sum(100 * row.share for row in plan.wanted), sum(row.exact for row in plan.wanted)
    sums_line(sheet, area, "All sizes", {4: plan.pairs}, {2: share, 3: due})
    sheet.gap()
    sheet.note("Shared out by the method of the largest remainder (Hamilton 1792).")
    told = ", ".join(f"{row.group} {row.size}: {row.pairs}" for row in plan.wanted)
    sheet.chart(_chart(area), f"H{area.top - 1}", width_mm=116, height_mm=90, instead=f"Pairs of each size. {told}.")
    return {(row.group, row.size): area.cell_elsewhere(number, 4) for number, row in enumerate(plan.wanted)}


def _chart(area: Area) -> BarChart:
    bars = Bar(name=area.fixed(-1, 4), labels=area.reference(1), values=area.reference(4), colour="6A6A6A")
    return BarChart("Pairs of each size", (bars,), number_format="0", gap=40)


def cut_list(sheet: BookSheet, plan: Plan, pairs: Cells) -> str:
    """Pieces by size and hand, counted from the pairs; the cell of the area of them all, in dm²."""
    sheet.title("Cut list")
    sheet.note(
        "Counted from the pairs on the sheet Pairs. Cut single layer; the left piece is the mirror image of the "
        "right. The area is that of the cut piece, without its thumb hole."
    )
    columns = [
        Heading("Group", width=14),
        Heading("Size", width=10),
        Heading("Piece", width=16),
        Heading("Hand", width=10),
        Heading("in a pair", Look.COUNT, 9),
        Heading("pieces", Look.COUNT, 9),
        Heading("each, dm²", Look.NUMBER, 11),
        Heading("all, dm²", Look.NUMBER, 11),
    ]
    listed = [
        (row, name, hand, alike)
        for row in plan.wanted
        for name, hand in dict.fromkeys((p.name, p.hand) for p in plan.batch.pieces[row.group, row.size])
        for alike in [[p for p in plan.batch.pieces[row.group, row.size] if (p.name, p.hand) == (name, hand)]]
    ]
    area = sheet.room(len(listed), len(columns))
    rows: list[list[Content]] = []
    for number, (row, name, hand, alike) in enumerate(listed):
        count, each = row.pairs * len(alike), in_dm2(alike[0].area)
        pieces = Formula(f"={pairs[row.group, row.size]}*{area.cell(number, 4)}", count)
        together = Formula(f"={area.cell(number, 5)}*{area.cell(number, 6)}", count * each)
        rows.append([row.group, row.size, name, hand, len(alike), pieces, each, together])
    sheet.table(columns, rows)
    all_pieces = sum(row.pairs * len(alike) for row, _, _, alike in listed)
    whole = sum(row.pairs * len(alike) * in_dm2(alike[0].area) for row, _, _, alike in listed)
    sums_line(sheet, area, "All pieces", {5: all_pieces}, {7: whole})
    return area.cell_elsewhere(area.rows, 7)
