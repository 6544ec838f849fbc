"""Notches and ticks that are to meet: one block that breaks the rule, and one that is near but right."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit import audit_run
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.block import Mark


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
    assert "Side A has 1" in finding.found


def test_notches_that_are_images_of_one_another_pair(codes):
    assert codes(Mark("Trank", "knuckle notch", "notch", "knuckle, knuckle'")) == []


def test_notches_at_unlike_places_are_found_in_every_size(codes):
    found = codes(Mark("Trank", "one", "notch", "knuckle"), Mark("Trank", "other", "tick", "palm'"))
    assert [finding.place.size for finding in found] == ["W1", "W2", "W3", "W4", "W5", "W6"]


def test_marks_apart_by_no_more_than_the_seams_ease_pair(codes):
    # The foot is longer than the hole; its belly lies by less than the ease further along than the hole's side.
    assert codes(Mark("Thumb", "belly", "notch", "foot belly"), Mark("Trank", "side", "notch", "palm side")) == []


def test_labels_and_marks_at_the_ends_of_a_seam_need_no_other(codes):
    assert codes(Mark("Trank", "end", "tick", "finger fold"), Mark("Trank", "word", "label", "knuckle")) == []
