"""A slit, an opening of no width, wherever its piece is drawn: read back from the files that are handed over."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
from ezdxf import recover

from grading.drawing.marks import Line, Role
from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.model.block import Mark, Point
from grading.model.hands import EITHER
from grading.outputs.cutting.dxf import cutting_dxf, pattern_data
from grading.outputs.cutting.layers import cutting_files
from grading.outputs.cutting.svg import svg_file
from grading.outputs.nest import nested
from grading.outputs.steps import step_drawings
from grading.readings.cut_lines import cut_lines
from grading.readings.finished import finished
from grading.readings.marks import slits


def slitted(block, where: str, *, making: str = ""):
    """The demo's block with a slit of 30 mm up the palm, and points for its image or none."""
    ends = [Point("Trank", name, 70.0, y, False, ("side",)) for name, y in (("low", -10.0), ("high", 20.0))]
    steps = (*block.making, replace(block.making[0], name="9", shows=making)) if making else block.making
    marks = (*block.marks, Mark("Trank", "opening", "slit", where))
    return replace(block, points=(*block.points, *ends), marks=marks, making=steps)


@pytest.fixture(scope="module")
def run(blocks, tables) -> SizeRun:
    return balanced(grade(slitted(blocks["Women"], "low, high", making="opening"), tables["Women"]))


@pytest.fixture(scope="module")
def file(run):
    return next(one for one in cutting_files(run, cut_lines(run), "1") if (one.size, one.hand) == ("W3", "right"))


def lengths(lines) -> list[float]:
    return [float(np.hypot(*(np.array(end) - start)[:2])) for start, end in lines]


def test_it_is_on_a_layer_of_its_own_for_cutters_and_an_internal_cut_out_by_d6673(file):
    for data, layer in ((cutting_dxf(file), "slit"), (pattern_data(file, "S", "2026-01-01", "W3"), "11")):
        drawing, _ = recover.read(io.BytesIO(data))
        spaces = [drawing.modelspace(), *drawing.blocks]
        lines = {
            (tuple(one.dxf.start), tuple(one.dxf.end))
            for space in spaces
            for one in space.query("LINE")
            if one.dxf.layer == layer
        }
        assert lengths(lines) == pytest.approx([30.0])


def test_it_is_in_the_drawing_for_a_laser(file):
    root = ET.fromstring(svg_file(file))
    groups = [one for one in root.iter() if (one.get("id") or "").endswith("slit")]
    ((path,),) = [[child for child in group if child.get("d")] for group in groups]
    start, end = (
        np.array([float(figure) for figure in pair.split(",")]) for pair in path.get("d").removeprefix("M").split(" L")
    )
    assert np.hypot(*(end - start)) == pytest.approx(30.0)


def test_a_nest_has_that_of_every_size(run):
    drawn = [one for one in nested(run, run["Trank"]).marks if isinstance(one, Line) and one.role is Role.SEW_LINE]
    assert len({one.size for one in drawn}) == len(run.sizes)
    assert [one.box.height for one in drawn] == pytest.approx([30.0] * len(run.sizes))


def test_the_finished_picture_shows_it_on_the_side_that_it_is_cut_in(run):
    seen = finished(run, 2, "left")
    (palm,) = (layer for layer in seen.palm if layer.piece == "Trank" and not layer.fold)
    (back,) = (layer for layer in seen.back if layer.piece == "Trank" and not layer.fold)
    slit = shapely.LineString([(70, 1), (70, 19)])  # the turned cuff lies over the rest
    for layer, there in ((palm, True), (back, False)):
        lines = shapely.union_all([layer.edges, shapely.affinity.scale(layer.edges, -1, 1, origin=(0, 0))])
        assert lines.buffer(0.1).covers(slit) is there


def test_a_step_that_names_it_shows_it_bold(run):
    drawing = step_drawings(run, 2)[-1]
    bold = [one for one in drawing.marks if isinstance(one, Line) and one.role is Role.OUTLINE]
    assert len(bold) == 1
    assert bold[0].box.height > 3 * bold[0].box.width


def test_two_slits_of_one_mark_are_one_the_images_of_the_other_and_leave_a_piece_its_own_image(block):
    both = slitted(block, "low, high, low', high'")
    assert [(start, end) for _, start, end in slits(both, "Trank")] == [("low", "high"), ("low'", "high'")]
    thumb = both.pieces[1]
    plain = replace(both, marks=tuple(mark for mark in both.marks if mark.name == "opening"), seams=(), pieces=(thumb,))
    one_sided = replace(plain, marks=(Mark("Thumb", "cut", "slit", "T, knuckle"),))
    even = replace(plain, marks=(Mark("Thumb", "cut", "slit", "T, knuckle, T', knuckle'"),))
    assert [hand for hand, _ in one_sided.cut_for(thumb)] != [EITHER]
    assert [hand for hand, _ in even.cut_for(thumb)] == [EITHER]
