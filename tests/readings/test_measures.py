"""Points of measure: widths with ease that does not grow, each way of measuring against shapely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon

from grading.engine.run import SizeRun, grade
from grading.geometry.beziers import evaluate
from grading.measuring.taking import width_at
from grading.model.block import Block, Kind, Measure
from grading.readings.measures import measured, taken

GROUPS = ("Women", "Men", "Children")


def outline(run: SizeRun, piece: str, size: int, loop: str = "boundary") -> Polygon:
    fine = np.linspace(0, 1, 400)[:-1]
    return Polygon(evaluate(run.pieces[piece].beziers[loop][size], fine).reshape(-1, 2))


def palm_width_fits(widths: np.ndarray, girths: np.ndarray, ease: np.ndarray) -> bool:
    """The main promise: half of girth and ease in every size, and so the same ease in every size."""
    eases = 2 * widths - girths
    return bool(np.all(np.abs(widths - (girths + ease) / 2) < 0.05) and np.ptp(eases) < 0.1)


@pytest.mark.parametrize("group", GROUPS)
def test_palm_width_is_half_of_girth_and_ease_and_the_ease_is_the_same_in_every_size(runs, group):
    run = runs[group]
    widths = measured(run)["palm width"]
    assert palm_width_fits(widths, run.table.row("fist girth"), run.drivers["hand ease"])


def test_a_photocopiers_scaling_does_not_keep_the_ease(runs):
    run = runs["Women"]
    girths = run.table.row("fist girth")
    base = outline(run, "Trank", run.base)
    scaled = []
    for girth in girths:
        copy = affinity.scale(base, girth / girths[run.base], girth / girths[run.base], origin=(0, 0))
        knuckle = run.table.row("palm length")[run.base] * girth / girths[run.base]
        left, _, right, _ = copy.intersection(
            Polygon([(-500, knuckle - 0.01), (500, knuckle - 0.01), (500, knuckle + 0.01), (-500, knuckle + 0.01)])
        ).bounds
        scaled.append((right - left) / 2)
    assert scaled[run.base] == pytest.approx((girths[run.base] + 24) / 2, abs=0.05)
    assert not palm_width_fits(np.array(scaled), girths, run.drivers["hand ease"])


@pytest.mark.parametrize("group", GROUPS)
def test_finished_length_is_palm_and_half_of_each_fold_back(runs, group):
    run = runs[group]
    expected = sum(
        run.drivers[name] * part
        for name, part in (("palm length", 1), ("finger fold-back", 0.5), ("cuff fold-back", 0.5))
    )
    assert measured(run)["finished length"] == pytest.approx(expected, abs=1e-9)


def test_perimeter_and_length_along_agree_with_shapely(runs):
    run = runs["Men"]
    found = measured(run)
    for size in range(len(run.sizes)):
        hole = outline(run, "Trank", size, "thumb hole")
        assert found["thumb hole round"][size] == pytest.approx(hole.length, abs=1e-3)
    thumb = run.pieces["Thumb"]
    rim = evaluate(thumb.boundary[0, thumb.shape.edges["foot"].segments], np.linspace(0, 1, 400)).reshape(-1, 2)
    chords = np.hypot(*np.diff(rim, axis=0).T).sum()
    assert found["thumb rim round"][0] == pytest.approx(2 * chords, abs=1e-3)


def test_straight_height_and_factor_are_plain_distances(block, tables):
    rule = replace(block.measures[0], piece="Trank", start="T", end="knuckle", times=2.0)
    ways = tuple(replace(rule, name=how, how=how) for how in ("straight", "height"))
    run = grade(replace(block, measures=ways), tables["Women"])
    a, k = run.pieces["Trank"].point("T"), run.pieces["Trank"].point("knuckle")
    assert measured(run)["straight"] == pytest.approx([2 * np.linalg.norm(p - q) for p, q in zip(a, k, strict=True)])
    assert measured(run)["height"] == pytest.approx(2 * np.abs(a - k)[:, 1])


def test_published_hand_girths_give_palm_widths_that_differ_by_half_their_steps(block, tables):
    # EN 420:2003+A1:2009, table of hand sizes 6-11 (carried into EN ISO 21420:2020): hand circumference, mm.
    # A check of arithmetic, not of fit: those are girths of the open hand, used here as the driving girth.
    published = np.array([152, 178, 203, 229, 254, 279.0])
    table = tables["Women"]
    rows = table.values.copy()
    rows[table.measurements.index("fist girth")] = published
    run = grade(block, replace(table, sizes=("6", "7", "8", "9", "10", "11"), values=rows))
    assert np.diff(measured(run)["palm width"]) == pytest.approx(np.diff(published) / 2, abs=1e-9)
    assert np.diff(published).tolist() == [26, 25, 26, 25, 25]


def test_every_body_value_of_the_block_moves_some_point(runs):
    run = runs["Women"]
    for column, value in enumerate(run.block.values):
        if value.kind is Kind.BODY:
            assert any(piece.shape.rules[column].any() for piece in run.pieces.values()), value.name


def test_a_sizes_measures_are_the_same_to_the_bit_whichever_sizes_are_graded_with_it(block, tables):
    table = tables["Women"]
    together = measured(grade(block, table)).values
    for size in range(len(table.sizes)):
        one = replace(table, sizes=table.sizes[size : size + 1], values=table.values[:, [size]])
        assert (measured(grade(block, one)).values[:, 0] == together[:, size]).all()


def thumb_drawn_whole(block: Block) -> Block:
    """The block with both halves of its thumb drawn, as points that stay where they are."""
    half = [point for point in block.points if point.piece == "Thumb"]
    middle = {point.name for point in half if point.x == 0}
    images = [replace(point, name=f"{point.name} 2", x=-point.x, moves=()) for point in half if point.x != 0]
    edges = [edge for edge in block.edges if edge.piece == "Thumb"]
    back = [
        replace(
            edge,
            name=f"{edge.name} 2",
            points=tuple(name if name in middle else f"{name} 2" for name in reversed(edge.points)),
        )
        for edge in reversed(edges)
    ]
    return replace(
        block,
        pieces=tuple(replace(piece, mirrored=piece.mirrored and piece.name != "Thumb") for piece in block.pieces),
        points=(*block.points, *images),
        edges=(*block.edges, *back),
    )


def test_a_piece_drawn_whole_is_as_wide_as_one_drawn_in_half(block, tables):
    half, whole = (grade(one, tables["Women"]) for one in (block, thumb_drawn_whole(block)))
    assert not whole.pieces["Thumb"].shape.piece.mirrored
    widths = (width_at(run.pieces["Thumb"], np.full(6, -10.0))[half.base] for run in (half, whole))
    assert next(widths) == pytest.approx(next(widths), abs=1e-9)


def other_measure(run: SizeRun, piece: str, how: str, start: str, end: str = "") -> np.ndarray:
    return taken(run, [Measure("", piece, how, start, end, 1.0, None, None, False, "", 1.0, "")]).values[0]


@pytest.mark.parametrize("group", GROUPS)
def test_the_tightest_bend_of_a_hole_is_that_of_circles_through_points_close_together(runs, group):
    run = runs[group]
    for size, radius in enumerate(other_measure(run, "Trank", "radius", "thumb hole")):
        a = np.array(outline(run, "Trank", size, "thumb hole").exterior.coords)[:-1:11]
        b, c = np.roll(a, -1, axis=0), np.roll(a, -2, axis=0)
        sides = [np.hypot(*(one - other).T) for one, other in ((a, b), (b, c), (c, a))]
        (x, y), (u, v) = (b - a).T, (c - a).T
        assert radius == pytest.approx(
            (np.prod(sides, axis=0) / (2 * np.abs(x * v - y * u))).min(), rel=0.03
        )  # R = abc / 4 areas


@pytest.mark.parametrize("group", GROUPS)
def test_the_angle_at_a_corner_is_the_arc_of_a_small_circle_inside_the_piece(runs, group):
    run = runs[group]
    for point in ("T", "turn edge"):
        for size, angle in enumerate(other_measure(run, "Thumb", "angle", point)):
            circle = Point(run.pieces["Thumb"].point(point)[size]).buffer(0.02, quad_segs=400).exterior
            inside = circle.intersection(outline(run, "Thumb", size)).length / circle.length
            assert angle == pytest.approx(360 * inside, abs=0.6)


def test_an_angle_is_more_than_half_a_turn_at_a_corner_that_points_inwards(runs):
    for corner in ("finger fold", "cuff fold"):
        angle = other_measure(runs["Women"], "Trank", "angle", corner)
        assert (angle > 180).all() == (corner == "finger fold")


def test_the_narrowest_is_the_least_width_between_two_heights(runs):
    run = runs["Women"]
    for size, narrowest in enumerate(other_measure(run, "Trank", "narrowest", "knuckle", "cuff fold")):
        points = np.array(outline(run, "Trank", size).exterior.coords)
        palm, cuff = (run.pieces["Trank"].point(name)[size, 1] for name in ("knuckle", "cuff fold"))
        between = points[(points[:, 1] <= palm) & (points[:, 1] >= cuff) & (points[:, 0] > 0)]
        assert narrowest == pytest.approx(2 * between[:, 0].min(), abs=0.01)
