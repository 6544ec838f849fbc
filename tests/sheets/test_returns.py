"""Returned files from anybody: read, refused or named, and never in the way of the others."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
import tracemalloc
import zipfile
from io import BytesIO

import openpyxl
import pytest

from grading.findings import Severity
from grading.jobs.returns import check_returns
from grading.outputs.check_sheets import check_sheets
from grading.readings.returns import Verdict
from grading.readings.targets import targets
from grading.sheets.opening import address, open_tables
from grading.sheets.returns import read_check_sheets

RUN = "1f3a9c0123"
FIRST_ROW, FIRST_COLUMN = 14, 6


@pytest.fixture(scope="module")
def handed_out(runs) -> dict[str, bytes]:
    return dict(check_sheets(runs["Women"], run_id=RUN, unit="mm"))


def filled(data: bytes, cells: dict[str, object]) -> bytes:
    book = openpyxl.load_workbook(BytesIO(data))
    for cell, value in cells.items():
        book.active[cell] = value
    out = BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.fixture
def back(tmp_path, runs, handed_out):
    """Writes files of these names and bytes, and reads them back against the women's run."""

    def read(files: dict[str, bytes], **how):
        paths = []
        for name, data in files.items():
            paths.append(tmp_path / name)
            paths[-1].write_bytes(data)
        return check_returns(paths, {RUN: runs["Women"]}, **how)

    return read


def codes(returned) -> list[str]:
    return [finding.code for finding in returned.findings]


def readings(returned) -> dict[str, tuple[float | None, str]]:
    return {one.reading.place.cell: (one.reading.mm, str(one.verdict)) for one in returned.judgement.readings}


def test_who_measured_what_of_which_mitten_is_read(back, handed_out):
    returned = back({"a.xlsx": filled(handed_out["W3"], {"B8": " Ann ", "B9": "2026-11-20", "F14": 114, "K15": 109.5})})
    (sheet,) = returned.sheets
    assert (sheet.name, sheet.date, sheet.size, sheet.group) == ("Ann", "2026-11-20", "W3", "Women")
    assert [(one.measure, one.pair, one.hand, one.mm) for one in sheet.readings] == [
        ("palm width", 1, "left", 114.0),
        ("waist width", 3, "right", 109.5),
    ]
    assert returned.findings == ()


def test_lengths_are_taken_however_they_were_typed(back, handed_out):
    typed = {"F14": "11,4 cm", "G14": "114,5", "H14": "4 1/2 in"}
    found = readings(back({"a.xlsx": filled(handed_out["W3"], {"B8": "Ann", **typed})}))
    assert {cell: mm for cell, (mm, _) in found.items()} == pytest.approx({"F14": 114.0, "G14": 114.5, "H14": 114.3})


@pytest.mark.parametrize("typed", ["wide", -3, True, "=1+1", "12/0"])
def test_what_is_no_length_is_kept_as_typed_and_told_by_its_cell(back, handed_out, typed):
    returned = back({"a.xlsx": filled(handed_out["W3"], {"B8": "Ann", "F14": typed})})
    assert readings(returned) == {"F14": (None, "check")}
    (finding,) = returned.findings
    assert (finding.severity, str(finding.place)) == (Severity.WARNING, "a.xlsx, sheet Check W3, cell F14")


def test_pasting_over_validation_does_not_get_an_unlikely_figure_judged(back, handed_out):
    returned = back({"a.xlsx": filled(handed_out["W3"], {"B8": "Ann", "F14": 11.4, "G14": 1140})})
    assert {word for _, word in readings(returned).values()} == {"check"}
    assert returned.judgement.measures["palm width"][0].count == 0


def test_a_sheet_of_another_run_is_refused_unless_told(back, handed_out, runs):
    (other,) = [data for size, data in check_sheets(runs["Men"], run_id="other", unit="mm") if size == "M2"]
    data = filled(other, {"B8": "Ann", "F14": 100, "F15": 300})
    refused = back({"a.xlsx": data})
    assert (codes(refused), refused.sheets) == (["other-run"], ())
    assert refused.findings[0].severity is Severity.ERROR
    taken = back({"a.xlsx": data}, any_run=True)
    assert (codes(taken), taken.findings[0].severity) == (["other-run"], Severity.NOTE)
    palm = targets(runs["Men"], "mm")[1][0].mm[0]
    assert taken.judgement.readings[0].deviation == pytest.approx(100 - palm)


