"""The sheets that cost: skins at their price, and a pair of each size with its skin, work, price and margin."""

from __future__ import annotations

import math
from dataclasses import dataclass

from grading.model.stock import PER_SKIN, SkinKind, Work, most_particular
from grading.outputs.stock.counts import Cells, Sums, in_dm2, sums_line, total_of
from grading.stock.plan import Plan
from grading.units import MM2_PER
from grading.workbooks.book import Area, BookSheet, Content, Formula, Heading, Look, Styled

__all__ = ["Rates", "costs_sheet", "skins_sheet"]


@dataclass(frozen=True, slots=True)
class Rates:
    """The cells, as used from another sheet, of what 1 dm² of piece costs: the skin in it, and the skin lost by it."""

    used: str
    lost: str


def skins_sheet(sheet: BookSheet, plan: Plan, pieces: str) -> Rates:
    """Skins by kind, and what follows from them; ``pieces`` is the cell of the pieces' area in dm²."""
    money = plan.batch.table.terms.currency
    sheet.title("Skins to use and to buy")
    sheet.note(
        "Change a price in its box and the costs follow. A skin that is cut into counts in full. The last lines say "
        "how many skins other numbers of pairs would take, if as much of each were used as in this plan."
    )
    columns = [
        Heading("Skin", width=34),
        Heading("on hand", Look.COUNT, 9),
        Heading("used of those", Look.COUNT, 9),
        Heading("to buy", Look.COUNT, 9),
        Heading("whole, dm²", Look.NUMBER, 11),
        Heading("usable, dm²", Look.NUMBER, 11),
        Heading("Price per", width=10),
        Heading(f"price, {money}", Look.INPUT, 11, help="Of one of what stands at its left; the costs follow."),
        Heading("of those in a skin", Look.NUMBER, 11),
        Heading(f"cost, {money}", Look.NUMBER, 12),
    ]
    kinds = [kind for kind in plan.batch.table.skins if any(lay.skin.kind is kind for lay in plan.lays)]
    area = sheet.room(len(kinds), len(columns))
    rows: list[list[Content]] = []
    count = skins = whole = usable = 0.0
    for row, kind in enumerate(kinds):
        own = [lay for lay in plan.lays if lay.skin.kind is kind]
        to_buy = sum(lay.skin.to_buy for lay in own)
        per, amount = _priced(kind, own[0].skin.edge.area)
        cost = Formula(
            f"=({area.cell(row, 2)}+{area.cell(row, 3)})*{area.cell(row, 7)}*{area.cell(row, 8)}",
            len(own) * kind.price * amount,
        )
        edge, inner = in_dm2(own[0].skin.edge.area), in_dm2(own[0].usable)
        rows.append([kind.name, kind.count, len(own) - to_buy, to_buy, edge, inner, per, kind.price, amount, cost])
        count, skins = count + len(own), skins + len(own) * kind.price * amount
        whole, usable = whole + len(own) * edge, usable + len(own) * inner
    sheet.table(columns, rows)
    first, last = area.top, area.top + area.rows - 1
    numbers = f"C{first}:C{last}", f"D{first}:D{last}"
    planned = in_dm2(plan.skins.pieces)

    def times(column: str) -> str:
        return "+".join(f"SUMPRODUCT({part},{column}{first}:{column}{last})" for part in numbers)

    sheet.gap()
    lines: list[tuple[str, float | Formula]] = [
        ("Skins in this plan", Formula(f"=SUM({numbers[0]})+SUM({numbers[1]})", count)),
        (f"What they cost, {money}", total_of(area, 9, skins)),
        ("Their whole area, dm²", Formula(f"={times('E')}", whole)),
        ("Their usable area, dm²", Formula(f"={times('F')}", usable)),
        ("Pieces in this plan, dm²", planned),
    ]
    top = sheet.next_row
    at = {number: f"B{top + number}" for number in range(len(lines) + 5)}
    share = planned / usable
    lines += [
        ("Used of the usable area, %", Formula(f"={at[4]}/{at[3]}*100", share * 100)),
        (f"Skin in 1 dm² of piece, {money}", Formula(f"={at[1]}/{at[2]}", skins / whole)),
        (
            f"Skin lost by 1 dm² of piece, {money}",
            Formula(f"={at[1]}/{at[4]}-{at[6]}", skins / planned - skins / whole),
        ),
        ("Pieces for the pairs now on the sheet Pairs, dm²", Formula(f"={pieces}", planned)),
        (
            "Skins that those would take",
            # A hair less, so that rounding noise in an even number does not cost a skin.
            Formula(f"=ROUNDUP({at[8]}/{at[4]}*{at[0]}-0.001,0)", math.ceil(count - 0.001)),
        ),
    ]
    for text, content in lines:
        sheet.line([text, Styled(content, Look.COUNT if text.startswith("Skins") else Look.NUMBER)])
    figures = Area(sheet.name, top, 2, len(lines), 1)
    return Rates(used=figures.fixed(6, 0), lost=figures.fixed(7, 0))


