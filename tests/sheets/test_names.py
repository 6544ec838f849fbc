"""Spelling is settled where names are read: the same names in other spellings make the same run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import grading
from grading.drafting.base import allowances_from_words
from grading.jobs.tables import check_job, read_job
from grading.model.names import Names, UnknownNameError
from grading.sheets.writing import block_workbook, sizes_workbook

#: Names ignore case where a file system, a sheet's or a table's name in a workbook, or a figure's format does.
ELSEWHERE = {"publish", "workbooks", "sheets"}


def test_a_run_is_the_same_however_its_names_are_spelled(block, tables, tmp_path):
    table = tables["Women"]
    shouted = replace(table, measurements=tuple(f" {name.upper()}" for name in table.measurements))
    limits = tuple(replace(one, what=one.what.title(), less=one.less and one.less.upper()) for one in block.limits)
    seams = tuple(replace(one, balance=one.balance.upper()) for one in block.seams)
    edges = tuple(replace(one, seam_type=one.seam_type.upper()) for one in block.edges)
    points = tuple(replace(one, moves=tuple(move.title() for move in one.moves)) for one in block.points)
    odd = replace(block, groups=("WOMEN",), limits=limits, seams=seams, edges=edges, points=points)
    runs = []
    for name, (a_block, a_table) in {"plain": (block, table), "odd": (odd, shouted)}.items():
        sizes, drafted = tmp_path / f"{name}.xlsx", tmp_path / f"block {name}.xlsx"
        sizes.write_bytes(sizes_workbook([a_table]))
        drafted.write_bytes(block_workbook(a_block))
        (group,) = read_job(sizes, [drafted], ["women"]).groups
        runs.append(group)
    plain, other = runs
    assert {one.code for one in other.findings} == {one.code for one in plain.findings}
    # A limit may name what only the table has, and is then spelled as the table spells it.
    assert replace(other.run.block, limits=()) == replace(plain.run.block, groups=("WOMEN",), limits=())
    for name, piece in plain.run.pieces.items():
        assert np.array_equal(other.run.pieces[name].points, piece.points)


@pytest.mark.parametrize(("typed", "near"), [("Trunk", "Trank"), ("Thunb", "Thumb"), ("Trank'", ""), ("elbow", "")])
def test_a_name_that_is_none_is_refused_with_the_nearest(typed, near):
    with pytest.raises(UnknownNameError) as refused:
        Names(["Trank", "Thumb"]).settled(typed)
    assert (refused.value.name, refused.value.near) == (typed, near)


def test_names_are_compared_as_they_are_once_they_are_read():
    package = Path(grading.__file__).parent
    folded = {
        path.relative_to(package).as_posix(): path.read_text(encoding="utf-8").count(".casefold()")
        for path in package.rglob("*.py")
    }
    beyond = {path for path, count in folded.items() if count and path.split("/")[0] not in ELSEWHERE}
    assert beyond == {"model/names.py"}


def test_a_group_that_there_is_not_is_told(block, tables, tmp_path):
    sizes, drafted = tmp_path / "sizes.xlsx", tmp_path / "block.xlsx"
    sizes.write_bytes(sizes_workbook([tables["Women"]]))
    drafted.write_bytes(block_workbook(block))
    job = check_job(sizes, [drafted], ["Wimmen"])
    assert [(one.code, one.place.group) for one in job.findings if one.code == "unknown-group"] == [
        ("unknown-group", "Wimmen")
    ]
    assert job.groups == ()


def test_an_allowance_of_another_name_is_told_with_the_nearest():
    allowances, (finding,) = allowances_from_words([("Foot  DEPTH", "12"), ("foot dept", "13")], "mm")
    assert allowances["foot depth"] == 12
    assert (finding.code, finding.expected) == ("unknown-allowance", "Perhaps 'foot depth' is meant.")