def test_work_is_judged_by_the_runs_figures_even_where_the_sheets_were_altered(back, handed_out):
    returned = back({"a.xlsx": filled(handed_out["W3"], {"B8": "Ann", "D14": 90, "F14": 90})})
    assert readings(returned)["F14"] == (90.0, "short")
    assert codes(returned) == ["figures-altered"]
    assert "palm width" in returned.findings[0].found
    assert "waist" not in returned.findings[0].found


@pytest.mark.parametrize(("by", "told"), [(0.0005, []), (0.1, ["figures-altered"]), (0.4, ["figures-altered"])])
def test_a_figure_altered_by_a_tenth_of_a_millimetre_is_told(back, handed_out, by, told):
    palm = openpyxl.load_workbook(BytesIO(handed_out["W3"])).active["D14"].value
    returned = back({"a.xlsx": filled(handed_out["W3"], {"B8": "Ann", "D14": palm + by, "F14": 114})})
    assert codes(returned) == told


def test_readings_of_a_row_that_lost_its_measure_are_told_and_the_rows_below_still_count(back, handed_out):
    sheet = filled(handed_out["W3"], {"B8": "Ann", "B15": None, "F14": 117, "F15": 112, "F16": 115})
    returned = back({"ann.xlsx": sheet})
    assert set(readings(returned)) == {"F14", "F16"}
    told = {finding.code: finding for finding in returned.findings}
    assert set(told) == {"measure-missing", "rows-missing"}
    assert told["measure-missing"].place.cell == "B15"
    assert "F15" in told["measure-missing"].found


def test_a_row_deleted_from_a_sheet_is_told_by_its_measure(back, handed_out):
    book = openpyxl.load_workbook(BytesIO(filled(handed_out["W3"], {"B8": "Ann", "F14": 117})))
    measure = book.active["B16"].value
    book.active.delete_rows(16)
    out = BytesIO()
    book.save(out)
    (finding,) = back({"ann.xlsx": out.getvalue()}).findings
    assert (finding.code, finding.severity) == ("rows-missing", Severity.WARNING)
    assert finding.found.endswith(f": {measure}.")


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        ({"B7": None}, "check-sheet-incomplete"),
        ({"B6": None}, "check-sheet-incomplete"),
        ({"B5": None}, "check-sheet-incomplete"),
        ({"B7": "cubit"}, "unknown-unit"),
        ({"B5": "W9"}, "size-not-in-run"),
        ({"B4": "Men"}, "size-not-in-run"),
        ({"A13": None}, "not-a-check-sheet"),
    ],
)
def test_a_sheet_that_does_not_say_what_it_is_of_is_refused(back, handed_out, cells, code):
    returned = back({"a.xlsx": filled(handed_out["W3"], {"B8": "Ann", "F14": 114, **cells})})
    assert codes(returned) == [code]
    assert returned.judgement.readings == ()


def test_a_nameless_sheet_counts_and_is_told(back, handed_out):
    returned = back({"a.xlsx": filled(handed_out["W3"], {"F14": 114})})
    assert codes(returned) == ["name-missing"]
    assert len(returned.judgement.readings) == 1


def test_the_same_file_twice_counts_once_and_is_told(back, handed_out):
    data = filled(handed_out["W3"], {"B8": "Ann", "F14": 114})
    returned = back({"a.xlsx": data, "b.xlsx": data})
    assert codes(returned) == ["file-twice"]
    assert len(returned.judgement.readings) == 1


def test_files_of_one_name_from_two_people_are_told_apart_by_their_folders(tmp_path, runs, handed_out):
    paths = [tmp_path / name / "W3.xlsx" for name in ("ann", "bo")]
    for number, path in enumerate(paths):
        path.parent.mkdir()
        path.write_bytes(filled(handed_out["W3"], {"B8": "A name", "F14": 114 + number}))
    returned = check_returns(paths, {RUN: runs["Women"]})
    assert [one.reading.place.workbook for one in returned.judgement.readings] == [str(path) for path in paths]
    assert sorted(returned.files.values()) == sorted(map(str, paths))


def test_sheets_come_in_the_order_of_the_runs_sizes(back, handed_out):
    files = {f"{size}.xlsx": filled(handed_out[size], {"B8": "Ann", "F14": 114}) for size in ("W5", "W1", "W3")}
    assert [sheet.size for sheet in back(files).sheets] == ["W1", "W3", "W5"]


