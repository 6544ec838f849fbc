"""A base block for each group of the demo, near enough to each of its sizes; and the tables as they stand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from grading.audit import audit_block, audit_run, audit_table
from grading.drafting.scenario import BASES, demo_block, demo_sizes
from grading.drafting.second_scenario import BASE, GROUP, STYLE, second_block, second_sizes
from grading.drafting.style import style_of
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.jobs.tables import check_job
from grading.outputs.starter import demo_tables
from grading.sheets.opening import open_tables

TABLES = Path(__file__).parents[2] / "tables"


@pytest.mark.parametrize("table", demo_sizes(), ids=lambda table: table.group)
def test_no_size_is_graded_more_than_three_steps_from_its_groups_base(table):
    run = balanced(grade(demo_block(table.group), table))
    girths = table.row("fist girth")
    drafted = run.drivers.base[run.drivers.names.index("fist girth")]
    assert np.abs(girths - drafted).max() <= 3 * np.diff(girths).max()
    assert run.sizes[run.base] == BASES[table.group]
    assert not list(audit_run(run))


def test_the_demo_is_graded_from_a_block_for_each_group_without_a_finding():
    job = check_job(TABLES / "sizes.xlsx", sorted(TABLES.glob("block*.xlsx")))
    assert [(group.run.group, group.run.block.groups) for group in job.groups] == [
        (group, (group,)) for group in (*BASES, GROUP)
    ]
    assert not [*job.findings, *(finding for group in job.groups for finding in group.findings)]


def test_two_blocks_for_one_group_are_one_too_many():
    blocks = [TABLES / "block.xlsx", TABLES / "block.xlsx", TABLES / "block-men.xlsx"]
    job = check_job(TABLES / "sizes.xlsx", blocks, ["Women"])
    assert [finding.code for finding in job.findings] == ["blocks-for-group"]


def test_the_tables_in_the_repository_are_those_that_the_package_writes(tmp_path):
    """After a change of the drafting: make tables."""
    written = demo_tables()
    assert sorted(written) == sorted(path.name for path in TABLES.glob("*.xlsx"))
    for name, content in written.items():
        (tmp_path / name).write_bytes(content)
        new, kept = (open_tables(folder / name)[0].grids for folder in (tmp_path, TABLES))
        assert [(grid.sheet, grid.cells) for grid in kept] == [(grid.sheet, grid.cells) for grid in new], name


def test_the_second_style_is_a_group_and_a_block_of_its_own_without_a_finding():
    block, table = second_block(), second_sizes()
    run = balanced(grade(block, table))
    assert block.groups == (table.group,) == (GROUP,)
    assert style_of(block) == STYLE
    assert (STYLE["fingers"], STYLE["lining"]) == ("closed top", "lined")
    assert run.sizes[run.base] == BASE
    assert not [*audit_table(table), *audit_block(block), *audit_run(run)]
