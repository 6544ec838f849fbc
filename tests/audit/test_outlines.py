"""The audit of drawn shapes: each rule broken once by a block or a table, and nearly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grading.audit import audit_run
from grading.audit.outlines import STRAIGHT
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import Finding, Severity
from grading.geometry.beziers import NODES, curvatures
from grading.model.block import Block, SeamType, Share
from grading.model.sizes import SizeTable


@pytest.fixture
def shapes_only(block: Block) -> Block:
    """The demo block held to nothing but what its shapes must be."""
    return replace(block, limits=(), measures=())


def shifted(block: Block, piece: str, point: str, dx: float = 0.0, dy: float = 0.0) -> Block:
    points = tuple(
        replace(p, x=p.x + dx, y=p.y + dy) if (p.piece, p.name) == (piece, point) else p for p in block.points
    )
    return replace(block, points=points)


def with_share(block: Block, move: str, share: Share) -> Block:
    moves = tuple(replace(m, shares=(*m.shares, share)) if m.name == move else m for m in block.moves)
    return replace(block, moves=moves)


def with_waist(block: Block, share: float) -> Block:
    """The block with a waist that fills by a share of the fist girth, and the part turned over it with it."""
    for move in ("wrist", "waist", "cuff waist", "cuff edge"):
        block = with_share(block, move, Share("fist girth", share, 0))
    return block


def with_value(block: Block, name: str, now: float) -> Block:
    return replace(block, values=tuple(replace(v, now=now) if v.name == name else v for v in block.values))


def with_figure(table: SizeTable, name: str, size: int | slice, figure: float) -> SizeTable:
    values = table.values.copy()
    values[table.measurements.index(name), size] = figure
    return replace(table, values=values)


def found(block: Block, table: SizeTable) -> list[Finding]:
    """Everything above a note."""
    return [f for f in audit_run(balanced(grade(block, table))) if f.severity is not Severity.NOTE]


def codes(block: Block, table: SizeTable) -> set[str]:
    return {finding.code for finding in found(block, table)}


@pytest.mark.parametrize(("inwards", "crossing"), [(35, []), (45, [("W4", "Trank", "thumb hole")])])
def test_a_sew_line_that_crosses_itself_is_named_by_size_and_loop(shapes_only, tables, inwards, crossing):
    # the hole is 39.5 mm wide in W4: its palm side passes its index side when it moves in by more
    table = tables["Women"]
    two = replace(table, sizes=("W3", "W4"), values=table.values[:, 2:4])
    findings = found(with_share(shapes_only, "hole palm side", Share("index-middle gap", -inwards, 0)), two)
    places = [f.place for f in findings if f.code == "outline-crosses-itself"]
    assert [(place.size, place.piece, place.edge) for place in places] == crossing


def test_a_boundary_that_crosses_itself_does_not_stop_the_other_rules(shapes_only, tables):
    # no cuff fold-back at all: its turned side runs back on itself
    flat = with_value(shapes_only, "cuff fold-back", 0.0)
    assert "outline-crosses-itself" in codes(flat, tables["Women"])


@pytest.mark.parametrize(("forward", "expected"), [(64.0, set()), (65.0, {"cut-out-outside"})])
def test_a_cut_out_must_lie_wholly_inside_its_piece(shapes_only, tables, forward, expected):
    # the smallest hole is 57 mm from the side with the thumb line 8 mm forward
    assert codes(with_value(shapes_only, "thumb forward", forward), tables["Women"]) == expected


@pytest.mark.parametrize(("less", "expected"), [(0.0, set()), (0.04, set()), (0.06, {"nest-crosses"})])
def test_a_size_that_reaches_outside_the_next_crosses_it_in_the_nest(shapes_only, tables, less, expected):
    # the same palm length twice makes the raw edges one line: shared edges do not cross
    shorter = with_figure(tables["Women"], "palm length", 1, 93.0 - less)
    assert codes(shapes_only, shorter) == expected


def test_a_crossing_in_the_nest_says_where_it_is(shapes_only, tables):
    (finding,) = found(shapes_only, with_figure(tables["Women"], "palm length", 1, 92.0))
    assert (finding.place.size, finding.place.piece) == ("W2", "Trank")
    assert finding.found.startswith("Size W1 reaches outside it near x 0, y 15")


def test_a_crossing_is_seen_from_the_pieces_own_stacking_point(shapes_only, tables):
    # stacked on a corner at the side, where the larger size has no more room than the smaller
    pieces = tuple(replace(p, stacking_point="finger fold" if p.name == "Trank" else "") for p in shapes_only.pieces)
    assert codes(replace(shapes_only, pieces=pieces), tables["Women"]) == {"nest-crosses"}


def test_hands_in_no_order_make_no_nest(shapes_only, tables):
    table = tables["Women"]
    assert codes(shapes_only, replace(table, values=table.values[:, ::-1])) == set()


@pytest.mark.parametrize(("share", "expected"), [(0.02, set()), (0.2, {"bend-changes", "run-outgrows-the-body"})])
def test_a_waist_that_is_filled_in_the_larger_sizes_has_lost_its_character(shapes_only, tables, share, expected):
    assert codes(with_waist(shapes_only, share), tables["Women"]) == expected


def test_a_changed_bend_is_told_once_for_both_halves_of_a_piece(shapes_only, tables):
    findings = found(with_waist(shapes_only, 0.2), tables["Women"])
    assert all("'" not in finding.found for finding in findings)
    assert any("wrist" in finding.found for finding in findings)


def test_a_hollow_that_slides_along_keeps_its_character(shapes_only, tables):
    # the wrist point climbs 4 mm over three sizes, and the same bends follow one another, somewhere else
    slid = with_share(shapes_only, "wrist", Share("fist girth", 0, 4 / 36))
    trank = grade(slid, tables["Women"]).pieces["Trank"]
    base = curvatures(trank.shape.loops["boundary"].beziers(trank.shape.points[None])[..., None, :, :], NODES)
    bent = curvatures(trank.boundary[..., None, :, :], NODES)
    other_way = (bent * base < 0) & (np.minimum(np.abs(bent), np.abs(base)) > STRAIGHT)
    assert other_way.any()
    assert codes(slid, tables["Women"]) == set()


def finger_turned(block: Block, wider: float) -> Block:
    """The part turned at the fingers drafted wider than its mirror image, in proportion to the way from its fold."""
    return shifted(shifted(block, "Trank", "finger turn", wider / 2), "Trank", "finger edge", wider)


@pytest.mark.parametrize(("wider", "expected"), [(-0.9, set()), (-1.2, {"turned-part-narrow"})])
def test_a_turned_part_may_be_a_millimetre_narrower_than_its_leathers_turn(shapes_only, tables, wider, expected):
    findings = found(finger_turned(shapes_only, wider), tables["Women"])
    assert {f.code for f in findings} == expected
    assert {f.place.edge for f in findings} <= {"finger fold line"}


def test_a_turned_part_that_is_only_the_mirror_image_of_the_body_is_too_narrow_to_go_round_it(shapes_only, tables):
    findings = found(with_value(shapes_only, "turn room", 0.0), tables["Women"])
    assert {f.code for f in findings} == {"turned-part-narrow"}
    assert {f.place.edge for f in findings} == {"finger fold line", "cuff fold line", "thumb fold line"}
    assert all("3.1 mm" in f.expected for f in findings)  # π × 1.0 mm of leather a side


@pytest.mark.parametrize(("wider", "expected"), [(0.9, set()), (1.2, {"turned-part-wide"})])
def test_a_turned_part_may_be_a_millimetre_wider_than_its_leathers_turn(shapes_only, tables, wider, expected):
    findings = found(finger_turned(shapes_only, wider), tables["Women"])
    assert {f.code for f in findings} == expected
    assert all("3.1 mm" in f.expected for f in findings)


def test_a_turned_part_that_is_longer_than_the_body_has_nothing_to_lie_on(shapes_only, tables):
    tall = shapes_only
    for point in ("turn centre", "turn edge"):
        tall = shifted(tall, "Thumb", point, dy=200.0)
    assert "turned-part-wide" in codes(tall, tables["Women"])


@pytest.mark.parametrize(("depth", "expected"), [(0.05, set()), (-0.05, {"turned-part-reaches-cut-out"})])
def test_a_turned_part_must_end_before_the_hole(shapes_only, tables, depth, expected):
    # the raw edge lands on the finger line, and the hole begins at web depth below it
    findings = found(shapes_only, with_figure(tables["Women"], "web depth", slice(None), depth))
    assert {f.code for f in findings} == expected
    assert {f.place.edge for f in findings} <= {"finger fold line"}


@pytest.mark.parametrize(("fold_back", "expected"), [(30.0, set()), (100.0, {"turned-part-reaches-cut-out"})])
def test_a_part_turned_at_the_cuff_must_end_before_the_hole_too(shapes_only, tables, fold_back, expected):
    # raised by hand so far above its mirror image that it ends at fold_back − 50 above the wrist line
    deep = shapes_only
    for point in ("cuff centre", "cuff edge", "cuff turn"):
        deep = shifted(deep, "Trank", point, dy=50.0 - fold_back)
    reached = [f for f in found(deep, tables["Women"]) if f.code == "turned-part-reaches-cut-out"]
    assert {f.code for f in reached} == expected
    assert {f.place.edge for f in reached} <= {"cuff fold line"}


def test_no_turn_at_all_gives_findings_and_no_warnings_of_arithmetic(shapes_only, tables):
    with np.errstate(all="raise"):
        assert codes(with_value(shapes_only, "thumb turn", 0.0), tables["Women"]) <= {
            "outline-crosses-itself",
            "bend-changes",
            "turned-part-narrow",
            "turned-part-wide",
        }


@pytest.mark.parametrize(("allowance", "expected"), [(2.55, set()), (2.65, {"allowance-in-hollow"})])
def test_an_allowance_is_at_most_a_third_of_the_hollow_that_it_is_laid_into(shapes_only, tables, allowance, expected):
    # the smallest women's hole has a bend of 7.74 mm at T
    kinds = tuple(replace(t, allowance=allowance) if t.name == "inside seam" else t for t in shapes_only.seam_types)
    findings = found(replace(shapes_only, seam_types=kinds), tables["Women"])
    assert {f.code for f in findings} == expected
    for finding in findings:
        assert (finding.place.size, finding.place.edge) == ("W1", "thumb hole")
        assert "7.7 mm radius by T, near x 27, y 69 mm" in finding.found


def test_an_allowance_outside_a_full_bend_may_be_as_wide_as_it_likes(shapes_only, tables):
    # the foot is full: its cut line is longer than its sew line, and its tightest bend is not asked
    wide = SeamType("wide", 12.0, "running stitch")
    edges = tuple(replace(e, seam_type="wide") if e.name == "foot" else e for e in shapes_only.edges)
    block = replace(shapes_only, edges=edges, seam_types=(*shapes_only.seam_types, wide), seams=())
    assert "allowance-in-hollow" not in codes(block, tables["Women"])
