"""A maker's own block holds what follows from the hand and the style, and nothing of the demo's workshop."""

from __future__ import annotations

from dataclasses import astuple, fields

import pytest

from grading.drafting.base import allowances_from_words, draft_base
from grading.drafting.scenario import BASES, demo_block
from grading.drafting.stock_scenario import demo_stock
from grading.drafting.trace import standard_points, trace
from grading.model.block import Kind
from grading.model.measured import Hands

DEMO = demo_block()
BODY = {value.name: value.drafted for value in DEMO.values if value.kind is Kind.BODY}
HANDS = Hands(BODY, BODY)


def drafted():
    allowances, _ = allowances_from_words([], "mm")
    return draft_base(HANDS, allowances, name="Own")[0].block


def traced():
    return trace(standard_points(DEMO), HANDS, name="Own")[0].block


def texts(block) -> set[str]:
    """Every text that stands in a block."""
    found: set[str] = set()

    def gather(value) -> None:
        if isinstance(value, str):
            found.add(value)
        elif isinstance(value, tuple | list):
            for part in value:
                gather(part)

    for field in fields(block):
        gather([astuple(row) if hasattr(row, "place") else row for row in _rows(getattr(block, field.name))])
    return found


def _rows(value) -> tuple:
    return value if isinstance(value, tuple) else (value,)


@pytest.mark.parametrize("made", [drafted, traced])
def test_it_names_no_needle_thread_pay_date_or_terms_of_the_demo(made):
    block = made()
    assert {row.needle for row in (*block.making, *block.seam_types)} == {""}
    assert {step.thread for step in block.making} == {""}
    assert block.date == ""
    own = texts(demo_block()) - texts(block)
    assert {"glover's needle, size 7", "waxed linen, 0.4 mm", "lamb leather, pile inside"} <= own
    said = " ".join(texts(block)).casefold()
    assert not [word for word in ("2026", "€", "no charge", "swatch", "paid", "lamb") if word in said]


@pytest.mark.parametrize("made", [drafted, traced])
def test_what_the_style_asks_for_is_told_and_the_rest_is_left_to_fill_in(made):
    told = {one.topic: one.text for one in made().work}
    assert {topic for topic, text in told.items() if not text} == {
        "Stitches in 3 cm",
        "Reference",
        "Spoiled piece",
        "Send back",
    }
    assert told["Letters"].startswith("T on the thumb comes to T on the hole")


@pytest.mark.parametrize("group", BASES)
def test_the_demos_block_leaves_pay_and_dates_to_the_stock_table(group):
    """So that they cannot disagree: there a pair is paid by minutes and rate, and due by the week."""
    topics = {one.topic for one in demo_block(group).work}
    assert all(one.text for one in demo_block(group).work)
    assert not topics & {"Rate", "Due"}
    terms = demo_stock().terms
    assert demo_block(group).date <= terms.hand_out_on.isoformat() < terms.needed_by.isoformat()


@pytest.mark.parametrize(("mm", "codes"), [("0", ["nothing-to-flare"]), ("0.9", ["nothing-to-flare"]), ("1", [])])
def test_a_thumb_that_hardly_flares_is_told_and_not_drafted(mm, codes):
    allowances, _ = allowances_from_words([("thumb flare", mm)], "mm")
    made, findings = draft_base(HANDS, allowances, name="Own")
    assert [finding.code for finding in findings if finding.code == "nothing-to-flare"] == codes
    assert (made is None) == bool(codes)


@pytest.mark.parametrize("turned", ["thumb turn", "finger fold-back", "cuff fold-back"])
@pytest.mark.parametrize(("mm", "codes"), [("0", ["nothing-to-turn"]), ("0.5", ["nothing-to-turn"]), ("4", [])])
def test_a_turned_part_of_nothing_is_told_and_not_drafted(turned, mm, codes):
    allowances, _ = allowances_from_words([(turned, mm)], "mm")
    made, findings = draft_base(HANDS, allowances, name="Own")
    assert [finding.code for finding in findings if finding.code == "nothing-to-turn"] == codes
    assert (made is None) == bool(codes)
    assert all(finding.place.measure == turned for finding in findings if finding.code in codes)
