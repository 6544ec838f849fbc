"""Every printed page by the one system: letters, lines, nothing over or across, from its marks and from its PDF."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
import shapely
from legible import crossed_texts, overlapping_texts
from pages_read import breaches, read_pages
from typed_commands import TABLES

from grading import read_job
from grading.drafting.base import Drafted, draft_base
from grading.drafting.parts.part import LAYER
from grading.drafting.scenario import demo_allowances
from grading.drafting.stock_scenario import demo_stock
from grading.drawing.marks import Curve, Drawing, Role, Text
from grading.drawing.paper import DEFAULT_PRINTING, PAPERS, Printing
from grading.drawing.shapes import shapes
from grading.drawing.styles import style_of
from grading.drawing.system import HEIGHTS, WIDTHS
from grading.geometry.flattening import flatten
from grading.model.measured import Hands
from grading.outputs import cards, construction, measuring_guide, nest, patterns
from grading.outputs.pieces import PatternKind
from grading.outputs.stock import lay_plan, tickets
from grading.readings.cut_lines import cut_lines
from grading.stock.plan import prepared

RUN_ID = "1f3a9c2b7d"
GROUPS = ["Women", "Men", "Children"]
A4 = Printing(PAPERS["a4"])
#: Office printers leave out 5 mm along the edges (common practice).
MARGIN = 4.9


@pytest.fixture
def printed(monkeypatch):
    """Calls a function of a module of outputs, and gives the pages and the PDF files that it made."""

    def call(module, make, *given, **named):
        made = []
        write = module.pdf_bytes

        def kept(pages, about, base=None):
            data = write(pages, about, base)
            made.append((pages, data))
            return data

        monkeypatch.setattr(module, "pdf_bytes", kept)
        result = make(*given, **named)
        if not isinstance(result, bytes):
            list(result)
        monkeypatch.setattr(module, "pdf_bytes", write)
        assert made
        return made

    return call


def broken(pages) -> list[str]:
    """What on the pages breaks the system, from the list of marks."""
    said = []
    for page in pages:
        shown = [*page.drawing.marks]
        for placed in page.placed:
            for mark in placed.drawing.moved(placed.dx, placed.dy).marks:
                if placed.window.contains(mark.box):
                    shown.append(mark)
                elif isinstance(mark, Text) and placed.window.overlaps(mark.box):
                    said.append(f"across a joint: {mark.text}")
        texts = [mark for mark in shown if isinstance(mark, Text)]
        said += [f"{text.height} mm: {text.text}" for text in texts if text.height not in HEIGHTS]
        said += [f"upside down: {text.text}" for text in texts if not reads_from_below_or_the_right(text.angle)]
        said += [
            f"off the sheet: {text.text}" for text in texts if not page.sheet.printable.grown(1e-6).contains(text.box)
        ]
        said += [
            f"{mark.role}"
            for mark in shown
            if style_of(mark.role, getattr(mark, "size", None)).width not in (0, *WIDTHS)
        ]
        drawing = Drawing(tuple(shown))
        said += [f"{one.text} over {other.text}" for one, other in overlapping_texts(drawing)]
        said += [f"{mark.role} through {text.text}" for text, mark in crossed_texts(drawing)]
    return said


def reads_from_below_or_the_right(angle: float) -> bool:
    return np.cos(angle) > 1e-9 or (abs(np.cos(angle)) <= 1e-9 and np.sin(angle) > 0)


def hold(made) -> None:
    for pages, data in made:
        assert broken(pages) == []
        for page in read_pages(data):
            assert breaches(page, HEIGHTS, WIDTHS, MARGIN) == []


def test_the_reader_finds_what_breaks_the_system():
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas("sample.pdf", pagesize=(300, 300))
    canvas.setFont("Helvetica", 9)
    canvas.setLineWidth(3)
    canvas.drawString(50, 100, "too small and crossed")
    canvas.line(40, 102, 200, 102)
    canvas.drawString(52, 101, "over it")
    canvas.rotate(180)
    canvas.drawString(-200, -200, "upside down")
    (page,) = read_pages(canvas.getpdfdata())
    said = " ".join(breaches(page, HEIGHTS, WIDTHS, MARGIN))
    for words in ("mm high", "mm wide", "a line through", "over 'over it'", "180°"):
        assert words in said


def test_patterns_of_a_group_hold_to_the_system(runs, printed):
    run = runs["Women"]
    hold(printed(patterns, patterns.patterns, run, cut_lines(run), A4, PatternKind(RUN_ID)))


def test_the_page_on_measuring_holds_to_the_system(printed):
    hold(printed(measuring_guide, measuring_guide.measuring_guide, A4))


def drafted(table) -> Drafted:
    middle = len(table.sizes) // 2
    figures = dict(zip(table.measurements, table.values[:, middle].tolist(), strict=True))
    made, findings = draft_base(Hands(right=figures), demo_allowances("Women") | LAYER, name="Own")
    assert made is not None, findings
    return made


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_construction_and_traced_pattern_hold_to_the_system(tables, printed, unit):
    made = drafted(tables["Women"])
    hold(printed(construction, construction.construction_sheet, made, A4, unit=unit))
    hold(printed(construction, construction.traced_sheet, made, A4, unit=unit))


@pytest.mark.long
@pytest.mark.parametrize("paper", PAPERS)
def test_construction_holds_to_the_system_on_every_paper(tables, printed, paper):
    for table in tables.values():
        hold(printed(construction, construction.construction_sheet, drafted(table), Printing(PAPERS[paper]), unit="mm"))


def test_lay_plan_and_tickets_hold_to_the_system(runs, printed):
    table = demo_stock()
    children = tuple(row for row in table.customers if row.group == "Children")
    few = replace(table, customers=children, skins=(table.skins[0], table.skins[-1]))
    plan = prepared(few, list(runs.values())).for_pairs(12, lambda *told: None)
    hold(printed(lay_plan, lay_plan.lay_plan, plan, DEFAULT_PRINTING, run_id=RUN_ID))
    hold(printed(tickets, tickets.tickets, plan, {"Children": "Fair mitten"}, DEFAULT_PRINTING, run_id=RUN_ID))


def test_a_nest_holds_to_the_system(runs, printed):
    hold(printed(nest, nest.nest, runs["Women"], A4, run_id=RUN_ID, unit="mm"))


def test_the_cards_of_a_group_hold_to_the_system(runs, printed):
    ((pages, data),) = printed(cards, cards.cards, runs["Children"], A4, run_id=RUN_ID, unit="mm")
    hold([(pages, data)])


def test_the_second_style_holds_to_the_system(printed):
    run = read_job(TABLES / "sizes.xlsx", (), ["Small children"])["Small children"].run
    hold(printed(patterns, patterns.patterns, run, cut_lines(run), A4, PatternKind(RUN_ID)))
    hold(printed(nest, nest.nest, run, A4, run_id=RUN_ID, unit="mm"))


@pytest.mark.long
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("group", GROUPS)
def test_every_page_of_the_demo_holds_to_the_system_on_every_paper(runs, printed, group, paper):
    run, printing = runs[group], Printing(PAPERS[paper])
    hold(printed(nest, nest.nest, run, printing, run_id=RUN_ID, unit="mm"))
    for wanted in (PatternKind(RUN_ID), PatternKind(RUN_ID, each_hand=True), PatternKind(RUN_ID, net=True)):
        hold(printed(patterns, patterns.patterns, run, cut_lines(run), printing, wanted))


def dashes_in_black_and_white(pages, data, base) -> int:
    """Holds every line of a size in a nest to its dashes as 600 dots an inch print it; how many lines were seen."""
    seen = 0
    document = pypdfium2.PdfDocument(data)
    for number, page in enumerate(pages):
        bitmap = document[number].render(scale=600 / 72, grayscale=True).to_numpy()
        black = (bitmap if bitmap.ndim == 2 else bitmap[..., 0]) < 128
        for placed in page.placed:
            marks = placed.drawing.moved(placed.dx, placed.dy).marks
            known = shapes(marks)
            tree = shapely.STRtree(known)
            for mark, own in zip(marks, known, strict=True):
                if not isinstance(mark, Curve) or mark.role is not Role.SEW_LINE:
                    continue
                near = tree.query(own, predicate="dwithin", distance=0.9)
                others = shapely.union_all([known[i] for i in near if known[i] is not own])
                style = style_of(Role.SEW_LINE, mark.size, base)
                line = shapely.LineString(flatten(mark.points, 0.01))
                free = shapely.difference(line, shapely.buffer(others, 0.9))
                for part in shapely.get_parts(free):
                    if part.length < 30 or not placed.window.contains(mark.box):
                        continue
                    at = shapely.get_coordinates(shapely.line_interpolate_point(part, np.arange(0, part.length, 0.02)))
                    x, y = (at * 600 / 25.4).round().astype(int).T
                    along = black[black.shape[0] - 1 - y, x]
                    edges = np.flatnonzero(np.diff(along)) * 0.02
                    if not style.dash:
                        assert along.mean() > 0.99
                        continue
                    # As many dashes as the kind has, but for those at the ends.
                    wanted = part.length / sum(style.dash) * len(style.dash)
                    assert abs(len(edges) - wanted) <= 0.06 * wanted + len(style.dash), (mark.size, len(edges), wanted)
                    seen += 1
    document.close()
    return seen


def test_every_line_of_a_nest_keeps_its_dashes_in_pure_black_and_white(runs, printed):
    run = runs["Children"]
    ((pages, data),) = printed(nest, nest.nest, run, A4, run_id=RUN_ID, unit="mm")
    assert dashes_in_black_and_white(pages, data, run.base) > 5


@pytest.mark.long
@pytest.mark.parametrize("group", ["Women", "Men"])
def test_every_line_of_every_nest_keeps_its_dashes(runs, printed, group):
    run = runs[group]
    ((pages, data),) = printed(nest, nest.nest, run, A4, run_id=RUN_ID, unit="mm")
    assert dashes_in_black_and_white(pages, data, run.base) > 8
