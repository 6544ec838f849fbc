"""Drawings as other programs save them: on layers, in loose lines and arcs, as basic shapes; and far too much of each.

The DXF files are written by ezdxf, whose release the program reads with too; what stands in them is drawn here.
"""

from __future__ import annotations

import math
import random
import time

import ezdxf
import numpy as np
import pytest
import shapely
from scipy.interpolate import BPoly

from grading.drafting.drawn import read_drawing
from grading.drafting.scenario import demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.geometry.beziers import evaluate
from grading.geometry.flattening import flatten
from grading.sheets.drawn import curve_of
from grading.sheets.opening import open_tables
from grading.sheets.traced import read_traced

TRANK = {"layer": "Trank"}


@pytest.fixture(scope="module")
def sewn() -> np.ndarray:
    """The sew line of the women's trank at the base size, as cubics (n, 4, 2)."""
    run = balanced(grade(demo_block(), next(table for table in demo_sizes() if table.group == "Women")))
    return run.pieces["Trank"].beziers["boundary"][2]


@pytest.fixture
def drawing():
    drawing = ezdxf.new("R2000")
    drawing.header["$INSUNITS"] = 4  # millimetres
    return drawing


def read(drawing, path):
    drawing.saveas(path)
    return read_drawing(path)


def codes(findings) -> set[str]:
    return {finding.code for finding in findings}


def the_loop(drawn):
    (part,) = drawn.parts
    (loop,) = part.loops
    return part.piece, shapely.Polygon(flatten(loop, 0.001))


@pytest.mark.parametrize("seed", range(3))
def test_loose_curves_in_any_order_and_direction_are_put_together(drawing, tmp_path, sewn, seed):
    chance = random.Random(seed)
    cubics = [cubic if chance.random() < 0.5 else cubic[::-1] for cubic in sewn]
    for cubic in chance.sample(cubics, len(cubics)):
        drawing.modelspace().add_open_spline(cubic.tolist(), degree=3, dxfattribs=TRANK)
    piece, loop = the_loop(read(drawing, tmp_path / "pattern.dxf")[0])
    assert piece == "Trank"
    assert loop.area == pytest.approx(shapely.Polygon(flatten(sewn, 0.001)).area, rel=1e-5)


def test_lines_and_arcs_make_one_outline_and_one_that_stays_open_makes_none(drawing, tmp_path):
    space = drawing.modelspace()
    space.add_line((0, 0), (100, 0), dxfattribs=TRANK)
    space.add_line((0, 100), (0, 0), dxfattribs=TRANK)
    space.add_line((0, 100), (100, 100), dxfattribs=TRANK)
    space.add_arc((100, 50), 50, -90, 90, dxfattribs=TRANK)
    space.add_line((10, 10), (20, 20), dxfattribs=TRANK)
    space.add_line((5, 5), (5, 5), dxfattribs=TRANK)
    _, loop = the_loop(read(drawing, tmp_path / "pattern.dxf")[0])
    assert loop.area == pytest.approx(100 * 100 + math.pi * 50**2 / 2, rel=1e-4)


def test_what_is_round_keeps_its_size_in_every_unit(drawing, tmp_path):
    drawing.header["$INSUNITS"] = 5  # centimetres
    drawing.modelspace().add_circle((5, 5), 2, dxfattribs=TRANK)
    _, loop = the_loop(read(drawing, tmp_path / "pattern.dxf")[0])
    assert loop.area == pytest.approx(math.pi * 20**2, rel=1e-3)
    assert loop.length == pytest.approx(2 * math.pi * 20, rel=1e-3)


def test_a_dxf_file_of_a_pieces_name_needs_no_layer_of_that_name_and_its_bar_is_no_part_of_it(drawing, tmp_path):
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (90, 0), (90, 200), (0, 200)], close=True)
    space.add_line((0, -20), (99, -20), dxfattribs={"layer": "bar of 100 mm"})
    drawn, _, findings = read(drawing, tmp_path / "trank.dxf")
    assert the_loop(drawn)[1].area == pytest.approx(90 * 200)
    assert "drawing-off-scale" in codes(findings)
    assert "drawing-without-pieces" in codes(read(drawing, tmp_path / "other.dxf")[2])


