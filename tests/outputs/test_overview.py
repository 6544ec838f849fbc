"""The overview: one legible sheet that shows the sizes and tells of every file that was made."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from legible import crossed_texts, outside, overlapping_texts
from PIL import Image
from pypdf import PdfReader

from grading.drawing.marks import Role, Text
from grading.drawing.paper import PAPERS, Printing
from grading.drawing.pdf import sheet_count
from grading.drawing.styles import style_of
from grading.drawing.system import HEIGHTS, WIDTHS
from grading.engine.graded import GradedGroup
from grading.findings import Finding, Place, Severity
from grading.jobs.picture import overview_picture, picture_run
from grading.jobs.tables import read_job
from grading.outputs.files import KINDS, Choices, group_files
from grading.outputs.overview import overview_page
from grading.readings.cut_lines import cut_lines
from grading.readings.measures import measured

A4 = Printing(PAPERS["a4"])
REPOSITORY = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def graded(runs) -> dict[str, GradedGroup]:
    return {group: GradedGroup(run, "1f3a9c0000", cut_lines(run), (), ()) for group, run in runs.items()}


def texts(page) -> list[Text]:
    return [mark for mark in page.drawing.marks if isinstance(mark, Text)]


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
@pytest.mark.parametrize(("paper", "unit"), [("a4", "mm"), ("letter", "in"), ("sheet", "cm")])
def test_it_is_legible_and_drawn_by_the_system(graded, group, paper, unit):
    made = {"nest.pdf": b"/Count 2 /Kids", "patterns/a.pdf": b"/Count 3 /Kids", "spec.xlsx": b"", "spec-cards.pdf": b""}
    page = overview_page(graded[group], made, Printing(PAPERS[paper]), unit)
    assert overlapping_texts(page.drawing) == []
    assert crossed_texts(page.drawing) == []
    assert outside(page.drawing, page.sheet.printable) == []
    assert {text.height for text in texts(page)} <= set(HEIGHTS)
    assert {style_of(mark.role).width for mark in page.drawing.marks} <= {0, *WIDTHS}


@pytest.mark.parametrize(("paper", "unit"), [("a4", "mm"), ("letter", "in"), ("tabloid", "in")])
def test_of_very_many_sizes_it_shows_what_one_sheet_holds_and_counts_the_rest(many_sizes, paper, unit):
    graded = GradedGroup(many_sizes, "1f3a9c0000", {}, (), ())
    made = {"nest.pdf": b"/Count 2 /Kids", "patterns/a.pdf": b"/Count 3 /Kids", "spec.xlsx": b"", "spec-cards.pdf": b""}
    page = overview_page(graded, made, Printing(PAPERS[paper]), unit)
    assert overlapping_texts(page.drawing) == []
    assert crossed_texts(page.drawing) == []
    assert outside(page.drawing, page.sheet.printable) == []
    said = [text.text for text in texts(page)]
    shown = sum(size in said for size in many_sizes.sizes)
    assert f"and {len(many_sizes.sizes) - shown} more sizes: see the sheet Finished measures of spec.xlsx" in said


def test_it_tells_of_every_file_with_its_sheets_as_an_independent_reader_counts_them(graded):
    made = dict(group_files(graded["Children"], Choices()))
    pages = PdfReader(BytesIO(made["overview.pdf"])).pages
    assert len(pages) == 1
    said = pages[0].extract_text()
    counted = {name: len(PdfReader(BytesIO(made[name])).pages) for name in made if name.endswith(".pdf")}
    assert counted == {name: sheet_count(made[name]) for name in counted}
    assert f"{counted['nest.pdf']} sheets" in said
    assert f"{counted['spec-cards.pdf']} sheets" in said
    patterns = [count for name, count in counted.items() if name.startswith("patterns/")]
    assert f"{len(patterns)} files, {sum(patterns)} sheets" in said
    for name in ("patterns/*.pdf", "check-sheets/*.xlsx", "spec.xlsx", "whoever sews", "whoever cuts"):
        assert name in said


def test_each_kind_of_file_has_its_row(graded):
    every = dict(group_files(graded["Children"], Choices(only=tuple(KINDS))))
    said = [text.text for text in texts(overview_page(graded["Children"], every, A4, "mm"))]
    for name in every:
        folder = f"{name.split('/')[0]}/"
        assert name == "overview.pdf" or any(text in (name, f"{folder}*.{name.rsplit('.', 1)[1]}") for text in said), (
            name
        )


def test_bars_are_as_high_as_the_steps_that_they_stand_for(graded):
    run = graded["Women"].run
    page = overview_page(graded["Women"], {}, A4, "mm")
    bars = [mark.box for mark in page.drawing.marks if mark.role is Role.BAR]
    found = measured(run)
    key = [i for i, one in enumerate(found.measures) if one.tells_size or one.follows]
    steps = np.diff(found.values[key], axis=1).ravel()
    assert len(bars) == len(steps)
    heights = np.array([box.height for box in bars])
    assert heights / heights.max() == pytest.approx(steps / steps.max(), abs=1e-6)


def test_findings_are_told_the_gravest_first_and_the_rest_counted(runs):
    run = runs["Women"]
    found = [
        Finding(f"code-{number}", severity, Place(), f"{severity.value} number {number} of what was noticed.", "", "")
        for number, severity in enumerate([Severity.NOTE] * 30 + [Severity.WARNING])
    ]
    page = overview_page(GradedGroup(run, "1", cut_lines(run), tuple(found), ()), {}, A4, "mm")
    assert overlapping_texts(page.drawing) == []
    said = " ".join(text.text for text in texts(page))
    assert said.index("warning number 30") < said.index("note number 0")
    assert "more: see the sheet Findings" in said


def test_the_readmes_picture_is_of_the_demos_own_run():
    (women,) = read_job(REPOSITORY / "tables" / "sizes.xlsx", (), ["Women"]).groups
    picture = (REPOSITORY / ".pictures" / "overview.png").read_bytes()
    assert picture_run(picture) == women.run_id, "the demo has changed: type 'make pictures'"
    assert ".pictures/overview.png" in (REPOSITORY / "README.md").read_text(encoding="utf-8")


def test_the_picture_is_the_overview_in_few_greys_and_names_its_run():
    (women,) = read_job(REPOSITORY / "tables" / "sizes.xlsx", (), ["Women"]).groups
    picture = overview_picture(REPOSITORY / "tables", "Women")
    assert picture_run(picture) == women.run_id
    with Image.open(BytesIO(picture)) as image:
        wide, high = image.size
        assert len(image.getcolors()) <= 16
    assert wide / high == pytest.approx(210 / 297, abs=0.002) or high / wide == pytest.approx(210 / 297, abs=0.002)
