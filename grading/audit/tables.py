"""Audit a size table on its own: figures that the rest of the table does not lead to.

Each rule takes a ladder of sizes (a table of body measurements, or one family of it) and yields findings; none of them
knows a block. What is regular is judged in ``ladders``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import SupportsIndex

import numpy as np

from grading.audit.families import families, stated_families
from grading.audit.figures import in_unit
from grading.audit.ladders import MOST_STRETCHES, STRETCH, Slip, Suspect, slips, unjudged
from grading.audit.witnesses import NEAR, Figures, roundings, steepness
from grading.codes import Code
from grading.findings import Finding, Severity
from grading.geometry.arrays import Floats
from grading.model.names import plain_words
from grading.model.sizes import SizeTable

__all__ = ["Ladder", "Suspicion", "audit_table", "suspicions"]

#: A step this many times the usual one in most rows looks like a size left out.
GAP = 1.8
#: So many sizes, with a larger share of steps than this at which most measurements fall, stand in no order.
MANY, NO_ORDER = 6, 0.3
#: Words by which rows are told that grow alike: girths with what lies across, lengths with lengths.
KINDS = {"girth": ("girth", "circumference", "round", "breadth", "width"), "length": ("length", "height", "depth")}
#: A figure beyond these shares of what is regular is of no hand beside the others.
PLAUSIBLE = 0.6, 1.6
#: Where rows are rounded to less than this, mm, two sizes that are alike may be measured a step the wrong way round.
WAVERS = 1.5
#: Slips of the unit or of the decimal point, and what they are told as.
FACTORS = {
    10: "ten times",
    1 / 10: "a tenth of",
    2.54: "2.54 times",
    1 / 2.54: "1/2.54 of",
    25.4: "25.4 times",
    1 / 25.4: "1/25.4 of",
}
#: A figure this near to such a multiple, as a share, is told as one.
NEAR_FACTOR = 0.06


@dataclass(frozen=True, eq=False)
class Ladder:
    """Sizes of a table that rise one after another: its ``columns`` from the smallest to the largest.

    ``beside`` are the figures of the same rows in other families, (rows, sizes), nan where there is no such size.
    """

    table: SizeTable
    columns: tuple[int, ...]
    beside: tuple[Floats, ...] = ()

    @cached_property
    def values(self) -> Floats:
        return self.table.values[:, self.columns]

    @cached_property
    def rounding(self) -> Floats:
        """What each row is rounded to (rows,), mm: to a millimetre too where one figure alone is finer."""
        whole, without = self._roundings
        rounding: Floats = np.maximum(whole, np.minimum(without.max(axis=1), 1))
        return rounding

    @cached_property
    def _roundings(self) -> tuple[Floats, Floats]:
        return roundings(self.values, np.ones(self.values.shape, dtype=bool))

    def regular(self, suspect: Suspect) -> float:
        """What would be regular in a suspected figure's stead, mm: rounded as the other figures of its row are."""
        step = float(self._roundings[1][suspect.row, suspect.column])
        return round(round(suspect.regular / step) * step, 3)

    @cached_property
    def in_order(self) -> bool:
        """Whether these sizes are a run at all."""
        return len(self.columns) < MANY or len(self.falling) <= NO_ORDER * len(self.columns)

    @cached_property
    def figures(self) -> Figures:
        return Figures(self.values, [_kind(name) for name in self.table.measurements], self.beside)

    @cached_property
    def slips(self) -> list[Slip]:
        return slips(self.figures)

    @cached_property
    def suspected(self) -> set[tuple[int, int]]:
        """The rows and columns of all figures that are suspected."""
        return {(suspect.row, suspect.column) for slip in self.slips for suspect in slip.suspects}

    @cached_property
    def falling(self) -> tuple[int, ...]:
        """The steps at which most of the rows that change fall: sizes out of order."""
        signs = np.sign(np.diff(self.values, axis=1))
        return tuple(np.flatnonzero((signs < 0).sum(axis=0) > (signs > 0).sum(axis=0)).tolist())

    @cached_property
    def lead(self) -> int:
        """The row that tells the sizes apart: the one that grows most, the first by its name where two grow alike."""
        growth = steepness(self.values)
        return min(range(len(growth)), key=lambda row: (-round(float(growth[row]), 6), self.table.measurements[row]))

    def shown(self, row: int, figure: float) -> str:
        """A figure in the unit of its row."""
        return in_unit(figure, self.table.units[row])

    def size(self, column: SupportsIndex) -> str:
        return self.table.sizes[self.columns[column]]

    def finding(
        self, code: Code, severity: Severity, cell: tuple[int, int], found: str, expected: str, action: str
    ) -> Finding:
        """A finding of the figure in a row and a column; findings of one row have one cause."""
        row, column = cell
        name = self.table.measurements[row]
        return Finding(code, severity, self.table.place(name, self.size(column)), found, expected, action, cause=name)


