"""OpenDocument spreadsheets: read like any workbook, or refused by one finding, whatever is in them."""

from __future__ import annotations

import datetime as dt
import io
import random
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from grading.jobs.tables import check_job
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes

TABLES = Path(__file__).parents[2] / "tables"
KIND = "application/vnd.oasis.opendocument.spreadsheet"
SPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text", "style")
)


def document(sheets: str, *, kind: str = KIND, styles: str = "", manifest: str = "") -> bytes:
    """A spreadsheet's file with the elements of ISO/IEC 26300 between those that all have."""
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {SPACES}><office:automatic-styles>{styles}'
        f"</office:automatic-styles><office:body><office:spreadsheet>{sheets}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", kind)
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", f"<manifest>{manifest}</manifest>")
    return stream.getvalue()


def text(words: str, more: str = "") -> str:
    return f'<table:table-cell office:value-type="string" {more}><text:p>{words}</text:p></table:table-cell>'


def figure(value: str, shown: str, more: str = "") -> str:
    kind = "" if "value-type" in more else 'office:value-type="float"'
    return f'<table:table-cell {kind} office:value="{value}" {more}><text:p>{shown}</text:p></table:table-cell>'


def valued(kind: str, name: str, value: str) -> str:
    return (
        f'<table:table-cell office:value-type="{kind}" office:{name}="{value}"><text:p>it</text:p></table:table-cell>'
    )


def again(cells: int) -> str:
    return f'table:number-columns-repeated="{cells}"'


def rows_again(rows: int) -> str:
    return f'table:number-rows-repeated="{rows}"'


def blank(cells: int) -> str:
    return f"<table:table-cell {again(cells)}/>"


def row(*cells: str, more: str = "") -> str:
    return f"<table:table-row {more}>{''.join(cells)}</table:table-row>"


def table(*rows: str, name: str = "Women", more: str = "") -> str:
    return f'<table:table table:name="{name}" {more}>{"".join(rows)}</table:table>'


@pytest.fixture
def opened(tmp_path):
    def write_and_open(data: bytes):
        (tmp_path / "t.ods").write_bytes(data)
        return open_tables(tmp_path / "t.ods")

    return write_and_open


def grid_of(opened, *rows, **more):
    read, findings = opened(document(table(*rows), **more))
    assert findings == []
    return read.grids[0]


def test_each_kind_of_value_is_read_as_it_was_saved(opened):
    grid = grid_of(
        opened,
        row(
            text("palm<text:s text:c='3'/>width"),
            figure("18.5", "18,5"),
            figure("7", "7"),
            figure("0.06", "6 %", 'office:value-type="percentage"'),
            valued("date", "date-value", "2026-09-08"),
            valued("boolean", "boolean-value", "true"),
            valued("time", "time-value", "PT08H30M00S"),
        ),
    )
    assert list(grid.cells.values()) == [
        "palm width", 18.5, 7, "6.00 %", dt.datetime(2026, 9, 8), True, dt.time(8, 30),
    ]  # fmt: skip


def test_repeated_cells_and_rows_are_read_where_they_hold_anything(opened):
    grid = grid_of(
        opened,
        row(blank(3), more=rows_again(7)),
        row(blank(2), figure("4", "4", again(2))),
        row(text("x"), blank(16383), more=rows_again(2)),
        row(blank(16384), more=rows_again(1048566)),
    )
    assert grid.cells == {(8, 3): 4, (8, 4): 4, (9, 1): "x", (10, 1): "x"}


def test_remarks_and_what_was_there_before_a_change_are_none_of_the_cells(opened):
    remark = "<office:annotation><text:p>bought in May</text:p></office:annotation>"
    before = f"<table:tracked-changes>{row(text('old'))}</table:tracked-changes>"
    read, _ = opened(document(before + table(row(f"<table:table-cell>{remark}</table:table-cell>", text("new")))))
    assert read.grids[0].cells == {(1, 2): "new"}