def test_a_long_remark_is_no_name_of_a_node(drawing, tmp_path):
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (90, 0), (90, 200), (0, 200)], close=True, dxfattribs=TRANK)
    for text in ("waist", "cut with care " * 40):
        space.add_mtext(text, dxfattribs={**TRANK, "insert": (0, 0)})
    drawn, _, _ = read(drawing, tmp_path / "pattern.dxf")
    assert [name.text for name in drawn.parts[0].names] == ["waist"]


def ring(count: int) -> list[tuple[float, float]]:
    return [(100 * math.cos(2 * math.pi * i / count), 100 * math.sin(2 * math.pi * i / count)) for i in range(count)]


#: What of each takes for ever, or fills the memory, where nothing bounds it.
TOO_MUCH = {
    "lines at one place": lambda space: [space.add_line((0, 0), (1, 1), dxfattribs=TRANK) for _ in range(4_100)],
    "lines that do not meet": lambda space: [space.add_line((i, 0), (i, 1), dxfattribs=TRANK) for i in range(4_100)],
    "arcs": lambda space: [space.add_arc((0, 0), 1 + i, 0, 350, dxfattribs=TRANK) for i in range(4_100)],
    "circles": lambda space: [space.add_circle((0, 0), 1 + i, dxfattribs=TRANK) for i in range(5_100)],
    "a spline through many points": lambda space: space.add_spline(ring(1_100), dxfattribs=TRANK),
    "an outline of many nodes": lambda space: space.add_lwpolyline(ring(20_100), close=True, dxfattribs=TRANK),
    "bulges": lambda space: space.add_lwpolyline([(*at, 0, 0, 1.0) for at in ring(11_000)], dxfattribs=TRANK),
}


#: Held to the bound of another.
ALIKE = ("arcs", "lines that do not meet")


@pytest.mark.parametrize("attack", [pytest.param(n, marks=[pytest.mark.long] if n in ALIKE else []) for n in TOO_MUCH])
def test_too_much_of_anything_is_refused_soon(drawing, tmp_path, attack):
    TOO_MUCH[attack](drawing.modelspace())
    path = tmp_path / "pattern.dxf"
    drawing.saveas(path)
    begun = time.process_time()
    assert codes(read_drawing(path)[2]) == {"drawing-too-large"}
    assert time.process_time() - begun < 5


@pytest.mark.parametrize(
    "content",
    [
        "0\nSECTION\n2\nBLOCKS\n" + "0\nBLOCK\n2\nB\n0\nENDBLK\n" * 1_100 + "0\nENDSEC\n0\nEOF\n",
        "0\nSECTION\n2\nENTITIES\n" + "0\nLINE\n8\nTrank\n" * 61_000 + "0\nENDSEC\n0\nEOF\n",
        "999\n" + "x" * 5_000_001,
    ],
    ids=["blocks", "entities", "bytes"],
)
def test_a_file_of_more_than_any_pattern_is_not_even_taken_apart(tmp_path, content):
    path = tmp_path / "pattern.dxf"
    path.write_text(content)
    begun = time.process_time()
    assert codes(read_drawing(path)[2]) == {"drawing-too-large"}
    assert time.process_time() - begun < 1


def test_a_text_with_thousands_of_groups_in_groups_is_not_taken_apart(drawing, tmp_path):
    space = drawing.modelspace()
    space.add_circle((0, 0), 50, dxfattribs=TRANK)
    space.add_mtext(r"{\fA;" * 60_000, dxfattribs=TRANK)
    path = tmp_path / "pattern.dxf"
    drawing.saveas(path)
    begun = time.process_time()
    assert read_drawing(path)[0].parts
    assert time.process_time() - begun < 5


