"""The sheets of handing out: every bundle, and each outworker's with the pay, and places to sign."""

from __future__ import annotations

from grading.outputs.stock.counts import Cells
from grading.outputs.stock.words import by_outworker, numbered, pay_of_a_pair, skins_named
from grading.stock.plan import Plan
from grading.workbooks.book import Area, Column, Content, Formula, Look, Sheet, Styled

__all__ = ["bundles_sheet", "outworkers_sheet"]


def bundles_sheet(sheet: Sheet, plan: Plan, work: Cells) -> Area:
    """The hand-out list; where it lies: outworkers, pairs, pieces and pay in its columns 1, 6, 7 and 11."""
    money = plan.batch.table.terms.currency
    sheet.title("Bundles: the hand-out list")
    sheet.note("Each bundle is of one size. Tick off what comes back; the pay follows the sheet Costs.")
    columns = [
        Column("Bundle", Look.COUNT, 8),
        Column("Outworker", width=14),
        Column("Group", width=10),
        Column("Size", width=7),
        Column("Pair numbers", width=10),
        Column("Skins", width=20),
        Column("pairs", Look.COUNT, 7),
        Column("pieces", Look.COUNT, 8),
        Column("week", Look.COUNT, 7),
        Column("hand out", Look.DATE, 11),
        Column("due", Look.DATE, 11),
        Column(f"pay, {money}", Look.NUMBER, 8.5),
        Column("Pairs back", Look.INPUT, 8, help="How many good pairs of this bundle came back."),
        Column("Signed", Look.INPUT, 12, help="Who brought them back, and when."),
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


def outworkers_sheet(sheet: Sheet, plan: Plan, bundles: Area, paid: str) -> None:
    """What each outworker has and is paid, added up from the bundles; ``paid`` is the cell of the batch's work."""
    money = plan.batch.table.terms.currency
    sheet.title("Outworkers: bundles, pay and dates")
    sheet.note(
        "Added up from the sheet Bundles. The pay of all outworkers is the work of the batch, as long as the pairs on "
        "the sheet Pairs are those that were planned."
    )
    columns = [
        Column("Outworker", width=18),
        Column("Bundles", width=20),
        Column("pairs", Look.COUNT, 8),
        Column("pieces", Look.COUNT, 8),
        Column("first hand out", Look.DATE, 12),
        Column("last due", Look.DATE, 12),
        Column(f"pay, {money}", Look.NUMBER, 12),
        Column("Taken: signed", Look.INPUT, 20),
        Column("Brought back and paid: signed", Look.INPUT, 24),
    ]
    each = pay_of_a_pair(plan)
    having = by_outworker(plan)
    area = sheet.room(len(having), len(columns))
    names = bundles.reference(1)
    rows: list[list[Content]] = []
    for row, (outworker, own) in enumerate(having.items()):
        pay = sum(len(bundle.pairs) * each[bundle.group, bundle.size] for bundle in own)
        sums = {6: sum(len(bundle.pairs) for bundle in own), 7: sum(bundle.pieces for bundle in own), 11: pay}
        pairs, pieces, money_due = (
            # Not SUMIF, which takes a * or a ? in a name for any sign.
            Formula(f"=SUMPRODUCT(({names}={area.cell(row, 0)})*{bundles.reference(column)})", value)
            for column, value in sums.items()
        )
        out, due = ([day for day in days if day] for days in zip(*((b.hand_out, b.due) for b in own), strict=True))
        first, last = (min(out) if out else f"week {own[0].week}"), (max(due) if due else f"week {own[-1].week}")
        listed = numbered(bundle.number for bundle in own)
        rows.append([outworker, listed, pairs, pieces, first, last, money_due, None, None])
    sheet.table(columns, rows)
    sheet.tall(area, 12)
    counts = [sum(len(bundle.pairs) for bundle in plan.bundles), sum(bundle.pieces for bundle in plan.bundles)]
    work = sum(row.pairs * row.work for row in plan.sizes)
    totals = [
        Styled(Formula(f"=SUM({area.column(column)})", value), look)
        for column, value, look in zip((2, 3, 6), (*counts, work), (Look.COUNT, Look.COUNT, Look.NUMBER), strict=True)
    ]
    sheet.line(["All outworkers", "", *totals[:2], "", "", totals[2]])
    sheet.line(["Work of the batch, sheet Costs", *[""] * 5, Styled(Formula(f"={paid}", work), Look.NUMBER)])
