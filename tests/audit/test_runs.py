"""The audit of what a run comes to: a slip in a block is told as what it does to the sizes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit import audit_run
from grading.drafting.draft import draft
from grading.drafting.style import STANDARD, mitten
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.sizes import SizeTable


def told(block, table: SizeTable, code: str) -> set[tuple[str, str]]:
    run = balanced(grade(block, table))
    return {(f.place.measure, f.place.size) for f in audit_run(run) if f.code == code}


@pytest.mark.parametrize("group", ["Women", "Men"])
def test_the_demo_has_no_finding_of_a_measure_that_leaves_its_ladder(runs, group):
    assert not {f.code for f in audit_run(runs[group])} & {"run-out-of-line", "run-outgrows-the-body"}


def _with_share(block, driver: str, times: float):
    """The block with every share of what points move by as a value grows multiplied."""
    moves = tuple(
        replace(
            move,
            shares=tuple(
                replace(share, x=share.x * times, y=share.y * times) if share.value == driver else share
                for share in move.shares
            ),
        )
        for move in block.moves
    )
    return replace(block, moves=moves)


def test_a_share_ten_times_too_large_is_told_by_the_measures_that_outgrow_the_body(block, tables):
    named = told(_with_share(block, "thumb girth", 10), tables["Women"], "run-outgrows-the-body")
    assert any("thumb" in measure for measure, _ in named)


def test_a_body_figure_out_of_line_is_told_of_the_table_and_not_again_of_the_run(block, tables):
    women = tables["Women"]
    values = women.values.copy()
    values[women.measurements.index("fist girth"), 2] += 6
    assert told(block, replace(women, values=values), "run-out-of-line") == set()


def test_a_point_that_leaves_its_line_in_one_size_is_told_by_the_measure_it_makes(block, tables):
    run = balanced(grade(block, tables["Women"]))
    measure = next(measure for measure in run.block.measures if measure.name == "palm width")
    piece = run.pieces[measure.piece]
    points = piece.points.copy()
    points[2, piece.shape.names.index(measure.start), 0] += 6
    run = replace(run, pieces={**run.pieces, measure.piece: replace(piece, points=points)})
    named = {(f.place.measure, f.place.size) for f in audit_run(run) if f.code == "run-out-of-line"}
    assert ("palm width", "W3") in named
    assert {size for _, size in named} == {"W3"}


@pytest.mark.parametrize("name", ["finger edge", "palm", pytest.param("waist", marks=pytest.mark.long)])
def test_a_point_that_moves_too_far_is_told_by_the_ways_to_its_neighbours(block, tables, name):
    points = tuple(replace(one, moves=one.moves * 4) if one.name == name else one for one in block.points)
    named = told(replace(block, points=points), tables["Women"], "run-outgrows-the-body")
    assert any(name in measure.removesuffix(" on Trank").split(" to ") for measure, _ in named)


def test_a_short_way_that_is_a_body_measurement_less_a_fixed_length_is_accused_only_when_it_grows_by_more(tables):
    women, style = tables["Women"], {**STANDARD, "thumb": "none"}
    body = dict(zip(women.measurements, women.values[:, women.sizes.index("W3")].tolist(), strict=True))
    usual = mitten(style).usual(small=False)
    block = draft("Own", ("Women",), body, usual, compressed_pile=1.8, leather=1.0, date="", style=style)
    assert told(block, women, "run-outgrows-the-body") == set()
    more = told(_with_share(block, "palm length", 2), women, "run-outgrows-the-body")
    assert any("widest to wrist" in measure for measure, _ in more)
