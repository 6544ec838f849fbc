"""What the stall itself needs, one PDF file: a size finder, prices, a tally of sales, and a label for every pair."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from grading.codes import Code
from grading.drawing.pages import Page, PageContent, TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.findings import Finding, Place
from grading.outputs.stock.labels import LabelWords, crowded, label_pages
from grading.outputs.stock.price_list import price_list
from grading.outputs.stock.size_finder import LENGTH, finder_sheets
from grading.outputs.stock.tally import tally
from grading.outputs.stock.words import fitted_told
from grading.stock.fits import Fits, fits, length_fits
from grading.stock.plan import Plan

__all__ = ["labels_of", "stall", "stall_findings"]


def stall(plan: Plan, styles: Mapping[str, str], printing: Printing, unit: str, *, run_id: str) -> bytes:
    """The file; ``styles`` gives the style's name for each group, ``unit`` is that of its figures."""
    terms = plan.batch.table.terms
    fitting = _fits(plan)
    names = " · ".join(dict.fromkeys(styles[market.group] for market in plan.batch.markets))
    day = terms.needed_by.isoformat() if terms.needed_by else ""
    title = TitleBlock("size finder", names, date=day, run=run_id)
    contents: list[PageContent] = []
    if fitting:
        contents += finder_sheets(list(fitting.values()), terms.room_to_move, printing, title, unit=unit)
    lengths = [one for market in plan.batch.markets if (one := length_fits(market.run, terms)) is not None]
    if lengths:
        contents += finder_sheets(lengths, 0.0, printing, replace(title, document="length rule"), LENGTH, unit)
    prices = TitleBlock("prices", names, scale="", date=day, run=run_id)
    contents += price_list(plan.sizes, fitting, styles, unit, terms.currency, printing, prices)
    contents += tally(plan, printing, replace(prices, document="tally"))
    pages: list[Page] = [*numbered(contents), *label_pages(list(labels_of(plan, styles, run_id, unit)), printing)]
    about = About("For the stall", subject=f"Size finder, prices and labels, run {run_id}", keywords=(run_id,))
    return pdf_bytes(pages, about)


def stall_findings(
    plan: Plan, styles: Mapping[str, str], printing: Printing, unit: str, *, run_id: str
) -> Iterator[Finding]:
    """What the labels have no room for, and groups whose fists are not known."""
    fitting, row = _fits(plan), plan.batch.table.terms.fist_row
    for market in plan.batch.markets:
        if market.group not in fitting:
            said = f"The size table of {market.group} lacks '{row}'."
            without = "Labels and size finder do without its fists."
            action = "Name the row under 'Fist measurement' in stock.xlsx, or add it to the size table."
            yield Finding.note(Code.NO_FISTS, Place(group=market.group), said, without, action)
    if fitting and not finder_sheets(list(fitting.values()), 0.0, printing, TitleBlock("size finder", row)):
        said = f"From the smallest size to the largest '{row}' grows by more than a sheet of paper is wide."
        yield Finding.note(Code.NO_FISTS, Place(), said, "There is no size finder.", "Check the size tables.")
    yield from crowded(list(labels_of(plan, styles, run_id, unit)), printing)


def labels_of(plan: Plan, styles: Mapping[str, str], run_id: str, unit: str) -> Iterator[LabelWords]:
    """What the label of each pair says, in the order of the pairs."""
    terms, fitting = plan.batch.table.terms, _fits(plan)
    runs = {run.group: run for run in plan.batch.runs}
    for pair in sorted((pair for lay in plan.lays for pair in lay.pairs), key=lambda pair: pair.number):
        run, own = runs[pair.group], fitting.get(pair.group)
        yield LabelWords(
            size=pair.size,
            style=styles[pair.group],
            group=pair.group,
            fits=fitted_told(own[pair.size], unit) if own else "",
            material="; ".join(dict.fromkeys(piece.material for piece in run.block.pieces if piece.material)),
            maker=terms.maker,
            batch=f"batch {run_id} · pair {pair.number}",
            care=terms.care,
        )


def _fits(plan: Plan) -> dict[str, Fits]:
    """Whom each size fits, by group: those groups whose tables have the fist's measurement."""
    by_group = {market.group: fits(market.run, plan.batch.table.terms) for market in plan.batch.markets}
    return {group: one for group, one in by_group.items() if one is not None}