def test_formulas_without_a_value_and_errors_are_faults(opened):
    grid = grid_of(
        opened,
        row(
            '<table:table-cell table:formula="of:=1+1"/>',
            '<table:table-cell table:formula="of:=[.A9]" office:value-type="string" office:string-value="">'
            "<text:p>#REF!</text:p></table:table-cell>",
            '<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2"/>',
        ),
    )
    assert grid.faults == {(1, 1): "formula-without-value", (1, 2): "formula-error"}
    assert grid.value(1, 3) == 2


def test_what_is_hidden_or_merged_is_told(opened):
    hidden = '<style:table-properties table:display="false"/>'
    style = f'<style:style style:name="ta2" style:family="table">{hidden}</style:style>'
    columns = '<table:table-column/><table:table-column table:visibility="collapse" table:number-columns-repeated="2"/>'
    merged = text("a", 'table:number-columns-spanned="2" table:number-rows-spanned="3"')
    first = table(columns, row(merged), row(), row(), row(text("b"), more='table:visibility="filter"'))
    read, _ = opened(document(first + table(row(text("c")), name="Other", more='table:style-name="ta2"'), styles=style))
    one, other = read.grids
    assert (one.hidden, other.hidden) == (False, True)
    assert (one.hidden_rows, one.hidden_columns) == ({4}, {2, 3})
    assert one.merge_over(2, 1) == "A1:B3"


def test_a_figure_shown_in_another_unit_is_read_as_it_is_shown(opened):
    read, _ = opened(
        document(
            table(
                row(text("Measurement"), text("Unit"), text("S"), text("M")),
                row(text("fist girth"), text("mm"), figure("18.5", "18,5 cm"), figure("192", "192")),
            )
        )
    )
    (women,), findings = read_sizes(read)
    assert women.values.tolist() == [[185, 192]]
    assert [one.code for one in findings] == ["shown-otherwise"]


#: What is refused: its elements, the rest of its file, and the finding. What is large is made where it is tried.
REFUSED = {
    "of a text program": (
        lambda: table(row(text("x"))), {"kind": "application/vnd.oasis.opendocument.text"}, "not-a-workbook"
    ),
    "no sheet": (lambda: "", {}, "not-a-workbook"),
    "encrypted": (
        lambda: table(row(text("x"))), {"manifest": "<manifest:encryption-data/>"}, "password-protected"
    ),
    "cut off": (lambda: "<table:table>", {}, "workbook-broken"),
    "no figure": (lambda: table(row(figure("wide", "wide"))), {}, "workbook-broken"),
    "far cell": (lambda: table(row(figure("1", "1", again(16384)))), {}, "sheet-too-large"),
    "far row": (lambda: table(row(figure("1", "1"), more=rows_again(1048576))), {}, "sheet-too-large"),
    "repeated": (lambda: table(row(figure("1", "1", again(200)), more=rows_again(5000))), {}, "too-many-cells"),
    "blank rows": (lambda: table(*[row()] * 900_000), {}, "too-many-cells"),
    "long text": (lambda: table(row(text("x" * 40_000))), {}, "text-too-long"),
    "spaces": (lambda: " " * 70_000_000, {}, "unpacks-too-large"),
    "sheets": (lambda: "".join(table(name=str(i)) for i in range(600)), {}, "too-many-cells"),
}  # fmt: skip


@pytest.mark.parametrize("refused", REFUSED)
def test_what_is_no_table_or_too_much_is_refused_quickly(opened, refused):
    sheets, more, code = REFUSED[refused]
    data = document(sheets(), **more)
    start = time.process_time()
    read, findings = opened(data)
    assert time.process_time() - start < 5
    assert [one.code for one in findings] == [code]
    assert read.grids == ()


