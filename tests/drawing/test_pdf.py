from functools import cache
from io import BytesIO
from math import hypot

import numpy as np
import pypdf
import pypdfium2
import pytest
from pdf_paths import paths

from grading.drawing.composing import on_sheets
from grading.drawing.marks import Arrow, Box, Curve, Dot, Drawing, Role, Text, paragraph, rectangle
from grading.drawing.pages import Page, TitleBlock, frames, numbered
from grading.drawing.paper import PAPERS, Printing
from grading.drawing.pdf import About, pdf_bytes

TITLE = TitleBlock("nest", "Winter mitten", "Women", size="W1 to W6", date="2025-10-01", run="3f9a1c")
PRINTINGS = [
    Printing(PAPERS["a4"]),
    Printing(PAPERS["a3"]),
    Printing(PAPERS["letter"]),
    Printing(PAPERS["sheet"]),
    Printing(PAPERS["a4"], 1.02, 0.985),
]


def outline(wider: float) -> Curve:
    """A mitten-like loop, open at the cuff."""
    w, h = 100.0 + wider, 210.0 + wider
    half = [[(w, -50), (w - 9, -20), (w - 9, 20), (w, 60)], [(w, 60), (w + 8, 130), (w - 10, h), (0, h)]]
    back = [[(-x, y) for x, y in reversed(segment)] for segment in reversed(half)]
    return Curve(np.array([*half, *back], dtype=float), Role.SEW_LINE, size=round(wider / 6))


@cache
def nest() -> Drawing:
    curves = [outline(6.0 * size) for size in range(6)]
    labels = [Text(f"{6 + i}", 92 + 6 * i, 8 * i, 2.5, Role.LABEL_ON_LINE, bold=i == 2) for i in range(6)]
    marks = [Arrow((40, 0), (40, 90), Role.PILE), Dot(0, 0, Role.GRADE_POINT), Text("Größe Ł Щ ½", -60, 90, 4)]
    return Drawing((*curves, *labels, *marks))


def written(pages: list[Page]) -> bytes:
    return pdf_bytes(pages, About("Nest", "Graded nest", ("mitten", "nest")), base=2)


def nest_pages(printing: Printing) -> list[Page]:
    return numbered(on_sheets(nest(), printing, TITLE, "All sizes"))


@cache
def nest_on(printing: Printing) -> bytes:
    return written(nest_pages(printing))


def straight_lengths(found: list[np.ndarray]) -> list[tuple[float, float]]:
    return [tuple(abs(path[1] - path[0])) for path in found if len(path) == 2]


@pytest.mark.parametrize("printing", PRINTINGS)
def test_check_bars_are_true_on_every_page(printing: Printing) -> None:
    data = nest_on(printing)
    scale = (printing.correct_short, printing.correct_long)
    for page in range(len(pypdf.PdfReader(BytesIO(data)).pages)):
        lies = nest_pages(printing)[page].sheet.width > 250 and not printing.paper.to_fit
        x, y = scale[::-1] if lies else scale
        lengths = straight_lengths(paths(data, page))
        for bar in ((100 * x, 0), (101.6 * x, 0), (0, 100 * y)):
            assert any(hypot(dx - bar[0], dy - bar[1]) < 0.02 for dx, dy in lengths), bar


def test_curves_keep_their_handles() -> None:
    data = nest_on(Printing(PAPERS["sheet"]))
    placed = nest_pages(Printing(PAPERS["sheet"]))[0].placed[0]
    wanted = [mark.moved(placed.dx, placed.dy).points for mark in nest().marks if isinstance(mark, Curve)]
    found = [path for path in paths(data) if len(path) == 13 and np.ptp(path) > 100]
    assert len(found) == len(wanted) == 6
    for curve, path in zip(wanted, found, strict=True):
        assert np.abs(path - np.concatenate([curve[0, :1], curve[:, 1:].reshape(-1, 2)])).max() < 0.001


@pytest.mark.parametrize(
    ("paper", "sides"),
    [("a4", (210, 297)), ("a3", (297, 420)), ("letter", (215.9, 279.4)), ("tabloid", (279.4, 431.8))],
)
@pytest.mark.parametrize("correction", [1.0, 0.98])
def test_pages_are_as_large_as_the_paper(paper: str, sides: tuple[float, float], correction: float) -> None:
    data = nest_on(Printing(PAPERS[paper], correction, correction))
    for page in pypdf.PdfReader(BytesIO(data)).pages:
        found = sorted(float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height))
        assert found == pytest.approx(sides, abs=0.001)


def test_the_same_pages_give_the_same_bytes() -> None:
    first, again = (written(nest_pages(Printing(PAPERS["a4"]))) for _ in range(2))
    assert first == again


@pytest.mark.parametrize("epoch", ["9" * 30, "99999999999999", "²", "soon"])
def test_a_date_of_the_environment_that_no_calendar_has_counts_as_none(epoch, monkeypatch) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    usual = written(nest_pages(Printing(PAPERS["a4"])))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    assert written(nest_pages(Printing(PAPERS["a4"]))) == usual
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert pypdf.PdfReader(BytesIO(written(nest_pages(Printing(PAPERS["a4"]))))).metadata.creation_date.year == 2023


