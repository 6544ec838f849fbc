from functools import cache
from io import BytesIO
from math import hypot

import numpy as np
import pypdf
import pypdfium2
import pytest
from pdf_paths import paths

from grading.drawing.legibility import crossed_texts, outside, overlapping_texts
from grading.drawing.marks import Arrow, Box, Curve, Dot, Drawing, Role, Text, paragraph, rectangle
from grading.drawing.pages import Page, Wording, room, tiled_pages
from grading.drawing.paper import PAPERS, Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.styles import Styles

FOOTER = (
    "Run 3f9a1c · block of 2025-10-01 · scale 1 : 1 · figures in mm",
    "Blades, needles and adhesives can hurt. A mitten made from this sheet is no protective equipment. Leather "
    "must meet local chemical limits. Things for small children have rules of their own.",
)
WORDING = Wording("Winter mitten block – Women, trank, all sizes", FOOTER)
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
    half = [
        [(w, -50), (w - 9, -20), (w - 9, 20), (w, 60)],
        [(w, 60), (w + 8, 130), (w - 10, h), (0, h)],
    ]
    back = [[(-x, y) for x, y in reversed(segment)] for segment in reversed(half)]
    return Curve(np.array([*half, *back], dtype=float), Role.SEW_LINE, size=round(wider / 6))


@cache
def nest() -> Drawing:
    curves = [outline(6.0 * size) for size in range(6)]
    labels = [Text(f"{6 + i}", 92 + 6 * i, 8 * i, 2.2, Role.LABEL_ON_LINE, bold=i == 2) for i in range(6)]
    marks = [Arrow((40, 0), (40, 90), Role.PILE), Dot(0, 0, Role.GRADE_POINT), Text("Größe Ł Щ ½", -60, 90, 4)]
    return Drawing((*curves, *labels, *marks))


def written(pages: list[Page]) -> bytes:
    return pdf_bytes(pages, Styles(6, base=2), About("Nest", "The workshop", "Graded nest", ("mitten", "nest")))


@cache
def nest_on(printing: Printing) -> bytes:
    return written(tiled_pages(nest(), printing, WORDING))


def straight_lengths(found: list[np.ndarray]) -> list[tuple[float, float]]:
    return [tuple(abs(path[1] - path[0])) for path in found if len(path) == 2]


@pytest.mark.parametrize("printing", PRINTINGS)
def test_check_bars_are_true_on_every_page(printing: Printing) -> None:
    data = nest_on(printing)
    scale = (printing.correct_short, printing.correct_long)
    for page in range(len(pypdf.PdfReader(BytesIO(data)).pages)):
        lies = tiled_pages(nest(), printing, WORDING)[page].sheet.width > 250 and not printing.paper.to_fit
        x, y = scale[::-1] if lies else scale
        lengths = straight_lengths(paths(data, page))
        for bar in ((100 * x, 0), (101.6 * x, 0), (0, 100 * y)):
            assert any(hypot(dx - bar[0], dy - bar[1]) < 0.02 for dx, dy in lengths), bar


def test_curves_keep_their_handles() -> None:
    data = nest_on(Printing(PAPERS["sheet"]))
    placed = tiled_pages(nest(), Printing(PAPERS["sheet"]), WORDING)[0].placed[0]
    wanted = [mark.moved(placed.dx, placed.dy).segments for mark in nest().marks if isinstance(mark, Curve)]
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
    first, again = (written(tiled_pages(nest(), Printing(PAPERS["a4"]), WORDING)) for _ in range(2))
    assert first == again


def test_a_drawing_on_many_tiles_is_stored_once() -> None:
    wide = Drawing(tuple(mark for i in range(8) for mark in nest().moved(250 * i, 0).marks))
    pages = tiled_pages(wide, Printing(PAPERS["a4"]), WORDING)
    reader = pypdf.PdfReader(BytesIO(written(pages)))
    numbers = {
        page["/Resources"]["/XObject"].raw_get(name).idnum  # type: ignore[index]
        for page in reader.pages
        for name in page["/Resources"]["/XObject"]  # type: ignore[index]
    }
    assert len(reader.pages) == len(pages) > 8
    assert len(numbers) == 2  # the drawing, and what all pages say alike


