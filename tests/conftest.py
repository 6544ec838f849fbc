"""The demo's tables and runs, made once for all tests."""

from __future__ import annotations

import pytest
from hypothesis import settings

from grading.drafting.scenario import demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.model.block import Block
from grading.model.sizes import SizeTable

settings.register_profile("suite", deadline=None, max_examples=40, derandomize=True)
settings.load_profile("suite")


@pytest.fixture(scope="session")
def block() -> Block:
    return demo_block()


@pytest.fixture(scope="session")
def tables() -> dict[str, SizeTable]:
    return {table.group: table for table in demo_sizes()}


@pytest.fixture(scope="session")
def runs(block: Block, tables: dict[str, SizeTable]) -> dict[str, SizeRun]:
    return {group: balanced(grade(block, table)) for group, table in tables.items()}
