"""Cutting files read back by readers that are not the writer: GDAL, ezdxf's auditor, a small one of our own, resvg."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pyogrio
import pytest
import resvg_py
import shapely
from ezdxf import recover
from PIL import Image
from svgelements import SVG

from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.outputs.cutting.dxf import cutting_dxf, pattern_data
from grading.outputs.cutting.layers import cutting_files
from grading.outputs.cutting.svg import svg_file
from grading.readings.cut_lines import cut_lines


@pytest.fixture(scope="module")
def loops(runs):
    """The library's cut lines of each group."""
    return {group: cut_lines(run) for group, run in runs.items()}


@pytest.fixture(scope="module")
def made(runs, loops):
    """{(group, size, hand): what its cutting files hold}, for every size of every group."""
    return {
        (group, file.size, file.hand): file
        for group, run in runs.items()
        for file in cutting_files(run, loops[group], "1f3a9c2b7d")
    }


@pytest.fixture(scope="module")
def few(made):
    """The first and the last size of each group."""
    keys = list(made)
    return {key: made[key] for key in (*keys[:2], *keys[-2:])}


def wanted(runs, loops, key, file) -> list[shapely.LinearRing]:
    """Every cut line of the library, turned over and moved to where the file has it."""
    group, size, hand = key
    run = runs[group]
    flip = -1 if run.block.view(hand).reversed else 1
    number = run.sizes.index(size)
    places = {piece.piece.name: place for piece, place in zip(file.pieces, file.places, strict=True)}
    rings = [(loop.piece, loop.lines[number].polygon * (flip, 1)) for loop in loops[group]]
    return [shapely.LinearRing(ring + places[piece]) for piece, ring in rings]


def nearest(ring: shapely.LinearRing, found: list[np.ndarray]) -> float:
    """How far (mm) the vertices of a line and of the closest of others lie from one another's lines."""

    def apart(other: np.ndarray) -> float:
        line = shapely.LinearRing(other)
        if not np.allclose(line.bounds, ring.bounds, atol=0.1):
            return np.inf
        there = shapely.distance(shapely.points(other), ring).max()
        return max(there, shapely.distance(shapely.points(shapely.get_coordinates(ring)), line).max())

    return min(map(apart, found))


def lwpolylines(data: bytes) -> dict[str, list[np.ndarray]]:
    """Closed polylines by layer, read from the group codes alone (DXF reference: 8 layer, 10 and 20 x and y)."""
    pairs = re.findall(r"^ *(\d+)\r?\n(.*)\r?$", data.decode("cp1252"), re.M)
    found: dict[str, list[np.ndarray]] = {}
    kind, layer, points = "", "", []
    for code, value in [*pairs, ("0", "EOF")]:
        if code == "0":
            if kind == "LWPOLYLINE" and len(points) > 2:
                found.setdefault(layer, []).append(np.array(points))
            kind, layer, points = value.strip(), "", []
        elif code == "8":
            layer = value.strip()
        elif code == "10":
            points.append([float(value), 0.0])
        elif code == "20" and points:
            points[-1][1] = float(value)
    return found


def test_every_cut_line_of_every_size_and_hand_is_in_the_dxf_within_two_hundredths(runs, loops, made):
    for key, file in made.items():
        layers = lwpolylines(cutting_dxf(file))
        found = layers["cut line"] + layers["cut-out"]
        for ring in wanted(runs, loops, key, file):
            assert nearest(ring, found) < 0.02, key


def test_gdal_reads_the_same_lines_and_layers(runs, loops, few, tmp_path):
    for key, file in few.items():
        path = tmp_path / "file.dxf"
        path.write_bytes(cutting_dxf(file))
        _, _, shapes, (layers, *_) = pyogrio.raw.read(path, columns=["Layer"])
        found = [(str(layer), shapely.from_wkb(shape)) for layer, shape in zip(layers, shapes, strict=True)]
        rings = [shapely.get_coordinates(shape) for layer, shape in found if layer in ("cut line", "cut-out")]
        for ring in wanted(runs, loops, key, file):
            assert nearest(ring, rings) < 0.02, key
        bar = [shape for layer, shape in found if layer == "bar of 100 mm"]
        assert max(shapely.length(line) for line in bar) == pytest.approx(100, abs=0.01)
        assert {"sew line", "mirror line", "fold line", "pile direction", "words", "ticks"} <= set(map(str, layers))


def test_curves_of_the_dxf_keep_within_a_hundredth_of_the_sew_line(runs, few):
    for (group, size, hand), file in few.items():
        run = runs[group]
        flip = -1 if run.block.view(hand).reversed else 1
        rings = [shapely.LinearRing(ring) for ring in lwpolylines(cutting_dxf(file))["sew line"]]
        t = np.linspace(0, 1, 50)[:, None]
        for piece, place in zip(file.pieces, file.places, strict=True):
            for beziers in run.pieces[piece.piece.name].beziers.values():
                own = beziers[run.sizes.index(size)] * (flip, 1)
                a, b, c, d = (own[:, None, i] for i in range(4))
                points = (a * (1 - t) ** 3 + 3 * b * (1 - t) ** 2 * t + 3 * c * (1 - t) * t * t + d * t**3) + place
                points = points.reshape(-1, 2)
                assert min(shapely.distance(shapely.points(points), ring).max() for ring in rings) < 0.01


