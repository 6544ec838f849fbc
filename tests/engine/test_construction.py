"""The demo mitten is what the trade says a mitten is: fold-backs, hole, thumb, in every size of every group."""

from __future__ import annotations

import numpy as np
import pytest

from grading.engine.run import GradedPiece, SizeRun
from grading.geometry.beziers import evaluate, velocities_at

GROUPS = ("Women", "Men", "Children")
FINE = np.linspace(0, 1, 60)


def corner_angle(piece: GradedPiece, name: str) -> np.ndarray:
    """The angle inside a turn point in degrees, by size."""
    loop = piece.shape.loops["boundary"]
    at = loop.names.index(name)
    arriving = velocities_at(piece.boundary[:, at - 1], np.ones(len(piece.points)))
    leaving = velocities_at(piece.boundary[:, at], np.zeros(len(piece.points)))
    turn = np.arctan2(*arriving.T[::-1]) - np.arctan2(*leaving.T[::-1])
    return 180 - np.degrees(np.abs((turn + np.pi) % (2 * np.pi) - np.pi))


def side_at(piece: GradedPiece, edge: str, size: int, heights: np.ndarray) -> np.ndarray:
    """The x of an edge at heights, read from a finely drawn curve."""
    stretch = piece.shape.edges[edge]
    line = evaluate(piece.boundary[size, stretch.segments], FINE).reshape(-1, 2)
    order = np.argsort(line[:, 1])
    return np.interp(heights, line[order, 1], line[order, 0])


def test_a_mirrored_points_image_is_as_far_on_the_other_side_and_as_high(runs):
    trank = runs["Women"].pieces["Trank"]
    (x, y), (image_x, image_y) = trank.point("knuckle").T, trank.point("knuckle'").T
    assert (np.abs(x) > 1).all()
    assert image_x == pytest.approx(-x)
    assert image_y == pytest.approx(y)
    with pytest.raises(ValueError):
        trank.point("nowhere'")


@pytest.mark.parametrize("group", GROUPS)
def test_folds_and_raw_edges_lie_where_half_and_whole_fold_backs_put_them(runs, group):
    run: SizeRun = runs[group]
    trank = run.pieces["Trank"]
    palm, finger, cuff = (run.drivers[name] for name in ("palm length", "finger fold-back", "cuff fold-back"))
    assert trank.point("knuckle")[:, 1] == pytest.approx(palm)
    assert trank.point("finger fold")[:, 1] == pytest.approx(palm + finger / 2)
    assert trank.point("finger edge")[:, 1] == pytest.approx(palm + finger)
    assert trank.point("cuff fold")[:, 1] == pytest.approx(-cuff / 2)
    assert trank.point("cuff edge")[:, 1] == pytest.approx(-cuff)


@pytest.mark.parametrize("group", GROUPS)
@pytest.mark.parametrize(
    ("fold", "turned", "depth"),
    [("finger fold", "finger turned side", "finger fold-back"), ("cuff fold", "cuff turned side", "cuff fold-back")],
)
def test_turned_parts_go_round_the_outside_of_the_body_they_lie_on(runs, group, fold, turned, depth):
    """Wider by what the leather takes at the raw edge, pi x 1.0 mm, by nothing at the fold, evenly between."""
    run: SizeRun = runs[group]
    trank = run.pieces["Trank"]
    for size in range(len(run.sizes)):
        crease = trank.point(fold)[size, 1]
        reach = run.drivers[depth][size] / 2
        body = crease + np.linspace(0, reach, 40) * (-1 if fold == "finger fold" else 1)
        wider = side_at(trank, turned, size, 2 * crease - body) - side_at(trank, "side", size, body)
        assert wider.min() > -0.01
        assert wider == pytest.approx(np.linspace(0, np.pi, 40), abs=0.25)


@pytest.mark.parametrize("group", GROUPS)
def test_the_hole_is_a_drop_as_wide_as_the_thumb_root_widest_in_its_lower_half(runs, group):
    run: SizeRun = runs[group]
    trank = run.pieces["Trank"]
    drop = evaluate(trank.beziers["thumb hole"], FINE).reshape(len(run.sizes), -1, 2)
    assert np.ptp(drop[..., 0], axis=1) == pytest.approx(run.drivers["thumb root breadth"], abs=0.05)
    assert np.ptp(drop[..., 1], axis=1) == pytest.approx(run.drivers["thumb root length"], abs=0.05)
    widest = drop[np.arange(len(drop)), drop[..., 0].argmax(axis=1), 1]
    assert (widest < (trank.point("T")[:, 1] + trank.point("H")[:, 1]) / 2).all()
    assert trank.edge_lengths("hole palm half") == pytest.approx(trank.edge_lengths("hole index half"), abs=0.5)


@pytest.mark.parametrize("group", GROUPS)
def test_the_hole_hangs_on_the_thumb_line_above_the_wrist_and_clear_of_the_mirror_line(runs, group):
    run: SizeRun = runs[group]
    trank = run.pieces["Trank"]
    line = run.drivers["index-middle gap"] + run.drivers["thumb forward"]
    top = run.drivers["palm length"] - run.drivers["web depth"]
    assert trank.point("T") == pytest.approx(np.column_stack([line, top]))
    assert trank.point("H") == pytest.approx(np.column_stack([line, top - run.drivers["thumb root length"]]))
    assert (trank.point("H")[:, 1] > 0).all()
    drop = evaluate(trank.beziers["thumb hole"], FINE)
    assert drop[..., 0].min() > 1.0


