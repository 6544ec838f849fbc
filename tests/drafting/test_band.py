"""A cuff that is a knitted band: a piece of its own, folded double, sewn on at the wrist and stretched to fit."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from grading.audit import audit_block, audit_run
from grading.drafting.draft import construct, draft
from grading.drafting.parts.band import STRETCH
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.readings.cut_lines import cut_lines, cut_measures
from grading.readings.finished import finished
from grading.readings.marks import edge_marks
from grading.readings.measures import measured
from grading.readings.seams import walked_seams
from grading.stock.pieces import pieces_of_pairs

BANDED = {**STANDARD, "cuff": "band"}
TABLES = {table.group: table for table in demo_sizes()}
GROUPS = pytest.mark.parametrize("group", list(BASES))


def hand(group: str, size: str):
    table = TABLES[group]
    return dict(zip(table.measurements, table.values[:, table.sizes.index(size)].tolist(), strict=True))


@cache
def graded(group: str):
    usual = mitten(BANDED).usual(small=group == "Children")
    body = hand(group, BASES[group])
    block = draft("", (group,), body, usual, compressed_pile=1.8, leather=1.0, date="", style=BANDED)
    return balanced(grade(block, TABLES[group]))


@GROUPS
def test_relaxed_it_is_0_70_to_0_85_of_the_edge_that_it_is_sewn_to(group):
    """Common practice; the same share in every size."""
    run = graded(group)
    edge = 2 * run["Trank"].edge_lengths("wrist edge")
    share = 2 * measured(run)["band width"] / edge
    assert (share >= 0.70).all()
    assert (share <= 0.85).all()
    assert np.ptp(share) == pytest.approx(0, abs=1e-6)


@GROUPS
def test_it_neither_presses_the_wrist_nor_keeps_the_hand_out(group):
    """At least 0.9 times the wrist relaxed, and stretched at least the entry girth: common practice."""
    run = graded(group)
    length = 2 * measured(run)["band width"]
    assert (length >= 0.9 * TABLES[group].row("wrist girth")).all()
    assert (length * STRETCH >= TABLES[group].row("entry girth")).all()


@GROUPS
def test_it_is_sewn_on_at_the_wrist_or_up_to_10_mm_below_without_a_flare(group):
    trank = graded(group)["Trank"]
    x, y = np.moveaxis(trank.point("waist"), -1, 0)
    assert (y <= 0).all()
    assert (y >= -10).all()
    assert (x < trank.point("knuckle")[:, 0]).all()


def test_it_is_cut_as_long_as_it_is_and_twice_as_high_as_it_shows_with_two_allowances():
    run = graded("Women")
    cut = {(one.piece, one.name): one.on_cut_line for one in cut_measures(run, cut_lines(run))}
    visible = measured(run)["band height"]
    assert cut["Band", "width"] == pytest.approx(2 * measured(run)["band width"] + 2 * 6)
    assert cut["Band", "height"] == pytest.approx(2 * visible + 2 * 6)


def test_ticks_meet_at_quarters_of_both():
    run = graded("Women")
    marks = [mark for mark in edge_marks(run) if mark.name == "band, outer edge, to the wrist"]
    across = {piece: sorted(mark.places[2, 0] for mark in marks if mark.piece == piece) for piece in ("Trank", "Band")}
    side, band = run["Trank"].point("waist")[2, 0], run["Band"].point("fold end")[2, 0]
    assert across["Trank"] == pytest.approx([-side / 2, 0, side / 2], abs=1e-6)
    assert across["Band"] == pytest.approx([-band / 2, 0, band / 2], abs=1e-6)


def test_both_its_edges_are_sewn_to_the_wrist_edge_a_third_longer():
    seams = [walked for walked in walked_seams(graded("Men")) if walked.seam.name.startswith("band, ")]
    assert len(seams) == 2
    for walked in seams:
        assert walked.side_a / walked.side_b == pytest.approx(np.full(5, 4 / 3))


def test_a_band_has_the_coordinates_worked_by_hand():
    """W1: a side is (180 + 24) / 2 = 102, 2 less at the waist; the band is 0.75 of that, 60 up and down."""
    found = construct(mitten(BANDED), hand("Women", "W1"), mitten(BANDED).usual() | {"turn room": 3.14})
    by_hand = {
        ("Trank", "waist"): (100, -6),
        ("Band", "outer corner"): (75, 60),
        ("Band", "fold end"): (75, 0),
        ("Band", "inner corner"): (75, -60),
    }
    assert {name: found[name] for name in by_hand} == {name: pytest.approx(at) for name, at in by_hand.items()}


def test_a_rib_that_is_too_short_for_the_wrist_is_told():
    run = graded("Women")
    stout = TABLES["Women"].values.copy()
    stout[TABLES["Women"].measurements.index("wrist girth")] += 40
    findings = audit_run(grade(run.block, replace(TABLES["Women"], values=stout)))
    assert "band at the wrist" in {finding.place.measure for finding in findings}


def test_three_layers_are_told_only_where_nothing_is_folded_double():
    block = graded("Women").block
    assert not [one for one in audit_block(block) if one.code == "edge-in-two-seams"]
    flat = replace(block, marks=tuple(mark for mark in block.marks if mark.piece != "Band"))
    assert "edge-in-two-seams" in {one.code for one in audit_block(flat)}


def test_it_hangs_from_the_wrist_in_the_picture_as_high_as_it_shows():
    run = graded("Women")
    for seen in (finished(run, 2, "left").palm, finished(run, 2, "left").back):
        (band,) = (layer for layer in seen if layer.piece == "Band")
        left, low, right, high = shapely.bounds(band.edges)
        assert (low, high) == pytest.approx((-66, -6), abs=0.2)
        assert right - left == pytest.approx(measured(run)["band width"][2], abs=0.2)
        trank = next(layer for layer in seen if layer.piece == "Trank")
        folded = min(shapely.bounds(trank.area)[[0, 2]], key=abs)
        assert min(left, right, key=abs) == pytest.approx(folded, abs=0.2), "both are folded along one line"


def test_it_is_cut_from_no_skin():
    assert "Band" not in {piece.name for piece in pieces_of_pairs(graded("Women"))[0]}
