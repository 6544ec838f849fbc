"""The demo's tables and runs, made once for all tests, and a second reader of workbooks."""

from __future__ import annotations

import gc
import os
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import settings
from openpyxl.worksheet.merge import MergedCellRange

from grading.drafting.scenario import BASES, demo_allowances, demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.jobs import run as jobs
from grading.model.block import Block
from grading.model.sizes import SizeTable
from grading.outputs import starter
from grading.outputs.files import made_from

ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop>
</item></oor:items>"""

settings.register_profile("suite", deadline=None, max_examples=25, derandomize=True)
settings.register_profile("thorough", deadline=None, max_examples=250)
settings.load_profile(os.environ.get("EXAMPLES", "suite"))


def pytest_collection_finish() -> None:
    """What was imported and collected stays for good: not to walk through it for garbage saves a tenth of the time.

    Nor is it looked for as often as usual: tests make many objects, and few that hold each other.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


@pytest.fixture(scope="session")
def blocks() -> dict[str, Block]:
    """The demo's base block of each group."""
    return {group: demo_block(group) for group in BASES}


@pytest.fixture(scope="session")
def block(blocks: dict[str, Block]) -> Block:
    """The women's block, by which one block stands for all."""
    return blocks["Women"]


@pytest.fixture(scope="session")
def tables() -> dict[str, SizeTable]:
    return {table.group: table for table in demo_sizes()}


@pytest.fixture(scope="session")
def children(tables: dict[str, SizeTable]) -> SizeTable:
    """The children's table with rows for their own allowances, to be graded from another group's block."""
    table, usual = tables["Children"], demo_allowances("Women")
    own = {name: figure for name, figure in demo_allowances("Children").items() if figure != usual[name]}
    return replace(
        table,
        measurements=(*table.measurements, *own),
        values=np.vstack([table.values, *(np.full(len(table.sizes), figure) for figure in own.values())]),
        units=(*table.units, *("mm" for _ in own)),
        how_to_measure=(*table.how_to_measure, *(f"Allowance: {name}." for name in own)),
        source=(*table.source, *("" for _ in own)),
    )


@pytest.fixture(scope="session")
def runs(blocks: dict[str, Block], tables: dict[str, SizeTable]) -> dict[str, SizeRun]:
    """Each group as the demo grades it: from its own block."""
    return {group: balanced(grade(blocks[group], table)) for group, table in tables.items()}


@pytest.fixture(scope="session")
def many_sizes(blocks: dict[str, Block], tables: dict[str, SizeTable]) -> SizeRun:
    """The women's run with more sizes than any sheet names one beside the other."""
    table, count = tables["Women"], 100
    between = np.linspace(table.values[:, 0], table.values[:, -1], count, axis=1)
    return grade(blocks["Women"], replace(table, sizes=tuple(f"S{i + 1}" for i in range(count)), values=between))


@pytest.fixture(scope="session")
def office(tmp_path_factory):
    """LibreOffice as a second reader of what is written, where it is installed."""
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not installed")
    profile = tmp_path_factory.mktemp("profile")
    (profile / "user").mkdir()
    (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS_RECALCULATE)

    def convert(source: Path, kind: str) -> Path:
        out = source.parent / "converted"
        words = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", kind]
        subprocess.run([*words, "--outdir", str(out), str(source)], check=True, capture_output=True, timeout=120)
        return out / f"{source.stem}.{kind}"

    return convert


@pytest.fixture(scope="session", autouse=True)
def made_once():
    """Files that would be made from the same, by the sum that `made_from` gives, are made once for all tests.

    That they come out the same each time is tested on what other processes write; hundreds of tests look at what is
    done with them. ``made_anew`` is for a test of the making itself.
    """
    making = jobs.group_files
    made: dict[str, Sequence[tuple[str, bytes]]] = {}

    def group_files(graded, choices):
        key = made_from(graded, choices)
        if key not in made:
            made[key] = tuple(making(graded, choices))
        return iter(made[key])

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(jobs, "group_files", group_files)
        yield making


@pytest.fixture(scope="session", autouse=True)
def demo_written_once():
    """The demo's workbooks, which are the same each time, are written once for all folders that tests start."""
    written = cache(starter.demo_tables)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(starter, "demo_tables", lambda: dict(written()))
        yield


@pytest.fixture(scope="session", autouse=True)
def read_without_the_borders_of_merged_cells():
    """What openpyxl works out for the edges of merged cells takes a third of its time, and nobody looks at it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(MergedCellRange, "format", lambda _: None)
        yield


@pytest.fixture
def made_anew(made_once, monkeypatch):
    """Every file is made, whatever was made before."""
    monkeypatch.setattr(jobs, "group_files", made_once)


@pytest.fixture(scope="session", autouse=True)
def searched_shortly():
    """Lays are searched for a twentieth of the time: all but how few skins they take holds after a few steps."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("grading.stock.plan.STEPS", 500)
        patch.setattr("grading.stock.plan.STEPS_EACH", 200)
        yield
