"""A size group's table of body measurements, as typed, in millimetres."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from grading.codes import Code
from grading.findings import Finding, GradingError, Place
from grading.model.names import Names
from grading.units import UnreadableError, measurement, unit_name

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["SizeTable", "common_unit"]


def common_unit(tables: Iterable[SizeTable]) -> str:
    """The unit that every row of the tables was typed in, mm where they differ."""
    units = {unit for table in tables for unit in table.units}
    return units.pop() if len(units) == 1 else "mm"


@dataclass(frozen=True, eq=False)
class SizeTable:
    """One size group: the figure of each measurement in each size.

    ``values`` is (measurements, sizes) in mm; rows follow ``measurements`` and columns follow ``sizes``, both in
    the order of the sheet. ``units`` are those of the rows as typed; they, and all that follows, may be left out. A row
    may also name an allowance of the block, which then holds for this group. ``families`` has a word for each size
    where sizes are said to stand in families (short and long, say), each a ladder of its own.

    >>> import pandas as pd
    >>> table = SizeTable.from_frame(pd.DataFrame({"S": [17.6, 18.2], "M": ["18 cm", 19]},
    ...                                           index=["palm length", "fist girth"]), "Mine", unit="cm")
    >>> table
    <SizeTable Mine: 2 measurements, sizes S, M>
    >>> table.row("palm length").tolist()
    [176.0, 180.0]
    """

    group: str
    sizes: tuple[str, ...]
    measurements: tuple[str, ...]
    values: NDArray[np.float64]
    units: tuple[str, ...] = ()
    how_to_measure: tuple[str, ...] = ()
    source: tuple[str, ...] = ()
    places: Mapping[tuple[int, int], Place] = field(default_factory=dict, repr=False)
    families: tuple[str, ...] = ()

    def __repr__(self) -> str:
        return f"<SizeTable {self.group}: {len(self.measurements)} measurements, sizes {', '.join(self.sizes)}>"

    @classmethod
    def from_frame(cls, frame: pd.DataFrame, group: str, unit: str = "mm") -> SizeTable:
        """A size table from a frame of one row a measurement and one column a size, in the order they have there.

        Its index names the measurements. Figures are in ``unit`` (mm, cm or in); a text may name its own, as '7 1/4
        in'. Raises GradingError with a finding for every figure that is none, and for names that stand twice.
        """
        sizes = tuple(" ".join(str(name).split()) for name in frame.columns)
        names = tuple(" ".join(str(name).split()) for name in frame.index)
        findings = [*_named_twice(group, "size", sizes), *_named_twice(group, "measure", names)]
        values = np.empty(frame.shape)
        for (row, column), typed in np.ndenumerate(frame.to_numpy(dtype=object)):
            # numpy's own kinds of number are none that a cell holds.
            figure = typed.item() if isinstance(typed, np.generic) else typed
            try:
                values[row, column] = float(measurement(figure, unit))
            except UnreadableError as problem:
                place = Place(group=group, size=sizes[column], measure=names[row])
                action = "Put a figure there, or leave the row out."
                findings.append(Finding.error(problem.code, place, str(problem), f"A length in {unit}.", action))
        if findings:
            raise GradingError(findings)
        blank = ("",) * len(names)
        return cls(group, sizes, names, values, (unit_name(unit),) * len(names), blank, blank)

    def frame(self) -> pd.DataFrame:
        """The figures in mm, one row a measurement and one column a size."""
        import pandas as pd  # slow to import, and most uses of a table need none

        rows = pd.Index(self.measurements, name="measurement")
        return pd.DataFrame(self.values, index=rows, columns=pd.Index(self.sizes, name="size"))

    @property
    def contents(self) -> tuple[object, ...]:
        """All that it holds, as values that can be compared and hashed."""
        every = (getattr(self, part.name) for part in fields(self))
        return tuple(
            one.tobytes() if isinstance(one, np.ndarray) else tuple(one.items()) if isinstance(one, Mapping) else one
            for one in every
        )

    def row(self, measurement: str) -> NDArray[np.float64] | None:
        """The figures of one measurement in every size, or None if the table has no such row."""
        names = self.measurements
        return self.values[names.index(measurement)] if measurement in names else None

    def of_size(self, size: str) -> dict[str, float]:
        """The figures of one size in mm, by measurement. Raises ValueError for a name it does not have."""
        return dict(zip(self.measurements, self.values[:, self.sizes.index(size)].tolist(), strict=True))

    def spelled_as(self, names: Iterable[str]) -> SizeTable:
        """The table with its measurements spelled as they are among these names, where they are the same."""
        known = Names(names)
        return replace(self, measurements=tuple(map(known.settled_or_not, self.measurements)))

    def only(self, measurements: Sequence[str]) -> SizeTable:
        """The table with these of its rows, in this order. Raises ValueError for a name it does not have."""
        kept = [self.measurements.index(name) for name in measurements]

        def picked(column: tuple[str, ...]) -> tuple[str, ...]:
            return tuple(column[row] for row in kept) if column else ()

        return replace(
            self,
            measurements=tuple(measurements),
            values=self.values[kept],
            units=picked(self.units),
            how_to_measure=picked(self.how_to_measure),
            source=picked(self.source),
            places={(kept.index(row), column): place for (row, column), place in self.places.items() if row in kept},
        )

    def unit(self, measurement: str) -> str:
        """The unit in which a row was typed, mm where none is known. Raises ValueError for a name it does not have."""
        row = self.measurements.index(measurement)
        return (self.units[row] if self.units else "") or "mm"

    def place(self, measurement: str, size: str = "") -> Place:
        """The cell of a figure, or of the row's name where no size is given."""
        row = self.measurements.index(measurement)
        column = self.sizes.index(size) if size else -1
        return self.places.get((row, column), Place(group=self.group, size=size, measure=measurement))


def _named_twice(group: str, kind: str, names: Sequence[str]) -> Iterator[Finding]:
    for name, times in Counter(map(Names(names).settled, names)).items():
        if times > 1 or not name:
            said = f"'{name}' stands {times} times in the frame." if name else "A name in the frame is blank."
            place = Place(group=group, **{kind: name})
            yield Finding.error(Code.DUPLICATE_NAME, place, said, "Each name once.", "Give each its own name.")
