"""Cut lines against shapely's buffer, Steiner's formula, closed forms and coordinates worked by hand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import scipy
import shapely
from hypothesis import given
from hypothesis import strategies as st

from grading.geometry.offsets import SewEdge, Trouble, boundary_cut_line, cutout_cut_line
from grading.geometry.splines import handle_matrix


def straight(corners, allowances):
    """The edges of a polygon, one allowance a side."""
    starts = np.asarray(corners, dtype=float)
    thirds = (np.roll(starts, -1, axis=0) - starts)[:, None] / 3
    sides = starts[:, None] + thirds * np.arange(4)[:, None]
    return [SewEdge(side[None], allowance) for side, allowance in zip(sides, allowances, strict=True)]


def arcs(radius, start, end, count=8, centre=(0.0, 0.0)):
    """Béziers (count, 4, 2) along an arc, within 1e-6 of it: handles of 4/3 tan(θ/4)."""
    angle = np.linspace(start, end, count + 1)
    point = np.column_stack([np.cos(angle), np.sin(angle)])
    tangent = np.column_stack([-np.sin(angle), np.cos(angle)]) * 4 / 3 * np.tan((end - start) / count / 4)
    handles = [point[:-1], point[:-1] + tangent[:-1], point[1:] - tangent[1:], point[1:]]
    return radius * np.stack(handles, axis=1) + np.asarray(centre)


def circle(radius, *allowances):
    """A circle in edges of equal length, anticlockwise from the right."""
    ends = np.linspace(0, 2 * np.pi, len(allowances) + 1)
    return [SewEdge(arcs(radius, *ends[i : i + 2]), a) for i, a in enumerate(allowances)]


def smooth(points, turns=None):
    """The Béziers of the loop that the package draws through points."""
    points = np.asarray(points, dtype=float)
    return handle_matrix(points, np.zeros(len(points), bool) if turns is None else np.asarray(turns)) @ points


def fine_line(beziers):
    """A polyline of very many points along Béziers, by scipy."""
    t = np.linspace(0, 1, 400)
    lines = [scipy.interpolate.BPoly(bezier[:, None], [0, 1])(t) for bezier in beziers]
    return shapely.LineString(np.concatenate(lines))


def backwards(edges):
    return [SewEdge(edge.beziers[::-1, ::-1], edge.allowance) for edge in edges[::-1]]


def area(polygon):
    return shapely.Polygon(polygon).area


def has_vertices(polygon, expected):
    return all(np.hypot(*(polygon - point).T).min() < 1e-5 for point in expected)


PEBBLE = smooth([[40, 0], [28, 30], [-5, 38], [-36, 22], [-44, -8], [-15, -30], [22, -33]])


# ── all allowances equal ──────────────────────────────────────────────────────────────────────────────────────


def test_a_circle_grows_by_its_allowance_and_a_hole_shrinks_by_it():
    outer, inner = boundary_cut_line(circle(50, 6, 6)), cutout_cut_line(circle(50, 6, 6))
    assert not outer.problems
    assert not inner.problems
    assert np.hypot(*outer.polygon.T) == pytest.approx(56, abs=1e-4)
    assert np.hypot(*inner.polygon.T) == pytest.approx(44, abs=1e-4)


@pytest.mark.parametrize("allowance", [1.0, 3.0, 6.0])
def test_a_smooth_loop_is_shapelys_buffer_of_a_fine_polygon(allowance):
    fine = shapely.Polygon(fine_line(PEBBLE))
    for cut_line, sign in ((boundary_cut_line, 1), (cutout_cut_line, -1)):
        cut = cut_line([SewEdge(PEBBLE[:3], allowance), SewEdge(PEBBLE[3:], allowance)])
        buffered = fine.buffer(sign * allowance, quad_segs=256)
        assert not cut.problems
        assert shapely.hausdorff_distance(shapely.LinearRing(cut.polygon), buffered.exterior) < 0.005


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (60, 0), (60, 40), (0, 40)],
        [(0, 0), (60, 0), (75, 40), (30, 20), (0, 45)],
        [(0, 0), (80, 8), (0, 16)],
        [(0, 0), (60, 0), (60, 40), (40, 40), (40, 15), (20, 15), (20, 40), (0, 40)],
    ],
)
def test_corners_are_shapelys_mitres_squared_off_at_twice_the_allowance(corners):
    cut = boundary_cut_line(straight(corners, [3.0] * len(corners)))
    expected = shapely.Polygon(corners).buffer(3, join_style="mitre", mitre_limit=2)
    assert not cut.problems
    assert shapely.Polygon(cut.polygon).symmetric_difference(expected).area < 1e-3


def test_strip_of_a_gentle_loop_is_steiners_length_times_allowance_and_a_disc():
    sew = smooth([[60, 0], [45, 40], [0, 48], [-40, 44], [-58, 0], [-42, -45], [0, -38], [44, -42]])
    fine = shapely.Polygon(fine_line(sew))
    for allowance in (0.5, 2.0, 5.0):
        cut = boundary_cut_line([SewEdge(sew, allowance)])
        strip = fine.length * allowance + np.pi * allowance**2
        assert area(cut.polygon) - fine.area == pytest.approx(strip, abs=0.005 * fine.length)


def test_a_rounded_rectangle_with_steiners_corners():
    width, height, radius, allowance = 60.0, 30.0, 10.0, 4.0
    quarters = [
        arcs(radius, k * np.pi / 2, (k + 1) * np.pi / 2, 4, centre)
        for k, centre in enumerate([(width, height), (0, height), (0, 0), (width, 0)])
    ]
    pieces = []
    for quarter, following in zip(quarters, quarters[1:] + quarters[:1], strict=True):
        side = np.linspace(quarter[-1, 3], following[0, 0], 4)
        pieces.append(SewEdge(np.concatenate([quarter, side[None]]), allowance))
    r = radius + allowance
    cut = boundary_cut_line(pieces)
    assert area(cut.polygon) == pytest.approx(width * height + 2 * r * (width + height) + np.pi * r**2, abs=0.5)


# ── unequal allowances ────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("reverse", [False, True])
def test_a_squares_sides_meet_in_mitres_whatever_their_allowances(reverse):
    edges = straight([(0, 0), (10, 0), (10, 10), (0, 10)], [1, 2, 0, 4])
    cut = boundary_cut_line(backwards(edges) if reverse else edges)
    hole = cutout_cut_line(backwards(edges) if reverse else edges)
    assert shapely.Polygon(cut.polygon).equals(shapely.box(-4, -1, 12, 10))
    assert shapely.Polygon(hole.polygon).equals(shapely.box(4, 1, 8, 10))
    assert not cut.problems
    assert not hole.problems
    for line in (cut, hole):
        assert shapely.LinearRing(line.polygon).is_ccw != reverse


def test_a_circle_of_two_allowances_is_two_half_discs_with_square_steps():
    cut, hole = boundary_cut_line(circle(50, 5, 2)), cutout_cut_line(circle(50, 5, 2))
    assert not cut.problems
    assert not hole.problems
    assert area(cut.polygon) == pytest.approx(np.pi / 2 * (55**2 + 52**2), abs=1.2)
    assert area(hole.polygon) == pytest.approx(np.pi / 2 * (45**2 + 48**2), abs=1.2)
    assert has_vertices(cut.polygon, [(55, 0), (52, 0), (-55, 0), (-52, 0)])
    assert has_vertices(hole.polygon, [(45, 0), (48, 0), (-45, 0), (-48, 0)])


def test_at_a_smooth_joint_the_wider_allowance_ends_in_a_square_step():
    cut = boundary_cut_line(straight([(0, 0), (40, 0), (100, 0), (100, 50), (0, 50)], [6, 2, 0, 0, 0]))
    expected = [(0, 0), (0, -6), (40, -6), (40, -2), (100, -2), (100, 50), (0, 50)]
    assert shapely.Polygon(cut.polygon).equals(shapely.Polygon(expected))


def test_at_a_shallow_outer_corner_the_narrower_cut_line_runs_on_to_the_step():
    # The second edge climbs 30°; its line, 3 off, meets the cap x = 40 at y = −3 / cos 30° = −2√3.
    top = (40 + 30 * np.sqrt(3), 30)
    cut = boundary_cut_line(straight([(0, 0), (40, 0), top, (0, 60)], [6, 3, 0, 0]))
    assert has_vertices(cut.polygon, [(40, -6), (40, -2 * np.sqrt(3))])
    assert not cut.problems


def test_at_a_shallow_inner_corner_the_step_stands_on_the_narrower_cut_line():
    # The second edge falls 30°; its line, 3 off, meets the cap x = 40 at y = −2√3 again, now above its own end.
    low = (40 + 30 * np.sqrt(3), -30)
    cut = boundary_cut_line(straight([(0, 0), (40, 0), low, (0, 60)], [6, 3, 0, 0]))
    assert has_vertices(cut.polygon, [(40, -6), (40, -2 * np.sqrt(3))])
    assert not has_vertices(cut.polygon, [(40 - 1.5, -1.5 * np.sqrt(3))])
    assert not cut.problems


def test_an_inner_corner_leaves_no_slit_that_cannot_be_cut():
    # 80° inwards: a square end would stand 10° off the bare edge; prolonged, the cut line meets it at y = −6.
    angle = np.radians(-80)
    low = (40 + 50 * np.cos(angle), 50 * np.sin(angle))
    cut = boundary_cut_line(straight([(0, 0), (40, 0), low, (80, -40), (80, 60), (0, 60)], [6, 0, 0, 0, 0, 0]))
    expected = [(0, 0), (0, -6), (40 + 6 / np.tan(np.radians(80)), -6), low, (80, -40), (80, 60), (0, 60)]
    assert shapely.Polygon(cut.polygon).symmetric_difference(shapely.Polygon(expected)).area < 1e-3
    assert not cut.problems


def test_a_joint_that_is_bent_or_open_by_a_hair_leaves_no_slit():
    bent = straight([(0, 0), (40, -1e-4), (100, 0), (100, 50), (0, 50)], [6, 6, 6, 6, 6])
    opened = [bent[0], SewEdge(bent[1].beziers + np.array([8e-7, -8e-7]), 6), *bent[2:]]
    for edges in (bent, opened):
        cut = boundary_cut_line(edges)
        assert shapely.LinearRing(cut.polygon).length == pytest.approx(2 * 112 + 2 * 62, abs=1e-3)
        assert not cut.problems


@pytest.mark.parametrize("cut_line", [boundary_cut_line, cutout_cut_line])
def test_edges_without_allowance_keep_the_sew_lines_vertices(cut_line):
    cut = cut_line([SewEdge(PEBBLE[:2], 0.0), SewEdge(PEBBLE[2:4], 5.0), SewEdge(PEBBLE[4:], 0.0)])
    left = np.array(sorted({tuple(point) for point in cut.sew} - {tuple(point) for point in cut.polygon}))
    assert (shapely.distance(shapely.points(left), fine_line(PEBBLE[2:4])) < 0.005).all()
    assert (shapely.distance(shapely.points(left), shapely.LinearRing(cut.polygon)) > 0.1).all()


@pytest.mark.parametrize("cut_line", [boundary_cut_line, cutout_cut_line])
def test_with_no_allowance_the_cut_line_is_the_sew_line(cut_line):
    cut = cut_line([SewEdge(PEBBLE, 0.0)])
    assert {tuple(point) for point in cut.polygon} == {tuple(point) for point in cut.sew}


# ── where it cannot be done ───────────────────────────────────────────────────────────────────────────────────


def dented(radius):
    """A bar 100 × 40 with a half-round dent in its upper side; the dent is edge 4 and alone has an allowance."""
    corners = np.array([(50 - radius, 40), (0, 40), (0, 0), (100, 0), (100, 40), (50 + radius, 40)], dtype=float)
    sides = [SewEdge(np.linspace(a, b, 4)[None], 0.0) for a, b in pairwise(corners)]
    return [*sides[1:], SewEdge(arcs(radius, 0, -np.pi, 8, (50, 40)), 5.0), sides[0]]


def test_a_curve_tighter_than_the_allowance_is_told_with_its_radius():
    (problem,) = boundary_cut_line(dented(4.9)).problems
    assert (problem.trouble, problem.edge, problem.allowance) == (Trouble.TIGHT_CURVE, 4, 5.0)
    assert problem.figure == pytest.approx(4.9, abs=1e-3)
    assert np.hypot(problem.x - 50, problem.y - 40) == pytest.approx(4.9, abs=1e-3)
    assert not boundary_cut_line(dented(5.1)).problems


def test_a_hole_is_tight_where_it_bends_outwards():
    ellipse = smooth([(30 * np.cos(a), 15 * np.sin(a)) for a in np.arange(96) * np.pi / 48])
    # Least radius of an ellipse: 15² / 30 = 7.5.
    assert not cutout_cut_line([SewEdge(ellipse, 7.3)]).problems
    tight = [p for p in cutout_cut_line([SewEdge(ellipse, 7.7)]).problems if p.trouble is Trouble.TIGHT_CURVE]
    assert tight[0].figure == pytest.approx(7.5, rel=0.02)
    assert not boundary_cut_line([SewEdge(ellipse, 20.0)]).problems


@pytest.mark.parametrize(("width", "closes"), [(5.9, True), (6.1, False)])
def test_a_slot_narrower_than_two_allowances_is_a_closed_bay_on_both_its_banks(width, closes):
    slot = [(0, 0), (60, 0), (60, 50), (30 + width, 50), (30 + width, 20), (30, 20), (30, 50), (0, 50)]
    problems = boundary_cut_line(straight(slot, [3.0] * 8)).problems
    assert {problem.trouble for problem in problems} == ({Trouble.CLOSED_BAY} if closes else set())
    assert {problem.edge for problem in problems} == ({3, 4, 5} if closes else set())


def test_a_bay_that_closes_well_beyond_its_corners_is_told_on_its_banks_too():
    # A wedge 4 wide at its bottom and 12 at its mouth, 60 deep: the allowances of 3 meet where it is 6 wide, 15 up.
    wedge = [(0, 0), (90, 0), (90, 80), (52, 80), (48, 20), (44, 20), (40, 80), (0, 80)]
    problems = boundary_cut_line(straight(wedge, [3.0] * 8)).problems
    lost = {problem.edge: problem.figure for problem in problems if problem.trouble is Trouble.CLOSED_BAY}
    assert set(lost) == {3, 4, 5}
    # of which twice what the corner takes, 3 × tan 43° each time, may be trimmed
    assert lost[3] == pytest.approx(lost[5])
    assert lost[3] == pytest.approx(15 - 2 * 3 * np.tan(np.radians(43)), abs=1)


@pytest.mark.parametrize(("floor", "closes"), [(1.9, True), (2.3, False)])
def test_a_floor_whose_cut_line_vanishes_between_its_corners_is_told_by_however_little(floor, closes):
    # Banks at 15° either side: an allowance of 8 leaves the floor its width less 2 × 8 × tan 7.5° = 2.106.
    top, half = 20 + 40 * np.tan(np.radians(15)), floor / 2
    hollow = [
        (0, 0),
        (100, 0),
        (100, top),
        (90 + half, top),
        (50 + half, 20),
        (50 - half, 20),
        (10 - half, top),
        (0, top),
    ]
    problems = boundary_cut_line(straight(hollow, [0, 0, 0, 8, 8, 8, 0, 0])).problems
    assert [(problem.trouble, problem.edge) for problem in problems] == ([(Trouble.CLOSED_BAY, 4)] if closes else [])


def test_a_bank_that_is_lost_only_beside_its_corner_is_told_where_waste_is_enclosed():
    # Drawn at random: edges 1 and 2 close over a void beside the bare edge 3, of which a corner would take as much.
    corners = [(14, 27), (-25, 32), (-15, 13), (-8, 6), (-26, 16), (-5, -23), (5, -57), (18, -29)]
    cut = boundary_cut_line(straight(corners, [5, 8, 3, 0, 0, 3, 0, 3]))
    assert {problem.edge for problem in cut.problems} == {1, 2, 3}


def test_a_bay_whose_mouth_closes_round_a_void_is_told_on_both_lips():
    ring = arcs(30, np.radians(4), np.radians(356), 32)
    inner = arcs(20, np.radians(356), np.radians(4), 32)
    lips = [np.linspace(ring[-1, 3], inner[0, 0], 4)[None], np.linspace(inner[-1, 3], ring[0, 0], 4)[None]]
    cut = boundary_cut_line([SewEdge(b, 2.0) for b in (ring, lips[0], inner, lips[1])])
    assert {(p.trouble, p.edge) for p in cut.problems} >= {(Trouble.CLOSED_BAY, 1), (Trouble.CLOSED_BAY, 3)}
    assert shapely.Polygon(cut.polygon).is_valid


def test_a_hole_smaller_than_its_allowances_vanishes():
    cut = cutout_cut_line(straight([(0, 0), (30, 0), (30, 6), (0, 6)], [3, 3, 3, 3]))
    assert Trouble.VANISHED_HOLE in {problem.trouble for problem in cut.problems}
    assert len(cut.polygon) == 0


def test_a_hole_with_a_waist_splits():
    waisted = smooth([(-30, 0), (-20, -12), (0, -3), (20, -12), (30, 0), (20, 12), (0, 3), (-20, 12)])
    problems = cutout_cut_line([SewEdge(waisted, 3.5)]).problems
    assert [p.figure for p in problems if p.trouble is Trouble.SPLIT_HOLE] == [2]
    assert not cutout_cut_line([SewEdge(waisted, 2.5)]).problems


def test_a_sew_line_that_crosses_itself_has_no_cut_line():
    (problem,) = boundary_cut_line(straight([(0, 0), (40, 30), (40, 0), (0, 20)], [3] * 4)).problems
    assert problem.trouble is Trouble.CROSSED_SEW_LINE
    assert shapely.LineString([(0, 0), (40, 30)]).distance(shapely.Point(problem.x, problem.y)) < 0.01


def test_edges_that_make_no_loop_and_allowances_below_zero_are_refused():
    edges = straight([(0, 0), (10, 0), (10, 10)], [1, 1, 1])
    with pytest.raises(ValueError, match="loop"):
        boundary_cut_line(edges[:2])
    with pytest.raises(ValueError, match="allowance"):
        boundary_cut_line(straight([(0, 0), (10, 0), (10, 10)], [1, -1, 1]))


# ── laws ──────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_allowance_of_a_hole_goes_inwards_in_every_size():
    drop = np.array([(0, 54), (11, 47), (17, 25), (12, 6), (0, 0), (-12, 6), (-17, 25), (-11, 47)], dtype=float)
    for scale in np.linspace(0.7, 1.4, 8):
        sew = smooth(drop * scale)
        cut = cutout_cut_line([SewEdge(sew[:4], 3.0), SewEdge(sew[4:], 3.0)])
        assert not cut.problems
        assert shapely.Polygon(cut.sew).contains_properly(shapely.Polygon(cut.polygon))
        assert shapely.distance(shapely.LinearRing(cut.sew), shapely.points(cut.polygon)) == pytest.approx(3, abs=0.005)


@st.composite
def loops(draw):
    """A loop round the origin through 5–10 points, some of them corners, in edges with allowances of their own."""
    count = draw(st.integers(5, 10))
    within = st.floats(-1, 1).map(lambda x: round(x, 3))
    angle = (np.arange(count) + [0.3 * draw(within) for _ in range(count)]) * 2 * np.pi / count
    radius = draw(st.sampled_from([20, 45, 90])) * np.array([1 + 0.4 * draw(within) for _ in range(count)])
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])[:: draw(st.sampled_from([1, -1]))]
    turns = draw(st.lists(st.booleans(), min_size=count, max_size=count)) if draw(st.booleans()) else [False] * count
    beziers, edges = smooth(points, turns), []
    while sum(len(edge.beziers) for edge in edges) < count:
        start = sum(len(edge.beziers) for edge in edges)
        allowance = draw(st.sampled_from([0.0, 0.0, 1.0, 3.0, 6.0]) | st.floats(0, 8))
        edges.append(SewEdge(beziers[start : start + draw(st.integers(1, 3))], allowance))
    return edges


def away_from_joints(edges, cut):
    """Points along a cut line, every half millimetre, that no mitre and no step can reach."""
    ring = shapely.LinearRing(cut)
    points = shapely.line_interpolate_point(ring, np.arange(0, ring.length, 0.5))
    joints = shapely.MultiPoint(np.concatenate([edge.beziers[:, 0] for edge in edges]))
    return points[shapely.distance(points, joints) > 2.3 * max(edge.allowance for edge in edges)]


@pytest.mark.parametrize("cut_line", [boundary_cut_line, cutout_cut_line])
@given(edges=loops())
def test_a_cut_line_holds_its_sew_line_at_the_allowances_or_a_problem_says_why_not(cut_line, edges):
    cut = cut_line(edges)
    if cut.problems:
        return
    sew, area = shapely.Polygon(cut.sew), shapely.Polygon(cut.polygon)
    outer, inner = (area, sew) if cut_line is boundary_cut_line else (sew, area)
    assert outer.is_valid
    assert inner.is_valid
    assert outer.buffer(1e-5).contains(inner)
    points = away_from_joints(edges, cut.polygon)
    errors = [abs(shapely.distance(points, fine_line(edge.beziers)) - edge.allowance) for edge in edges]
    assert np.min(errors, axis=0).max(initial=0) < 0.005
