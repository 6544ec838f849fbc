"""Matching marks by walks along polylines, which share no code with the walks they check."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely

from grading.geometry.beziers import evaluate
from grading.model.block import Mark, Seam, Side
from grading.readings.marks import change_overs, edge_marks, matching_lengths, point_marks
from grading.readings.walks import walked_sides

FINE = np.linspace(0, 1, 401)


def walked(run, piece: str, edge: str, place, size: int, start) -> float:
    """How far along an edge a place lies, from the end nearer to ``start``, by chords of a fine polyline."""
    graded = run.pieces[piece]
    stretch = graded.shape.edges[edge]
    points = evaluate(graded.beziers[stretch.loop][size, np.sort(stretch.segments)], FINE).reshape(-1, 2)
    if np.hypot(*(points[0] - start)) > np.hypot(*(points[-1] - start)):
        points = points[::-1]
    way = shapely.LineString(points)
    assert way.distance(shapely.Point(place)) < 0.01
    return way.project(shapely.Point(place))


HALVES = {
    "thumb in hole, palm half": ("foot", "T", "hole palm half"),
    "thumb in hole, index half": ("foot'", "T'", "hole index half"),
}


@pytest.mark.parametrize("seam", HALVES)
@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_marks_meet_at_equal_lengths_over_the_first_quarter_and_at_equal_fractions_beyond(runs, seam, group):
    run = runs[group]
    foot, web, hole = HALVES[seam]
    strokes = [mark for mark in edge_marks(run) if mark.name == seam]
    each = len(strokes) // 6
    on_thumb, on_trank = ([mark for mark in strokes if mark.piece == piece] for piece in ("Thumb", "Trank"))
    for size in range(len(run.sizes)):
        thumb = run.pieces["Thumb"].edge_lengths("foot")[size]
        half = run.pieces["Trank"].edge_lengths(hole)[size]
        for number in (1, 2, 3):
            a, b = (
                np.mean([walked(run, piece, edge, mark.places[size], size, start) for mark in found])
                for piece, edge, start, found in (
                    (
                        "Thumb",
                        foot,
                        run.pieces["Thumb"].point(web)[size],
                        on_thumb[each * (number - 1) : each * number],
                    ),
                    (
                        "Trank",
                        hole,
                        run.pieces["Trank"].point("T")[size],
                        on_trank[each * (number - 1) : each * number],
                    ),
                )
            )
            assert b == pytest.approx(half * number / 4, abs=0.02)
            quarter = half / 4
            if number == 1:
                assert a == pytest.approx(b, abs=0.02)
            else:
                assert (a - quarter) / (thumb - quarter) == pytest.approx((b - quarter) / (half - quarter), abs=2e-4)


def test_one_stroke_stands_on_the_palm_side_and_two_on_the_index_side(runs):
    strokes = Counter((mark.piece, mark.name) for mark in edge_marks(runs["Women"]))
    for piece in ("Trank", "Thumb"):
        assert strokes[piece, "thumb in hole, palm half"] == 3 * 1
        assert strokes[piece, "thumb in hole, index half"] == 3 * 2


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_marks_point_out_of_the_leather_square_to_the_edge(runs, group):
    run = runs[group]
    for mark in edge_marks(run):
        graded = run.pieces[mark.piece]
        for size in range(len(run.sizes)):
            rings = {
                name: evaluate(beziers[size], FINE[:-1]).reshape(-1, 2) for name, beziers in graded.beziers.items()
            }
            leather = shapely.Polygon(rings.pop("boundary"), list(rings.values()))
            place, out = mark.places[size], mark.outward[size]
            assert np.hypot(*out) == pytest.approx(1)
            assert leather.exterior.distance(shapely.Point(place)) < 0.01 or any(
                ring.distance(shapely.Point(place)) < 0.01 for ring in leather.interiors
            )
            assert not leather.covers(shapely.Point(place + out))
            assert leather.covers(shapely.Point(place - out))
            assert shapely.Point(place + 2 * out).distance(leather) == pytest.approx(2, abs=0.02)


def test_a_side_of_several_edges_is_walked_as_one_way(runs):
    run = runs["Women"]
    rim = Seam(
        "rim", Side("Thumb", ("foot", "foot'")), Side("Trank", ("hole palm half", "hole index half")), *[None] * 3
    )
    a, b = walked_sides(run, rim)
    assert (a.start, a.end, b.start, b.end) == ("T", "T'", "T", "T")
    assert a.length == pytest.approx(2 * run.pieces["Thumb"].edge_lengths("foot"))
    middle, _, _ = a.at(a.length / 2)
    assert middle == pytest.approx(run.pieces["Thumb"].point("H"), abs=1e-6)


def test_without_a_stretch_free_of_ease_all_marks_stand_at_equal_fractions(runs):
    run = runs["Women"]
    seam = replace(run.block.seams[0], matching=4, without_ease=0.0)
    a, b = walked_sides(run, seam)
    for number, (on_a, on_b) in enumerate(matching_lengths(seam, a, b), 1):
        assert on_a / a.length == pytest.approx(np.full(6, number / 5))
        assert on_b / b.length == pytest.approx(np.full(6, number / 5))


def test_a_notch_at_a_corner_points_half_way_between_its_edges(runs):
    (mark,) = point_marks(runs["Women"], Mark("Trank", "corner", "notch", "finger edge"))
    # The raw edge runs across; the turned side leans by the taper over half the fold-back.
    assert mark.outward[:, 0] == pytest.approx(mark.outward[:, 1], abs=0.1)
    assert (mark.outward > 0).all()


def test_seams_change_over_at_both_ends_of_every_fold(runs):
    found = change_overs(runs["Men"])
    assert {piece: len(places) for piece, places in found.items()} == {"Trank": 4, "Thumb": 2}
    for place, inward in found["Trank"]:
        assert (np.sign(inward[:, 0]) == -np.sign(place[:, 0])).all()
