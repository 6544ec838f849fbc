"""Seams walked on sew lines, against shapely's lengths of finely drawn curves, and common practice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString

from grading.engine.run import SizeRun, grade
from grading.geometry.beziers import evaluate
from grading.model.block import Amount, Block, Seam, Side
from grading.readings.measures import measured
from grading.readings.seams import WalkedSeam, walked_seams

GROUPS = ("Women", "Men", "Children")
HALVES = ("thumb in hole, palm half", "thumb in hole, index half")


def by_name(run: SizeRun) -> dict[str, WalkedSeam]:
    return {walked.seam.name: walked for walked in walked_seams(run)}


def drawn_length(run: SizeRun, side: Side, size: int) -> float:
    """The length of a side as shapely adds up a fine polyline along it."""
    piece = run.pieces[side.piece]
    fine = np.linspace(0, 1, 300)
    length = 0.0
    for edge in side.edges:
        stretch = piece.shape.edges[edge]
        for segment in stretch.segments:
            length += LineString(evaluate(piece.beziers[stretch.loop][size, segment], fine)).length
    return length


def with_seam(block: Block, **changes: object) -> Block:
    """The block with its first seam only, changed."""
    return replace(block, seams=(replace(block.seams[0], **changes),))


@pytest.mark.parametrize("group", GROUPS)
def test_both_sides_of_every_seam_are_as_long_as_shapely_draws_them(runs, group):
    run = runs[group]
    for walked in walked_seams(run):
        for size in range(len(run.sizes)):
            assert walked.side_a[size] == pytest.approx(drawn_length(run, walked.seam.side_a, size), abs=1e-3)
            assert walked.side_b[size] == pytest.approx(drawn_length(run, walked.seam.side_b, size), abs=1e-3)


def test_thumb_and_hole_are_walked_half_by_half(runs):
    run = runs["Women"]
    halves = [by_name(run)[name] for name in HALVES]
    assert measured(run)["thumb rim round"] == pytest.approx(sum(half.side_a for half in halves))
    assert measured(run)["thumb hole round"] == pytest.approx(sum(half.side_b for half in halves))


def test_ease_is_signed_and_changes_its_sign_with_the_sides(block, tables):
    first = block.seams[0]
    there = by_name(grade(with_seam(block), tables["Women"]))[first.name]
    back = by_name(grade(with_seam(block, side_a=first.side_b, side_b=first.side_a), tables["Women"]))[first.name]
    assert (there.ease > 0).all()
    assert back.ease == pytest.approx(-there.ease)


def test_an_edge_and_its_image_are_equally_long(runs):
    for run in runs.values():
        for name in ("thumb seam", "side seam"):
            assert by_name(run)[name].ease == pytest.approx(0, abs=1e-9)


def test_a_side_of_several_edges_is_as_long_as_all_of_them(block, tables):
    whole = Seam(
        "whole rim",
        Side("Thumb", ("foot", "foot'")),
        Side("Trank", ("hole palm half", "hole index half")),
        None,
        None,
        None,
    )
    run = grade(replace(block, seams=(*block.seams, whole)), tables["Men"])
    found = by_name(run)
    assert found["whole rim"].ease == pytest.approx(sum(found[name].ease for name in HALVES))


def test_bounds_and_target_may_be_millimetres_a_part_of_side_b_or_an_allowance(block, children):
    asked = with_seam(block, least=Amount(mm=2.0), target=Amount(part=0.05), most=Amount(allowance="foot depth"))
    (walked,) = walked_seams(grade(asked, children))
    assert (walked.least == 2.0).all()
    assert walked.target == pytest.approx(walked.side_b / 20)
    assert (walked.most == 1.0).all(), "the children's own foot depth"


def test_a_bound_may_be_millimetres_and_a_part_of_side_b_together(block, tables):
    (walked,) = walked_seams(grade(with_seam(block, most=Amount(mm=1.0, part=0.02)), tables["Women"]))
    assert walked.most == pytest.approx(walked.side_b / 50 + 1)


def test_what_a_seam_does_not_ask_is_not_a_number(block, tables):
    (walked,) = walked_seams(grade(with_seam(block, least=None, most=None), tables["Women"]))
    assert np.isnan(walked.least).all()
    assert np.isnan(walked.most).all()


@pytest.mark.parametrize("group", GROUPS)
def test_a_thumbs_seam_ease_is_above_zero_and_no_more_than_five_centimetres(runs, group):
    # common practice, no source: never shorter than its hole, and no more than 5 cm longer
    whole = sum(by_name(runs[group])[name].ease for name in HALVES)
    assert (whole > 0).all()
    assert (whole <= 50).all()


@pytest.mark.parametrize("group", ["Women", "Men"])
def test_the_thumbs_own_web_point_is_lowered_about_a_centimetre_and_the_holes_is_not(runs, group):
    # common practice, no source
    run = runs[group]
    stem = -run.pieces["Thumb"].point("T")[:, 1]
    lowered = stem - run.table.row("web to knuckle")
    assert ((lowered >= 5) & (lowered <= 12)).all()
    web = run.table.row("palm length") - run.table.row("web depth")
    assert run.pieces["Trank"].point("T")[:, 1] == pytest.approx(web)


@pytest.mark.parametrize("group", GROUPS)
def test_thumb_ease_lies_between_one_and_two_centimetres_where_hand_ease_is_about_two(runs, group):
    # common practice, no source
    found, table = measured(runs[group]), runs[group].table
    hand = 2 * found["palm width"] - table.row("fist girth")
    thumb = 2 * found["thumb width"] - table.row("thumb girth")
    assert ((hand >= 18) & (hand <= 25)).all()
    assert ((thumb >= 10) & (thumb <= 20)).all()
