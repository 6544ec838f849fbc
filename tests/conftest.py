"""The demo's tables and runs, made once for all tests."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import settings

from grading.drafting.scenario import demo_allowances, demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.model.block import Block
from grading.model.sizes import SizeTable

settings.register_profile("suite", deadline=None, max_examples=25, derandomize=True)
settings.register_profile("thorough", deadline=None, max_examples=250)
settings.load_profile(os.environ.get("EXAMPLES", "suite"))


@pytest.fixture(scope="session")
def block() -> Block:
    return demo_block()


@pytest.fixture(scope="session")
def tables() -> dict[str, SizeTable]:
    """The demo's groups as they are graded from one block: the children's carries its own allowances."""
    return {table.group: _with_own_allowances(table) for table in demo_sizes()}


@pytest.fixture(scope="session")
def runs(block: Block, tables: dict[str, SizeTable]) -> dict[str, SizeRun]:
    return {group: balanced(grade(block, table)) for group, table in tables.items()}


def _with_own_allowances(table: SizeTable) -> SizeTable:
    usual = demo_allowances("Women")
    own = {name: figure for name, figure in demo_allowances(table.group).items() if figure != usual[name]}
    return replace(
        table,
        measurements=(*table.measurements, *own),
        values=np.vstack([table.values, *(np.full(len(table.sizes), figure) for figure in own.values())]),
        units=(*table.units, *("mm" for _ in own)),
        how_to_measure=(*table.how_to_measure, *(f"Allowance: {name}." for name in own)),
        source=(*table.source, *("" for _ in own)),
    )
