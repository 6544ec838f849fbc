"""What is wanted: how customers are spread over the sizes, and how many pairs of each that makes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding, Findings, Place
from grading.geometry.arrays import Floats
from grading.model.stock import (
    CORRELATION,
    GIRTH_SPREAD,
    LENGTH_SPREAD,
    Customers,
    SellingPrice,
    Sold,
    StockTable,
    Work,
)
from grading.stock.apportion import apportioned, quotas
from grading.stock.coverage import Coverage, Population, covered
from grading.stock.fairs import asked_for, followed

__all__ = ["BY_HANDS", "Market", "Wanted", "markets", "unknown_names", "wanted"]

#: What sizes are shared out by where hands are known.
BY_HANDS = "hands"
_SAME = (
    f"It counts like every other such group: means in the middle of its sizes, spreads of {GIRTH_SPREAD:g} and "
    f"{LENGTH_SPREAD:g} mm, correlation {CORRELATION:g}."
)


@dataclass(frozen=True, eq=False)
class Market:
    """One group's customers: their part of all, the part of them that goes to each size, and whom the run fits.

    ``by`` says what the sizes' parts come from but for past fairs, and ``fairs`` the part that those have in them.
    ``hands`` and ``coverage`` are None where the size table lacks the girth or the length of a hand. ``share_before``
    and ``sizes_before`` are the parts without past fairs.
    """

    run: SizeRun
    share: float
    sizes: Floats
    by: str
    hands: Population | None
    coverage: Coverage | None
    fairs: float
    share_before: float
    sizes_before: Floats

    @property
    def shared_by(self) -> str:
        """What the sizes' parts come from, with what each weighs."""
        if not self.fairs:
            return self.by
        past = f"past fairs {self.fairs:.0%}"
        return f"{self.by} {1 - self.fairs:.0%}, {past}" if self.fairs < 1 else past

    @property
    def group(self) -> str:
        return self.run.group


@dataclass(frozen=True, slots=True)
class Wanted:
    """How many pairs of a size: what is ``exact``, and the whole number."""

    group: str
    size: str
    share: float
    exact: float
    pairs: int

    @property
    def out_by(self) -> float:
        """How many pairs more it is than is exactly due, less if below zero."""
        return self.pairs - self.exact


def markets(table: StockTable, runs: Sequence[SizeRun]) -> tuple[tuple[Market, ...], list[Finding]]:
    """The market of every group that has customers; all groups, in equal parts, where the table names none.

    A group with a share of 0 is made to order: it is planned where no other is asked for.
    """
    rows = {row.group: row for row in table.customers}
    findings = Findings()
    every: list[Market] = []
    for run in runs:
        if run.group not in rows:
            code, expected = (Code.NO_CUSTOMERS, "None of it is planned.") if rows else (Code.DEFAULT_USED, _SAME)
            findings.append(_note(code, Place(group=run.group), "The group has no row of customers.", expected))
            if rows:
                continue
        every.append(findings.gather(_market(table, run, rows.get(run.group) or Customers(run.group))))
    if every and not any(market.share for market in every):
        findings += [_to_order(market, rows[market.group].place) for market in every]
        every = [replace(market, share=1.0) for market in every]
    total = sum(market.share for market in every)
    return tuple(_after_fairs(table, [replace(m, share=m.share / total) for m in every if m.share])), findings


def _to_order(market: Market, place: Place) -> Finding:
    return _note(
        Code.PLANNED_TO_ORDER,
        place,
        f"{market.group} has a share of 0: of the stock for all groups it gets none.",
        "It is planned now, since no group with a share is.",
    )


def _after_fairs(table: StockTable, before: Sequence[Market]) -> Iterator[Market]:
    """The markets with their shares as past fairs update them."""
    asked = [np.array(asked_for(table.sold, m.group, m.run.sizes), dtype=float) for m in before]
    shares, sizes, known = [m.share for m in before], [m.sizes for m in before], [m.by == BY_HANDS for m in before]
    for market, after in zip(before, followed(shares, sizes, known, asked, table.terms.hands_count), strict=True):
        yield replace(market, share=after.share, sizes=after.sizes, fairs=after.weight, share_before=market.share)


