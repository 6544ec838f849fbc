"""Points of measure: what follows nothing stays, what is measured has a length, and tolerances are of use."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grading.audit.measures import MEASURE_BLOCK_RULES, MEASURE_RULES
from grading.audit.subject import Subject
from grading.engine.run import grade
from grading.model.block import Block, Share
from grading.model.sizes import SizeTable
from grading.readings.measures import measured


def found(block: Block, table: SizeTable) -> list[str]:
    subject = Subject(grade(block, table))
    of_block = [finding.code for rule in MEASURE_BLOCK_RULES for finding in rule(block)]
    return of_block + [finding.code for rule in MEASURE_RULES for finding in rule(subject)]


def with_measure(block: Block, name: str, **changes: object) -> Block:
    measures = (replace(one, **changes) if one.name == name else one for one in block.measures)
    return replace(block, measures=tuple(measures))


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_the_demo_has_none(block, tables, group):
    assert found(block, tables[group]) == []


def test_a_fold_back_that_grows_with_the_hand_is_told(block, tables):
    grows = tuple(
        replace(move, shares=(*move.shares, Share("hand ease", 0.0, 0.0), Share("web depth", 0.0, 0.5)))
        if move.name == "finger edge"
        else move
        for move in block.moves
    )
    assert "grows-and-follows-nothing" in found(replace(block, moves=grows), tables["Women"])


def test_a_measure_that_says_what_it_grows_with_is_held_to_that(block, tables):
    assert found(with_measure(block, "thumb length", follows=""), tables["Women"]) == ["grows-and-follows-nothing"]
    assert found(with_measure(block, "side seam length", follows=""), tables["Women"]) == []


def test_a_measure_between_two_points_in_one_place_is_none(block, tables):
    one = tables["Women"].sizes[0]
    short = with_measure(block, "finished length", end="finger fold")
    assert found(short, tables["Women"]).count("measure-of-nothing") == 6
    assert one in tables["Women"].sizes


def test_a_fold_back_of_nothing_is_a_makers_choice(block, tables):
    values = (replace(v, now=0.0) if v.name == "finger fold-back" else v for v in block.values)
    assert "measure-of-nothing" not in found(replace(block, values=tuple(values)), tables["Women"])


@pytest.mark.parametrize(
    ("times", "quiet"),
    [(0.25, True), (0.5, True), (1.0, True), (2.0, True), (4.0, True), (0.9, False), (3.0, False), (0.0, False)],
)
def test_a_length_counts_once_or_by_halves(block, tables, times, quiet):
    assert (
        "times-unusual" not in found(with_measure(block, "thumb hole round", times=times), tables["Women"])
    ) is quiet


@pytest.mark.parametrize(
    ("minus", "plus", "code"),
    [
        (0.0, 0.0, "tolerance-too-fine"),
        (0.2, 0.2, "tolerance-too-fine"),
        (0.4, 0.35, "tolerance-too-fine"),
        (0.4, 0.4, ""),
        (0.0, 2.0, ""),
        (0.5, 0.5, ""),
        (4.0, 4.0, "tolerance-too-coarse"),
        (3.0, 3.0, ""),
    ],
)
def test_tolerances_can_be_kept_and_tell_something(block, tables, minus, plus, code):
    changed = with_measure(block, "finger fold-back depth", tolerance_minus=minus, tolerance_plus=plus)
    assert found(changed, tables["Women"]) == ([code] if code else [])


@pytest.mark.parametrize(("part", "codes"), [(0.24, []), (0.26, ["tolerance-too-coarse"])])
def test_tolerances_of_a_long_measure_tell_something_up_to_a_quarter_of_it(block, tables, part, codes):
    either_way = part / 2 * measured(grade(block, tables["Women"]))["palm width"].min()
    changed = with_measure(block, "palm width", tolerance_minus=either_way, tolerance_plus=either_way)
    assert found(changed, tables["Women"]) == codes


@pytest.mark.parametrize(("either_way", "codes"), [(3.0, []), (3.1, ["tolerance-too-coarse"])])
def test_three_millimetres_either_way_are_of_use_on_a_short_measure_too(block, tables, either_way, codes):
    values = tuple(replace(one, now=20.0) if one.name == "finger fold-back" else one for one in block.values)
    short = with_measure(
        replace(block, values=values), "finger fold-back depth", tolerance_minus=either_way, tolerance_plus=either_way
    )
    assert found(short, tables["Women"]) == codes


@pytest.mark.parametrize(("by", "told"), [(0.04, False), (0.06, True)])
def test_what_follows_nothing_may_differ_by_what_rounding_leaves(block, tables, by, told):
    share = by / np.ptp(tables["Women"].row("web depth"))
    moves = tuple(
        replace(one, shares=(*one.shares, Share("web depth", 0.0, share))) if one.name == "finger edge" else one
        for one in block.moves
    )
    assert ("grows-and-follows-nothing" in found(replace(block, moves=moves), tables["Women"])) == told


@pytest.mark.parametrize(("start", "codes"), [("knuckle", ["measures-of-one-thing"]), ("palm", [])])
def test_two_names_for_one_length_are_told(block, tables, start, codes):
    assert found(with_measure(block, "waist width", start=start), tables["Women"]) == codes


def test_a_measure_smaller_than_its_tolerances_is_told(block, tables):
    across = with_measure(block, "cuff fold-back depth", how="sideways")
    assert "tolerance-too-coarse" in found(across, tables["Women"])
