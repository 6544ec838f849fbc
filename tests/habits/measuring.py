"""Sets slips into honest tables and counts what the audit makes of them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from habits import HABITS, Habit
from slips import KINDS, slipped

from grading.audit import audit_chart
from grading.findings import Severity
from grading.model.sizes import SizeTable

__all__ = ["Case", "Tally", "accused", "measured"]

Cell = tuple[int, int]


@dataclass(frozen=True)
class Case:
    """One slip and what was said: found at all, its cells named, and no other cells named."""

    habit: str
    kind: str
    sizes: int
    fine: bool
    evener: bool
    found: bool
    right: bool
    alone: bool
    about: str


def accused(table: SizeTable) -> set[Cell]:
    """The cells at which a finding, notes apart, points. A finding without a cell points at (-1, -1)."""
    told = [finding for finding in audit_chart(table) if finding.severity is not Severity.NOTE]
    names = {name: row for row, name in enumerate(table.measurements)}
    sizes = {name: column for column, name in enumerate(table.sizes)}
    return {(names.get(f.place.measure, -1), sizes.get(f.place.size, -1)) for f in told}


@dataclass
class Tally:
    """All cases, and for each habit how many figures of honest tables there were and which were accused."""

    cases: list[Case] = field(default_factory=list)
    figures: Counter[str] = field(default_factory=Counter)
    alarms: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    few: set[str] = field(default_factory=set)

    def shares(self, cases: Iterable[Case]) -> tuple[int, float, float, float]:
        """How many, and the shares of found, of right and of alone among the found, in hundredths."""
        cases = list(cases)
        found = [case for case in cases if case.found]

        def share(number: int, of: int) -> float:
            return 100 * number / of if of else float("nan")

        return (
            len(cases),
            share(len(found), len(cases)),
            share(sum(case.right for case in found), len(found)),
            share(sum(case.alone for case in found), len(found)),
        )

    def false_alarms(self) -> float:
        """Accused figures of honest tables in 725."""
        return 725 * sum(map(len, self.alarms.values())) / sum(self.figures.values())

    def shown(self) -> str:
        lines = [
            f"{'kind of slip':34}{'n':>5}{'found':>7}{'right':>7}{'alone':>7}   (four sizes or more; two or three)"
        ]
        for kind in KINDS:
            many = [case for case in self.cases if case.kind == kind and case.sizes > 3]
            few = [case for case in self.cases if case.kind == kind and case.sizes <= 3]
            lines.append(f"{kind:34}" + self._row(many) + self._row(few))
        fine = [case for case in self.cases if case.kind == "5 mm" and case.sizes > 3 and case.fine]
        lines.append(f"{'5 mm, rows rounded to 2 mm or finer':34}" + self._row(fine))
        for kind in ("1 cm", "neighbour copied"):  # nothing in the table tells such a slip from the honest figure
            evener = [case for case in self.cases if case.kind == kind and case.sizes > 3 and case.evener]
            lines.append(f"{kind + ', the row evener than before':34}"[:34] + self._row(evener))
        lines.append(
            f"{'all':34}"
            + self._row([c for c in self.cases if c.sizes > 3])
            + self._row([c for c in self.cases if c.sizes <= 3])
        )
        lines.append(f"\n{'habit':58}{'n':>5}{'found':>7}{'right':>7}{'alone':>7}  false alarms")
        for habit in HABITS:
            told = Counter(self.alarms[habit.name])
            alarms = f"{len(self.alarms[habit.name])} of {self.figures[habit.name]}"
            lines.append(f"{habit.name[:57]:58}{self._row([c for c in self.cases if c.habit == habit.name])}  {alarms}")
            lines += [f"      {text}" for text, _ in told.most_common(3)]
        total = sum(map(len, self.alarms.values()))
        lines.append(f"false alarms: {total} of {sum(self.figures.values())} figures, {self.false_alarms():.2f} in 725")
        return "\n".join(lines)

    def _row(self, cases: Sequence[Case]) -> str:
        number, *shares = self.shares(cases)
        return f"{number:5}" + "".join(f"{share:7.1f}" for share in shares)


def measured(chance: int, times: int, habits: Sequence[Habit] = HABITS, kinds: Iterable[str] = KINDS) -> Tally:
    """For every habit so many tables, audited as they are and with a slip of each kind."""
    tally = Tally()
    kinds = list(kinds)
    for number, habit in enumerate(habits):
        draws = np.random.default_rng([chance, number])
        seen = set()
        for _ in range(times):
            table = habit.table(draws)
            honest = accused(table)
            key = table.values.tobytes()
            if key not in seen:  # a published table counts once
                seen.add(key)
                tally.figures[habit.name] += table.values.size
                tally.alarms[habit.name] += [_told(table, cell) for cell in sorted(honest)]
            for kind in kinds:
                slip = slipped(table, kind, draws)
                if slip is None:
                    continue
                named = accused(slip.table) - (
                    honest - slip.cells
                )  # what was accused before it was wrong counts no more
                whole = kind == "two sizes exchanged"
                right = bool(named & slip.cells) if whole else slip.cells <= named
                row = table.values[min(slip.cells)[0]]
                fine = not _multiples(row, 5) and not _multiples(row, 25.4 / 4) and not _multiples(row, 25.4 / 8)
                cell = min(slip.cells)
                about = f"{_told(slip.table, cell)} was {table.values[cell]:g}, named {sorted(named)} for {cell}"
                tally.cases.append(
                    Case(
                        habit.name,
                        kind,
                        table.values.shape[1],
                        fine,
                        _unevenness(slip.table.values[cell[0]]) <= _unevenness(row),
                        bool(named),
                        right,
                        right and named <= slip.cells,
                        about,
                    )
                )
    return tally


def _unevenness(row: np.ndarray) -> float:
    """How much each increment of a row differs from the one before it, all in all, mm."""
    return float(np.abs(np.diff(row, 2)).sum())


def _multiples(row: np.ndarray, step: float) -> bool:
    return bool(np.allclose(row / step, np.round(row / step), atol=1e-6))


def _told(table: SizeTable, cell: Cell) -> str:
    row = " ".join(f"{figure:g}" for figure in table.values[cell[0]])
    return f"{table.measurements[cell[0]]} [{cell[1]}]: {row}"
