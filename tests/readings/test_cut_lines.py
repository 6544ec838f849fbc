"""Cut lines of the demo's pieces, held against shapely and closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.geometry.beziers import arc_lengths, evaluate
from grading.geometry.offsets import Problem, Trouble
from grading.readings.cut_lines import cut_line_findings, cut_lines, cut_measures

FINE = np.linspace(0, 1, 401)[:-1]


@pytest.fixture(scope="module")
def every_loop(runs):
    """Every loop of every group: (run, loop, sew polygons)."""
    found = []
    for run in runs.values():
        for loop in cut_lines(run):
            rings = evaluate(run.pieces[loop.piece].beziers[loop.loop], FINE).reshape(len(run.sizes), -1, 2)
            found.append((run, loop, shapely.polygons(rings)))
    return found


def with_allowances(block, **widths):
    """The block with other allowances of some seam types, '_' for a space."""
    widths = {name.replace("_", " "): width for name, width in widths.items()}
    types = tuple(replace(one, allowance=widths.get(one.name, one.allowance)) for one in block.seam_types)
    return replace(block, seam_types=types)


def test_a_boundary_goes_out_and_a_cut_out_goes_in_in_every_size(every_loop):
    for _, loop, sewn in every_loop:
        for line, sew in zip(loop.lines, sewn, strict=True):
            cut = shapely.Polygon(line.polygon)
            assert line.problems == ()
            if loop.loop == "boundary":
                assert shapely.covers(cut.buffer(0.01), sew)
            else:
                assert shapely.covers(sew.buffer(0.01), cut)


def test_the_cut_line_of_the_hole_is_its_sew_line_buffered_inwards(every_loop):
    for _, loop, sewn in every_loop:
        if loop.loop == "thumb hole":
            for line, sew in zip(loop.lines, sewn, strict=True):
                buffered = sew.buffer(-2.0, quad_segs=64)
                assert shapely.hausdorff_distance(shapely.Polygon(line.polygon), buffered) < 0.01


def test_the_strip_between_the_lines_is_as_large_as_length_times_allowance_says(every_loop):
    # A strip of width a inside a smooth convex loop of length L has the area a L − π a² (Steiner).
    for run, loop, sewn in every_loop:
        if loop.loop == "thumb hole":
            lengths = arc_lengths(run.pieces[loop.piece].beziers[loop.loop]).sum(axis=1)
            for line, sew, length in zip(loop.lines, sewn, lengths, strict=True):
                strip = sew.area - shapely.Polygon(line.polygon).area
                assert strip == pytest.approx(2 * length - np.pi * 4, rel=2e-3)


def test_an_edge_without_allowance_is_cut_on_its_sew_line(every_loop):
    for _, loop, sewn in every_loop:
        if (loop.piece, loop.loop) == ("Trank", "boundary"):
            for line, sew in zip(loop.lines, sewn, strict=True):
                assert shapely.hausdorff_distance(shapely.Polygon(line.polygon), sew) < 0.005


def test_a_boundary_with_one_allowance_all_round_is_its_buffer(block, tables):
    wide = with_allowances(block, raw_edge=4.0, oversewn=4.0, inside_seam=4.0)
    run = balanced(grade(wide, tables["Women"]))
    for loop in cut_lines(run):
        if loop.loop == "boundary":
            ring = evaluate(run.pieces[loop.piece].boundary[:1], FINE).reshape(-1, 2)
            cut = shapely.Polygon(loop.lines[0].polygon)
            assert shapely.covers(cut.buffer(0.01), shapely.Polygon(ring).buffer(4.0, quad_segs=64))
            assert shapely.covers(shapely.Polygon(ring).buffer(4.0, join_style="mitre").buffer(0.02), cut)


def test_measures_of_cut_lines_differ_from_those_of_sew_lines_by_the_allowances(runs):
    run = runs["Men"]
    found = {(m.piece, m.loop, m.name): m.on_cut_line - m.on_sew_line for m in cut_measures(run, cut_lines(run))}
    assert found["Trank", "thumb hole", "width"] == pytest.approx(np.full(5, -4.0), abs=0.01)
    assert found["Trank", "thumb hole", "height"] == pytest.approx(np.full(5, -4.0), abs=0.01)
    assert found["Thumb", "boundary", "height"] == pytest.approx(np.full(5, 2.0), abs=0.01)
    assert found["Trank", "boundary", "round"] == pytest.approx(np.zeros(5), abs=0.05)


def test_an_allowance_that_cannot_be_laid_on_is_an_error_that_names_piece_edge_and_sizes(block, tables):
    run = balanced(grade(with_allowances(block, inside_seam=16.0), tables["Children"]))
    findings = list(cut_line_findings(run, cut_lines(run)))
    named = {(f.place.piece, f.place.edge, f.code) for f in findings}
    assert {str(finding.severity) for finding in findings} == {"error"}
    assert ("Trank", "hole palm half", "allowance-on-tight-curve") in named
    assert ("Trank", "thumb hole", "allowance-fills-hole") in named
    filled = next(finding for finding in findings if finding.code == "allowance-fills-hole")
    assert filled.place.size.split(", ")[0] == run.sizes[0]
    assert run.sizes[-1] not in filled.place.size


def test_an_allowance_is_refused_from_the_radius_of_the_tightest_bend_on(block, tables):
    table = tables["Women"]
    hole = balanced(grade(block, table)).pieces["Trank"].beziers["thumb hole"]
    step = evaluate(hole, np.linspace(0, 1, 2001))
    first, second = (
        np.gradient(step, 1 / 2000, axis=2),
        np.gradient(np.gradient(step, 1 / 2000, axis=2), 1 / 2000, axis=2),
    )
    cross = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    inner = slice(2, -2)
    radius = 1 / np.abs(cross / np.hypot(first[..., 0], first[..., 1]) ** 3)[:, :, inner].max()
    for allowance, found in ((radius - 0.03, False), (radius + 0.03, True)):
        run = balanced(grade(with_allowances(block, inside_seam=allowance), table))
        codes = {finding.code for finding in cut_line_findings(run, cut_lines(run))}
        assert ("allowance-on-tight-curve" in codes) == found


@pytest.mark.parametrize(
    ("trouble", "code"),
    [
        (Trouble.TIGHT_CURVE, "allowance-on-tight-curve"),
        (Trouble.CLOSED_BAY, "allowance-without-room"),
        (Trouble.VANISHED_HOLE, "allowance-fills-hole"),
        (Trouble.SPLIT_HOLE, "allowance-splits-hole"),
        (Trouble.CROSSED_SEW_LINE, "allowance-on-crossed-line"),
    ],
)
def test_each_trouble_of_an_allowance_is_told_with_its_size_its_figures_and_its_place(runs, trouble, code):
    run = runs["Women"]
    loop = next(loop for loop in cut_lines(run) if loop.loop == "thumb hole")
    lines = list(loop.lines)
    lines[1] = replace(lines[1], problems=(Problem(trouble, None, -41.0, 68.0, 3.0, 2.0),))
    (finding,) = cut_line_findings(run, [replace(loop, lines=tuple(lines))])
    assert (finding.code, str(finding.severity)) == (code, "error")
    assert (finding.place.size, finding.place.edge) == (run.sizes[1], "thumb hole")
    assert "x -41, y 68 mm" in finding.found
    assert "3 mm" in finding.found or trouble is Trouble.CROSSED_SEW_LINE


def test_holes_that_are_left_are_counted_in_whole_numbers(runs):
    run = runs["Women"]
    loop = next(loop for loop in cut_lines(run) if loop.loop == "thumb hole")
    split = replace(loop.lines[0], problems=(Problem(Trouble.SPLIT_HOLE, None, 0.0, 0.0, 3.0, 2.0),))
    (finding,) = cut_line_findings(run, [replace(loop, lines=(split, *loop.lines[1:]))])
    assert "into 2 holes" in finding.found