#: What is told of the boxes of the costs while one is chosen.
_TO_FILL_IN = {
    "minutes": "What the work on a pair takes, cutting and sewing.",
    "rate an hour": "What an hour of that work is paid.",
    "piece rate": "What a pair is paid in place of its minutes; blank: it is paid by the hour.",
    "other": "What else a pair costs: thread, label, packing.",
    "selling price": "What a pair is sold for; takings and margins follow.",
}


def _priced(kind: SkinKind, area: float) -> tuple[str, float]:
    """What a kind's price is for, and how many of those a skin of that area (mm²) has."""
    if kind.priced_area is None:
        return PER_SKIN, 1.0
    unit = next(name for name, size in MM2_PER.items() if math.isclose(float(size), kind.priced_area))
    return unit, area / kind.priced_area


def costs_sheet(sheet: BookSheet, plan: Plan, pairs: Cells, rates: Rates) -> tuple[Cells, str]:
    """The costs and the margin of a pair and of the batch, by size.

    The cells of what a pair's work is paid, and that of what the whole batch's is.
    """
    money = plan.batch.table.terms.currency
    sheet.title(f"Costs and margin, {money}")
    sheet.note(
        "Change minutes, rates, other costs and selling prices in their boxes. A piece rate is paid in place of the "
        "hours where it is filled in. Skin used is the price of the pieces' own area, skin lost that of flaws, edges "
        "and what lies between pieces: a larger pair bears more of both. No rent, no taxes, no unpaid hours."
    )
    headings = [("Group", Look.TEXT, 10), ("Size", Look.TEXT, 6.5), ("pairs", Look.COUNT, 6.5)]
    headings += [("a pair, dm²", Look.NUMBER, 7), ("skin used", Look.NUMBER, 7), ("skin lost", Look.NUMBER, 7)]
    headings += [("minutes", Look.INPUT, 8), ("rate an hour", Look.INPUT, 7), ("piece rate", Look.INPUT, 7)]
    headings += [("work", Look.NUMBER, 8.5), ("other", Look.INPUT, 7), ("cost of a pair", Look.NUMBER, 8)]
    headings += [("selling price", Look.INPUT, 8), ("margin of a pair", Look.NUMBER, 8), ("margin, %", Look.NUMBER, 8)]
    headings += [("cost of all", Look.NUMBER, 9.5), ("takings", Look.NUMBER, 9.5), ("margin of all", Look.NUMBER, 9.5)]
    area = sheet.room(len(plan.sizes), len(headings))
    rows: list[list[Content]] = []
    for number, row in enumerate(plan.sizes):
        c = [area.cell(number, column) for column in range(len(headings))]
        work = most_particular(plan.batch.table.work, row.group, row.size) or Work("", "", 0.0, 0.0, None)
        rows.append(
            [
                row.group,
                row.size,
                Formula(f"={pairs[row.group, row.size]}", row.pairs),
                in_dm2(row.area),
                Formula(f"={c[3]}*{rates.used}", row.used),
                Formula(f"={c[3]}*{rates.lost}", row.lost),
                row.minutes,
                work.rate,
                work.piece_rate,
                Formula(f'=ROUND(IF({c[8]}="",{c[6]}/60*{c[7]},{c[8]}),2)', row.work),
                row.other,
                Formula(f"={c[4]}+{c[5]}+{c[9]}+{c[10]}", row.cost),
                row.price,
                Formula(f"={c[12]}-{c[11]}", row.margin),
                Formula(f"=IF({c[12]}=0,0,{c[13]}/{c[12]}*100)", row.margin / row.price * 100 if row.price else 0.0),
                Formula(f"={c[2]}*{c[11]}", row.pairs * row.cost),
                Formula(f"={c[2]}*{c[12]}", row.pairs * row.price),
                Formula(f"={c[2]}*{c[13]}", row.pairs * row.margin),
            ]
        )
    sheet.table([Heading(name, look, width, help=_TO_FILL_IN.get(name, "")) for name, look, width in headings], rows)
    in_all = f"=SUMPRODUCT({area.column(2)},{area.column(9)})"
    work_in_all = Formula(in_all, sum(row.pairs * row.work for row in plan.sizes))
    figures: Sums = {9: work_in_all, 15: plan.cost, 16: plan.takings, 17: plan.takings - plan.cost}
    sums_line(sheet, area, "All sizes", {2: plan.pairs}, figures)
    each = {(row.group, row.size): area.cell_elsewhere(number, 9) for number, row in enumerate(plan.sizes)}
    return each, area.cell_elsewhere(area.rows, 9)