@pytest.mark.parametrize("group", GROUPS)
def test_the_thumb_tube_goes_round_the_knuckle_with_its_own_ease(runs, group):
    run: SizeRun = runs[group]
    thumb = run.pieces["Thumb"]
    half = (run.drivers["thumb girth"] + run.drivers["thumb ease"]) / 2
    assert thumb.point("knuckle") == pytest.approx(np.column_stack([half, np.zeros(len(half))]))
    assert thumb.point("turn edge")[:, 1] == pytest.approx(run.drivers["thumb turn"])
    flare = thumb.point("T")[:, 0] - half
    assert ((flare >= 3) & (flare <= 8)).all()


@pytest.mark.parametrize("group", GROUPS)
def test_the_thumbs_web_point_is_lowered(runs, group):
    run: SizeRun = runs[group]
    lowered = run.drivers["web to knuckle"] + run.drivers["web lowering"]
    assert run.pieces["Thumb"].point("T")[:, 1] == pytest.approx(-lowered)


@pytest.mark.parametrize("group", GROUPS)
def test_the_thumbs_rim_runs_smooth_when_closed(runs, group):
    assert corner_angle(runs[group].pieces["Thumb"], "T") == pytest.approx(90, abs=2)


@pytest.mark.parametrize("group", GROUPS)
def test_the_tube_flares_from_half_way_down_and_is_nowhere_narrower_than_at_the_knuckle(runs, group):
    run: SizeRun = runs[group]
    thumb = run.pieces["Thumb"]
    for size in range(len(run.sizes)):
        web, knuckle = thumb.point("T")[size, 1], thumb.point("knuckle")[size, 0]
        wider = side_at(thumb, "stem side", size, web * np.array([0.0, 0.25, 0.5, 0.7, 0.85, 1.0])) - knuckle
        assert (np.abs(wider[:3]) < 0.05).all()
        assert (np.diff(wider[2:]) > 0).all()
        assert wider[4] > 0.15 * wider[5]


@pytest.mark.parametrize("group", GROUPS)
def test_the_thumb_passes_its_tube_with_four_millimetres_to_spare(runs, group):
    run: SizeRun = runs[group]
    thumb = run.pieces["Thumb"]
    takes = 2 * np.pi * 1.8 + np.pi * 1.0  # pressed pile and leather of the demo, mm
    for size in range(len(run.sizes)):
        narrowest = side_at(thumb, "stem side", size, np.linspace(thumb.point("T")[size, 1], 0, 300)).min()
        assert 2 * narrowest - run.table.row("thumb girth")[size] - takes >= 4


@pytest.mark.parametrize("group", GROUPS)
def test_no_bend_of_the_hole_is_tighter_than_six_millimetres_or_three_allowances(runs, group):
    """By circles through three points close together, at radius abc over four times the triangle's area."""
    run: SizeRun = runs[group]
    drop = evaluate(run.pieces["Trank"].beziers["thumb hole"], FINE[:-1]).reshape(len(run.sizes), -1, 2)
    a, b, c = (np.roll(drop, -shift, axis=1) for shift in (0, 5, 10))
    sides = [np.hypot(*np.moveaxis(one - other, -1, 0)) for one, other in ((a, b), (b, c), (c, a))]
    (x, y), (u, v) = np.moveaxis(b - a, -1, 0), np.moveaxis(c - a, -1, 0)
    radius = (np.prod(sides, axis=0) / (2 * np.abs(x * v - y * u))).min(axis=1)
    assert (radius >= 6).all()
    assert (3 * run.block.seam_type("inside seam").allowance <= radius).all()


@pytest.mark.parametrize("group", GROUPS)
def test_the_foot_is_convex_and_meets_the_mirror_line_square(runs, group):
    thumb = runs[group].pieces["Thumb"]
    stretch = thumb.shape.edges["foot"]
    rim = evaluate(thumb.boundary[:, stretch.segments], FINE)
    rim = rim.reshape(len(rim), -1, 2)
    steps = np.diff(rim, axis=1)
    steps = steps[:, np.hypot(*np.moveaxis(steps, -1, 0)).min(axis=0) > 1e-9]
    turning = steps[:, :-1, 0] * steps[:, 1:, 1] - steps[:, :-1, 1] * steps[:, 1:, 0]
    assert (turning < 1e-6).all()
    at_b = velocities_at(thumb.boundary[:, stretch.segments[-1]], np.ones(len(thumb.points)))
    assert at_b[:, 1] == pytest.approx(np.zeros(len(at_b)), abs=1e-9)


@pytest.mark.parametrize("group", GROUPS)
def test_the_waist_lies_at_the_wrist_and_lets_the_whole_hand_pass_with_twelve_millimetres_to_spare(runs, group):
    run: SizeRun = runs[group]
    trank = run.pieces["Trank"]
    takes = 2 * np.pi * 1.8 + np.pi * 1.0
    for size in range(len(run.sizes)):
        heights = np.linspace(trank.point("cuff fold")[size, 1], trank.point("knuckle")[size, 1], 600)
        across = side_at(trank, "side", size, heights)
        assert -10 <= heights[across.argmin()] <= 0
        assert 2 * across.min() - run.table.row("entry girth")[size] - takes >= 12
