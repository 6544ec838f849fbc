"""The stock workbook: pairs, customers, skins, costs, lays, cut list and bundles of one batch, with live formulas."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from grading.findings import Finding, tally
from grading.outputs.spec.auditing import findings_sheet
from grading.outputs.spec.cover import fill_cover, made_from
from grading.outputs.stock.costing import costs_sheet, skins_sheet
from grading.outputs.stock.counts import cut_list, in_dm2, pairs_sheet, sums_line
from grading.outputs.stock.handing_out import bundles_sheet, outworker_sheet, outworkers_sheet
from grading.outputs.stock.words import by_outworker
from grading.stock.coverage import OFF
from grading.stock.plan import Plan
from grading.workbooks.book import Book, BookSheet, Content, Formula, Heading, Look

__all__ = ["stock_workbook"]

_PURPOSES = {
    "Pairs": "How many pairs of each size; change them and every sum follows.",
    "Customers": "Whom the run fits, who is left out, what one more size would add.",
    "Skins": "Which skins are used and bought, and what they cost.",
    "Costs": "Skin, work and the rest by size, the price, and what is left of it.",
    "Lays": "How much of each skin is used; the drawings are in lay-plan.pdf.",
    "Cut list": "How many of which piece to cut, and the skin they take.",
    "Bundles": "Who sews what until when; the tickets are in tickets.pdf.",
    "Outworkers": "What each has and is paid; each one's own sheet is to sign.",
    "Findings": "What was noticed, and what to do about it.",
}

#: The sheets that are long rather than wide.
_UPRIGHT = ("Lays", "Cut list")


def stock_workbook(plan: Plan, *, run_id: str, inputs: Collection[str], findings: Sequence[Finding]) -> bytes:
    """The workbook of a batch. ``inputs`` are the names of the files that it was made from."""
    book = Book(
        "Stock", subject="batch plan", run_id=run_id, day=plan.batch.table.terms.hand_out_on, decimals=2, read=True
    )
    cover = book.sheet("Cover")
    named = list(_PURPOSES)[:-1]
    sheets = {name: book.sheet(name, landscape=name not in _UPRIGHT, frozen_columns=2) for name in named}
    pairs = pairs_sheet(sheets["Pairs"], plan)
    _customers(sheets["Customers"], plan)
    pieces = cut_list(sheets["Cut list"], plan, pairs)
    rates = skins_sheet(sheets["Skins"], plan, pieces)
    work, paid = costs_sheet(sheets["Costs"], plan, pairs, rates)
    _lays(sheets["Lays"], plan)
    handed_out = bundles_sheet(sheets["Bundles"], plan, work)
    findings_sheet(book, [*findings, *book.findings])
    # Last, so that no name of an outworker takes that of another sheet; every text on these stands on one above.
    own = {outworker: book.sheet(outworker, landscape=True) for outworker in by_outworker(plan)}
    names = {outworker: sheet.name for outworker, sheet in own.items()}
    outworkers_sheet(sheets["Outworkers"], plan, handed_out, paid, names)
    for outworker, sheet in own.items():
        outworker_sheet(sheet, plan, outworker, handed_out, work)
    _cover(cover, plan, run_id, inputs, findings)
    return book.to_bytes()


def _cover(sheet: BookSheet, plan: Plan, run_id: str, inputs: Collection[str], findings: Sequence[Finding]) -> None:
    terms, money = plan.batch.table.terms, plan.batch.table.terms.currency
    sheet.title(f"Batch of {plan.pairs} pairs")
    sheet.note("What to cut, what to buy and what it costs, as planned from the graded pieces and the stock table.")
    trial = plan.batch.mock_up
    facts = {
        "Run": run_id,
        "Made from": made_from(inputs),
        "Groups": ", ".join(market.group for market in plan.batch.markets),
        "Skins": f"{len(plan.lays)}, of which {sum(lay.skin.to_buy for lay in plan.lays)} to buy; the area of the "
        f"pieces alone would fill {plan.least_skins}",
        "Skin used": f"{plan.share_used:.1%} of the usable area, the last skin aside",
        "Mock-up": f"{trial.pair.group} {trial.pair.size}, one hand, on {trial.skin.name}; no stock" if trial else "",
        "Cost": f"{plan.cost:.2f} {money}",
        "Takings": f"{plan.takings:.2f} {money} if all is sold",
        "Handed out": terms.hand_out_on.isoformat() if terms.hand_out_on else "weeks are numbered from 1",
        "Needed by": terms.needed_by.isoformat() if terms.needed_by else "",
        "Lay": f"gap {terms.gap:g} mm, pile within {terms.pile_within:g}°, lay number {terms.lay_number}",
        "Findings": tally(findings) or "none",
    }
    fill_cover(sheet, "This batch", facts, _PURPOSES, widths=(30, 70))


def _customers(sheet: BookSheet, plan: Plan) -> None:
    terms = plan.batch.table.terms
    sheet.title("Whom the run fits, % of each group's customers")
    sheet.note(
        "Reckoned from the hands of the stock table, their means and spreads. A customer takes the size nearest in "
        f"{terms.girth_row}, up to {terms.girth_tolerance:g} mm beyond the outermost, and is fitted if the hand is no "
        f"more than {terms.length_tolerance:g} mm longer or shorter than that size's. What fits no size is shown by "
        "why. 'One more size' is a further one a step on from the outermost. On real people such figures were off by "
        f"up to {100 * OFF:.0f} points: take them as whole percents, give or take."
    )
    headings = ["share of all", "fitted", "too small", "too large", "too short", "too long"]
    headings += ["one more smaller size", "one more larger size"]
    columns = [Heading("Group"), Heading("Sizes shared out by"), *(Heading(name, Look.COUNT, 11) for name in headings)]
    rows: list[list[Content]] = []
    for market in plan.batch.markets:
        coverage = market.coverage
        shares: list[Content] = [None] * (len(headings) - 1)
        if coverage:
            ends = (coverage.too_small, coverage.too_large, coverage.too_short, coverage.too_long)
            shares = [100 * share for share in (coverage.fitted, *ends, coverage.one_smaller, coverage.one_larger)]
        rows.append([market.group, market.shared_by, 100 * market.share, *shares])
    sheet.table(columns, rows)
    sheet.gap()
    sheet.note("The part of the group's customers that each size fits, %.")
    sizes: list[list[Content]] = [
        [market.group, size, 100 * float(share)]
        for market in plan.batch.markets
        if market.coverage
        for size, share in zip(market.run.sizes, market.coverage.sizes, strict=True)
    ]
    sheet.table([Heading("Group"), Heading("Size"), Heading("fitted", Look.COUNT)], sizes)
    sheet.gap()
    sheet.note("Girth and length of hands are taken to spread together as a bell curve (bivariate normal; Genz 2004).")


def _lays(sheet: BookSheet, plan: Plan) -> None:
    sheet.title("Lays")
    sheet.note(
        "Each skin in the order of cutting. Both hands of a pair come from one skin. Used is the area of the pieces "
        "themselves, without thumb holes; usable is the skin without flaws and poor edges."
    )
    columns = [
        Heading("Skin"),
        Heading("To buy"),
        Heading("Pairs"),
        Heading("pieces", Look.COUNT),
        Heading("used, dm²", Look.NUMBER),
        Heading("usable, dm²", Look.NUMBER),
        Heading("used, %", Look.NUMBER),
    ]
    area = sheet.room(len(plan.lays), len(columns))
    rows: list[list[Content]] = [
        [
            lay.skin.name,
            "yes" if lay.skin.to_buy else "",
            ", ".join(f"{pair.size} no. {pair.number}" for pair in lay.pairs),
            len(lay.laid),
            in_dm2(lay.used),
            in_dm2(lay.usable),
            Formula(f"={area.cell(row, 4)}/{area.cell(row, 5)}*100", in_dm2(lay.used) / in_dm2(lay.usable) * 100),
        ]
        for row, lay in enumerate(plan.lays)
    ]
    sheet.table(columns, rows)
    used, usable = sum(in_dm2(lay.used) for lay in plan.lays), sum(in_dm2(lay.usable) for lay in plan.lays)
    share = Formula(f"={area.cell(area.rows, 4)}/{area.cell(area.rows, 5)}*100", used / usable * 100)
    pieces = sum(len(lay.laid) for lay in plan.lays)
    sums_line(sheet, area, "All skins", {3: pieces}, {4: used, 5: usable, 6: share})
    sheet.gap()
    sheet.note(
        f"The best that any lay could do: the pieces' area alone would fill {plan.least_skins} of these skins; this "
        f"plan takes {len(plan.lays)}. Without the last skin {plan.share_used:.1%} of the usable area is used."
    )
