"""A block workbook: what the writer writes the reader reads; every name that means nothing is found."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import openpyxl
import pytest

from grading.model.block import PILE_RUNS, STRETCHES, Amount, Mark
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.writing import block_workbook


def read(path):
    opened, problems = open_tables(path)
    block, findings = read_block(opened)
    return block, [*problems, *findings]


@pytest.fixture(scope="module")
def written(block) -> bytes:
    """The demo block's workbook."""
    return block_workbook(block)


@pytest.fixture
def changed(written, tmp_path):
    """The demo block's workbook with some cells typed over: {(sheet, row, column): value}, from 1."""

    def write(cells: dict[tuple[str, int, int], object], drop: str = ""):
        path = tmp_path / "block.xlsx"
        path.write_bytes(written)
        if not cells and not drop:
            return path
        book = openpyxl.load_workbook(path)
        if drop:
            del book[drop]
        for (sheet, row, column), value in cells.items():
            book[sheet].cell(row, column).value = value
        book.save(path)
        return path

    return write


def row_of(path_or_block, sheet: str, first: str, second: str = "") -> int:
    """The row of a sheet whose first cells are these."""
    book = openpyxl.load_workbook(path_or_block)
    for row in book[sheet].iter_rows(min_row=2):
        if row[0].value == first and (not second or row[1].value == second):
            return row[0].row
    raise LookupError(first)


def test_what_was_written_is_read_back_the_same(block, changed):
    found, findings = read(changed({}))
    assert findings == []
    assert found == block


def test_every_kind_of_ease_is_read_back(block, tmp_path):
    seam = replace(block.seams[0], least=None, most=Amount(mm=9.5), target=Amount(allowance="foot depth"))
    odd = replace(block, seams=(seam, *block.seams[1:]))
    path = tmp_path / "odd.xlsx"
    path.write_bytes(block_workbook(odd))
    found, findings = read(path)
    assert findings == []
    assert found.seams[0] == seam


def test_names_may_be_typed_in_any_case(block, changed):
    path = changed({})
    edges = row_of(path, "Edges", "Trank", "side")
    found, findings = read(
        changed(
            {
                ("Edges", edges, 1): "TRANK",
                ("Edges", edges, 4): "Finger Fold, finger body, KNUCKLE, palm, wrist, waist, cuff body, cuff fold",
                ("Measures", 2, 4): "Knuckle",
            }
        )
    )
    assert findings == []
    assert found == block


@pytest.mark.parametrize(
    ("sheet", "column", "value", "code"),
    [
        ("Moves", 2, "fist girht", "unknown-value"),
        ("Points", 1, "Tronk", "unknown-piece"),
        ("Points", 6, "sideways", "unknown-move"),
        ("Edges", 4, "finger centre, finger egde", "unknown-point"),
        ("Edges", 5, "glued", "unknown-seam-type"),
        ("Pieces", 8, "nowhere", "unknown-point"),
        ("Seams", 2, "Thumb: cup", "unknown-edge"),
        ("Seams", 7, "foot fulness", "unknown-balance"),
        ("Seams", 6, "seam ease", "unknown-value"),
        ("Measures", 4, "knukle", "unknown-point"),
        ("Marks", 4, "finger fold', finger fould", "unknown-point"),
        ("Seams", 2, "Trank", "not-a-side"),
        ("Seams", 4, "5 x%", "not-a-percentage"),
        ("Limits", 6, 0, "division-by-zero"),
    ],
)
def test_a_name_that_means_nothing_is_found_with_its_cell_and_the_nearest_that_does(
    changed, sheet, column, value, code
):
    _, findings = read(changed({(sheet, 2, column): value}))
    (finding, *_) = [finding for finding in findings if finding.code == code]
    assert (finding.place.workbook, finding.place.sheet) == ("block.xlsx", sheet)
    assert finding.place.cell == f"{'ABCDEFGH'[column - 1]}2"


def test_the_nearest_name_is_suggested(changed):
    _, findings = read(changed({("Moves", 2, 2): "fist girht"}))
    assert "fist girth" in findings[0].expected


def test_of_a_point_that_is_missing_no_image_is_suggested(changed):
    path = changed({})
    row = row_of(path, "Points", "Trank", "cuff fold")
    _, findings = read(changed({("Points", row, 2): "cuf fold"}))
    assert all("'cuf fold'" in finding.expected for finding in findings if "'cuff fold' is" in finding.found)


def test_an_optional_sheet_that_is_misspelt_is_warned_of(block, changed):
    path = changed({})
    book = openpyxl.load_workbook(path)
    book["Limits"].title = "Limit"
    book.create_sheet("Shopping")
    book.save(path)
    _, findings = read(path)
    told = {finding.place.sheet: (str(finding.severity), finding.expected) for finding in findings}
    assert told["Limit"] == ("warning", "Perhaps 'Limits' is meant.")
    assert told["Shopping"][0] == "note"


