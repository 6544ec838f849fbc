"""Where a block's house rules tell of pay or days, and the batch says otherwise."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding, Place, amount
from grading.model.days import days_named
from grading.model.making import Instruction
from grading.model.stock import StockTable

__all__ = ["disagreeing"]

_FIGURE = re.compile(r"\d+(?:[.,]\d+)?")
_ONE_PLACE = "The batch's own rates and dates hold: tickets, slips and sheets take them from stock.xlsx."
_DELETE = "Delete the row on the sheet Work, or correct the stock table."
_WEEK = 7


def disagreeing(table: StockTable, runs: Sequence[SizeRun]) -> Iterator[Finding]:
    """Warnings, a place each."""
    told: set[tuple[Place, str]] = set()
    for run in runs:
        for rule in run.block.work:
            # Groups may share a block.
            if (rule.place, rule.topic) not in told:
                told.add((rule.place, rule.topic))
                yield from _pay(table, run, rule)
                yield from _days(table, rule)


def _pay(table: StockTable, run: SizeRun, rule: Instruction) -> Iterator[Finding]:
    figures = {float(figure.replace(",", ".")) for figure in _FIGURE.findall(rule.text)} if rule.of_pay else set()
    rows = [row for row in table.work if row.group in ("", run.group)]
    paid = {figure for row in rows for figure in (row.rate, row.piece_rate, row.pay) if figure is not None}
    if figures and not any(abs(figure - other) < 0.005 for figure in figures for other in paid):
        batch = ", ".join(f"{amount(figure)}" for figure in sorted(paid)) or "nothing"
        found = f"The block of {run.group} says '{rule.topic}: {rule.text}'; the stock table has {batch}."
        yield Finding.warning(Code.PAY_TOLD_OTHERWISE, rule.place, found, _ONE_PLACE, _DELETE)


def _days(table: StockTable, rule: Instruction) -> Iterator[Finding]:
    terms = table.terms
    days = days_named(rule.text) if rule.of_days else []
    batch = [day for day in (terms.hand_out_on, terms.needed_by) if day]
    # Bundles are due a week, or several, after the first go out.
    weekly = [day for day in days if terms.hand_out_on and (day - terms.hand_out_on).days % _WEEK == 0]
    known = {*batch, *(day for day in weekly if day >= min(batch) and (not terms.needed_by or day <= terms.needed_by))}
    if days and batch and not known & set(days):
        said = " and ".join(day.isoformat() for day in batch)
        found = f"The block says '{rule.topic}: {rule.text}'; the stock table has {said}."
        yield Finding.warning(Code.DAY_TOLD_OTHERWISE, rule.place, found, _ONE_PLACE, _DELETE)
