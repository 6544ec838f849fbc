"""The measurements of one hand against one another: each relation broken and kept, and no published table told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grading.audit import audit_fit
from grading.audit.relations import PLAUSIBLE, audit_relations
from grading.drafting.scenario import demo_sizes
from grading.findings import Finding, Place, Severity, folded
from grading.model.sizes import SizeTable

#: The rows of the demo that move no point of its block.
UNUSED = ("hand girth", "entry girth", "hand breadth", "hand length", "wrist girth")


def with_row(table: SizeTable, name: str, figures: np.ndarray | float) -> SizeTable:
    values = table.values.copy()
    values[table.measurements.index(name)] = figures
    return replace(table, values=values)


def told(table: SizeTable) -> set[tuple[str, str]]:
    return {(finding.code, finding.place.measure) for finding in audit_relations(table)}


def row(table: SizeTable, name: str) -> np.ndarray:
    return table.values[table.measurements.index(name)]


@pytest.mark.parametrize(("mm", "told_of"), [(9000.0, {("figure-of-no-hand", "hand length")}), (None, set())])
def test_a_figure_that_no_unit_makes_a_hands_is_of_no_hand(mm, told_of):
    table = demo_sizes()[0]
    assert told(table if mm is None else with_row(table, "hand length", mm)) == told_of


@pytest.mark.parametrize("times", [0.1, 1 / 2.54, 2.54, 10, 25.4])
@pytest.mark.parametrize("name", UNUSED)
def test_a_row_that_moves_no_point_is_told_in_another_unit(block, name, times):
    table = demo_sizes()[0]
    wrong = with_row(table, name, row(table, name) * times)
    findings = list(audit_fit(block, wrong))
    assert {finding.place.measure for finding in findings} == {name}
    assert {finding.severity for finding in findings} == {Severity.ERROR}


@pytest.mark.parametrize(
    ("name", "beside", "kept", "broken"),
    [
        ("entry girth", "hand girth", 1.0, 0.99),
        ("wrist girth", "hand girth", 1.0, 1.01),
        ("fist girth", "hand girth", 1.0, 0.99),
        ("hand breadth", "hand girth", 0.5, 0.51),
    ],
)
def test_order_between_rows(name, beside, kept, broken):
    table = demo_sizes()[0].only([name, beside])
    assert told(with_row(table, name, row(table, beside) * kept)) == set()
    findings: list[Finding] = list(audit_relations(with_row(table, name, row(table, beside) * broken)))
    assert len(findings) == 6
    assert findings[0].place.measure == name
    assert beside in findings[0].found


def test_the_row_that_most_others_contradict_is_told_and_no_other():
    table = demo_sizes()[0]
    assert {name for _, name in told(with_row(table, "hand girth", row(table, "hand girth") * 0.6))} == {"hand girth"}


@pytest.mark.parametrize("table", demo_sizes(), ids=lambda table: table.group)
def test_the_demo_has_none(table):
    assert told(table) == set()


def test_the_published_hand_sizes_have_none():
    # EN 420:2003, annex: hand girth and hand length in mm of sizes 6 to 11
    values = np.array([[152.0, 178, 203, 229, 254, 279], [160, 171, 182, 192, 204, 215]])
    blank = ("",) * 2
    table = SizeTable(
        "EN 420", ("6", "7", "8", "9", "10", "11"), ("hand girth", "hand length"), values, blank, blank, blank
    )
    assert told(table) == set()


def test_an_infants_hand_is_a_hand():
    # four fifths of the least that is usual, all in proportion
    table = demo_sizes()[2]
    assert told(replace(table, values=table.values * 0.75)) == set()


@pytest.mark.parametrize("name", PLAUSIBLE)
def test_a_figure_of_no_hand_is_told_without_any_other_row(name):
    table = demo_sizes()[0].only([name])
    assert told(table) == set()
    assert told(replace(table, values=table.values * 10)) == {("figure-in-another-unit", name)}


def test_what_one_unit_does_to_a_row_or_a_sheet_is_one_finding_in_its_own_unit(block):
    table = replace(demo_sizes()[0], places={})
    cells = {(row, size): Place("sizes.xlsx", "Women", f"{'CDEFGH'[size]}{row + 2}") for row, size in np.ndindex(14, 6)}
    in_cm = replace(table, units=("cm",) * 14, values=table.values / 10, places=cells)
    (one,) = folded(audit_fit(block, in_cm))
    assert (one.code, one.place.cell) == ("figure-in-another-unit", "C2:H15")
    assert one.found.startswith("fist girth is 1.8 cm;")
    entry = replace(table, values=np.where(np.arange(14)[:, None] == 2, table.values / 10, table.values), places=cells)
    assert [f.place.cell for f in folded(audit_fit(block, entry))] == ["C4:H4"]


@pytest.mark.parametrize("table", demo_sizes(), ids=lambda table: table.group)
def test_two_short_rows_that_were_exchanged_are_told_in_every_size(table):
    web, gap = row(table, "web to knuckle").copy(), row(table, "index-middle gap").copy()
    exchanged = with_row(with_row(table, "web to knuckle", gap), "index-middle gap", web)
    assert len(list(audit_relations(exchanged))) >= len(table.sizes)
    # a broad index finger beside a short thumb is still a hand
    assert told(with_row(table, "index-middle gap", row(table, "web to knuckle") * 1.1)) <= {
        ("figures-of-no-hand", "index-middle gap")
    }


#: Shares that a hand may have and that none has, at the lower and the upper end. Common practice, no source.
SHARES = [
    ("fist girth", "hand girth", (1.01, 0.98), (1.33, 1.37)),
    ("entry girth", "hand girth", (1.01, 0.98), (1.28, 1.32)),
    ("wrist girth", "hand girth", (0.62, 0.58), (0.98, 1.02)),
    ("hand breadth", "hand girth", (0.35, 0.33), (0.49, 0.51)),
    ("hand length", "hand girth", (0.67, 0.63), (1.28, 1.32)),
    ("palm length", "hand length", (0.43, 0.41), (0.71, 0.73)),
    ("thumb girth", "hand girth", (0.27, 0.25), (0.49, 0.51)),
    ("web to knuckle", "palm length", (0.16, 0.14), (0.54, 0.56)),
    ("web to tip", "hand length", (0.25, 0.23), (0.45, 0.47)),
    ("thumb root length", "palm length", (0.37, 0.33), (0.83, 0.87)),
    ("thumb root breadth", "hand breadth", (0.32, 0.28), (0.78, 0.82)),
    ("web depth", "palm length", (0.13, 0.11), (0.49, 0.51)),
    ("index-middle gap", "web to knuckle", (0.42, 0.38), (1.13, 1.17)),
    ("index-middle gap", "hand breadth", (0.15, 0.13), (0.44, 0.46)),
]


@pytest.mark.parametrize(("name", "beside", "low", "high"), SHARES)
def test_each_share_of_a_hand_is_told_beyond_either_end_and_not_before(name, beside, low, high):
    table = demo_sizes()[0].only([name, beside])
    for kept, broken in (low, high):
        for share, wrong in ((kept, False), (broken, True)):
            codes = {code for code, _ in told(with_row(table, name, share * row(table, beside)))}
            assert ("figures-of-no-hand" in codes) == wrong, share
