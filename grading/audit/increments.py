"""The increments of a table or a run, with the figures that a finding points to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from grading.audit.tables import Suspicion, suspicions
from grading.engine.run import SizeRun
from grading.findings import Finding, Severity, folded
from grading.geometry.arrays import Floats
from grading.model.sizes import SizeTable
from grading.readings.measures import measured

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Increments", "audit_verdict", "increments_of_run", "increments_of_table"]


@dataclass(frozen=True, eq=False)
class Increments:
    """What every row begins with and how much it grows from each size to the next.

    ``values`` (rows, sizes) and ``steps`` (rows, sizes − 1) are in mm. ``flagged`` (rows, sizes) marks the figures that
    a finding names; ``suspected`` are those that are most likely slips, with what would be regular.

    >>> from grading.drafting.scenario import demo_sizes
    >>> women = increments_of_table(demo_sizes()[0])
    >>> women.frame().loc["palm length", "W2"].item() == women.steps[women.names.index("palm length"), 0].item()
    True
    """

    group: str
    sizes: tuple[str, ...]
    names: tuple[str, ...]
    values: Floats
    flagged: np.ndarray[tuple[int, int], np.dtype[np.bool_]]
    suspected: tuple[Suspicion, ...]

    @property
    def steps(self) -> Floats:
        return np.diff(self.values, axis=1)

    def __repr__(self) -> str:
        return f"<Increments {self.group}: {len(self.names)} rows, sizes {', '.join(self.sizes)}>"

    def frame(self) -> pd.DataFrame:
        """How much each row grows to each size from the one before it, in mm: a column for each but the first size."""
        import pandas as pd  # slow to import, and an audit needs none

        sizes = pd.Index(self.sizes[1:], name="size")
        return pd.DataFrame(self.steps, index=pd.Index(self.names, name="measure"), columns=sizes)


def increments_of_table(table: SizeTable, findings: Iterable[Finding] = ()) -> Increments:
    """The increments of a size table's rows; ``findings`` are those of its audit, if any."""
    return _increments(table, table.measurements, table.values, findings)


def increments_of_run(run: SizeRun, findings: Iterable[Finding] = ()) -> Increments:
    """The increments of a run: its body measurements, then its finished measures."""
    figures = measured(run)
    names = (*run.table.measurements, *figures.names)
    return _increments(run.table, names, np.concatenate([run.table.values, figures.values]), findings)


def _increments(table: SizeTable, names: tuple[str, ...], values: Floats, findings: Iterable[Finding]) -> Increments:
    cells = {
        table.place(name, size): (name, size) for name in table.measurements for size in table.sizes if table.places
    }
    told = {finding.place for finding in findings if finding.severity is not Severity.NOTE}
    named = {cells.get(place, (place.measure, place.size)) for place in told}
    flagged = np.array([[(name, size) in named for size in table.sizes] for name in names], dtype=bool)
    return Increments(
        table.group,
        table.sizes,
        names,
        values,
        flagged.reshape(len(names), len(table.sizes)),
        tuple(one for one in suspicions(table) if (one.measurement, one.size) in named),
    )


def audit_verdict(findings: Iterable[Finding]) -> str:
    """In a word, what an audit came to.

    >>> from grading.findings import Place
    >>> odd = Finding.warning("increment-out-of-line", Place(cell="D5"), "", "", "")
    >>> audit_verdict([]), audit_verdict([odd])
    ('clean', '1 to look at')
    """
    counted = {Severity.ERROR: set[object](), Severity.WARNING: set[object]()}
    for finding in folded(findings):
        if finding.severity in counted:
            counted[finding.severity].add(finding.place)
    wrong = counted[Severity.ERROR]
    odd = counted[Severity.WARNING] - wrong
    said = [f"{len(places)} {word}" for places, word in ((wrong, "wrong"), (odd, "to look at")) if places]
    return ", ".join(said) or "clean"