def _kind(name: str) -> str:
    """Rows that grow alike by their names: girths and what lies across; lengths."""
    words = " ".join(plain_words(name))
    return next((kind for kind, among in KINDS.items() if any(word in words for word in among)), "")


def audit_table(table: SizeTable) -> Iterator[Finding]:
    """Every finding of every rule on a table of body measurements."""
    for ladder in _ladders(table):
        if not ladder.in_order:
            yield from _no_order(ladder)
            continue
        for rule in TABLE_RULES:
            yield from rule(ladder)


def _no_order(ladder: Ladder) -> Iterator[Finding]:
    """Sizes that stand in no order are no run: nothing is said of their increments."""
    yield ladder.finding(
        Code.NO_ORDER,
        Severity.WARNING,
        (ladder.lead, 0),
        f"The sizes stand in no order: at {len(ladder.falling)} of {len(ladder.columns) - 1} steps most rows fall.",
        "Sizes from the smallest to the largest; increments are audited only then.",
        "Sort the columns by the girth, if these are sizes of a run.",
    )


@dataclass(frozen=True, slots=True)
class Suspicion:
    """A figure of a table that is most likely a slip, beside the one that would be regular, mm."""

    measurement: str
    size: str
    figure: float
    regular: float


def suspicions(table: SizeTable) -> list[Suspicion]:
    """The suspected figures of a table, each with what the rest of the table leads to."""
    return [
        Suspicion(
            table.measurements[suspect.row],
            ladder.size(suspect.column),
            float(ladder.values[suspect.row, suspect.column]),
            ladder.regular(suspect),
        )
        for ladder in _ladders(table)
        if ladder.in_order
        for slip in ladder.slips
        for suspect in slip.suspects
    ]


@lru_cache(maxsize=16)
def _ladders(table: SizeTable) -> tuple[Ladder, ...]:
    named = stated_families(table.sizes, table.families) if table.families else families(table.sizes)
    made = []
    for family in named:
        beside = []
        for other in (one for one in named if one is not family):
            there = np.array([other.get(called, -1) for called in family])
            if (there >= 0).any():
                beside.append(np.where(there >= 0, table.values[:, there], np.nan))
        columns = np.array(list(family.values()))
        signs = np.sign(np.diff(table.values[:, columns], axis=1)).sum()
        turn = slice(None, None, -1 if signs < 0 else 1)
        made.append(Ladder(table, tuple(columns[turn].tolist()), tuple(figures[:, turn] for figures in beside)))
    return tuple(made)


def _out_of_line(ladder: Ladder) -> Iterator[Finding]:
    """A figure that the rest of the table does not lead to is most likely a slip of the pen."""
    for slip in ladder.slips:
        for suspect in slip.suspects:
            row, column = suspect.row, suspect.column
            regular = [f"{ladder.shown(row, ladder.regular(suspect))} would be regular"]
            regular += [
                f"size {ladder.size(other.column)} {ladder.shown(row, ladder.regular(other))}"
                for other in slip.suspects
                if other is not suspect
            ]
            ratio = ladder.values[row, column] / suspect.regular if suspect.regular > 0 else np.inf
            yield ladder.finding(
                Code.INCREMENT_OUT_OF_LINE,
                Severity.WARNING if PLAUSIBLE[0] <= ratio <= PLAUSIBLE[1] else Severity.ERROR,
                (row, column),
                f"{ladder.table.measurements[row]} in size {ladder.size(column)} {_how_far_off(ladder, slip, suspect)}",
                f"About {(' and ' if slip.exchanged else ', or ').join(regular)}.",
                "Check the figure; leave it if the step is meant.",
            )


def _how_far_off(ladder: Ladder, slip: Slip, suspect: Suspect) -> str:
    figure = ladder.values[suspect.row, suspect.column]
    if slip.exchanged:
        other = next(other for other in slip.suspects if other is not suspect)
        return f"and in size {ladder.size(other.column)} seem to be exchanged."
    for of, text in FACTORS.items():
        if abs(figure / of - suspect.regular) <= NEAR_FACTOR * abs(suspect.regular):
            return f"is {text} what the others lead to: a slip of the unit or of the decimal point?"
    off = figure - ladder.regular(suspect)
    return f"is {ladder.shown(suspect.row, abs(off))} {'more' if off > 0 else 'less'} than the others lead to."


