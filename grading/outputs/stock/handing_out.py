"""The sheets of handing out: every bundle, what all outworkers have and are paid, and a sheet for each to sign."""

from __future__ import annotations

from collections.abc import Mapping

from grading.outputs.stock.counts import Cells, sums_line
from grading.outputs.stock.words import by_outworker, days_of, numbered, pay_of_a_pair, skins_named, to_sign, totals_of
from grading.outputs.wording import CAUTIONS_AT_WORK
from grading.stock.plan import Plan
from grading.workbooks.book import Area, BookSheet, Content, Formula, Heading, Link, Look, Styled

__all__ = ["bundles_sheet", "outworker_sheet", "outworkers_sheet"]

#: Columns of the sheet Bundles that others are added up from.
_OUTWORKER, _PAIRS, _PIECES, _PAY = 1, 6, 7, 11
#: The height of a row to sign in, mm.
_TO_SIGN = 12


def bundles_sheet(sheet: BookSheet, plan: Plan, work: Cells) -> Area:
    """The hand-out list; where it lies."""
    money = plan.batch.table.terms.currency
    sheet.title("Bundles: the hand-out list")
    sheet.note("Each bundle is of one size. Tick off what comes back; the pay follows the sheet Costs.")
    columns = [
        Heading("Bundle", Look.COUNT, 8),
        Heading("Outworker", width=14),
        Heading("Group", width=10),
        Heading("Size", width=7),
        Heading("Pair numbers", width=10),
        Heading("Skins", width=20),
        Heading("pairs", Look.COUNT, 7),
        Heading("pieces", Look.COUNT, 8),
        Heading("week", Look.COUNT, 7),
        Heading("hand out", Look.DATE, 11),
        Heading("due", Look.DATE, 11),
        Heading(f"pay, {money}", Look.NUMBER, 8.5),
        Heading("Pairs back", Look.INPUT, 8, help="How many good pairs of this bundle came back."),
        Heading("Signed", Look.INPUT, 12, help="Who brought them back, and when."),
    ]
    area = sheet.room(len(plan.bundles), len(columns))
    each = pay_of_a_pair(plan)
    rows: list[list[Content]] = []
    for row, bundle in enumerate(plan.bundles):
        key, count = (bundle.group, bundle.size), len(bundle.pairs)
        pay = Formula(f"={area.cell(row, 6)}*{work[key]}", count * each[key])
        pairs = numbered(pair.number for pair in bundle.pairs)
        facts: list[Content] = [bundle.number, bundle.outworker, *key, pairs, skins_named(bundle.skins)]
        days: list[Content] = [bundle.week, bundle.hand_out, bundle.due]
        rows.append([*facts, count, bundle.pieces, *days, pay, None, None])
    return sheet.table(columns, rows)


def outworkers_sheet(sheet: BookSheet, plan: Plan, bundles: Area, paid: str, own_sheets: Mapping[str, str]) -> None:
    """What each outworker has and is paid, added up from the bundles.

    ``paid`` is the cell of the batch's work, ``own_sheets`` gives the sheet of each outworker.
    """
    money = plan.batch.table.terms.currency
    sheet.title("Outworkers: bundles, pay and dates")
    sheet.note(
        "Added up from the sheet Bundles; each name leads to a sheet of its own, to print and sign. The pay of all "
        "outworkers is the work of the batch, as long as the pairs on the sheet Pairs are those that were planned."
    )
    columns = [
        Heading("Outworker", width=18),
        Heading("Bundles", width=20),
        Heading("pairs", Look.COUNT, 8),
        Heading("pieces", Look.COUNT, 8),
        Heading("first hand out", Look.DATE, 14),
        Heading("last due", Look.DATE, 14),
        Heading(f"pay, {money}", Look.NUMBER, 12),
    ]
    each = pay_of_a_pair(plan)
    having = by_outworker(plan)
    area = sheet.room(len(having), len(columns))
    names = bundles.reference(_OUTWORKER)
    rows: list[list[Content]] = []
    for row, (outworker, own) in enumerate(having.items()):
        pairs, pieces, money_due = (
            # Not SUMIF, which takes a * or a ? in a name for any sign.
            Formula(f"=SUMPRODUCT(({names}={area.cell(row, 0)})*{bundles.reference(column)})", value)
            for column, value in zip((_PAIRS, _PIECES, _PAY), totals_of(own, each), strict=True)
        )
        listed = numbered(bundle.number for bundle in own)
        days = [days_of(own[0])[0], days_of(own[-1])[1]]
        rows.append([Link(outworker, own_sheets[outworker]), listed, pairs, pieces, *days, money_due])
    sheet.table(columns, rows)
    pairs_in_all, pieces_in_all, _ = totals_of(plan.bundles, each)
    work = sum(row.pairs * row.work for row in plan.sizes)
    sums_line(sheet, area, "All outworkers", {2: pairs_in_all, 3: pieces_in_all}, {6: work})
    sheet.line(["Work of the batch, sheet Costs", *[""] * 5, Styled(Formula(f"={paid}", work), Look.NUMBER)])


def outworker_sheet(sheet: BookSheet, plan: Plan, outworker: str, bundles: Area, work: Cells) -> None:
    """What one outworker has, when it is due and what it pays, and places to sign, to be printed.

    ``bundles`` is where the sheet Bundles has its rows, ``work`` are the cells of what a pair of each size pays.
    """
    money = plan.batch.table.terms.currency
    sheet.title(outworker)
    sheet.note("What is handed out and what it pays when it comes back right. Figures follow the sheet Bundles.")
    columns = [
        Heading("Bundle", Look.COUNT, 8),
        Heading("Group", width=12),
        Heading("Size", width=8),
        Heading("Pair numbers", width=16),
        Heading("hand out", Look.DATE, 14),
        Heading("due", Look.DATE, 14),
        Heading("pairs", Look.COUNT, 8),
        Heading("pieces", Look.COUNT, 8),
        Heading(f"a pair, {money}", Look.NUMBER, 10),
        Heading(f"pay, {money}", Look.NUMBER, 12),
    ]
    each, rows = pay_of_a_pair(plan), list[list[Content]]()
    numbers = [row for row, bundle in enumerate(plan.bundles) if bundle.outworker == outworker]
    area = sheet.room(len(numbers), len(columns))
    for row in numbers:
        bundle = plan.bundles[row]
        key, count = (bundle.group, bundle.size), len(bundle.pairs)
        sums = {_PAIRS: count, _PIECES: bundle.pieces, _PAY: count * each[key]}
        pairs, pieces, pay = (Formula(f"={bundles.cell_elsewhere(row, column)}", sums[column]) for column in sums)
        words: list[Content] = [bundle.number, *key, numbered(pair.number for pair in bundle.pairs), *days_of(bundle)]
        rows.append([*words, pairs, pieces, Formula(f"={work[key]}", each[key]), pay])
    sheet.table(columns, rows)
    pairs_in_all, pieces_in_all, pay_in_all = totals_of((plan.bundles[row] for row in numbers), each)
    sums_line(sheet, area, "In all", {6: float(pairs_in_all), 7: float(pieces_in_all)}, {9: pay_in_all})
    sheet.gap()
    wide = [Heading("To sign", span=3), Heading("Date", Look.INPUT, span=2), Heading("Signature", Look.INPUT, span=5)]
    sheet.tall(sheet.table(wide, [[label, None, None] for label in to_sign(money)]), _TO_SIGN)
    sheet.gap()
    sheet.note(CAUTIONS_AT_WORK)