def test_a_missing_sheet_is_named(changed):
    block, findings = read(changed({}, drop="Points"))
    assert block is None
    assert "missing-sheet" in {finding.code for finding in findings}


def test_edges_that_do_not_follow_one_another_leave_the_loop_open(changed):
    path = changed({})
    row = row_of(path, "Edges", "Trank", "cuff turned side")
    _, findings = read(changed({("Edges", row, 4): "cuff turn, cuff edge"}))
    assert [finding.code for finding in findings] == ["loop-not-closed"]
    assert findings[0].place.cell == f"B{row}"


def test_a_cut_out_ends_where_it_begins(changed):
    path = changed({})
    row = row_of(path, "Edges", "Trank", "hole index half")
    _, findings = read(changed({("Edges", row, 4): "H, index heel, index side, index shoulder"}))
    assert [finding.code for finding in findings] == ["loop-not-closed"]


def test_a_half_outline_ends_on_the_mirror_line(changed):
    path = changed({})
    row = row_of(path, "Points", "Trank", "cuff centre")
    _, findings = read(changed({("Points", row, 3): 4}))
    assert [finding.code for finding in findings] == ["loop-not-closed"]


def test_points_in_the_same_place_are_an_error(changed):
    path = changed({})
    waist, wrist = (row_of(path, "Points", "Trank", name) for name in ("waist", "wrist"))
    book = openpyxl.load_workbook(path)
    x, y = (book["Points"].cell(waist, column).value for column in (3, 4))
    _, findings = read(changed({("Points", wrist, 3): x, ("Points", wrist, 4): y}))
    assert "points-coincide" in {finding.code for finding in findings}


@pytest.mark.parametrize(
    ("cells", "code"),
    [
        (
            {("Measures", 40, c): v for c, v in enumerate(["m", "Trank", "along", "T", "knuckle"], 1)},
            "measure-leaves-its-loop",
        ),
        (
            {("Measures", 40, c): v for c, v in enumerate(["m", "Thumb", "along", "T", "web centre"], 1)},
            "measure-leaves-its-loop",
        ),
        ({("Pieces", 9, c): v for c, v in enumerate(["Gusset", "no", 1, 1], 1)}, "piece-without-boundary"),
        ({("Marks", 40, c): v for c, v in enumerate(["Thumb", "odd", "notch", "web centre"], 1)}, "mark-off-its-edge"),
        ({("Seams", 2, 2): "Trank: finger raw edge, cuff turned side"}, "side-in-pieces"),
        ({("Seams", 2, 2): "Trank: side, side"}, "side-in-pieces"),
        ({("Seams", 2, 2): "Trank: side, hole palm half"}, "side-in-pieces"),
        ({("Seams", 2, 9): 0}, "too-many-marks"),
        ({("Seams", 2, 8): 500}, "too-many-marks"),
        ({("Points", 2, 2): "waist'"}, "stroke-in-name"),
    ],
)
def test_what_does_not_hang_together_is_an_error(changed, cells, code):
    block, findings = read(changed(cells))
    assert block is None
    assert code in {finding.code for finding in findings}


def test_sides_may_run_over_several_edges_that_follow_one_another(changed):
    whole = "finger turned side, side, cuff turned side"
    strokes = ", ".join(f"{edge}'" for edge in whole.split(", "))
    _, findings = read(changed({("Seams", 5, 2): f"Trank: {whole}", ("Seams", 5, 3): f"Trank: {strokes}"}))
    assert findings == []


def test_a_block_in_centimetres_is_the_same_block(block, changed):
    path = changed({})
    book = openpyxl.load_workbook(path)
    for sheet, columns in {
        "Base values": (3, 4, 5, 6),
        "Points": (3, 4),
        "Seam types": (2,),
        "Measures": (7, 8),
        "Block": (),
    }.items():
        for row in book[sheet].iter_rows(min_row=2):
            for column in columns:
                if isinstance(row[column - 1].value, int | float):
                    row[column - 1].value = round(row[column - 1].value / 10, 6)
    for row in book["Block"].iter_rows(min_row=2):
        if row[0].value == "Unit":
            row[1].value = "cm"
        elif row[0].value in ("Compressed pile", "Leather thickness"):
            row[1].value = row[1].value / 10
    book.save(path)
    found, findings = read(path)
    assert findings == []
    assert replace(found, limits=block.limits) == block


@pytest.mark.parametrize(
    ("kind", "where", "code"),
    [
        ("notch", "nowhere", "unknown-point"),
        ("change-over", "finger fold, nowhere", "unknown-point"),
        ("fold line", "finger fold", "fold-line-ends"),
        ("placement line", "finger fold", "placement-line-ends"),
        ("slit", "finger fold, palm, wrist", "slit-ends"),
    ],
)
def test_a_mark_at_no_place_is_found(block, tmp_path, kind, where, code):
    wrong = replace(block, marks=(*block.marks, Mark("Trank", "mine", kind, where)))
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(wrong))
    _, findings = read(path)
    assert [(finding.code, finding.place.sheet) for finding in findings] == [(code, "Marks")]