def broken(data: bytes) -> bytes:
    return data[: len(data) // 2]


def foreign(data: bytes) -> bytes:
    out = BytesIO()
    openpyxl.Workbook().save(out)
    return out.getvalue()


def with_part(data: bytes, part: str, content: str) -> bytes:
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, content if name == part else old.read(name))
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
HOSTILE = {
    "broken": broken,
    "foreign": foreign,
    "entities": lambda data: with_part(data, SHEET, '<!DOCTYPE a [<!ENTITY x "y">]><a>&x;</a>'),
    "bomb": lambda data: with_part(data, SHEET, "<worksheet/>" + " " * 70_000_000),
    "a million rows": lambda data: with_part(data, SHEET, "<worksheet>" + '<row r="1"/>' * 1_048_576 + "</worksheet>"),
    "password": lambda data: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
    "picture": lambda data: b"\x89PNG\r\n\x1a\n" + bytes(500),
}


@pytest.mark.parametrize(
    "kind", [pytest.param(kind, marks=[pytest.mark.long] if kind == "a million rows" else []) for kind in HOSTILE]
)
def test_a_hostile_file_is_named_and_in_little_memory_and_the_other_is_read(back, handed_out, kind):
    good = filled(handed_out["W3"], {"B8": "Ann", "F14": 114})
    bad = HOSTILE[kind](good)
    tracemalloc.start()
    returned = back({"bad.xlsx": bad, "good.xlsx": good})
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [(finding.severity, finding.place.workbook) for finding in returned.findings] == [
        (Severity.ERROR, "bad.xlsx")
    ]
    assert len(returned.judgement.readings) == 1
    assert peak < 500e6


#: Reads each file named, and prints the seconds of processor time that it took.
READ = """
import sys, time
from pathlib import Path
from grading.jobs.returns import check_returns
for path in sys.argv[1:]:
    begun = time.process_time()
    assert check_returns([Path(path)], {}).findings
    print(time.process_time() - begun)
"""


def test_no_hostile_file_takes_long_to_be_named(tmp_path, handed_out):
    for kind, spoil in HOSTILE.items():
        (tmp_path / f"{kind}.xlsx").write_bytes(spoil(handed_out["W3"]))
    words = [sys.executable, "-c", READ, *sorted(map(str, tmp_path.glob("*.xlsx")))]
    # A process of its own, and one whose lines nobody counts: that would be measured too.
    plain = {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE")}
    told = subprocess.run(words, env=plain, capture_output=True, text=True, check=True)
    seconds = [float(line) for line in told.stdout.split()]
    assert len(seconds) == len(HOSTILE)
    assert max(seconds) < 5


def numbered(data: bytes, number: int) -> bytes:
    """The same workbook as somebody else's of the same size: with a first reading of its own."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                cell = address(FIRST_ROW, FIRST_COLUMN).encode()
                figure = re.compile(rb'(<c r="' + cell + rb'"[^>]*><v>)([0-9.]+)')
                part, count = figure.subn(lambda found: found[1] + b"%.3f" % (float(found[2]) + number / 500), part)
                assert count == 1
            new.writestr(name, part)
    return out.getvalue()


@pytest.mark.long
def test_a_hundred_files_are_read_in_seconds_and_every_reading_is_kept(back, handed_out):
    boxes = [(row, column) for row in range(FIRST_ROW, FIRST_ROW + 13) for column in range(FIRST_COLUMN, 16)]
    whole: list[bytes] = []
    for number, data in enumerate(handed_out.values()):
        sheet = openpyxl.load_workbook(BytesIO(data)).active
        figures = {sheet.cell(row, column).coordinate: sheet.cell(row, 4).value + number / 10 for row, column in boxes}
        whole.append(filled(data, {"B8": f"maker {number}", **figures}))
    files = {f"{number:03}.xlsx": numbered(whole[number % len(whole)], number) for number in range(100)}
    files["050.xlsx"] = broken(files["050.xlsx"])
    start = time.process_time()
    returned = back(files)
    assert time.process_time() - start < 20
    assert [(finding.code, finding.place.workbook) for finding in returned.findings] == [
        ("workbook-broken", "050.xlsx")
    ]
    assert len(returned.judgement.readings) == 99 * len(boxes)
    assert {one.verdict for one in returned.judgement.readings} == {Verdict.PASS}


def test_other_sheets_of_the_file_are_left_alone(tmp_path, handed_out):
    book = openpyxl.load_workbook(BytesIO(handed_out["W3"]))
    book.create_sheet("My notes")["A1"] = "Letter to myself"
    book.active["F14"] = 114
    path = tmp_path / "a.xlsx"
    book.save(path)
    sheets, findings = read_check_sheets(open_tables(path)[0])
    assert [len(sheet.readings) for sheet in sheets] == [1]
    assert [finding.code for finding in findings] == ["name-missing"]