def wanted(every: Sequence[Market], pairs: int, at_least: int) -> tuple[Wanted, ...]:
    """How many pairs of every size, ``pairs`` in all. Raises ValueError where those are too few for ``at_least``."""
    keys = [(market.group, size) for market in every for size in market.run.sizes]
    shares = [market.share * float(part) for market in every for part in market.sizes]
    numbers = zip(keys, shares, quotas(shares, pairs), apportioned(shares, pairs, at_least), strict=True)
    return tuple(Wanted(group, size, share, float(due), count) for (group, size), share, due, count in numbers)


def unknown_names(table: StockTable, runs: Sequence[SizeRun]) -> Iterator[Finding]:
    """A warning for each row of a group or a size that was not graded."""
    sizes = {run.group: set(run.sizes) for run in runs}
    for one in (*table.customers, *_rows_by_size(table)):
        if one.group and one.group not in sizes:
            yield _warning(one.place, f"There is no group '{one.group}' among those graded.", one.group)
    for row in _rows_by_size(table):
        known = sizes.get(row.group, set()) if row.group else set().union(*sizes.values())
        if row.size and row.size not in known and (not row.group or row.group in sizes):
            found = f"There is no size '{row.size}'{f' in {row.group}' if row.group else ''}."
            yield _warning(row.size_place, found, f"{row.group} {row.size}")


def _rows_by_size(table: StockTable) -> tuple[Sold | Work | SellingPrice, ...]:
    """Every row that is for a size, or for all of them."""
    return (*table.sold, *table.work, *table.selling)


def _market(table: StockTable, run: SizeRun, row: Customers) -> tuple[Market, list[Finding]]:
    hands, coverage, findings = _hands_fitted(table, run, row)
    by, sizes = "equal parts", np.full(len(run.sizes), 1 / len(run.sizes))
    if coverage is not None and coverage.fitted > 0:
        by, sizes = BY_HANDS, coverage.sizes / coverage.fitted
    elif not sum(asked_for(table.sold, run.group, run.sizes)):
        found = f"{run.group} has neither past sales nor hands that fit."
        findings.append(_note(Code.EQUAL_SHARES, row.place, found, "Its sizes are shared out alike."))
    return Market(run, row.share, sizes, by, hands, coverage, 0.0, row.share, sizes), findings


def _hands_fitted(
    table: StockTable, run: SizeRun, row: Customers
) -> tuple[Population | None, Coverage | None, list[Finding]]:
    terms = table.terms
    girths, lengths = run.table.row(terms.girth_row), run.table.row(terms.length_row)
    if girths is None or lengths is None:
        found = f"The size table of {run.group} lacks '{terms.girth_row}' or '{terms.length_row}'."
        return None, None, [_note(Code.NO_HANDS, Place(group=run.group), found, "Whom the run fits is not worked out.")]
    findings, means = [], []
    for what, mean, figures in ((terms.girth_row, row.girth, girths), (terms.length_row, row.length, lengths)):
        middle = float(figures.min() + figures.max()) / 2
        means.append(middle if mean is None else mean)
        if mean is None:
            left_open = f"The mean of {what} of {run.group} is left open."
            used = f"{middle:g} mm, the middle of the sizes, was used."
            findings.append(_note(Code.DEFAULT_USED, row.place, left_open, used))
    hands = Population(means[0], row.girth_spread, means[1], row.length_spread, row.correlation)
    return hands, covered(hands, girths, lengths, terms.girth_tolerance, terms.length_tolerance), findings


def _note(code: Code, place: Place, found: str, expected: str) -> Finding:
    return Finding.note(code, place, found, expected, "Fill in stock.xlsx if that is not right.")


def _warning(place: Place, found: str, cause: str) -> Finding:
    action = "Spell it as in the size tables."
    return Finding.warning(Code.UNKNOWN_NAME, place, found, "The row is left out.", action, cause)