def test_a_seam_is_not_wholly_without_ease(block, tmp_path):
    seam = replace(block.seams[0], without_ease=1.0)
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(replace(block, seams=(seam, *block.seams[1:]))))
    _, findings = read(path)
    assert [finding.code for finding in findings] == ["share-out-of-range"]


@pytest.mark.parametrize(("column", "typed"), [(6, "sideways"), (7, "every way")])
def test_an_arrow_that_points_no_way_is_refused_with_the_ways_there_are(changed, column, typed):
    _, findings = read(changed({("Pieces", 2, column): typed}))
    (finding,) = findings
    assert finding.place.cell == f"{'ABCDEFG'[column - 1]}2"
    for way in PILE_RUNS if column == 6 else STRETCHES:
        assert way in finding.expected


def test_an_arrow_may_be_typed_in_any_case_and_left_blank(changed):
    made, findings = read(
        changed({("Pieces", 2, 6): "Fingers to  CUFF", ("Pieces", 3, 6): None, ("Pieces", 3, 7): None})
    )
    assert not findings
    assert [(piece.pile, piece.stretch) for piece in made.pieces] == [(-1, "across"), (0, "")]


def test_an_angle_has_no_tolerance_to_be_measured_by(block, tmp_path):
    angle = replace(block.measures[0], how="angle")
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(replace(block, measures=(angle, *block.measures[1:]))))
    _, findings = read(path)
    assert [finding.code for finding in findings] == ["angle-with-tolerance"]


def test_what_a_steps_drawing_shows_is_a_seam_or_a_mark_of_the_block(block, tmp_path):
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(block))
    again, findings = read_block(open_tables(path)[0])
    assert not findings
    assert again.making == block.making
    assert again.making[0].shown == ("thumb seam", "turned part of the thumb")
    book = openpyxl.load_workbook(path)
    heading = next(cell.column for row in book["Making"] for cell in row if cell.value == "Shows")
    book["Making"].cell(2, heading).value = "thumb seem; side seam"
    book.save(path)
    again, (finding,) = read_block(open_tables(path)[0])
    assert again is None
    assert (finding.code, finding.place.sheet) == ("unknown-seam", "Making")
    assert "thumb seam" in finding.expected


@pytest.mark.parametrize(
    ("measured", "code"),
    [
        ({"how": "perimeter", "start": "rim"}, "unknown-outline"),
        ({"how": "clearance", "start": "boundary", "end": "boundary"}, "unknown-cut-out"),
        ({"how": "clearance", "start": "boundary", "end": "elbow"}, "unknown-line"),
        ({"tolerance_minus": 2.0, "tolerance_plus": None}, "half-a-tolerance"),
    ],
)
def test_what_a_measure_is_taken_from_goes_with_how_it_is_taken(block, tmp_path, measured, code):
    path = tmp_path / "block.xlsx"
    odd = replace(block.measures[0], **measured)
    path.write_bytes(block_workbook(replace(block, measures=(odd, *block.measures[1:]))))
    _, findings = read(path)
    assert code in {finding.code for finding in findings}


def test_a_way_from_point_to_point_needs_both(block, tmp_path):
    half = replace(next(m for m in block.measures if m.how == "across"), how="straight", end="")
    measures = tuple(half if m.name == half.name else m for m in block.measures)
    path = tmp_path / "block.xlsx"
    path.write_bytes(block_workbook(replace(block, measures=measures)))
    _, findings = read(path)
    assert [finding.code for finding in findings if finding.place.sheet == "Measures"] == ["unknown-point"]


def test_blank_cells_count_as_their_headings_say(written, changed):
    blank = {
        "Base values": {"Least": ("least", 0.0), "Most": ("most", 0.0)},
        "Pieces": {"Lining": ("lining", False), "From skins": ("of_skin", True)},
        "Edges": {"Loop": ("loop", "boundary")},
        "Seams": {
            "Matching marks": ("matching", 0),
            "Strokes": ("strokes", 1),
            "Without ease": ("without_ease", 0.0),
            "Left open": ("left_open", 0.0),
        },
        "Measures": {
            "Times": ("times", 1.0),
            "Tells the size": ("tells_size", False),
            "Share followed": ("follows_share", 1.0),
        },
        "Limits": {"Times": ("times", 1.0), "Less times": ("less_times", 1.0), "Divided by": ("divided_by", 1.0)},
    }
    book = openpyxl.load_workbook(BytesIO(written))
    places = {
        (sheet, 2, cell.column): None
        for sheet, columns in blank.items()
        for cell in book[sheet][1]
        if cell.value in columns
    }
    assert len(places) == sum(map(len, blank.values()))
    made, findings = read(changed(places))
    assert made is not None, findings
    for sheet, columns in blank.items():
        first, *_ = getattr(made, sheet.lower().removeprefix("base "))
        assert {field: getattr(first, field) for field, _ in columns.values()} == dict(columns.values()), sheet