def test_a_drawing_on_many_tiles_is_stored_once() -> None:
    wide = Drawing(tuple(mark for i in range(8) for mark in nest().moved(250 * i, 0).marks))
    pages = numbered(on_sheets(wide, Printing(PAPERS["a4"]), TITLE))
    reader = pypdf.PdfReader(BytesIO(written(pages)))
    numbers = {
        page["/Resources"]["/XObject"].raw_get(name).idnum  # type: ignore[index]
        for page in reader.pages
        for name in page["/Resources"]["/XObject"]  # type: ignore[index]
    }
    assert len(reader.pages) == len(pages) > 8
    assert len(numbers) == 1


def test_what_fits_a_sheet_takes_one() -> None:
    printing = Printing(PAPERS["a4"])
    for frame in frames(printing, TITLE):
        inside = frame.area.grown(-1.001)
        assert len(on_sheets(Drawing((rectangle(inside, Role.FRAME),)), printing, TITLE)) == 1


def test_centring_arrows_of_sheets_that_join_fall_on_one_another() -> None:
    tips: dict[tuple[float, float], set[int]] = {}
    for number, page in enumerate(nest_pages(Printing(PAPERS["letter"]))):
        placed = page.placed[0]
        shown = placed.window.moved(-placed.dx, -placed.dy).grown(0.1)
        for mark in placed.drawing.marks:
            if mark.role is Role.REGISTRATION and shown.contains(Box(*mark.end, *mark.end)):
                tips.setdefault((round(mark.end[0], 3), round(mark.end[1], 3)), set()).add(number)
    assert tips
    assert all(len(pages) >= 2 for pages in tips.values())


def test_a_sheet_that_joins_says_where_to_cut_and_on_which_sheet_it_lies() -> None:
    texts = [page.extract_text() for page in pypdf.PdfReader(BytesIO(nest_on(Printing(PAPERS["letter"])))).pages]
    assert "goes under sheet 2" in texts[0]
    assert "cut here, lay on sheet 1" in texts[1]
    for number, text in enumerate(texts, 1):
        assert f"sheet {number} of {len(texts)}" in text
        assert all(said in text for said in ("100 mm", "4 in", "Print at 100 %", "Winter mitten · Women"))
    assert "Größe Ł Щ ½" in "".join(texts)


def test_bookmarks_and_metadata_are_there() -> None:
    reader = pypdf.PdfReader(BytesIO(nest_on(Printing(PAPERS["letter"]))))
    assert [entry["/Title"] for entry in reader.outline] == ["All sizes"] * len(reader.pages)
    about = reader.metadata
    assert about is not None
    assert (about.title, about.author, about.subject) == ("Nest", "", "Graded nest")
    assert about["/Keywords"] == "mitten, nest"
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_every_font_in_the_file_is_embedded() -> None:
    reader = pypdf.PdfReader(BytesIO(nest_on(Printing(PAPERS["a4"]))))
    fonts = [item for page in reader.pages for item in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font.get_object()["/FontDescriptor"] for font in fonts)


def test_a_plain_page_holds_its_drawing_where_the_page_has_it() -> None:
    sheet = Printing(PAPERS["a4"]).upright()
    note = paragraph(["Spec card"], sheet.printable.left, sheet.printable.top, 100, Text("", 0, 0, 4))
    card = Page(sheet, Drawing((rectangle(Box(20, 30, 120, 230), Role.FRAME),)) + note)
    data = written([card])
    (frame,) = paths(data)
    assert [*frame.min(axis=0), *frame.max(axis=0)] == pytest.approx([20, 30, 120, 230], abs=0.001)
    assert "Spec card" in pypdf.PdfReader(BytesIO(data)).pages[0].extract_text()


def test_tiles_laid_together_show_all_that_one_sheet_shows() -> None:
    # A thin line is paler where it falls between two pixels: ink that is dark on one may be faint on the other.
    whole = laid_together(Printing(PAPERS["sheet"]), lightest=128)
    laid = laid_together(Printing(PAPERS["letter"]), lightest=240)
    around = [np.roll(laid, (dx, dy), (0, 1)) for dx in range(-2, 3) for dy in range(-2, 3)]
    assert whole.sum() > 1000
    assert not (whole & ~np.any(around, axis=0)).any()


def laid_together(printing: Printing, lightest: int) -> np.ndarray:
    """Where the rendered pages have ink, laid over one another by their place in the drawing, 2 pixels a mm."""
    box = nest().box.grown(200)
    laid = np.zeros((round(2 * box.height), round(2 * box.width)), dtype=bool)
    document = pypdfium2.PdfDocument(nest_on(printing))
    for number, page in enumerate(nest_pages(printing)):
        placed = page.placed[0]
        image = document[number].render(scale=2 * 25.4 / 72, grayscale=True).to_numpy()
        ink = np.flipud(image < lightest)
        window = np.rint(2 * np.array(placed.window)).astype(int)
        ink = ink[window[1] : window[3], window[0] : window[2]]
        shown = placed.window.moved(-placed.dx - box.left, -placed.dy - box.bottom)
        x, y = round(2 * shown.left), round(2 * shown.bottom)
        laid[y : y + ink.shape[0], x : x + ink.shape[1]] |= ink
    document.close()
    return laid
