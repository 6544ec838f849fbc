"""The same tables give the same files, to the byte, whenever and wherever they are run."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import zipfile
from collections.abc import Iterable, Sequence
from pathlib import Path

import openpyxl
import pytest

from grading.outputs.files import KINDS

TABLES = Path(__file__).parents[2] / "tables"


@pytest.fixture(scope="module")
def sizes(tmp_path_factory) -> Path:
    """The demo's size tables with two of the women's sizes: enough to differ, and quick to write."""
    book = openpyxl.load_workbook(TABLES / "sizes.xlsx")
    for heading in ("W1", "W2", "W5", "W6"):
        headings = [cell.value for cell in book["Women"][1]]
        book["Women"].delete_cols(headings.index(heading) + 1)
    path = tmp_path_factory.mktemp("tables") / "sizes.xlsx"
    book.save(path)
    return path


def grade(
    sizes: Path,
    folder: Path,
    *,
    kinds: Iterable[str] = KINDS,
    program: Sequence[str] = ("-m", "grading"),
    **environment: str,
):
    """Every file that a process of its own writes for the women's group, of every kind or of some."""
    only = [word for kind in kinds for word in ("--only", kind)]
    tables = ["--sizes", str(sizes), "--block", str(TABLES / "block.xlsx"), "--group", "Women"]
    command = [sys.executable, *program, "run", *tables, "--quiet", *only, "--out", str(folder)]
    subprocess.run(command, check=True, capture_output=True, cwd=TABLES.parent, env={**os.environ, **environment})
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.fixture(scope="module")
def first(sizes, tmp_path_factory) -> tuple[Path, dict[str, bytes]]:
    folder = tmp_path_factory.mktemp("first") / "out"
    return folder, grade(sizes, folder, PYTHONHASHSEED="1", TZ="Asia/Tokyo", LC_ALL="C")


def test_a_run_elsewhere_beside_other_libraries_gives_byte_identical_files_of_every_kind(first, sizes, tmp_path):
    """Another folder, zone, language and order of hashing, and what else a program may have imported."""
    _, files = first
    program = "import lxml.etree, openpyxl, pandas; assert openpyxl.LXML; from grading.cli import main; main()"
    elsewhere = {"PYTHONHASHSEED": "2", "TZ": "America/Lima", "LC_ALL": "C.UTF-8", "OPENPYXL_LXML": "True"}
    assert grade(sizes, tmp_path / "elsewhere" / "again", program=("-c", program), **elsewhere) == files
    assert {name.rpartition(".")[2] for name in files} == {"pdf", "xlsx", "json", "svg", "dxf"}


def test_a_second_run_into_the_same_folder_touches_no_file(first, sizes):
    folder, files = first
    stamps = {path: path.stat().st_mtime_ns for path in folder.rglob("*.*")}
    assert grade(sizes, folder) == files
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*.*")} == stamps


def test_tables_saved_anew_without_a_change_keep_the_run_and_every_printed_page(first, sizes, tmp_path):
    _, files = first
    openpyxl.load_workbook(sizes).save(tmp_path / "sizes.xlsx")
    assert (tmp_path / "sizes.xlsx").read_bytes() != sizes.read_bytes()
    again = grade(tmp_path / "sizes.xlsx", tmp_path / "out", kinds=("nest", "patterns", "cards"))
    printed = [name for name in again if name.endswith(".pdf")]
    assert len(printed) > 3
    assert {name: again[name] for name in printed} == {name: files[name] for name in printed}


def test_the_date_of_the_environment_is_honoured_in_workbooks_and_nowhere_is_the_clock(first, sizes, tmp_path):
    _, files = first
    dated = grade(sizes, tmp_path / "dated", kinds=("spec",), SOURCE_DATE_EPOCH="1700000000")
    for name in (name for name in dated if name.endswith(".xlsx")):
        for content in (files[name], dated[name]):
            entries = zipfile.ZipFile(io.BytesIO(content)).infolist()
            assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
    created = {openpyxl.load_workbook(io.BytesIO(dated[n])).properties.created for n in files if n.endswith(".xlsx")}
    assert {moment.date().isoformat() for moment in created} <= {"2023-11-14", "2026-11-02"}  # the epoch's, the block's
