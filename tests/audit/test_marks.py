"""Notches and ticks that are to meet: one block that breaks the rule, and one that is near but right."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit import audit_run
from grading.audit.marks import MARK_BLOCK_RULES
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.block import Block, Mark, Point


@pytest.fixture
def codes(block, tables):
    """The findings of the rule on the women's run of the demo block with marks added."""

    def audited(*marks):
        run = balanced(grade(replace(block, marks=(*block.marks, *marks)), tables["Women"]))
        return [finding for finding in audit_run(run) if finding.code == "marks-do-not-pair"]

    return audited


def test_a_notch_without_another_on_the_other_side_is_found(codes):
    (finding,) = codes(Mark("Trank", "knuckle notch", "notch", "knuckle"))
    assert finding.place.seam == "side seam"
    assert "side A: 1, of side B: 0" in finding.found


def test_notches_that_are_images_of_one_another_pair(codes):
    assert codes(Mark("Trank", "knuckle notch", "notch", "knuckle, knuckle'")) == []


def test_notches_at_unlike_places_are_found_in_every_size(codes):
    found = codes(Mark("Trank", "one", "notch", "knuckle"), Mark("Trank", "other", "tick", "palm'"))
    assert [finding.place.size for finding in found] == ["W1", "W2", "W3", "W4", "W5", "W6"]


def test_marks_apart_by_no_more_than_the_seams_ease_pair(codes):
    # The foot is longer than the hole; its shoulder lies by less than the ease before the hole's.
    marks = (Mark("Thumb", "foot", "notch", "foot shoulder"), Mark("Trank", "hole", "notch", "palm shoulder"))
    assert codes(*marks) == []


@pytest.mark.parametrize(("higher", "found"), [(0.9, 0), (1.5, 6), (2.9, 6)])
def test_marks_on_a_seam_without_ease_are_apart_by_no_more_than_one_cuts_a_notch(block, tables, higher, found):
    # The side is all but straight there: a point so much higher lies by about as much further along.
    at = next(point for point in block.points if (point.piece, point.name) == ("Trank", "knuckle"))
    rows = [mark for mark in block.marks if mark.kind not in ("notch", "tick")]
    marks = (*rows, Mark("Trank", "one", "notch", "knuckle"), Mark("Trank", "other", "notch", "above'"))
    above = replace(at, name="above", y=at.y + higher)
    points = tuple(p for q in block.points for p in ((above, q) if q == at else (q,)))
    edges = tuple(
        replace(e, points=tuple(n for m in e.points for n in (("above", m) if m == "knuckle" else (m,))))
        if e.piece == "Trank" and "knuckle" in e.points
        else e
        for e in block.edges
    )
    run = balanced(grade(replace(block, marks=marks, points=points, edges=edges), tables["Women"]))
    assert [f.code for f in audit_run(run)].count("marks-do-not-pair") == found


def test_labels_and_marks_at_the_ends_of_a_seam_need_no_other(codes):
    assert codes(Mark("Trank", "end", "tick", "finger fold"), Mark("Trank", "word", "label", "knuckle")) == []


def written(block: Block) -> list[str]:
    return [finding.code for rule in MARK_BLOCK_RULES for finding in rule(block)]


def moved_to(block: Block, where: str, other: str) -> Block:
    """Every mark at some points at others instead."""
    marks = (replace(mark, where=other) if mark.where == where else mark for mark in block.marks)
    return replace(block, marks=tuple(marks))


def test_the_demos_marks_are_written_as_they_should_be(block):
    assert written(block) == []


def test_a_fold_lies_between_corners(block):
    fold = "turn fold', turn fold"
    assert written(moved_to(block, fold, "knuckle', knuckle")) == ["fold-off-its-corner"]
    assert written(moved_to(block, fold, "turn edge', turn edge")) == []


@pytest.fixture
def with_slit(block, tables):
    """What the audit says of a slit between two places on the trank that move with the wrist, by code."""

    def audited(start, end):
        side = next(move.name for move in block.moves if move.name == "side")
        ends = [Point("Trank", name, x, y, False, (side,)) for name, (x, y) in (("slit a", start), ("slit b", end))]
        slit = Mark("Trank", "opening", "slit", "slit a, slit b")
        slitted = replace(block, points=(*block.points, *ends), marks=(*block.marks, slit))
        run = balanced(grade(slitted, tables["Women"]))
        return {finding.code for finding in audit_run(run) if finding.code.startswith("slit-")}

    return audited


def test_a_slit_lies_in_the_leather_away_from_edges_or_runs_into_one(with_slit, block):
    side = next(point for point in block.points if (point.piece, point.name) == ("Trank", "wrist"))
    assert with_slit((70, 0), (70, 20)) == set()
    assert with_slit((side.x, side.y), (side.x - 20, side.y)) == set()
    assert with_slit((side.x - 2, side.y), (side.x - 20, side.y)) == {"slit-near-an-edge"}
    assert with_slit((side.x + 2, side.y), (side.x - 20, side.y)) == {"slit-outside"}
    assert with_slit((70, 0), (70, 2)) == {"slit-too-short"}


def test_no_slit_goes_through_a_hole(with_slit, block):
    t, h = (next(p for p in block.points if (p.piece, p.name) == ("Trank", name)) for name in "TH")
    assert with_slit((t.x, t.y + 20), (h.x, h.y + 10)) == {"slit-outside"}


@pytest.mark.parametrize("kind", ["fold line", "change-over"])
def test_a_fold_and_its_change_over_go_together(block, kind):
    (first, *_) = (mark for mark in block.marks if mark.kind == kind)
    assert written(replace(block, marks=tuple(mark for mark in block.marks if mark != first))) == [
        "fold-without-change-over"
    ]
    unmarked = replace(block, marks=tuple(mark for mark in block.marks if mark.kind != "change-over"))
    assert written(unmarked) == []


def test_a_letter_stands_at_its_own_point_on_both_sides(block):
    labels = [mark for mark in block.marks if mark.kind == "label"]
    for label in labels:
        without = tuple(mark for mark in block.marks if mark != label)
        assert written(replace(block, marks=without)) == ["letter-without-its-other"]
    astray = tuple(replace(m, where="H") if m == labels[0] else m for m in block.marks)
    assert "label-at-another-point" in written(replace(block, marks=astray))
    unlettered = replace(block, marks=tuple(mark for mark in block.marks if mark not in labels))
    assert written(unlettered) == []