def _not_increasing(ladder: Ladder) -> Iterator[Finding]:
    """Each size is larger than the one before it in the measurement that tells sizes apart, and in most others."""
    lead, values = ladder.lead, ladder.values
    # sizes closer together than the figures are rounded come out alike
    merged = ladder.rounding[lead] > 0.5 * steepness(values)[lead] + NEAR
    for step in np.flatnonzero(np.diff(values[lead]) <= 0).tolist():
        at = next((column for column in (step, step + 1) if (lead, column) in ladder.suspected), step + 1)
        fall = values[lead, step] - values[lead, step + 1]
        yield ladder.finding(
            Code.NOT_INCREASING,
            Severity.ERROR if fall > ladder.rounding[lead] - NEAR else Severity.NOTE if merged else Severity.WARNING,
            (lead, at),
            f"{ladder.table.measurements[lead]} goes from {ladder.shown(lead, values[lead, step])} in size "
            f"{ladder.size(step)} to {ladder.shown(lead, values[lead, step + 1])} in size {ladder.size(step + 1)}.",
            "Each size larger than the one before it: sizes are told apart by this measurement.",
            "Check both figures, and the order of the columns.",
        )


def _falls(ladder: Ladder) -> Iterator[Finding]:
    """A measurement that grows with the hand does not fall from one size to the next, unless by its rounding."""
    steps = np.diff(ladder.values, axis=1)
    for row, name in enumerate(ladder.table.measurements):
        if row == ladder.lead or (len(ladder.columns) > 3 and (steps[row] > 0).sum() <= (steps[row] < 0).sum()):
            continue
        wavers = NEAR if ladder.rounding[row] < WAVERS else -NEAR
        for step in np.flatnonzero(steps[row] < -ladder.rounding[row] - wavers).tolist():
            if step in ladder.falling or {(row, step), (row, step + 1)} & ladder.suspected:
                continue
            yield ladder.finding(
                Code.FALLS_WHILE_GIRTH_RISES,
                Severity.WARNING,
                (row, step + 1),
                f"{name} falls from {ladder.shown(row, ladder.values[row, step])} to "
                f"{ladder.shown(row, ladder.values[row, step + 1])} while the other measurements rise.",
                "A measurement that grows with the hand.",
                "Check both figures.",
            )


def _equal_sizes(ladder: Ladder) -> Iterator[Finding]:
    """Two columns with the same figures are one size twice."""
    known: dict[tuple[float, ...], int] = {}
    for column, figures in enumerate(map(tuple, ladder.values.T.tolist())):
        if figures in known:
            yield ladder.finding(
                Code.EQUAL_SIZES,
                Severity.ERROR,
                (ladder.lead, column),
                f"Sizes {ladder.size(known[figures])} and {ladder.size(column)} have the same figures.",
                "Sizes that differ.",
                "Fill in the size's own figures, or take the column out.",
            )
        known.setdefault(figures, column)


def _gap_in_sizes(ladder: Ladder) -> Iterator[Finding]:
    """A step of twice the usual size in most rows at once is one that the run takes, not a slip."""
    steps = np.diff(ladder.values, axis=1)
    if len(ladder.columns) < 4 or ladder.falling:
        return
    usual = np.median(steps, axis=1, keepdims=True)
    wide = (steps > GAP * usual + NEAR) & (usual > 0)
    for step in np.flatnonzero(wide.mean(axis=0) > 0.6).tolist():
        yield ladder.finding(
            Code.GAP_IN_SIZES,
            Severity.NOTE,
            (ladder.lead, step + 1),
            f"Most measurements take a double step from size {ladder.size(step)} to {ladder.size(step + 1)}.",
            "Steps of about the same size: a hand in between finds no mitten that fits.",
            "Add the size between them, or leave the gap if it is meant.",
        )


def _too_long(ladder: Ladder) -> Iterator[Finding]:
    """Of a very long and uneven table only the most uneven stretches are judged, and that is said."""
    left = unjudged(ladder.figures)
    if left:
        yield ladder.finding(
            Code.NOT_ALL_JUDGED,
            Severity.NOTE,
            (ladder.lead, 0),
            f"{len(ladder.columns)} sizes are many: the {MOST_STRETCHES} most uneven stretches of {STRETCH} sizes were "
            f"looked at for slips, {left} more were not.",
            f"About {MOST_STRETCHES * STRETCH // 2} sizes at a time.",
            "Audit the table in parts to have every figure looked at.",
        )


#: The rules for a table of body measurements, in the order in which their findings are told.
TABLE_RULES = (_not_increasing, _equal_sizes, _falls, _out_of_line, _gap_in_sizes, _too_long)
