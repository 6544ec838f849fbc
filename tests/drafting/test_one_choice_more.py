"""What it takes to offer one choice more: a function and its line among the choices of its part, and nothing else."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pytest

from grading.audit import audit_block, audit_run
from grading.drafting.draft import draft
from grading.drafting.parts import cuff
from grading.drafting.parts.part import Choice, Part, Style
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, choices_in_words, mitten, style_from_words
from grading.drafting.working import working
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.measured import Chosen, Hands
from grading.readings.measures import measured
from grading.sheets.writing import hand_workbook


def bell(style: Style) -> Part:
    """A plain cuff that is worn over a sleeve: as plain, but 14 mm wider a side at its edge."""
    plain = cuff.CHOICES["plain"].brings(style)
    wider = tuple(
        replace(one, adults=14.0, children=10.0) if one.name == "cuff flare" else one for one in plain.allowances
    )
    return replace(plain, allowances=wider)


@pytest.fixture
def with_bell(monkeypatch):
    monkeypatch.setitem(cuff.CHOICES, "bell", Choice("plain, to wear over a sleeve", bell))


def test_it_is_offered_in_words_and_on_the_sheet(with_bell):
    style, findings = style_from_words([Chosen("cuff", "Bell")])
    assert (style["cuff"], findings) == ("bell", [])
    book = openpyxl.load_workbook(io.BytesIO(hand_workbook(Hands(), {}, choices_in_words())))
    assert ("cuff", "bell", "plain, to wear over a sleeve") in {row[:3] for row in book["Choices"].values}


def test_it_is_drafted_worked_out_graded_measured_and_held_to_account(with_bell):
    style = {**STANDARD, "cuff": "bell"}
    table = demo_sizes()[0]
    column = table.sizes.index(BASES["Women"])
    body = dict(zip(table.measurements, table.values[:, column].tolist(), strict=True))
    block = draft("", (), body, mitten(style).usual(), compressed_pile=1.8, leather=1.0, date="", style=style)
    run = balanced(grade(block, table))
    assert [*audit_block(block), *audit_run(run)] == []
    assert measured(run)["cuff opening"] == pytest.approx((table.row("fist girth") + 24) / 2 + 14)
    assert {line.what: line.mm for line in working(block, body)}["cuff edge, across"] == pytest.approx(114 + 14)
    assert "cuff: bell" in block.style