def test_a_damaged_file_is_read_or_refused_but_never_raises(opened):
    chance = random.Random(5)
    sound = document(
        table(row(text("Measurement"), text("Unit"), text("S")), row(text("girth"), text("mm"), figure("180", "180")))
    )
    with zipfile.ZipFile(io.BytesIO(sound)) as archive:
        content = archive.read("content.xml")
    refused = 0
    for _ in range(100):
        damaged = bytearray(content)
        for _ in range(chance.randint(1, 4)):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w") as archive:
            archive.writestr("mimetype", KIND)
            archive.writestr("content.xml", bytes(damaged))
        read, findings = opened(stream.getvalue())
        refused += bool(findings)
        read_sizes(read)
    assert refused > 20


@pytest.mark.long
@pytest.mark.parametrize("name", ["sizes", "block", "stock"])
def test_what_another_program_saved_is_read_as_the_workbook_it_came_from(office, tmp_path, name):
    source = tmp_path / f"{name}.xlsx"
    source.write_bytes((TABLES / f"{name}.xlsx").read_bytes())
    ours, theirs = open_tables(source)[0], open_tables(office(source, "ods"))[0]
    assert [grid.sheet for grid in ours.grids] == [grid.sheet for grid in theirs.grids]
    for one, other in zip(ours.grids, theirs.grids, strict=True):
        assert {at: str(value) for at, value in one.cells.items()} == {
            at: str(value) for at, value in other.cells.items()
        }
        assert (one.faults, one.hidden_rows, one.hidden_columns) == (
            other.faults,
            other.hidden_rows,
            other.hidden_columns,
        )
        assert {at: str(shown) for at, shown in one.shown.items()} == {
            at: str(shown) for at, shown in other.shown.items()
        }


@pytest.mark.long
def test_tables_saved_as_open_document_grade_to_the_same_figures(office, tmp_path):
    for name in ("sizes", "block"):
        (tmp_path / f"{name}.xlsx").write_bytes((TABLES / f"{name}.xlsx").read_bytes())
    sizes, block = (office(tmp_path / f"{name}.xlsx", "ods") for name in ("sizes", "block"))
    ours = check_job(tmp_path / "sizes.xlsx", tmp_path / "block.xlsx", "Women").groups[0]
    theirs = check_job(sizes, block, "Women").groups[0]
    assert ours.run_id == theirs.run_id


@pytest.mark.long
def test_number_formats_are_shown_as_in_the_other_kind_of_workbook(office, tmp_path):
    book = openpyxl.Workbook()
    formats = [(18.8, '0.0" cm"'), (188000, "#,##0,"), (3, '"W"0'), (-5, "0;0"), (7, "000"), (18.84, "0.0")]
    for number, (value, code) in enumerate([*formats, (7.25, "# ?/?"), (1880, "#,##0"), (0.06, "0%")], start=1):
        cell = book.active.cell(number, 1, value)
        cell.number_format = code
    book.save(tmp_path / "formats.xlsx")
    ours, theirs = open_tables(tmp_path / "formats.xlsx")[0], open_tables(office(tmp_path / "formats.xlsx", "ods"))[0]
    one, other = ours.grids[0], theirs.grids[0]
    assert {at: (str(shown), shown.figure) for at, shown in one.shown.items()} == {
        at: (str(shown), shown.figure) for at, shown in other.shown.items()
    }


@pytest.mark.parametrize(
    "sheets",
    [table(row(text("a")) + table(row(text("b")))), table(row(valued("time", "time-value", "half past eight")))],
)
def test_what_the_format_does_not_have_is_a_broken_workbook(opened, sheets):
    read, findings = opened(document(sheets))
    assert read.grids == ()
    assert [finding.code for finding in findings] == ["workbook-broken"]


def test_more_merged_cells_than_any_table_has_are_refused(opened):
    merged = row(text("a", 'table:number-columns-spanned="2"'), more="") * 1_100
    assert [finding.code for finding in opened(document(table(merged)))[1]] == ["sheet-too-large"]


def test_a_loss_in_brackets_is_below_zero(opened):
    grid = grid_of(opened, row(text("ease"), figure("-4.5", "(4,5)")))
    assert str(grid.shown[1, 2]) == "-4.5" if (1, 2) in grid.shown else grid.cells[1, 2] == -4.5
