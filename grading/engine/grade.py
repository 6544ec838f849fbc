"""The one array product: points as drafted plus rules times what each driver has changed by, all sizes at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from grading.geometry.arrays import Floats, product
from grading.model.block import Block, Kind
from grading.model.sizes import SizeTable

__all__ = ["Drivers", "drivers", "graded_points"]


@dataclass(frozen=True, eq=False)
class Drivers:
    """The figure of every driver: ``base`` (drivers,) as drafted and ``values`` (sizes, drivers), in mm.

    >>> from grading.drafting.scenario import demo_block, demo_sizes
    >>> every = drivers(demo_block(), demo_sizes()[0])
    >>> every["fist girth"].shape, every.change.shape == (6, len(every.names))
    ((6,), True)
    """

    names: tuple[str, ...]
    base: Floats
    values: Floats

    def __repr__(self) -> str:
        return f"<Drivers: {len(self.names)} in {len(self.values)} sizes>"

    @property
    def change(self) -> Floats:
        """What each driver differs by from the figure that the block was drafted with, (sizes, drivers)."""
        return self.values - self.base

    def __getitem__(self, name: str) -> Floats:
        """A driver's figure in every size. Raises KeyError for an unknown one."""
        if name not in self.names:
            raise KeyError(name)
        return self.values[:, self.names.index(name)]

    def __contains__(self, name: str) -> bool:
        return name in self.names


def drivers(block: Block, table: SizeTable) -> Drivers:
    """The drivers of a block in every size of a table.

    A body value is the table's row of that name; an allowance is the block's figure for this run unless the
    table carries a row of its name; a balance value starts at what it was drafted with. Raises KeyError if the
    table lacks a body value.
    """
    values = np.empty((len(table.sizes), len(block.values)))
    for column, value in enumerate(block.values):
        row = None if value.kind is Kind.BALANCE else table.row(value.name)
        if row is None and value.kind is Kind.BODY:
            raise KeyError(value.name)
        values[:, column] = value.now if row is None else row
    return Drivers(
        names=tuple(value.name for value in block.values),
        base=np.array([value.drafted for value in block.values]),
        values=values,
    )


def graded_points(points: Floats, rules: Floats, change: Floats) -> Floats:
    """The points (sizes, points, 2) of a piece in every size: P_s = P_0 + Σ_k R_k (d_sk − d_0k).

    ``points`` (points, 2) as drafted, ``rules`` (drivers, points, 2), ``change`` (sizes, drivers).

    >>> one_point, half_a_mm_up_for_each = np.array([[3.0, 40.0]]), np.array([[[0.0, 0.5]]])
    >>> graded_points(one_point, half_a_mm_up_for_each, np.array([[-4.0], [0.0], [6.0]]))[:, 0].tolist()
    [[3.0, 38.0], [3.0, 40.0], [3.0, 43.0]]
    """
    return points + product("sk,kpc->spc", change, rules)
