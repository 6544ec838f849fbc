"""The audit of a block, alone and against a table: each rule broken once, and nearly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grading.audit.blocks import BLOCK_RULES, KINK_RULES, audit_drivers
from grading.findings import Finding, Place, Severity
from grading.model.block import Block, Move, Share
from grading.model.sizes import SizeTable


def with_point(block: Block, piece: str, point: str, **changes: object) -> Block:
    points = tuple(replace(p, **changes) if (p.piece, p.name) == (piece, point) else p for p in block.points)
    return replace(block, points=points)


def with_row(table: SizeTable, name: str, figures: list[float]) -> SizeTable:
    """The table with this row: another one of that name, or one more."""
    if name in table.measurements:
        values = table.values.copy()
        values[table.measurements.index(name)] = figures
        return replace(table, values=values)
    return replace(table, measurements=(*table.measurements, name), values=np.vstack([table.values, figures]))


def drawing_findings(block: Block) -> list[Finding]:
    return [finding for rule in BLOCK_RULES for finding in rule(block)]


def codes(block: Block) -> list[str]:
    return [finding.code for finding in drawing_findings(block)]


@pytest.mark.parametrize(("x", "expected"), [(12.0, []), (5.0, ["loop-crosses-itself"])])
def test_a_loop_as_drafted_goes_round_once(block, x, expected):
    # the index side of the hole lies at x 10: its palm side must not lie left of that
    pinched = with_point(block, "Trank", "palm side", x=x)
    assert codes(pinched) == expected


def test_a_crossing_loop_is_shown_by_its_first_edge(block):
    placed = tuple(replace(edge, place=Place("block.xlsx", "Edges", f"B{n}")) for n, edge in enumerate(block.edges, 2))
    (finding,) = drawing_findings(replace(with_point(block, "Trank", "palm side", x=5.0), edges=placed))
    assert str(finding.place) == "block.xlsx, sheet Edges, cell B7"
    assert finding.found == "The thumb hole of Trank crosses itself as drafted."


@pytest.mark.parametrize("point", [("Trank", "palm"), ("Trank", "T"), ("Trank", "finger centre"), ("Thumb", "H")])
def test_a_point_left_behind_by_its_neighbours_is_warned_of(block, point):
    (finding,) = drawing_findings(with_point(block, *point, moves=()))
    assert (finding.code, finding.severity) == ("point-without-move", Severity.WARNING)
    assert f"The point {point[1]} of {point[0]} has no move" in finding.found


def test_a_point_may_stay_where_its_neighbour_stays_too(block):
    both = with_point(with_point(block, "Trank", "palm", moves=()), "Trank", "wrist", moves=())
    assert codes(both) == []


def test_a_point_may_be_told_to_stay_by_a_move_of_nothing(block):
    staying = replace(block, moves=(*block.moves, Move("stays", (Share("fist girth", 0.0, 0.0),))))
    assert codes(with_point(staying, "Trank", "palm", moves=("stays",))) == []


@pytest.mark.parametrize(("seam_type", "expected"), [("", ["edge-without-seam-type"]), ("raw edge", [])])
def test_every_edge_has_a_seam_type(block, seam_type, expected):
    edges = tuple(replace(edge, seam_type=seam_type) if edge.name == "foot" else edge for edge in block.edges)
    assert codes(replace(block, edges=edges)) == expected


@pytest.mark.parametrize(("drafted", "expected"), [(0.0, ["drafted-with-nothing"]), (0.5, [])])
def test_a_block_was_drafted_for_a_hand_of_some_size(block, tables, drafted, expected):
    values = tuple(replace(v, drafted=drafted) if v.name == "web depth" else v for v in block.values)
    assert codes(replace(block, values=values)) == expected
    assert (
        "figure-out-of-range" in [f.code for f in audit_drivers(replace(block, values=values), tables["Women"])]
    ) is (drafted > 0)


def test_a_measurement_that_the_block_needs_is_missed_under_its_own_name(block, tables):
    table = tables["Women"]
    renamed = tuple("web deep" if name == "web depth" else name for name in table.measurements)
    (finding,) = audit_drivers(block, replace(table, measurements=renamed))
    assert (finding.code, finding.severity) == ("measurement-missing", Severity.ERROR)
    assert finding.found == (
        "Group Women has no row 'web depth', by which the block is graded; web deep is perhaps meant."
    )
    assert str(finding.place) == "group Women, measure web depth"
    shouted = tuple(name.upper() for name in table.measurements)
    spelled = replace(table, measurements=shouted).spelled_as(value.name for value in block.values)
    assert list(audit_drivers(block, spelled)) == []


def test_a_measurement_that_only_a_limit_needs_may_be_missing(block, tables):
    table = tables["Women"]
    renamed = tuple("wrist" if name == "wrist girth" else name for name in table.measurements)
    assert list(audit_drivers(block, replace(table, measurements=renamed))) == []


@pytest.mark.parametrize(("last", "expected"), [(24.0, []), (24.5, ["allowance-varies"])])
def test_an_allowance_is_the_same_in_every_size_of_a_group(block, tables, last, expected):
    table = with_row(tables["Women"], "hand ease", [24.0] * 5 + [last])
    assert [finding.code for finding in audit_drivers(block, table)] == expected


@pytest.mark.parametrize(("figure", "expected"), [(81.7, []), (81.5, ["W1"]), (510.0, []), (510.1, ["W1"])])
def test_a_figure_far_from_the_blocks_own_is_no_other_hand(block, tables, figure, expected):
    # the block was drafted with a fist girth of 204 mm: two fifths to two and a half times that
    table = with_row(tables["Women"], "fist girth", [figure, 192, 204, 216, 228, 240])
    findings = list(audit_drivers(block, table))
    assert [finding.place.size for finding in findings] == expected
    assert {finding.code for finding in findings} <= {"figure-out-of-range", "figure-in-another-unit"}


@pytest.mark.parametrize(
    ("figure", "meant"),
    [
        (20.4, "perhaps centimetres typed as millimetres."),
        (8.03, "perhaps inches typed as millimetres."),
        (80.3, "perhaps inches typed as centimetres."),
        (2040.0, "perhaps millimetres typed as centimetres."),
        (518.16, "perhaps centimetres typed as inches."),
        (5181.6, "perhaps millimetres typed as inches."),
        (40.0, "Check the figure and the row's unit."),
    ],
)
def test_a_figure_in_another_unit_is_told_from_one_that_is_just_wrong(block, tables, figure, meant):
    # a fist girth of 204 mm, which is 20.4 cm or 8.03 in, in a row whose unit says something else
    table = with_row(tables["Women"], "fist girth", [180, 192, figure, 216, 228, 240])
    (finding,) = audit_drivers(block, table)
    assert finding.action.endswith(meant)


@pytest.mark.parametrize(("point", "moves"), [("knuckle", ("finger line",)), ("palm side", ("hole palm side",))])
def test_a_point_moves_like_the_neighbours_that_move_alike(block, point, moves):
    assert "moves-unlike-its-neighbours" in codes(with_point(block, "Trank", point, moves=moves))


def test_the_ends_of_a_drop_grow_away_from_their_neighbours_in_proportion(block):
    at = {point.name: point for point in block.points if point.piece == "Trank"}
    assert at["T"].moves == ("hole place",)  # its neighbours sink with the thumb root, it does not
    assert codes(block) == []


@pytest.mark.parametrize(("x", "expected"), [(97.0, {"curve-kinked"}), (111.5, set())])
def test_a_curve_point_that_its_neighbours_contradict_is_told(block, x, expected):
    wrong = with_point(block, "Trank", "waist", x=x)  # drafted at 112
    assert {finding.code for rule in KINK_RULES for finding in rule(wrong)} == expected
