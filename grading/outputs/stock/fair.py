"""The workbook for a fair: what was brought, sold and asked for in vain, and the shares of the next batch from it."""

from __future__ import annotations

from dataclasses import dataclass

from grading.model.stock import Sold
from grading.sheets.stock_sheets import NEXT_SHARES, PAST_SALES
from grading.sheets.writing import add_sheet
from grading.stock.demand import BY_HANDS, Market
from grading.stock.fairs import asked_for
from grading.stock.plan import Plan
from grading.workbooks.book import Area, Book, BookSheet, Content, Formula, Heading, Look, Styled

__all__ = ["fair_workbook"]

#: Where a row of past sales has its group, what was sold, and what was asked for in vain.
_GROUP, _SOLD, _ASKED = 0, 3, 4


@dataclass(frozen=True, slots=True)
class _Group:
    """A group's cells on the sheet of shares: all pairs asked for, what its hands count as, and its next share."""

    in_all: str
    hands: str
    share: str


def fair_workbook(plan: Plan, *, run_id: str) -> bytes:
    """The pairs of the batch as brought, with places for the rest, and the shares that follow, as formulas.

    Its first sheet is read as it stands, by ``--fair`` or put among the past sales of the stock table.
    """
    terms = plan.batch.table.terms
    day = f"{terms.needed_by.isoformat()}, " if terms.needed_by else ""
    book = Book("Fair", subject="What was sold", run_id=run_id, day=terms.hand_out_on, decimals=1)
    rows = [Sold(row.group, row.size, None, None, row.pairs, f"{day}batch {run_id}") for row in plan.wanted]
    _, sold = add_sheet(book, PAST_SALES, rows)
    _shares(book.sheet(NEXT_SHARES, landscape=True), plan, sold)
    return book.to_bytes()


def _shares(sheet: BookSheet, plan: Plan, sold: Area) -> None:
    markets = plan.batch.markets
    sheet.title("Shares for the next batch")
    sheet.note(
        "Fill in the sheet Past sales, and these shares follow. Give the file to 'grading stock' behind "
        "--fair, or copy its rows to the sheet Past sales of your stock table, and the next batch is planned from "
        "them. Every pair that was sold or asked for in vain counts as one; the hands of all groups that a fair tells "
        "of count as so many pairs together:"
    )
    count = f"$B${sheet.next_row}"
    sheet.line(["Hands count as, pairs", Styled(plan.batch.table.terms.hands_count, Look.INPUT)])
    sheet.gap()
    groups = _groups(sheet, plan, sold, count)
    sheet.gap()
    columns = [
        Heading("Group", width=24),
        Heading("Size", width=9),
        Heading("by hands, %", Look.NUMBER, 10),
        Heading("at fairs before", Look.COUNT, 10),
        Heading("at this fair", Look.COUNT, 10),
        Heading("next, % of its group", Look.NUMBER, 12),
        Heading("next, % of all", Look.NUMBER, 10),
    ]
    area = sheet.room(sum(len(market.run.sizes) for market in markets), len(columns))
    rows: list[list[Content]] = []
    places = {(row.group, row.size): number for number, row in enumerate(plan.wanted)}
    for market in markets:
        before = _before(plan, market)
        for size, hand, past, after in zip(market.run.sizes, market.sizes_before, before, market.sizes, strict=True):
            row, c = places[market.group, size], len(rows)
            cells, at = groups[market.group], [area.cell(c, column) for column in range(len(columns))]
            now = f"={sold.fixed(row, _SOLD)}+{sold.fixed(row, _ASKED)}"
            mixed = f"({cells.hands}*{at[2]}/100+{at[3]}+{at[4]})/({cells.hands}+{cells.in_all})*100"
            next_share = Formula(f"=IF({cells.in_all}=0,{at[2]},{mixed})", 100 * float(after))
            of_all = Formula(f"={at[5]}*{cells.share}/100", 100 * float(after) * market.share)
            rows.append([market.group, size, 100 * float(hand), past, Formula(now, 0), next_share, of_all])
    sheet.table(columns, rows)
    sheet.gap()
    sheet.note(
        "A share is the mean of a Dirichlet distribution: prior the hands, counts the fairs' pairs (Gelman and others, "
        "Bayesian Data Analysis, 3rd edition, section 3.4)."
    )


def _groups(sheet: BookSheet, plan: Plan, sold: Area, count: str) -> dict[str, _Group]:
    """The table of groups."""
    markets = plan.batch.markets
    columns = [
        Heading("Group", width=24),
        Heading("share before, %", Look.NUMBER, 9),
        Heading("at fairs before", Look.COUNT, 10),
        Heading("at this fair", Look.COUNT, 10),
        Heading("in all", Look.COUNT, 10),
        Heading("its hands count as", Look.NUMBER, 12),
        Heading("next share, %", Look.NUMBER, 10),
        Heading("fairs weigh, %", Look.NUMBER, 10),
    ]
    area = sheet.room(len(markets), len(columns))
    in_all = _fixed(area, 4)
    shares = _fixed(area, 1)
    together = f"SUMPRODUCT(({in_all}>0)*{shares})"
    before = {market.group: sum(_before(plan, market)) for market in markets}
    told = sum(market.share_before for market in markets if before[market.group])
    rows: list[list[Content]] = []
    for row, market in enumerate(markets):
        c = [area.cell(row, column) for column in range(len(columns))]
        past, known = before[market.group], market.by == BY_HANDS
        of_group = f"{sold.reference(_GROUP)}={c[0]}"
        now = f"=SUMPRODUCT(({of_group})*({sold.reference(_SOLD)}+{sold.reference(_ASKED)}))"
        counted = plan.batch.table.terms.hands_count * market.share_before / told if past else 0.0
        # Where hands are not known they count for the group's share, and not for that of its sizes.
        hands = Formula(f"=IF({c[4]}=0,0,{count}*{c[1]}/{together})", counted)
        next_share = f"=IF({c[4]}=0,{c[1]},{together}*({c[5]}+{c[4]})/({count}+SUM({in_all})))"
        own = c[5] if known else "0"
        weight = Formula(f"=IF({c[4]}=0,0,{c[4]}/({own}+{c[4]})*100)", 100 * market.fairs)
        facts: list[Content] = [market.group, 100 * market.share_before, past, Formula(now, 0)]
        total = Formula(f"={c[2]}+{c[3]}", past)
        rows.append([*facts, total, hands, Formula(next_share, 100 * market.share), weight])
    sheet.table(columns, rows)
    return {
        market.group: _Group(
            in_all=area.fixed(row, 4),
            hands=area.fixed(row, 5) if market.by == BY_HANDS else "0",
            share=area.fixed(row, 6),
        )
        for row, market in enumerate(markets)
    }


def _fixed(area: Area, column: int) -> str:
    """All cells of a column, as used on its own sheet, which a copied formula keeps to."""
    return area.reference(column).split("!")[1]


def _before(plan: Plan, market: Market) -> list[int]:
    return asked_for(plan.batch.table.sold, market.group, market.run.sizes)
