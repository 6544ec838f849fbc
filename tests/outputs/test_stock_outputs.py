"""The batch's workbook, lay plan and tickets read back."""

from __future__ import annotations

import re
import zipfile
from dataclasses import replace
from io import BytesIO

import formulas
import openpyxl
import pytest
from legible import crossed_texts, outside, overlapping_texts
from pages_read import breaches, read_pages
from pypdf import PdfReader

from grading.drafting.stock_scenario import demo_stock
from grading.drawing.marks import Box, Text
from grading.drawing.paper import DEFAULT_PRINTING, MARGIN, PAPERS
from grading.drawing.system import HEIGHTS, WIDTHS
from grading.outputs.stock.fair import fair_workbook
from grading.outputs.stock.lay_plan import drawn_lay, lay_plan
from grading.outputs.stock.slips import slips
from grading.outputs.stock.tickets import ticket, tickets
from grading.outputs.stock.workbook import stock_workbook
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes
from grading.sheets.stock import read_stock
from grading.stock.plan import prepared

SHEETS = ["Cover", "Pairs", "Customers", "Skins", "Costs", "Lays", "Cut list", "Bundles", "Outworkers", "Findings"]
#: A sheet of its own for each outworker who has a bundle.
OWN = ["Workshop", "Outworker A"]


@pytest.fixture(scope="module")
def plan(runs):
    """Twelve pairs of children's mittens, on a drawn skin and on skins by the foot."""
    table = demo_stock()
    children = tuple(row for row in table.customers if row.group == "Children")
    small = replace(table, customers=children, skins=(table.skins[0], table.skins[-1]))
    return prepared(small, list(runs.values())).for_pairs(12, lambda *told: None)


@pytest.fixture(scope="module")
def book(plan):
    return stock_workbook(plan, run_id="1f3a9c", inputs={"stock.xlsx": "0f" * 32}, findings=())


@pytest.mark.parametrize("read", [read_sizes, read_block, read_stock])
def test_what_a_batch_wrote_is_told_from_tables(plan, book, tmp_path, read):
    for name, data, kind in (("stock", book, "the plan of a batch that a run wrote"),
                             ("fair", fair_workbook(plan, run_id="1f3a9c"), "what was sold at a fair")):  # fmt: skip
        (tmp_path / f"{name}.xlsx").write_bytes(data)
        ((code, found),) = [(one.code, one.found) for one in read(open_tables(tmp_path / f"{name}.xlsx")[0])[1]]
        assert code == "another-kind-of-file"
        assert found.startswith(f"This is {kind}, not ")


def cells(data: bytes, *, values: bool) -> openpyxl.Workbook:
    return openpyxl.load_workbook(BytesIO(data), data_only=values)


