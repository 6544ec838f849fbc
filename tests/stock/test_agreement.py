"""Pay and days stand in the stock table only: what a block says of them is not printed, and told where it disagrees."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit import audit_block
from grading.drafting.stock_scenario import demo_stock
from grading.engine.run import grade
from grading.model.making import Instruction
from grading.outputs.size_sheet import size_sheets
from grading.stock.agreement import disagreeing


def said_by(block, *rules):
    return replace(block, work=(*block.work, *(Instruction(topic, text) for topic, text in rules)))


# The demo pays 16 an hour for 130 minutes a pair (34.67), hands out on 2 November 2026 and needs all by the 23rd.
@pytest.mark.parametrize(
    ("topic", "text", "code"),
    [
        ("Rate", "16 € an hour", None),
        ("Piece rate", "34,67 € a pair", None),
        ("Pay", "14 € an hour", "pay-told-otherwise"),
        ("Rate and due date", "16 €, back by 30.11.2026", "day-told-otherwise"),
        ("Due", "Back by 23.11.2026", None),
        ("Due", "the first on 9 November 2026", None),
        ("Due date", "2026-12-01", "day-told-otherwise"),
        ("Due", "as agreed", None),
        ("Send back", "All pairs, with the 20 spare pieces.", None),
        ("Hairs", "Comb 15 times.", None),
    ],
)
def test_a_block_that_tells_of_pay_or_days_otherwise_than_the_batch_is_told(block, tables, topic, text, code):
    run = grade(said_by(block, (topic, text)), tables["Women"])
    assert [one.code for one in disagreeing(demo_stock(), [run])] == ([code] if code else [])


def test_cards_carry_neither_rates_nor_days_and_the_audit_says_where_they_belong(block, tables):
    telling = said_by(block, ("Piece rate", "34.67 €"), ("Due", "23.11.2026"))
    notes = [one for one in audit_block(telling) if one.code == "settled-by-the-batch"]
    assert len(notes) == 2
    content = size_sheets(grade(telling, tables["Women"]), run_id="1f3a", unit="mm")[0]
    assert [row.name for row in content.work.rows] == [one.topic for one in block.work]
