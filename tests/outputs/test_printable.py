"""Which texts have to be of letters that the printed sheets' typeface has: those that are printed, and no others."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.drafting.stock_scenario import demo_stock
from grading.outputs.printable import unprintable_block, unprintable_stock

#: No European alphabet has it.
STRANGE = "手"


def told(findings) -> list[str]:
    return [finding.found for finding in findings]


@pytest.mark.parametrize(
    ("part", "field"),
    [
        *(("pieces", field) for field in ("name", "material", "note")),
        *(("seam_types", field) for field in ("name", "stitch", "needle", "note")),
        ("seams", "name"),
        *(("marks", field) for field in ("name", "note")),
        *(("measures", field) for field in ("name", "how_to_measure")),
        *(("making", field) for field in ("what_to_do", "stitch", "needle", "thread", "note")),
        *(("work", field) for field in ("topic", "text")),
    ],
)
def test_what_a_block_has_printed_is_told_where_it_cannot_be(block, part, field):
    assert told(unprintable_block(block)) == []
    first, *others = getattr(block, part)
    strange = replace(block, **{part: (replace(first, **{field: STRANGE}), *others)})
    assert told(unprintable_block(strange)) == [f"'{STRANGE}' has characters that cannot be printed: {STRANGE}"]


@pytest.mark.parametrize(
    ("part", "field"),
    [("values", "note"), ("points", "note"), ("moves", "name"), ("limits", "name"), ("limits", "why")],
)
def test_what_is_only_for_the_maker_may_be_in_any_writing(block, part, field):
    first, *others = getattr(block, part)
    strange = replace(block, notes=STRANGE, **{part: (replace(first, **{field: STRANGE}), *others)})
    assert told(unprintable_block(strange)) == []


@pytest.mark.parametrize("field", ["currency", "maker", "care"])
def test_what_labels_and_price_lists_print_is_told_where_it_cannot_be(field):
    table = demo_stock()
    assert told(unprintable_stock(table)) == []
    (only,) = told(unprintable_stock(replace(table, terms=replace(table.terms, **{field: STRANGE}))))
    assert STRANGE in only


@pytest.mark.parametrize("part", ["skins", "outworkers"])
def test_a_name_on_lay_plans_and_slips_is_told_where_it_cannot_be_printed(part):
    table = demo_stock()
    first, *others = getattr(table, part)
    (only,) = unprintable_stock(replace(table, **{part: (replace(first, name=STRANGE), *others)}))
    assert STRANGE in only.found
    assert only.place == first.place