def test_ezdxfs_auditor_finds_no_error_and_the_unit_is_stated(runs, few):
    for (group, *_), file in few.items():
        cutting, auditor = recover.read(io.BytesIO(cutting_dxf(file)))
        assert not auditor.has_errors
        assert not cutting.audit().errors
        assert cutting.header["$INSUNITS"] == 4  # millimetres
        assert cutting.dxfversion == "AC1015"  # release 2000
        data, auditor = recover.read(io.BytesIO(pattern_data(file, "Fair mitten", "2026-11-02", "W3")))
        assert not auditor.has_errors
        assert data.dxfversion == "AC1009"  # release 12
        said = " ".join(text.dxf.text for text in data.modelspace().query("TEXT"))
        assert "Units: METRIC" in said
        assert "Style Name: Fair mitten" in said
        assert group in ("Women", "Children")


def test_pattern_data_has_a_block_a_piece_with_the_layers_of_astm_d6673(runs, few):
    # Layers as in ASTM D6673-10: 1 boundary, 2 turn points, 3 curve points, 6 mirror line, 7 grain line, 8 internal
    # lines, 11 internal cut-outs, 14 sew lines, 15 annotation.
    file = next(iter(few.values()))
    data, _ = recover.read(io.BytesIO(pattern_data(file, "Fair mitten", "", "W3")))
    for piece in runs["Women"].block.pieces:
        block = data.blocks.get(piece.name)
        layers = {entity.dxf.layer for entity in block}
        assert {"1", "2", "3", "6", "7", "8", "14", "15"} <= layers
        assert ("11" in layers) == (piece.name == "Trank")
        points = [entity for entity in block if entity.dxftype() == "POINT" and entity.dxf.layer == "2"]
        turns = [point for point in runs["Women"].block.points if point.piece == piece.name and point.turn]
        assert len(points) == sum(1 + (point.x > 0) for point in turns)


def points_of_cubics(handles: np.ndarray) -> np.ndarray:
    """Sixteen points of each cubic of a path (1 + 3n, 2), by de Casteljau's construction."""
    segments = np.array([handles[i : i + 4] for i in range(0, len(handles) - 1, 3)])
    t = np.linspace(0, 1, 16, endpoint=False)[:, None, None]
    level = segments[:, None]
    for _ in range(3):
        level = level[:, :, :-1] * (1 - t) + level[:, :, 1:] * t
    return level.reshape(-1, 2)


def test_svg_is_true_to_scale_in_mm_and_its_curves_are_cubics(runs, loops, made):
    for key, file in made.items():
        root = ET.fromstring(svg_file(file))
        width, height = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
        assert root.get("viewBox") == f"0 0 {root.get('width')[:-2]} {root.get('height')[:-2]}"
        drawn = []
        for group in root.iter("{http://www.w3.org/2000/svg}g"):
            title = group.findtext("{http://www.w3.org/2000/svg}title")
            if title in ("cut line", "cut-out"):
                for path in group.iter("{http://www.w3.org/2000/svg}path"):
                    assert set(re.findall("[A-Za-z]", path.get("d"))) == {"M", "C", "Z"}
                    figures = np.array([float(figure) for figure in re.findall(r"-?[0-9.]+", path.get("d"))])
                    handles = figures.reshape(-1, 2) * (1, -1) + (0, height)
                    drawn.append(points_of_cubics(handles))
        for ring in wanted(runs, loops, key, file):
            assert nearest(ring, drawn) < 0.02, key
        assert width > 100


def test_an_svg_library_finds_the_bar_and_ids_that_stand_once(few):
    for file in few.values():
        data = svg_file(file)
        ids = re.findall(rb' id="([^"]+)"', data)
        assert len(ids) == len(set(ids))
        svg = SVG.parse(io.BytesIO(data), ppi=25.4)  # a pixel a millimetre
        bar = next(group for group in svg.select(lambda element: element.id == "bar-of-100-mm"))
        left, _, right, _ = bar.bbox()
        assert right - left == pytest.approx(100, abs=0.01)


def test_resvg_renders_it_at_its_scale(few):
    file = next(iter(few.values()))
    dots = 8  # a millimetre
    png = resvg_py.svg_to_bytes(svg_string=svg_file(file).decode(), dpi=dots * 25.4, background="#fff")
    picture = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("L"))
    row = picture[round((file.height - 10) * dots)]
    inked = np.flatnonzero(row < 128)
    assert np.ptp(inked) / dots == pytest.approx(100, abs=0.4)
    assert inked[0] / dots == pytest.approx(10, abs=0.3)


def test_the_same_run_gives_the_same_bytes(few):
    for file in few.values():
        for write in (svg_file, cutting_dxf, lambda one: pattern_data(one, "Fair mitten", "", "")):
            assert write(file) == write(file)


def test_names_in_any_european_alphabet_survive(block, tables):
    women = tables["Women"]
    odd = replace(women, sizes=("Größe Ł", "Щ Ω"), values=women.values[:, :2], places={})
    run = balanced(grade(replace(block, name="Fäustling № 1 <&>"), odd))
    for file in cutting_files(run, cut_lines(run), "0"):
        assert file.size in " ".join(ET.fromstring(svg_file(file)).itertext())
        drawing, _ = recover.read(io.BytesIO(cutting_dxf(file)))
        assert any(file.size in text.dxf.text for text in drawing.modelspace().query("TEXT"))
        data, _ = recover.read(io.BytesIO(pattern_data(file, run.block.name, "", "")))
        assert any(run.block.name in text.dxf.text for text in data.modelspace().query("TEXT"))


def test_a_right_hand_has_its_palm_where_the_marked_face_says_and_a_left_hand_across(made):
    # Common practice: the outside up, a right hand's palm half lies at the left of its mirror line.
    for (_, _, hand), file in made.items():
        trank = next(piece for piece in file.pieces if piece.piece.name == "Trank")
        hole = trank.curves["cut-out"][0][:, 0, 0].mean()
        assert np.sign(hole) == (-1 if hand == "right" else 1)