@pytest.mark.parametrize("printing", PRINTINGS)
def test_no_strip_enters_the_drawing_or_another_and_all_stays_in_the_printable_part(printing: Printing) -> None:
    for page in tiled_pages(nest(), printing, WORDING):
        drawing, furniture = page.placed
        strips = furniture.drawing.marks + tuple(
            mark for mark in page.drawing.marks if mark.role not in (Role.TRIM_LINE, Role.REGISTRATION)
        )
        assert outside(furniture.drawing + page.drawing, page.sheet.printable) == []
        assert not [mark for mark in strips if mark.box.overlaps(drawing.window)]
        assert overlapping_texts(Drawing(strips)) == []
        lines = [mark for mark in strips if mark.role not in (Role.MAP_TILE, Role.MAP_HERE)]
        assert crossed_texts(Drawing(tuple(lines))) == []


def test_headings_and_footers_wrap_onto_lines_and_leave_less_room() -> None:
    printing = Printing(PAPERS["a4"])
    long = Wording("Winter mitten block for the fair, " * 6, FOOTER * 3)
    assert room(printing, long)[0].height < room(printing, WORDING)[0].height - 10
    page = tiled_pages(Drawing((Dot(0, 0),)), printing, long)[0]
    assert overlapping_texts(page.placed[1].drawing) == []
    assert outside(page.placed[1].drawing, page.sheet.printable) == []


def test_what_fits_the_room_takes_one_page_without_a_map() -> None:
    printing = Printing(PAPERS["a4"])
    for area in room(printing, WORDING):
        pages = tiled_pages(Drawing((rectangle(area, Role.FRAME),)), printing, WORDING)
        assert len(pages) == 1
        assert pages[0].drawing.marks == ()


def test_registration_crosses_of_neighbouring_tiles_fall_on_one_another() -> None:
    centres: dict[tuple[float, float], int] = {}
    for page in tiled_pages(nest(), Printing(PAPERS["letter"]), WORDING):
        placed = page.placed[0]
        for mark in page.drawing.marks:
            if mark.role is Role.REGISTRATION:
                x, y = mark.moved(-placed.dx, -placed.dy).box.centre
                centres[round(x, 3), round(y, 3)] = centres.get((round(x, 3), round(y, 3)), 0) + 1
    # Two strokes make a cross; on 2 × 2 tiles one is shared by four, four by two, four stand alone.
    assert sorted(centres.values()) == [2, 2, 2, 2, 4, 4, 4, 4, 8]


def test_every_page_says_its_tile_the_heading_and_the_footer() -> None:
    data = nest_on(Printing(PAPERS["letter"]))
    texts = [page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages]
    for text, tile in zip(texts, ("A1", "A2", "B1", "B2"), strict=True):
        assert f"Tile {tile} of 2 × 2" in text
        assert WORDING.heading in text
        assert FOOTER[0] in text
        assert all(said in text for said in ("100 mm", "4 in", "Print at 100 %", "Trim along"))
    assert "Größe Ł Щ ½" in "".join(texts)


def test_bookmarks_and_metadata_are_there() -> None:
    reader = pypdf.PdfReader(BytesIO(nest_on(Printing(PAPERS["letter"]))))
    first, tiles = reader.outline
    assert first["/Title"] == WORDING.heading
    assert [tile["/Title"] for tile in tiles] == ["Tile A1", "Tile A2", "Tile B1", "Tile B2"]
    assert [reader.get_destination_page_number(tile) for tile in tiles] == [0, 1, 2, 3]
    about = reader.metadata
    assert about is not None
    assert (about.title, about.author, about.subject) == ("Nest", "The workshop", "Graded nest")
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
    for number, page in enumerate(tiled_pages(nest(), printing, WORDING)):
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
