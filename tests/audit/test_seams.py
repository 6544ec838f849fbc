"""Seams, cut counts and sheets that are missing: each rule broken once, and a near miss that is quiet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from grading.audit.cutting import CUTTING_RULES
from grading.audit.seams import SEAM_RULES
from grading.findings import Finding, Severity
from grading.model.block import Block, Kind, Piece, SeamType, Side


def found(block: Block) -> list[str]:
    return [finding.code for rule in (*SEAM_RULES, *CUTTING_RULES) for finding in rule(block)]


def with_seam(block: Block, seam_name: str, **changes: object) -> Block:
    return replace(
        block, seams=tuple(replace(seam, **changes) if seam.name == seam_name else seam for seam in block.seams)
    )


def with_type(block: Block, edge: str, seam_type: str) -> Block:
    return replace(
        block, edges=tuple(replace(one, seam_type=seam_type) if one.name == edge else one for one in block.edges)
    )


def with_counts(block: Block, piece: str, left: int, right: int) -> Block:
    pieces = (replace(one, cut_left=left, cut_right=right) if one.name == piece else one for one in block.pieces)
    return replace(block, pieces=tuple(pieces))


def test_a_measurement_called_a_balance_value_is_told(block):
    values = tuple(
        replace(value, kind=Kind.BALANCE) if value.name == "thumb root breadth" else value for value in block.values
    )
    assert found(replace(block, values=values)) == ["balance-of-no-seam"]


@pytest.mark.parametrize(
    ("figures", "codes"),
    [
        ({"matching": 13}, ["matching-marks-unusual"]),
        ({"strokes": 5}, ["matching-marks-unusual"]),
        ({"without_ease": 0.61}, ["matching-marks-unusual"]),
        ({"without_ease": -0.1}, ["matching-marks-unusual"]),
        ({"matching": 12, "strokes": 4, "without_ease": 0.6}, []),
    ],
)
def test_more_matching_marks_than_a_hand_can_count_are_told(block, figures, codes):
    assert found(with_seam(block, block.seams[0].name, **figures)) == codes


def test_the_demo_has_none(block):
    assert found(block) == []


@pytest.mark.parametrize("sheet", ["Seams", "Limits", "Marks"])
def test_a_sheet_that_is_missing_says_what_nobody_checks(block, sheet):
    without = replace(block, **{sheet.casefold(): ()})
    (finding,) = (finding for rule in SEAM_RULES for finding in rule(without))
    assert (finding.code, finding.severity) == ("sheet-without-rows", Severity.WARNING)
    assert finding.place.sheet == sheet
    assert "nobody checks" in finding.expected


@pytest.mark.parametrize("seam", range(7))
def test_an_edge_is_missed_in_whichever_seam_is_left_out(block, seam):
    assert len(block.seams) == 7
    without = replace(block, seams=block.seams[:seam] + block.seams[seam + 1 :])
    assert set(found(without)) == {"edge-in-no-seam"}


def test_the_other_half_in_place_of_this_one_is_told(block):
    wrong = with_seam(block, "thumb in hole, palm half", side_b=Side("Trank", ("hole index half",)))
    assert found(wrong) == ["edge-in-two-seams", "edge-in-no-seam", "wrong-half"]


def test_both_halves_exchanged_are_told_by_the_names_of_their_seams(block):
    palm, index = block.seams[:2]
    wrong = with_seam(with_seam(block, palm.name, side_b=index.side_b), index.name, side_b=palm.side_b)
    assert found(wrong) == ["wrong-half", "wrong-half"]
    named = with_seam(with_seam(wrong, palm.name, name="thumb, first"), index.name, name="thumb, second")
    assert found(named) == []


def test_an_edge_is_sewn_to_another(block):
    wrong = with_seam(block, "side seam", side_b=Side("Trank", ("side",)))
    assert found(wrong) == ["edge-sewn-to-itself", "edge-in-no-seam"]


def test_a_hem_is_sewn_to_nothing_and_that_is_right(block):
    hem = SeamType("hem", 8.0, "running stitch")
    hemmed = with_type(replace(block, seam_types=(*block.seam_types, hem)), "cuff raw edge", "hem")
    assert found(hemmed) == []
    assert found(with_type(block, "cuff raw edge", "oversewn")) == ["edge-in-no-seam"]


@pytest.mark.parametrize("edge", ["foot", "hole palm half", "hole index half"])
def test_both_sides_of_a_seam_have_one_allowance(block, edge):
    assert "seam-allowances-differ" in found(with_type(block, edge, "oversewn"))


def test_another_allowance_on_both_sides_is_a_makers_choice(block):
    kinds = tuple(replace(kind, allowance=6.0) if kind.name == "inside seam" else kind for kind in block.seam_types)
    assert found(replace(block, seam_types=kinds)) == []


def test_an_edge_that_is_sewn_has_a_stitch(block):
    assert found(with_type(block, "side", "raw edge")) == ["sewn-without-stitch"]


@pytest.mark.parametrize(
    ("changes", "quiet"), [({"matching": 12}, True), ({"matching": 13}, False), ({"without_ease": 0.9}, False)]
)
def test_matching_marks_are_few_enough_to_be_counted(block, changes, quiet):
    assert (found(with_seam(block, "thumb in hole, palm half", **changes)) == []) is quiet


@pytest.mark.parametrize(
    ("piece", "counts", "codes"),
    [
        ("Thumb", (1, 0), ["cut-makes-no-pair"]),
        ("Trank", (0, 2), ["cut-makes-no-pair"]),
        ("Trank", (0, 0), ["piece-never-cut"]),
        ("Trank", (2, 2), ["cut-counts-differ"]),
        ("Trank", (1, 1), []),
    ],
)
def test_counts_make_a_pair(block, piece, counts, codes):
    assert found(with_counts(block, piece, *counts)) == codes


def test_pieces_that_stand_for_one_another_are_counted_together(block):
    def for_one_hand(piece: Piece, hand: str, left: int, right: int) -> Piece:
        return replace(piece, name=f"{piece.name} {hand}", cut_left=left, cut_right=right)

    trank, thumb = block.pieces
    two = (for_one_hand(thumb, "left", 1, 0), for_one_hand(thumb, "right", 0, 1))
    assert [f for rule in CUTTING_RULES for f in rule(replace(block, pieces=(trank, *two)))] == []
    (finding,) = (f for rule in CUTTING_RULES for f in rule(replace(block, pieces=(trank, two[0]))))
    assert finding.code == "cut-makes-no-pair"


def in_seam_type(block: Block, sewn: set[str]) -> Iterator[Finding]:
    """What is told of a block that has some edges sewn in the inside seam."""
    edges = tuple(replace(one, seam_type="inside seam") if one.name in sewn else one for one in block.edges)
    for rule in SEAM_RULES:
        yield from rule(replace(block, edges=edges))


@pytest.mark.parametrize("edge", ["finger turned side", "side", "cuff turned side", "turned side", "stem side"])
def test_a_seam_that_goes_on_with_another_allowance_is_noted(block, edge):
    told = list(in_seam_type(block, {edge}))
    assert {(finding.code, finding.severity) for finding in told} == {("seam-allowance-steps", Severity.NOTE)}


def test_one_line_of_stitches_may_have_any_allowance(block):
    sewn = {"finger turned side", "side", "cuff turned side", "turned side", "stem side"}
    assert list(in_seam_type(block, sewn)) == []


@pytest.mark.parametrize(
    ("arrows", "codes"),
    [
        ({"Trank": "foot to tip"}, ["pile-of-another-piece"]),
        ({"Thumb": "cuff to fingers"}, ["pile-of-another-piece"]),
        ({"Trank": "fingers to cuff"}, ["piles-run-against-one-another"]),
        ({"Trank": "fingers to cuff", "Thumb": "tip to foot"}, []),
        ({"Thumb": ""}, []),
        ({}, []),
    ],
)
def test_pile_runs_between_ends_that_a_piece_has_and_one_way(block, arrows, codes):
    pieces = tuple(replace(one, pile_arrow=arrows.get(one.name, one.pile_arrow)) for one in block.pieces)
    told = [f.code for rule in CUTTING_RULES for f in rule(replace(block, pieces=pieces))]
    assert told == codes
