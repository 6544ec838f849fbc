"""Small labelled drawings of the pieces: legible in every size, and true to that size's geometry."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from legible import crossed_texts, outside, overlapping_texts

from grading.drawing.marks import Arrow, Box, Curve, Drawing, Line, Role, Text
from grading.engine.run import grade
from grading.model.block import Edge, Measure, Point
from grading.outputs.size_sheet import PICTURE, letters
from grading.outputs.sketch import sketch
from grading.readings.measures import measured

FRAME = Box(0, 0, *PICTURE)


def drawn(run, size: int) -> tuple[Drawing, dict[str, str]]:
    """The sketch of one size, and the letter of each of its measures."""
    measures = measured(run).measures
    named = letters(run.block, measures)
    lettered = list(zip(named, measures, strict=True))
    return sketch(run, size, lettered, *PICTURE), {measure.name: letter for letter, measure in lettered}


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_labels_cover_neither_lines_nor_each_other_and_all_lies_in_the_frame(runs, group):
    for size in range(len(runs[group].sizes)):
        drawing, _ = drawn(runs[group], size)
        assert overlapping_texts(drawing) == []
        assert crossed_texts(drawing) == []
        assert outside(drawing, FRAME) == []


def test_every_measure_has_its_letter_once_and_no_letter_is_a_points(runs):
    drawing, named = drawn(runs["Women"], 2)
    bold = [mark.text for mark in drawing.marks if isinstance(mark, Text) and mark.role is Role.LABEL_ON_LINE]
    assert sorted(bold) == sorted(named.values())
    assert not {"T", "H"} & set(named.values())


def test_letters_go_on_past_the_alphabet(block):
    many = block.measures * 3
    found = letters(block, many)
    assert len(set(found)) == len(many)


def test_each_piece_is_that_sizes_outline_at_the_scale_named_below_it(runs):
    run = runs["Men"]
    for size in range(len(run.sizes)):
        drawing, _ = drawn(run, size)
        outlines = [mark.box for mark in drawing.marks if isinstance(mark, Curve)]
        for piece in run.pieces.values():
            low, high = piece.boundary[size].reshape(-1, 2).min(axis=0), piece.boundary[size].reshape(-1, 2).max(axis=0)
            shape = (high[0] - low[0]) / (high[1] - low[1])
            (box,) = [box for box in outlines if box.width / box.height == pytest.approx(shape, rel=1e-4)]
            (told,) = [mark.text for mark in drawing.marks if isinstance(mark, Text) and " 1 : " in mark.text]
            assert float(told.rpartition(" ")[2]) == pytest.approx((high[0] - low[0]) / box.width, abs=0.051)


def test_a_straight_arrow_is_as_long_as_its_measure_at_that_scale(runs):
    run, size = runs["Women"], 4
    found = measured(run)
    drawing, _ = drawn(run, size)
    trank = max((mark.box for mark in drawing.marks if isinstance(mark, Curve)), key=lambda box: box.width)
    handles = run.pieces["Trank"].boundary[size].reshape(-1, 2)
    scale = trank.width / np.ptp(handles[:, 0])
    arrows = [mark for mark in drawing.marks if isinstance(mark, Arrow) and mark.role is Role.MEASURE and mark.both]
    lengths = np.array([np.hypot(*np.subtract(arrow.end, arrow.start)) for arrow in arrows]) / scale
    for name in ("palm width", "finished length", "thumb hole height", "cuff opening"):
        assert np.abs(lengths - found[name][size]).min() < 0.01, name


def test_a_measure_round_a_cut_out_is_drawn_round_it_in_the_leather(runs):
    drawing, _ = drawn(runs["Women"], 0)
    (ring,) = [mark for mark in drawing.marks if isinstance(mark, Line) and mark.closed]
    hole = min((mark.box for mark in drawing.marks if isinstance(mark, Curve)), key=lambda box: box.width)
    assert ring.box.contains(hole)


def test_without_measures_the_pieces_are_drawn_all_the_same(runs):
    run = runs["Women"]
    bare = sketch(run, 0, [], *PICTURE)
    assert sum(isinstance(mark, Curve) for mark in bare.marks) == 3
    assert outside(bare, FRAME) == []


def test_a_width_is_drawn_across_the_whole_piece_unless_it_is_half_of_its_round(runs):
    run = runs["Women"]
    whole = [(letter, replace(measure, times=1.0)) for letter, measure in [("C", measured(run).measures[0])]]
    half = [("C", measured(run).measures[0])]
    wide, narrow = (
        next(mark for mark in sketch(run, 0, one, *PICTURE).marks if isinstance(mark, Arrow) and mark.both)
        for one in (whole, half)
    )
    assert wide.box.width == pytest.approx(2 * narrow.box.width, rel=0.01)


@pytest.mark.parametrize(
    ("piece", "how", "start", "end"),
    [
        ("Thumb", "narrowest", "knuckle", "T"),
        ("Trank", "radius", "thumb hole", ""),
        ("Trank", "sideways", "finger centre", "T"),
        ("Trank", "clearance", "thumb hole", "mirror line"),
        ("Thumb", "angle", "T", ""),
    ],
)
def test_ways_that_the_demo_may_not_use_are_drawn_as_well(runs, piece, how, start, end):
    run = runs["Women"]
    measure = replace(measured(run).measures[0], piece=piece, how=how, start=start, end=end)
    drawn = sketch(run, 0, [("A", measure)], *PICTURE)
    assert [mark.text for mark in drawn.marks if isinstance(mark, Text) and mark.text == "A"] == ["A"]
    assert outside(drawn, FRAME) == []


@pytest.mark.parametrize("how", ["perimeter", "along"])
@pytest.mark.parametrize("turned", [False, True], ids=["clockwise", "counter-clockwise"])
def test_a_cut_out_too_small_for_a_line_inside_it_is_drawn_whichever_way_it_runs(block, tables, how, turned):
    names, at = ["n", "e", "s", "w"], [(60.0, 53.0), (63.0, 50.0), (60.0, 47.0), (57.0, 50.0)]
    way = [*names[:1], *(reversed(names[1:]) if turned else names[1:]), names[0]]
    ends = ("eyelet", "") if how == "perimeter" else (way[0], way[2])
    small = replace(
        block,
        points=(
            *block.points,
            *(Point("Trank", name, x, y, False, ("finger line",)) for name, (x, y) in zip(names, at, strict=True)),
        ),
        edges=(*block.edges, Edge("Trank", "eyelet edge", "eyelet", tuple(way), "raw edge")),
        measures=(Measure("eyelet", "Trank", how, *ends, 1.0, 1.0, 1.0, False, "", 1.0, "Round it."),),
    )
    drawing, _ = drawn(grade(small, tables["Women"]), 2)
    eyelet = min((mark.box for mark in drawing.marks if isinstance(mark, Curve)), key=lambda box: box.width)
    round_it = [mark.box for mark in drawing.marks if isinstance(mark, Line) and mark.role is Role.MEASURE_LINE]
    assert len(round_it) == 1
    assert round_it[0].left < eyelet.left - 1 or round_it[0].right > eyelet.right + 1


def opened_out(block, across: float):
    """The block with its thumb alone, the drafted half as a piece of its own that is not mirrored, so far across."""
    half = tuple(replace(one, x=one.x + across, turn=True) for one in block.points if one.piece == "Thumb")
    edges = [one for one in block.edges if one.piece == "Thumb" and one.loop == "boundary"]
    names = list(dict.fromkeys(name for edge in edges for name in edge.points if not name.endswith("'")))
    whole = replace(edges[0], name="whole", points=(*names, names[0]))
    return replace(
        block,
        pieces=tuple(replace(one, mirrored=False, stacking_point="") for one in block.pieces if one.name == "Thumb"),
        points=half,
        edges=(whole,),
        seams=(),
        marks=(),
        measures=(),
        making=(),
    )


@pytest.mark.parametrize("across", [10.0, -500.0])
def test_a_piece_that_is_not_mirrored_has_no_mirror_line_and_its_pile_arrow_wherever_it_was_drafted(
    block, tables, across
):
    drawing, _ = drawn(grade(opened_out(block, across), tables["Women"]), 2)
    assert [mark for mark in drawing.marks if mark.role is Role.MIRROR_LINE] == []
    (outline,) = [mark.box for mark in drawing.marks if isinstance(mark, Curve)]
    (arrow,) = [mark for mark in drawing.marks if isinstance(mark, Arrow) and mark.role is Role.PILE]
    assert outline.contains(arrow.box)
