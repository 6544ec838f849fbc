"""A block's drawing against the figures that it says it was drafted with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from grading.audit.bases import BASE_RULES
from grading.drafting.scenario import demo_block
from grading.drafting.style import STANDARD, mitten
from grading.findings import Finding, Severity
from grading.model.block import Block, Kind, Move, Point, Value

BODY = mitten(STANDARD).body


def found(block: Block) -> list[Finding]:
    return [finding for rule in BASE_RULES for finding in rule(block)]


def drafted_with(block: Block, name: str, figure: float, now: float | None = None) -> Block:
    def changed(value: Value) -> Value:
        return replace(value, drafted=figure, now=value.now if now is None else now)

    return replace(block, values=tuple(changed(value) if value.name == name else value for value in block.values))


def moved(block: Block, piece: str, names: Sequence[str], dx: float, dy: float) -> Block:
    points = (replace(p, x=p.x + dx, y=p.y + dy) if p.piece == piece and p.name in names else p for p in block.points)
    return replace(block, points=tuple(points))


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_a_drafted_block_is_drawn_as_it_states(group):
    assert found(demo_block(group)) == []


@pytest.mark.parametrize("times", [0.8, 1.1, 2, 10])
@pytest.mark.parametrize("name", BODY)
def test_a_hands_figure_changed_alone_is_told_with_the_one_that_was_drawn(block, name, times):
    was = block.value(name).drafted
    finding, *others = found(drafted_with(block, name, was * times))
    assert finding.code == "drafted-with-another-figure"
    assert name in finding.found
    assert {other.severity for other in others} <= {Severity.NOTE}


def test_a_palm_of_99_that_is_called_79_is_an_error_and_names_both(block):
    (finding,) = found(drafted_with(block, "palm length", 79.0))
    assert finding.severity is Severity.ERROR
    assert finding.found == "palm length: drafted with 79 mm by the sheet, with 99.00 mm by the points."


def test_a_girth_that_an_ease_could_make_up_for_is_named_with_it(block):
    (finding,) = found(drafted_with(block, "fist girth", 163.0))
    assert (finding.severity, finding.found) == (
        Severity.ERROR,
        "fist girth and hand ease: drafted with 163 + 24 mm by the sheet, together with 228.00 mm by the points.",
    )


@pytest.mark.parametrize("name", ["hand ease", "thumb ease", "finger fold-back", "cuff fold-back", "thumb turn"])
def test_an_allowance_belongs_under_use_now_and_not_under_drafted_with(block, name):
    was = block.value(name).drafted
    assert found(drafted_with(block, name, was, now=was * 1.25)) == []
    finding = found(drafted_with(block, name, was * 1.25))[0]
    assert finding.code == "drafted-with-another-figure"
    assert "Use now" in finding.action


def test_a_point_tuned_by_hand_is_noted_and_one_far_off_is_warned_of(block):
    (tuned,) = found(moved(block, "Trank", ["palm"], 3.0, 0.0))
    assert (tuned.code, tuned.severity) == ("point-not-where-values-lead", Severity.NOTE)
    assert tuned.found == "palm of Trank is drawn at x 116.60 mm."
    assert "lead to 113.60 mm" in tuned.expected
    (far,) = found(moved(block, "Trank", ["palm"], 0.0, -12.0))
    assert far.severity is Severity.WARNING


def test_a_drawing_whose_heights_count_from_elsewhere_is_no_other_hand(block):
    names = [point.name for point in block.points if point.piece == "Trank"]
    assert found(moved(block, "Trank", names, 0.0, 100.0)) == []


def test_an_ease_that_is_drawn_and_not_named_is_at_most_a_note(block):
    """A maker who keeps no ease on Base values has drawn it: every point of the side is further out by it."""
    ease = ("hand ease", "thumb ease")
    bare = replace(
        block,
        values=tuple(value for value in block.values if value.name not in ease),
        moves=tuple(replace(m, shares=tuple(s for s in m.shares if s.value not in ease)) for m in block.moves),
    )
    assert {finding.severity for finding in found(bare)} <= {Severity.NOTE}


def traced(block: Block) -> Block:
    """As if read off by eye: every other point a few millimetres from where it was constructed."""
    points = list(block.points)
    for number, point in enumerate(points):
        if point.name not in ("knuckle", "finger fold", "cuff fold") and point.x:
            points[number] = replace(point, x=point.x + 1.7 * (-1) ** number, y=point.y + 2.1 * (-1) ** (number // 2))
    return replace(block, points=tuple(points))


@pytest.mark.parametrize(
    ("name", "figure"), [("palm length", 79.0), pytest.param("fist girth", 163.0, marks=pytest.mark.long)]
)
def test_a_traced_block_must_have_the_ease_that_it_states(block, name, figure):
    by_eye = traced(block)
    assert found(by_eye) == []
    told = found(drafted_with(by_eye, name, figure))
    assert {finding.code for finding in told} == {"ease-not-as-stated"}
    assert all(name in finding.found for finding in told)


def test_a_traced_block_may_be_read_off_a_little_short(block):
    assert found(drafted_with(traced(block), "palm length", 95.0)) == []


def test_every_body_value_of_the_demo_is_tried_above(block):
    assert {value.name for value in block.values if value.kind is Kind.BODY} == set(BODY)


@pytest.mark.parametrize("step", [25.4 / 16, 1.0, 25.4 / 32, 0.5, 0.1])
def test_points_are_held_to_their_values_as_exactly_as_they_are_written(block, step):
    def written(point: Point) -> Point:
        return replace(point, x=round(point.x / step) * step, y=round(point.y / step) * step)

    coarse = replace(block, points=tuple(map(written, block.points)))
    assert found(coarse) == []
    (finding,) = found(moved(coarse, "Trank", ["palm"], 2 * step, 0.0))
    assert finding.code == "point-not-where-values-lead"
    assert "palm of Trank" in finding.found


def test_shares_that_were_rounded_to_three_decimals_are_no_fault(block):
    def rounded(move: Move) -> Move:
        return replace(
            move, shares=tuple(replace(share, x=round(share.x, 3), y=round(share.y, 3)) for share in move.shares)
        )

    assert found(replace(block, moves=tuple(map(rounded, block.moves)))) == []
