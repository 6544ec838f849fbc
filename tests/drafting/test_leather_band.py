"""A cuff that is a leather band: as long as the edge it is sewn to, and open at a slit that lets the hand pass."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from grading.audit import audit_block, audit_run
from grading.drafting.draft import construct, draft
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.hands import EITHER
from grading.outputs.steps import step_drawings
from grading.readings.cut_lines import cut_lines, cut_measures
from grading.readings.marks import slits
from grading.readings.measures import measured
from grading.readings.seams import walked_seams
from grading.stock.pieces import pieces_of_pairs

STYLE = {**STANDARD, "cuff": "leather band"}
TABLES = {table.group: table for table in demo_sizes()}
GROUPS = pytest.mark.parametrize("group", list(BASES))
#: What the demo's leather and pile take of the round, and the 12 mm to spare beside it: common practice.
TAKES, SPARE = np.pi * 1.0 + 2 * np.pi * 1.8, 12.0


def hand(group: str, size: str):
    table = TABLES[group]
    return dict(zip(table.measurements, table.values[:, table.sizes.index(size)].tolist(), strict=True))


@cache
def graded(group: str):
    body, usual = hand(group, BASES[group]), mitten(STYLE).usual(small=group == "Children")
    block = draft("", (group,), body, usual, compressed_pile=1.8, leather=1.0, date="", style=STYLE)
    return balanced(grade(block, TABLES[group]))


@GROUPS
def test_it_is_as_long_as_the_edge_that_it_is_sewn_to(group):
    """It does not stretch, so that its share is 1: common practice."""
    for walked in walked_seams(graded(group)):
        if walked.seam.name.startswith("band, "):
            assert walked.side_a == pytest.approx(walked.side_b, abs=1e-6)


@GROUPS
def test_the_slit_ends_where_the_round_lets_the_hand_pass(group):
    """Entry girth, what the material takes, and 12 mm to spare; below it the round is less: common practice."""
    run = graded(group)
    needed = TABLES[group].row("entry girth") + TAKES
    assert 2 * run["Trank"].point("slit end")[:, 0] == pytest.approx(needed + SPARE, abs=0.02)
    assert (2 * run["Trank"].point("waist")[:, 0] < needed).all()
    open_ = run["Trank"].edge_lengths("slit edge")
    assert (open_ > 20).all()
    assert "slit edge" not in {
        edge for seam in run.block.seams for side in (seam.side_a, seam.side_b) for edge in side.edges
    }


@GROUPS
def test_it_closes_round_the_wrist(group):
    length = 2 * measured(graded(group))["band width"]
    assert (length >= TABLES[group].row("wrist girth") + TAKES).all()


def test_a_wrist_that_it_does_not_close_round_is_told():
    run = graded("Women")
    stout = TABLES["Women"].values.copy()
    stout[TABLES["Women"].measurements.index("wrist girth")] += 40
    findings = audit_run(grade(run.block, replace(TABLES["Women"], values=stout)))
    assert "band round the wrist" in {finding.place.measure for finding in findings}


def test_it_is_cut_from_the_skin_twice_as_high_as_it_shows_with_two_allowances():
    run = graded("Women")
    cut = {(one.piece, one.name): one.on_cut_line for one in cut_measures(run, cut_lines(run))}
    assert cut["Band", "width"] == pytest.approx(2 * measured(run)["band width"] + 2 * 2)
    assert cut["Band", "height"] == pytest.approx(2 * measured(run)["band height"] + 2 * 2)
    assert [piece.name for piece in pieces_of_pairs(run)[0]].count("Band") == 2
    band = next(piece for piece in run.block.pieces if piece.name == "Band")
    assert (band.material, band.pile, band.stretch) == ("leather, pile inside", 1, "across")
    assert run.block.cut_for(band) == ((EITHER, 2),)


def test_its_slits_lie_alike_on_both_ends_and_on_both_layers():
    run = graded("Men")
    ends = [[run["Band"].point(point)[0] for point in pair[1:]] for pair in slits(run.block, "Band")]
    assert len(ends) == 4
    corners = {tuple(np.abs(end).round(3)) for pair in ends for end in pair}
    assert len(corners) == 2
    assert {tuple(np.sign(pair[0])) for pair in ends} == {(1, 1), (-1, 1), (1, -1), (-1, -1)}


def test_a_leather_band_has_the_coordinates_worked_by_hand():
    """W1: entry girth 171. Pile and leather take 14.451 of the round, 12 to spare: 26.46, rounded up.

    At the slit's end (171 + 26.46) / 2 = 98.73 a side, 28 up; at the band 14 less, 84.73. The band is as long, 40 up
    and down; its slits 0.9 x 84.73 = 76.257 out, from 0.35 x 40 = 14 to 0.65 x 40 = 26 up.
    """
    found = construct(
        mitten(STYLE), hand("Women", "W1"), mitten(STYLE).usual() | {"turn room": 3.14, "slit room": 26.46}
    )
    by_hand = {
        ("Trank", "slit end"): (98.73, 28),
        ("Trank", "waist"): (84.73, -6),
        ("Band", "outer corner"): (84.73, 40),
        ("Band", "inner corner"): (84.73, -40),
        ("Band", "lace slit lower end"): (76.257, 14),
        ("Band", "lace slit upper end"): (76.257, 26),
        ("Band", "lace slit inside upper end"): (76.257, -26),
    }
    assert {name: found[name] for name in by_hand} == {name: pytest.approx(at) for name, at in by_hand.items()}


def test_the_ends_of_its_fold_need_no_change_over_and_its_edges_share_one_seam():
    block = graded("Women").block
    assert list(audit_block(block)) == []
    marks = tuple(replace(mark, kind="fold line") if mark.kind == "double fold" else mark for mark in block.marks)
    assert {"fold-without-change-over", "edge-in-two-seams"} <= {
        f.code for f in audit_block(replace(block, marks=marks))
    }


def test_every_step_of_making_it_shows_what_it_is_about():
    run = graded("Women")
    shown = dict(zip((step.what_to_do for step in run.block.making), step_drawings(run, 2), strict=True))
    assert all(drawing is not None for drawing in shown.values())
    assert any(words.startswith("Draw a lace") for words in shown)
    assert any("to the upper end of the slit" in words for words in shown)