def test_many_texts_beside_many_nodes_are_matched_soon(drawing, tmp_path):
    space = drawing.modelspace()
    places = [(i % 150, i // 150 + i % 2) for i in range(8_000)]
    space.add_lwpolyline(places, close=True, dxfattribs=TRANK)
    for number, at in enumerate(places[:6_000]):
        space.add_text(f"n{number}", dxfattribs=TRANK).set_placement(at if number % 2 else (0, 0))
    path = tmp_path / "pattern.dxf"
    drawing.saveas(path)
    begun = time.process_time()
    assert codes(read_drawing(path)[2]) == {"drawing-too-large"}
    assert time.process_time() - begun < 2


SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">{}</svg>'


def test_more_named_nodes_than_any_pattern_has_are_refused_in_a_drawing_and_in_a_sheet(tmp_path):
    nodes = [(i % 150, i) for i in range(600)]
    path = tmp_path / "pattern.svg"
    outline = f'<polygon points="{" ".join(f"{x},{y}" for x, y in nodes)}"/>'
    names = "".join(f'<text x="{x}" y="{y}">n{y}</text>' for x, y in nodes)
    path.write_text(SVG.format(f'<g id="Trank">{outline}{names}</g>'))
    assert "drawing-too-large" in codes(read_drawing(path)[2])
    sheet = tmp_path / "points.csv"
    rows = "".join(f"Trank,n{y},{x} mm,{y} mm,yes\n" for x, y in nodes)
    sheet.write_text(f"Piece,Point,x,y,Turn\n{rows}")
    points, findings = read_traced(open_tables(sheet)[0], "mm")
    assert (points, codes(findings)) == ((), {"too-many-cells"})


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        ('<polygon points="0,0 90,0 90,200 0,200"/>', 90 * 200),
        ('<polyline points="0,0 90,0 90,200 0,200 0,0"/>', 90 * 200),
        ('<rect x="5" y="5" width="90" height="200"/>', 90 * 200),
        ('<circle cx="60" cy="60" r="50"/>', math.pi * 50**2),
        ('<ellipse cx="60" cy="60" rx="50" ry="20"/>', math.pi * 50 * 20),
        # A parabola under its chord has 2/3 of the box that its handle spans (Archimedes).
        ('<path d="M 0,0 Q 50,100 100,0 Z"/>', 2 / 3 * 100 * 50),
    ],
)
def test_basic_shapes_of_svg_are_outlines_too(tmp_path, shape, area):
    path = tmp_path / "pattern.svg"
    path.write_text(SVG.format(f'<g id="Trank">{shape}</g>'))
    assert the_loop(read_drawing(path)[0])[1].area == pytest.approx(area, rel=2e-3)


@pytest.mark.parametrize(
    "shape", ['<polygon points=""/>', '<circle r="0"/>', '<line x1="0" y1="0" x2="9" y2="9"/>', '<path d="M 5,5 Z"/>']
)
def test_shapes_that_enclose_nothing_are_no_outlines(tmp_path, shape):
    path = tmp_path / "pattern.svg"
    path.write_text(SVG.format(f'<g id="Trank">{shape}</g>'))
    assert "drawing-without-pieces" in codes(read_drawing(path)[2])


def test_a_drawing_without_a_width_is_in_pixels_of_its_view_box(tmp_path):
    path = tmp_path / "pattern.svg"
    text = SVG.format('<g id="Trank"><rect width="96" height="192"/></g>')
    path.write_text(text.replace('width="200mm" height="300mm"', ""))
    # 96 pixels are an inch (CSS Values and Units 3, 6.2).
    assert the_loop(read_drawing(path)[0])[1].area == pytest.approx(25.4 * 50.8)


def test_another_kind_of_xml_is_no_drawing_and_many_paths_are_too_many(tmp_path):
    path = tmp_path / "pattern.svg"
    path.write_text("<html><g id='Trank'/></html>")
    assert codes(read_drawing(path)[2]) == {"unreadable-drawing"}
    path.write_text(SVG.format('<g id="Trank">' + '<path d="M0,0 L9,0 9,9 Z"/>' * 7_000 + "</g>"))
    assert codes(read_drawing(path)[2]) == {"drawing-too-large"}


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_a_line_or_a_quadratic_is_the_same_curve_as_a_cubic(degree):
    """Beside scipy's Bernstein polynomials of the degree as drawn."""
    points = np.array([3 + 1j, 20 - 4j, 31 + 7j, 40 + 2j])[: degree + 1]
    along = np.linspace(0, 1, 21)
    drawn = BPoly(points[:, None], [0, 1])(along)
    assert evaluate(curve_of([points.tolist()]), along)[0] == pytest.approx(np.stack([drawn.real, drawn.imag], axis=-1))


def test_a_curve_that_ends_where_it_begins_is_kept_and_one_that_stays_there_is_not():
    leaf, nothing = [0j, 30 + 0j, 30j, 0j], [5 + 5j, 5 + 5j]
    assert curve_of([leaf, nothing]).shape == (1, 4, 2)
    assert curve_of([nothing]) is None