def carried(data: bytes) -> dict[tuple[str, str], object]:
    """What each formula cell is said to come to."""
    shown = cells(data, values=True)
    return {
        (sheet.title, cell.coordinate): shown[sheet.title][cell.coordinate].value
        for sheet in cells(data, values=False)
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


def column(sheet, heading: str) -> dict[tuple[str, str], object]:
    """A column's cells by group and size, from the table whose first two headings are those."""
    rows = list(sheet.iter_rows())
    start = next(i for i, row in enumerate(rows) if [cell.value for cell in row[:2]] == ["Group", "Size"])
    number = [cell.value for cell in rows[start]].index(heading)
    return {(row[0].value, row[1].value): row[number] for row in rows[start + 1 :] if row[1].value}


def test_the_sheets_and_their_figures_are_the_plans(plan, book):
    shown = cells(book, values=True)
    assert shown.sheetnames == [*SHEETS, *OWN]
    pairs = column(shown["Pairs"], "pairs")
    assert {key: cell.value for key, cell in pairs.items()} == {(w.group, w.size): w.pairs for w in plan.wanted}
    cost = column(shown["Costs"], "cost of a pair")
    for row in plan.sizes:
        assert cost[row.group, row.size].value == pytest.approx(row.cost)
    assert shown["Costs"].cell(shown["Costs"].max_row, 16).value == pytest.approx(plan.cost)


def test_a_formula_evaluator_comes_to_the_librarys_figures(book, tmp_path):
    path = tmp_path / "stock.xlsx"
    path.write_bytes(book)
    computed = formulas.ExcelModel().loads(str(path)).finish().calculate()
    found = carried(book)
    assert len(found) > 90
    for (sheet, cell), value in found.items():
        result = computed[f"'[stock.xlsx]{sheet.upper()}'!{cell}"].value[0, 0]
        assert result == pytest.approx(value, abs=1e-5), (sheet, cell)


@pytest.mark.long
def test_libreoffice_comes_to_the_librarys_figures_and_follows_a_change_of_pairs_and_prices(
    plan, book, tmp_path, office
):
    path = tmp_path / "stock.xlsx"
    path.write_bytes(book)
    again = openpyxl.load_workbook(office(path, "xlsx"), data_only=True)
    for (sheet, cell), value in carried(book).items():
        assert again[sheet][cell].value == pytest.approx(value, abs=1e-5), (sheet, cell)

    changed = cells(book, values=False)
    key = (plan.wanted[0].group, plan.wanted[0].size)
    column(changed["Pairs"], "pairs")[key].value = plan.wanted[0].pairs + 5
    column(changed["Costs"], "selling price")[key].value = 100
    column(changed["Costs"], "piece rate")[key].value = 30
    path = tmp_path / "changed.xlsx"
    changed.save(path)
    after = openpyxl.load_workbook(office(path, "xlsx"), data_only=True)
    costs, old = after["Costs"], plan.sizes[0]
    assert column(costs, "work")[key].value == 30
    assert column(costs, "margin of a pair")[key].value == pytest.approx(100 - (old.cost - old.work + 30))
    others = sum(row.pairs * row.cost for row in plan.sizes[1:])
    whole = others + (old.pairs + 5) * (old.cost - old.work + 30)
    assert costs.cell(costs.max_row, 16).value == pytest.approx(whole)
    listed = [row for row in after["Cut list"].iter_rows(values_only=True) if row[:2] == key]
    assert {row[5] for row in listed} == {old.pairs + 5}


def test_the_chart_of_pairs_is_told_in_words(plan, book):
    drawing = zipfile.ZipFile(BytesIO(book)).read("xl/drawings/drawing1.xml").decode()
    told = re.search('descr="Pairs of each size. ([^"]*)"', drawing)
    assert told
    for row in plan.wanted:
        assert f"{row.group} {row.size}: {row.pairs}" in told[1]


def test_each_skin_has_a_page_with_its_pairs_and_the_share_used(plan):
    pages = [
        page.extract_text() for page in PdfReader(BytesIO(lay_plan(plan, DEFAULT_PRINTING, run_id="1f3a9c"))).pages
    ]
    assert len(pages) == 1 + len(plan.lays)
    for lay, page in zip(plan.lays, pages[1:], strict=True):
        assert lay.skin.name in page
        assert f"{lay.share:.1%} used" in page
        assert all(f"no. {pair.number}" in " ".join(page.split()) for pair in lay.pairs)
    assert "Blades" in pages[0]


def test_every_piece_on_a_lay_tells_its_pair_and_hand(plan):
    for lay in plan.lays:
        texts = " ".join(mark.text for mark in drawn_lay(lay, 5).marks if isinstance(mark, Text))
        for pair in lay.pairs:
            whole = min(texts.count(f"{pair.size} {hand}") for hand in "LR")
            assert whole or texts.count(f"{pair.number} ")
        named = [mark for mark in drawn_lay(lay, 5).marks if isinstance(mark, Text) and mark.text[-2:] in (" L", " R")]
        assert len(named) == len(lay.laid)


def test_labels_on_a_lay_cover_neither_each_other_nor_a_line(plan):
    for lay in plan.lays:
        drawing = drawn_lay(lay, 5)
        assert not overlapping_texts(drawing)
        assert not crossed_texts(drawing)


def test_eight_tickets_go_on_a_sheet_and_each_says_all_that_it_must(plan):
    pages = PdfReader(BytesIO(tickets(plan, {"Children": "Fair mitten"}, DEFAULT_PRINTING, run_id="1f3a9c"))).pages
    assert len(pages) == -(-len(plan.bundles) // 8)
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for bundle in plan.bundles:
        assert f"Bundle {bundle.number}" in text
        assert f"due {bundle.due.isoformat()} · 28.00 € a pair" in text
    for words in (
        "Fair mitten",
        "run 1f3a9c",
        "left and right",
        "Pair numbers",
        "Pieces out",
        "Pieces in",
        "Name",
        "Date",
        "Count needles out and in",
        "The slip has all cautions",
    ):
        assert text.count(words) >= len(plan.bundles)


@pytest.mark.parametrize("style", ["Fair mitten", "A mitten with a name that goes on for quite a while, lined"])
def test_a_ticket_keeps_to_its_place_and_no_words_collide(plan, style):
    paper = PAPERS["a4"]
    box = Box(0, 0, (paper.short - 2 * MARGIN) / 2, (paper.long - 2 * MARGIN) / 4)
    for bundle in plan.bundles:
        drawing = ticket(bundle, style, "128.00 € a pair", "0123456789", box)
        assert not outside(drawing, box)
        assert not overlapping_texts(drawing)
        assert not crossed_texts(drawing)


def test_each_outworker_has_a_slip_with_bundles_pieces_pay_the_due_date_and_places_to_sign(plan):
    pages = PdfReader(BytesIO(slips(plan, {"Children": "Fair mitten"}, DEFAULT_PRINTING, run_id="1f3a9c"))).pages
    having = list(dict.fromkeys(bundle.outworker for bundle in plan.bundles))
    assert len(pages) == len(having) > 1
    whole = 0.0
    for outworker, page in zip(having, pages, strict=True):
        text = " ".join(page.extract_text().split())
        own = [bundle for bundle in plan.bundles if bundle.outworker == outworker]
        pay = re.search(r"Pay ([\d.]+) €", text)
        whole += float(pay[1])
        assert f"{outworker} {len(own)} bundle" in text
        assert f"{sum(bundle.pieces for bundle in own)} pieces" in text
        assert f"due on {max(bundle.due for bundle in own).isoformat()}" in text
        assert text.count("signature") == 3
        for caution in ("count needles out and in", "is not protective", "Home work has rules"):
            assert caution in text
    # Not as the slips do it, but by sizes: the work of the whole batch.
    assert whole == pytest.approx(sum(row.pairs * row.work for row in plan.sizes), abs=1e-9)


def test_the_pay_of_the_outworkers_adds_up_to_the_work_of_the_batch_in_the_workbook(book):
    sheet = cells(book, values=True)["Outworkers"]
    rows = {row[0].value: row for row in sheet.iter_rows() if row[0].value}
    together, work = rows["All outworkers"][6].value, rows["Work of the batch, sheet Costs"][6].value
    each = [row[6].value for name, row in rows.items() if name.startswith(("Workshop", "Outworker "))]
    assert len(each) > 1
    assert sum(each) == pytest.approx(together) == pytest.approx(work)


def test_each_outworker_has_a_sheet_to_sign_with_the_bundles_pieces_pay_and_days(plan, book):
    shown = cells(book, values=True)
    whole = 0.0
    for outworker in OWN:
        rows = list(shown[outworker].iter_rows(values_only=True))
        own = [bundle for bundle in plan.bundles if bundle.outworker == outworker]
        listed = [row for row in rows if isinstance(row[0], int)]
        assert [row[0] for row in listed] == [bundle.number for bundle in own]
        assert [row[1:3] for row in listed] == [(bundle.group, bundle.size) for bundle in own]
        assert [(row[4].date(), row[5].date()) for row in listed] == [(bundle.hand_out, bundle.due) for bundle in own]
        assert [row[6:8] for row in listed] == [(len(bundle.pairs), bundle.pieces) for bundle in own]
        assert all(row[9] == pytest.approx(row[6] * row[8]) for row in listed)
        (together,) = (row for row in rows if row[0] == "In all")
        whole += together[9]
        assert [row[0] for row in rows if row[0]][-4:-1] == ["Taken, pieces counted", "Brought back, pairs", "Paid, €"]
    assert whole == pytest.approx(sum(row.pairs * row.work for row in plan.sizes))


def test_an_outworker_who_is_called_as_another_sheet_takes_no_place_of_it(plan):
    named = replace(plan.batch.table.outworkers[0], name="Findings")
    batch = replace(plan.batch, table=replace(plan.batch.table, outworkers=(named,)))
    bundles = tuple(replace(bundle, outworker="Findings") for bundle in plan.bundles)
    book = stock_workbook(replace(plan, batch=batch, bundles=bundles), run_id="1f3a9c", inputs={}, findings=())
    shown = cells(book, values=True)
    assert shown.sheetnames == [*SHEETS, "Findings (2)"]
    (name,) = (row[0] for row in shown["Outworkers"].iter_rows() if row[0].value == "Findings")
    assert name.hyperlink.location == "'Findings (2)'!A1"


def test_a_slip_of_many_bundles_and_long_names_goes_over_several_sheets_and_keeps_its_words_apart(plan):
    worker = "Somebody with a name that is longer than any that was ever on a slip before, in the valley"
    many = tuple(replace(plan.bundles[0], number=number, outworker=worker) for number in range(1, 90))
    workers = (replace(plan.batch.table.outworkers[0], name=worker),)
    table = replace(plan.batch.table, outworkers=workers)
    long = replace(plan, bundles=many, batch=replace(plan.batch, table=table))
    data = slips(
        long,
        {"Children": "A mitten with a name that goes on for quite a while, lined"},
        DEFAULT_PRINTING,
        run_id="1f3a9c",
    )
    pages = read_pages(data)
    assert len(pages) > 1
    for page in pages:
        assert not breaches(page, HEIGHTS, WIDTHS, MARGIN - 0.01)


def test_the_parts_that_sizes_fit_come_to_what_the_run_fits(plan, book):
    rows = [[cell.value for cell in row] for row in cells(book, values=True)["Customers"].iter_rows()]
    (market,) = [market for market in plan.batch.markets if market.coverage]
    of_sizes = {row[1]: row[2] for row in rows if row[0] == market.group and row[1] in market.run.sizes}
    assert list(of_sizes) == list(market.run.sizes)
    assert sum(of_sizes.values()) == pytest.approx(100 * market.coverage.fitted, abs=0.1)
