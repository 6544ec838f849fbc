"""A pattern read off grid paper becomes a block, and what was misread is found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grading.drafting.draft import draft
from grading.drafting.scenario import BASES, demo_block, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.drafting.trace import standard_points, trace
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import Place, Severity
from grading.model.block import Kind
from grading.model.measured import Hands
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.traced import read_traced
from grading.sheets.writing import block_workbook

BLOCK = demo_block()
POINTS = standard_points(BLOCK)
BODY = {value.name: value.drafted for value in BLOCK.values if value.kind is Kind.BODY}
HANDS = Hands(BODY, BODY)


def changed(point: str, of: str = "Trank", **what):
    """The points, one of them changed."""
    return tuple(replace(p, **what) if (p.piece, p.name) == (of, point) else p for p in POINTS)


def codes(points, hands=HANDS) -> list[str]:
    return [finding.code for finding in trace(points, hands, name="Own")[1]]


@pytest.mark.parametrize("group", BASES)
def test_a_drafted_block_read_off_again_is_the_same_block(group):
    block = demo_block(group)
    body = {value.name: value.drafted for value in block.values if value.kind is Kind.BODY}
    made, findings = trace(
        standard_points(block), Hands(body, body), name=block.name, groups=block.groups, date=block.date
    )
    assert not findings
    own = {part: getattr(block, part) for part in ("notes", "values", "pieces", "seam_types", "making", "work")}
    assert replace(made.block, **own) == block
    for value, read in zip(block.values, made.block.values, strict=True):
        # How deep the foot was and how far it was then filled cannot be told apart on paper.
        if value.name != "foot depth":
            assert read.drafted == pytest.approx(value.drafted, abs=0.002), value.name


def test_a_tuned_pattern_keeps_its_tuning_in_every_size():
    deeper = changed("waist", x=next(p.x for p in POINTS if p.name == "waist") - 1.5)
    tuned, _ = trace(deeper, HANDS, name="Own")
    assert next(value.drafted for value in tuned.block.values if value.name == "waist shaping") == pytest.approx(3.5)
    runs = [balanced(grade(block, demo_sizes()[0])).pieces["Trank"].point("waist") for block in (tuned.block, BLOCK)]
    assert runs[0] - runs[1] == pytest.approx(np.tile([-1.5, 0], (6, 1)))


def test_points_of_other_names_and_further_points_move_by_their_roles():
    renamed = changed("knuckle", name="P6", role="knuckle")
    at = next(i for i, point in enumerate(renamed) if point.name == "waist")
    between = replace(renamed[at], name="P8", x=112.2, y=renamed[at].y - 8, role="waist")
    made, findings = trace((*renamed[: at + 1], between, *renamed[at + 1 :]), HANDS, name="Own")
    assert "role-twice" in [finding.code for finding in findings]  # a measure is taken at the waist
    between = replace(between, role="cuff body")
    made, _ = trace((*renamed[: at + 1], between, *renamed[at + 1 :]), HANDS, name="Own")
    run = balanced(grade(made.block, demo_sizes()[0]))
    assert "P8" in next(edge.points for edge in made.block.edges if edge.name == "side")
    assert next(measure.start for measure in made.block.measures if measure.name == "palm width") == "P6"
    assert np.diff(run.pieces["Trank"].point("P8"), axis=0) == pytest.approx(np.tile([6.0, 0.0], (5, 1)))


def test_points_out_of_order_are_named():
    at = [point.name for point in POINTS].index("palm")
    swapped = (*POINTS[:at], POINTS[at + 1], POINTS[at], *POINTS[at + 2 :])
    _, findings = trace(swapped, HANDS, name="Own")
    (finding,) = findings
    assert (finding.code, finding.found) == ("points-out-of-order", "palm comes after wrist.")


@pytest.mark.parametrize(
    ("points", "code"),
    [
        (changed("waist", x=97.0), "curve-kinked"),  # a square misread
        (changed("palm", y=20.0, x=90.0), "curve-kinked"),
        (changed("palm side", x=36.0), "curve-kinked"),
        (changed("finger fold", turn=False, x=90.0), "curve-kinked"),
        (changed("foot belly", "Thumb", x=41.0, y=-80.0), "thumb-does-not-fit"),
        (changed("H", y=0.0), "thumb-does-not-fit"),
        (changed("waist", role="wiast"), "unknown-role"),
        (changed("waist", piece="Tranc"), "unknown-role"),
        (changed("cuff centre", x=4.0), "off-mirror-line"),
        (changed("palm", x=114.0, y=99.0), "points-coincide"),
        (tuple(point for point in POINTS if point.name != "finger fold"), "role-missing"),
    ],
)
def test_what_was_misread_is_found(points, code):
    assert code in codes(points)


def test_a_thumb_beyond_what_filling_can_mend_stops():
    points = tuple(
        replace(p, x=0.8 * p.x) if p.piece == "Thumb" and p.name.startswith("foot") else p for p in changed("H", y=-5.0)
    )
    _, findings = trace(points, HANDS, name="Own")
    assert {"thumb-does-not-fit", "balance-out-of-reach"} <= {finding.code for finding in findings}


def test_a_hand_without_its_measurements_is_asked_for():
    assert codes(POINTS, Hands({}, {"fist girth": 204.0})).count("measurement-missing") == len(BODY) - 1


def test_points_are_read_from_a_sheet_that_a_maker_types(tmp_path):
    path = tmp_path / "points.csv"
    rows = [f"{p.piece.upper()};{p.name};{p.x:.1f};{p.y / 10:.2f} cm;{'Turn' if p.turn else 'curve'}" for p in POINTS]
    path.write_text("\n".join(["Piece;Point;x;y;Kind", *rows]).replace(".", ","), encoding="utf-8")
    points, findings = read_traced(open_tables(path)[0], "mm")
    assert not findings
    made, findings = trace(points, HANDS, name="Own")
    assert not findings
    assert [(p.x, p.y) for p in made.block.points[:-1]] == [pytest.approx((p.x, p.y), abs=0.051) for p in POINTS]


def test_a_cell_that_cannot_be_read_is_named(tmp_path):
    path = tmp_path / "points.csv"
    path.write_text("Piece,Point,x,y,Kind\nTrank,A,27 mm,abc,turn\nTrank,B,27,3,corner\n")
    _, findings = read_traced(open_tables(path)[0], "mm")
    assert [finding.place.cell for finding in findings] == ["D2", "E3"]


def copied(percent: float):
    """The points as a copier at another size gives them, read to the nearest half millimetre."""
    part = percent / 100
    return tuple(replace(p, x=round(2 * part * p.x) / 2, y=round(2 * part * p.y) / 2) for p in POINTS)


@pytest.mark.parametrize("percent", [90, 95, 105, 110, 120, 150])
def test_a_copy_at_another_size_is_told_by_what_has_no_ease(percent):
    (finding,) = (f for f in trace(copied(percent), HANDS, name="Own")[1] if f.code == "copy-not-full-size")
    said = float(finding.found.removeprefix("The pattern is ").split(" %")[0])
    assert said == pytest.approx(percent, abs=1)
    assert "T to H of the hole" in finding.found


@pytest.mark.parametrize(
    ("percent", "meant"),
    [(10, "centimetres typed as millimetres"), (100 / 25.4, "inches typed as millimetres"), (1000, "millimetres typed"),
     (254, "centimetres typed as inches")],
)  # fmt: skip
def test_points_in_another_unit_are_an_error_and_no_pattern_is_made(percent, meant):
    points = tuple(replace(p, x=percent / 100 * p.x, y=percent / 100 * p.y) for p in POINTS)
    made, findings = trace(points, HANDS, name="Own")
    assert made is None
    (finding,) = (f for f in findings if f.code == "traced-in-another-unit")
    assert meant in finding.action


@pytest.mark.parametrize("percent", [98, 100, 102])
def test_a_copy_that_is_read_off_a_little_large_is_not(percent):
    assert "copy-not-full-size" not in codes(copied(percent))


def test_a_pattern_read_off_from_the_top_down_is_told_piece_by_piece():
    down = tuple(replace(p, y=-p.y) for p in POINTS)
    made, findings = trace(down, HANDS, name="Own")
    assert made is None
    assert [f.code for f in findings] == ["upside-down"] * 2
    assert ["Trank" in findings[0].found, "Thumb" in findings[1].found] == [True, True]


def test_a_grid_that_is_not_counted_from_the_wrist_line_is_no_copy_of_another_size():
    """All of the trank below the origin: T and the finger line then tell nothing of how large it is."""
    lower = tuple(replace(p, y=p.y - 300) if p.piece == "Trank" else p for p in POINTS)
    found = codes(lower)
    assert "drafted-with-another-figure" in found
    assert not {"copy-not-full-size", "traced-in-another-unit"} & set(found)


def test_a_hole_cut_smaller_by_habit_is_no_copy():
    hole = {("Trank", name) for edge in BLOCK.edges if edge.loop == "thumb hole" for name in edge.points}
    small = tuple(
        replace(p, x=29 + 0.9 * (p.x - 29), y=74 + 0.9 * (p.y - 74)) if (p.piece, p.name) in hole else p for p in POINTS
    )
    assert "copy-not-full-size" not in codes(small)


def test_what_is_read_off_begins_with_the_ease_and_asks_for_the_copy():
    made, _ = trace(copied(110), HANDS, name="Own")
    first = made.sums[0]
    assert (first.step, first.what) == ("Is the copy at 100 %? By the hand's figures:", "hand ease")
    assert first.mm == pytest.approx(1.1 * 228 - 204, abs=1)
    part, of = zip(*(line.names.split(" % of ") for line in made.sums[1:5]), strict=True)
    assert of == ("thumb root length", "thumb root breadth", "palm length less web depth", "palm length")
    assert [int(figure) for figure in part] == pytest.approx([110] * 4, abs=1)


def of_style(group: str = "Women", **choices: str):
    """The points of a drafted mitten of a style, as they would be read off its drawing, and its block."""
    style = {**STANDARD, **{part.replace("_", " "): choice for part, choice in choices.items()}}
    table = next(table for table in demo_sizes() if table.group == group)
    column = table.sizes.index(BASES[group])
    body = dict(zip(table.measurements, table.values[:, column].tolist(), strict=True))
    usual = mitten(style).usual()
    block = draft("Own", (group,), body, usual, compressed_pile=1.8, leather=1.0, date="", style=style)
    return standard_points(block), Hands(body, body), block


@pytest.mark.parametrize(
    "choices",
    [
        {"cuff": "plain"},
        {"cuff": "band"},
        {"fingers": "plain", "cuff": "plain", "thumb": "plain"},
        {"fingers": "closed top", "thumb": "closed"},
        {"thumb_place": "at the side"},
        {"thumb": "none, with a hole"},
        {"fingers": "plain", "cuff": "plain", "thumb": "none"},
    ],
    ids=str,
)
def test_points_are_matched_to_the_parts_that_are_there(choices):
    """Traced again, a drafted block of any style is the same block, and says what it was taken as."""
    points, hands, block = of_style(**choices)
    made, findings = trace(points, hands, name="Own", groups=("Women",))
    assert {finding.code for finding in findings} == {"traced-as-another-style"}
    assert sorted(finding.place.measure for finding in findings) == sorted(part.replace("_", " ") for part in choices)
    assert made.block.style == block.style
    own = {part: getattr(block, part) for part in ("notes", "values", "pieces", "seam_types", "making", "work")}
    assert replace(made.block, **own) == block
    for value, read in zip(block.values, made.block.values, strict=True):
        if value.name != "foot depth":  # it cannot be told from how far the foot was filled
            assert read.drafted == pytest.approx(value.drafted, abs=0.002), value.name


def test_no_turned_cuff_is_told_and_not_refused():
    points, hands, _ = of_style(cuff="plain")
    (finding,) = trace(points, hands, name="Own")[1]
    assert finding.severity is Severity.NOTE
    assert finding.found == "No turned cuff: taken as 'plain', ending in a plain edge."


def beside(name: str, own: str, share: float):
    """The points with one more, so far of the way from a point to the next."""
    at = next(i for i, point in enumerate(POINTS) if (point.piece, point.name) == ("Trank", name))
    a, b = POINTS[at], next(p for p in (*POINTS[at + 1 :], POINTS[at]) if p.piece == "Trank")
    x, y = a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)
    return (*POINTS[: at + 1], replace(a, name=own, x=x, y=y, turn=False, role=own), *POINTS[at + 1 :])


def test_a_point_of_ones_own_goes_with_its_neighbours():
    """A quarter of the way between two points it stays a quarter of the way between them in every size."""
    points = beside("knuckle", "P9", 0.25)
    made, findings = trace(points, HANDS, name="Own")
    told = [finding for finding in findings if finding.code == "goes-with-its-neighbours"]
    assert [finding.severity for finding in told] == [Severity.NOTE]
    assert "P9" in told[0].found
    trank = grade(made.block, demo_sizes()[0]).pieces["Trank"]
    between = 0.75 * trank.point("knuckle") + 0.25 * trank.point("palm")
    assert trank.point("P9") == pytest.approx(between, abs=1e-5)


def test_a_point_of_ones_own_in_a_cut_out_goes_on_to_where_that_begins():
    """Half-way from the last point of the thumb hole to T, its first, it stays half-way, on the last edge."""
    trank = [point for point in POINTS if point.piece == "Trank"]
    last, first = trank[-1], next(point for point in trank if point.name == "T")
    own = replace(last, name="P9", role="P9", x=(last.x + first.x) / 2, y=(last.y + first.y) / 2)
    at = POINTS.index(last)
    made, _ = trace((*POINTS[: at + 1], own, *POINTS[at + 1 :]), HANDS, name="Own")
    shape = grade(made.block, demo_sizes()[0]).pieces["Trank"]
    between = (shape.point(last.name) + shape.point("T")) / 2
    assert shape.point("P9") == pytest.approx(between, abs=1e-5)
    assert next(edge.points[-2:] for edge in made.block.edges if edge.name == "hole index half") == ("P9", "T")


def test_a_point_of_ones_own_after_one_inside_the_piece_goes_with_its_neighbours_along_the_outline():
    """The places of a leather band's lace lie on no edge; the band's own corner, unnamed here, follows them."""
    points, hands, _ = of_style(cuff="leather band")
    slits = [p for p in points if p.name.startswith("lace")]
    outline = [p for p in points if p not in slits]
    centre = next(p for p in outline if p.name == "outer centre")
    after = outline.index(centre) + 1
    own = replace(centre, name="P1", role="P1", x=centre.x + 30)
    _, findings = trace([*outline[:after], *slits, own, *outline[after:]], hands, name="Own")
    assert "goes-with-its-neighbours" in [finding.code for finding in findings]


def test_points_of_ones_own_in_one_place_are_told_for_that():
    start = next(p for p in POINTS if p.name == "palm")
    own = [replace(start, name=name, role=name) for name in ("P1", "P2")]
    at = POINTS.index(start)
    points = [*POINTS[: at + 1], *own, replace(start, name="wrist", role="wrist"), *POINTS[at + 2 :]]
    assert "points-coincide" in codes(points)


def test_a_name_that_stands_in_two_files_is_told_with_both_places():
    here, there = Place("trank.xlsx", "Points", "B7"), Place("more.xlsx", "Points", "B2")
    start = next(p for p in POINTS if p.name == "palm")
    at = POINTS.index(start)
    own = [replace(start, name=name, role=name, y=start.y - 4, place=here) for name in ("Own", "own ")]
    own[1] = replace(own[1], y=start.y - 8, place=there)
    (finding,) = trace((*POINTS[: at + 1], *own, *POINTS[at + 1 :]), HANDS, name="Traced")[1][-1:]
    assert (finding.code, finding.place) == ("duplicate-name", there)
    assert "'Own' already (trank.xlsx, sheet Points, cell B7)" in finding.found


def test_a_point_of_ones_own_at_the_end_of_an_outline_is_asked_for_its_role():
    first = replace(POINTS[0], name="Q7", role="Q7", y=POINTS[0].y + 5)
    assert "unknown-role" in [finding.code for finding in trace((first, *POINTS), HANDS, name="Own")[1]]


def test_a_traced_leather_band_needs_no_places_of_its_slits(tables, tmp_path):
    """The lace may go anywhere: a pattern on paper need not say where."""
    style = {**STANDARD, "cuff": "leather band"}
    body = dict(zip(tables["Women"].measurements, tables["Women"].values[:, 2].tolist(), strict=True))
    block = draft("", (), body, mitten(style).usual(), compressed_pile=1.8, leather=1.0, date="", style=style)
    points = [one for one in standard_points(block) if "lace" not in one.name]
    traced, findings = trace(points, Hands(body, body), name="Own")
    assert traced is not None
    assert not [finding for finding in findings if finding.severity is not Severity.NOTE]
    assert "cuff: leather band" in traced.block.style
    assert [mark.name for mark in traced.block.marks if mark.kind == "slit"] == []
    (tmp_path / "own.xlsx").write_bytes(block_workbook(traced.block))
    assert read_block(open_tables(tmp_path / "own.xlsx")[0])[1] == []
    read = {value.name: value.drafted for value in traced.block.values}
    assert (read["slit room"], read["slit height"], read["slit shaping"]) == pytest.approx((26.46, 28, 14))
    whole, _ = trace(list(standard_points(block)), Hands(body, body), name="Own")
    assert [mark.name for mark in whole.block.marks if mark.kind == "slit"] == ["lace slit", "lace slit inside"]
