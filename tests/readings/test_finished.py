"""The finished mitten as it lies flat: on the right side of the right hand, and as long and wide as it is measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.geometry.flattening import flatten
from grading.model.block import Piece
from grading.readings.finished import finished
from grading.readings.measures import measured

FACES, HANDS = ("inside", "outside"), ("right", "left")


def body(layers):
    """What one sees of the trank and its turned parts."""
    return shapely.union_all([layer.area for layer in layers if layer.piece == "Trank"])


def thumb(layers):
    return shapely.union_all([layer.area for layer in layers if layer.piece == "Thumb"])


@pytest.mark.parametrize("drawn_from", FACES)
@pytest.mark.parametrize("marked_on", FACES)
@pytest.mark.parametrize("hand", HANDS)
def test_fold_and_thumb_lie_where_that_hand_has_its_thumb(runs, drawn_from, marked_on, hand):
    run = runs["Women"]
    run = replace(run, block=replace(run.block, drawn_from=drawn_from, marked_on=marked_on))
    seen = finished(run, 2, hand)
    for layers, palm_faces in ((seen.palm, 1), (seen.back, -1)):
        # By directions alone: on a right hand the thumb points where fingers × palm does, on a left one away from it.
        thumb_at = np.cross([0, 1, 0], [0, 0, palm_faces])[0] * (1 if hand == "right" else -1)
        left, _, right, _ = body(layers).bounds
        fold, seam = (right, left) if thumb_at > 0 else (left, right)
        assert fold == pytest.approx(0, abs=0.1)
        # The turned part may be a little wider than the body it lies on.
        assert abs(seam) > 100
        far = thumb(layers).bounds[2 if thumb_at > 0 else 0]
        assert far * thumb_at > 20


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_it_is_half_the_round_wide_and_as_long_as_the_finished_length(runs, group):
    run = runs[group]
    found = measured(run)
    for size in range(len(run.sizes)):
        for layers in (finished(run, size, "right").palm, finished(run, size, "left").back):
            seen = body(layers)
            _, bottom, _, top = seen.bounds
            assert top - bottom == pytest.approx(found["finished length"][size], abs=0.1)
            knuckle = run.pieces["Trank"].point("knuckle")[size, 1]
            level = shapely.LineString([(-500, knuckle - 0.2), (500, knuckle - 0.2)])
            edges = shapely.union_all([layer.edges for layer in layers if layer.piece == "Trank"])
            left, _, right, _ = level.intersection(edges).bounds
            if right - left < 1:  # only the side seam is seen there: the thumb hides the fold
                left, right = min(left, 0.0), max(right, 0.0)
            assert right - left == pytest.approx(found["palm width"][size], abs=0.2)


def test_the_thumb_keeps_its_width_and_its_length_from_the_tip_to_t(runs):
    run = runs["Women"]
    found, size = measured(run), 3
    tip = next(layer for layer in finished(run, size, "right").palm if layer.piece == "Thumb" and layer.fold)
    edges = shapely.get_coordinates(shapely.minimum_rotated_rectangle(tip.area))
    sides = sorted(np.hypot(*np.diff(edges[:3], axis=0).T))
    # what is turned goes round the outside: at its raw edge wider by pi x 1.0 mm of leather
    assert sides[1] == pytest.approx(found["thumb width"][size] + np.pi, abs=0.3)
    assert sides[0] == pytest.approx(run.block.value("thumb turn").now / 2, abs=0.3)
    hole = run.pieces["Trank"].point("T")[size] * [-1, 1]
    corners = [shapely.Point(point).distance(shapely.Point(hole)) for point in edges]
    assert min(corners) < found["thumb length"][size] + 0.2


def test_turned_parts_lie_on_the_outside_as_deep_as_their_fold_backs(runs):
    run = runs["Women"]
    found = measured(run)
    for layers in (finished(run, 0, "right").palm, finished(run, 0, "right").back):
        turned = {layer.fold: layer.area for layer in layers if layer.fold and layer.piece == "Trank"}
        for fold, measure in (
            ("finger fold line", "finger fold-back depth"),
            ("cuff fold line", "cuff fold-back depth"),
        ):
            _, bottom, _, top = turned[fold].bounds
            assert top - bottom == pytest.approx(found[measure][0], abs=0.1)


def test_the_back_hides_where_the_thumb_is_set(runs):
    seen = finished(runs["Women"], 2, "right")
    assert sum(layer.seams.length for layer in seen.palm) > 50
    assert sum(layer.seams.length for layer in seen.back) < 1
    for layers in (seen.palm, seen.back):
        areas = [layer.area for layer in layers]
        assert shapely.union_all(areas).area == pytest.approx(sum(area.area for area in areas), rel=1e-3)


def test_names_of_pieces_do_not_matter_nor_does_a_block_of_one_piece(block, tables, runs):
    usual = finished(runs["Women"], 0, "left").palm

    def named(thing):
        return replace(thing, piece={"Trank": "Body", "Thumb": "Sprout"}[thing.piece])

    other = replace(
        block,
        pieces=tuple(replace(piece, name={"Trank": "Body", "Thumb": "Sprout"}[piece.name]) for piece in block.pieces),
        points=tuple(named(point) for point in block.points),
        edges=tuple(named(edge) for edge in block.edges),
        marks=tuple(named(mark) for mark in block.marks),
        measures=(),
        limits=(),
        seams=tuple(replace(seam, side_a=named(seam.side_a), side_b=named(seam.side_b)) for seam in block.seams),
    )
    renamed = finished(balanced(grade(other, tables["Women"])), 0, "left").palm
    assert [layer.area.area for layer in renamed] == pytest.approx([layer.area.area for layer in usual])
    alone = replace(
        other,
        pieces=(Piece("Body", True, 1, 1, "", ""),),
        points=tuple(point for point in other.points if point.piece == "Body"),
        edges=tuple(edge for edge in other.edges if edge.piece == "Body"),
        marks=tuple(mark for mark in other.marks if mark.piece == "Body"),
        seams=(),
        values=tuple(value for value in block.values if value.kind.value != "balance"),
        moves=tuple(move for move in block.moves if all("fullness" not in share.value for share in move.shares)),
    )
    run = grade(alone, tables["Women"])
    seen = finished(run, 0, "left").palm
    # The hole is open: through it one sees the back.
    assert len(seen) == 4
    assert len(shapely.union_all([layer.area.buffer(0.1) for layer in seen]).interiors) == 0
    hole = shapely.Polygon(flatten(run.pieces["Body"].beziers["thumb hole"][0]))
    assert any(layer.area.area == pytest.approx(hole.area, rel=0.05) for layer in seen)
