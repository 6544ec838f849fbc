"""The stock workbook read: a round trip, what a maker may leave open, and what is refused."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from grading.drafting.second_scenario import with_second
from grading.drafting.stock_scenario import NOTES, demo_stock
from grading.findings import Severity
from grading.sheets.opening import open_tables
from grading.sheets.stock import read_stock
from grading.sheets.writing import stock_table_workbook

TABLES = Path(__file__).parents[2] / "tables"


def read(path):
    opened, findings = open_tables(path)
    table, found = read_stock(opened)
    return table, [*findings, *found]


def codes(findings, severity=Severity.ERROR):
    return [finding.code for finding in findings if finding.severity is severity]


def test_the_demo_table_comes_back_as_it_was_written(tmp_path):
    path = tmp_path / "stock.xlsx"
    path.write_bytes(stock_table_workbook(demo_stock(), notes=NOTES))
    assert read(path) == (demo_stock(), [])


def test_the_repositorys_table_is_the_demos():
    assert (TABLES / "stock.xlsx").read_bytes() == stock_table_workbook(with_second(demo_stock()), notes=NOTES)


def test_every_figure_may_be_left_open_and_each_default_is_told(workbook):
    path = workbook("stock.xlsx", Note=[["Nothing yet"]])
    table, findings = read(path)
    assert table is not None
    assert {finding.code for finding in findings} == {"default-used", "unknown-sheet"}
    said = " ".join(finding.found for finding in findings)
    for words in ("'Pairs' is left open (no row of it): 20", "'Width' is left open (no row of it): 700 mm", "'Minutes"):
        assert words in said
    assert (table.terms.pairs, table.skins[0].width, table.outworkers[0].pairs_a_week) == (20, 700.0, 20)


def test_a_blank_cell_is_told_with_its_row_and_its_default(workbook):
    path = workbook("stock.xlsx", Outworkers=[["Outworker", "Pairs a week"], ["Ann", 5], ["Bo", None]])
    _, findings = read(path)
    (told,) = [finding for finding in findings if finding.place.sheet == "Outworkers"]
    assert told.found == "'Pairs a week' is left open (blank in row 3): 20 was used."
    assert told.place.cell == "B3"


def test_makers_figures_are_taken_in_their_units_and_spellings(workbook):
    path = workbook(
        "stock.xlsx",
        Stock=[["Field", "Value"], ["needed by", dt.datetime(2026, 12, 1)], ["Gap between pieces", "1/4 in"]],
        Customers=[["Group", "Share", "Hand girth", "Unit"], ["Women", "60 %", "18,8", "cm"]],
        Skins=[["Skin", "Usable area", "Area unit", "Lost to flaws"], ["Lamb", 7, "SQ FT", "8 %"]],
    )
    table, findings = read(path)
    assert not codes(findings)
    assert (table.terms.needed_by, table.terms.gap) == (dt.date(2026, 12, 1), pytest.approx(6.35))
    assert (table.customers[0].share, table.customers[0].girth) == (0.6, 188.0)
    # 1 ft² = 929.0304 cm² (NIST SP 811)
    assert (table.skins[0].area, table.skins[0].lost) == (pytest.approx(7 * 92_903.04), 0.08)


def test_a_usable_area_without_a_unit_is_in_the_trades_square_feet(workbook):
    table, _ = read(workbook("stock.xlsx", Skins=[["Skin", "Usable area"], ["Lamb", 7]]))
    assert table.skins[0].area == pytest.approx(7 * 304.8**2)


@pytest.mark.parametrize(
    ("sheets", "code", "cell"),
    [
        ({"Stock": [["Field", "Value"], ["Pile within", 12]]}, "pile-turn", "B2"),
        ({"Stock": [["Field", "Value"], ["Gap between pieces", 31]]}, "figure-out-of-range", "B2"),
        ({"Stock": [["Field", "Value"], ["Gap between pieces", "4 in"]]}, "figure-out-of-range", "B2"),
        ({"Stock": [["Field", "Value"], ["Girth tolerance", 41]]}, "figure-out-of-range", "B2"),
        ({"Stock": [["Field", "Value"], ["Length tolerance", 150]]}, "figure-out-of-range", "B2"),
        ({"Stock": [["Field", "Value"], ["Needed by", "soon"]]}, "not-a-date", "B2"),
        ({"Stock": [["Field", "Value"], ["Largest bundle", 0]]}, "empty-bundle", "B2"),
        ({"Customers": [["Group", "Correlation"], ["Women", 1.2]]}, "figure-out-of-range", "B2"),
        ({"Customers": [["Group", "Share"], ["Women", 0]]}, "no-share", "B2"),
        ({"Customers": [["Group", "Girth spread"], ["Women", 0]]}, "not-above-zero", "B2"),
        ({"Skins": [["Skin", "Lost to flaws"], ["Lamb", 8]]}, "figure-out-of-range", "B2"),
        ({"Skins": [["Skin", "Price per"], ["Lamb", "acre"]]}, "not-a-choice", "B2"),
        ({"Outworkers": [["Outworker", "Pairs a week"], ["Ann", 0]]}, "figure-out-of-range", "B2"),
        ({"Making": [["Group", "Minutes a pair"], ["", "two hours"]]}, "not-a-number", "B2"),
        ({"Selling": [["Group", "Price"], ["Women", 1], ["women", 2]]}, "duplicate-name", "A3"),
        ({"Selling": [["Group", "Price"], ["", 1], ["", 2]]}, "duplicate-name", "A3"),
        ({"Outlines": [["Skin", "Part", "x", "y"], ["Ghost", "outline", 0, 0]]}, "unknown-skin", "A2"),
    ],
)
def test_what_cannot_be_is_refused_at_its_cell(workbook, sheets, code, cell):
    table, findings = read(workbook("stock.xlsx", **sheets))
    assert table is None
    wrong = [finding for finding in findings if finding.severity is Severity.ERROR]
    assert [(finding.code, finding.place.cell) for finding in wrong] == [(code, cell)]


@pytest.mark.parametrize("points", [[(0, 0), (9, 0)], [(0, 0), (9, 9), (9, 0), (0, 9)]])
def test_an_outline_that_bounds_no_area_is_refused(workbook, points):
    rows = [["Lamb", "outline", x, y] for x, y in points]
    path = workbook("stock.xlsx", Skins=[["Skin"], ["Lamb"]], Outlines=[["Skin", "Part", "x", "y"], *rows])
    table, findings = read(path)
    assert table is None
    assert codes(findings) == ["skin-outline"]


def test_what_a_flaw_is_good_for_may_stand_in_one_of_its_rows_and_blank_is_nothing(workbook):
    corners = {
        "outline": [(0, 0), (700, 0), (700, 900), (0, 900)],
        "hole": [(10, 10), (20, 10), (20, 20)],
        "belly": [(30, 30), (300, 30), (300, 300)],
        "scratch": [(400, 400), (450, 400), (450, 450)],
    }
    good_for = {"belly": "Mock-up", "scratch": "turned parts"}
    rows = [
        ["Lamb", part, x, y, good_for.get(part) if number == 1 else None]
        for part, points in corners.items()
        for number, (x, y) in enumerate(points)
    ]
    path = workbook("stock.xlsx", Skins=[["Skin"], ["Lamb"]], Outlines=[["Skin", "Part", "x", "y", "Good for"], *rows])
    table, findings = read(path)
    assert table is not None, codes(findings)
    (skin,) = table.skins
    assert [len(flaws) for flaws in (skin.flaws, skin.poor, skin.scratched)] == [1, 1, 1]
    assert skin.poor[0] == tuple(corners["belly"])
    assert skin.scratched[0] == tuple(corners["scratch"])


def test_a_word_for_what_a_flaw_is_good_for_that_there_is_not_is_refused(workbook):
    rows = [["Lamb", "outline", x, y, "soup"] for x, y in ((0, 0), (700, 0), (700, 900))]
    path = workbook("stock.xlsx", Skins=[["Skin"], ["Lamb"]], Outlines=[["Skin", "Part", "x", "y", "Good for"], *rows])
    assert set(codes(read(path)[1])) == {"not-a-choice"}


def test_flaws_without_their_skins_outline_are_refused(workbook):
    rows = [["Lamb", "hole", 0, 0], ["Lamb", "hole", 9, 0], ["Lamb", "hole", 9, 9]]
    path = workbook("stock.xlsx", Skins=[["Skin"], ["Lamb"]], Outlines=[["Skin", "Part", "x", "y"], *rows])
    assert codes(read(path)[1]) == ["skin-outline"]


def test_the_lengths_of_a_batch_go_up_to_what_leather_and_hands_allow(workbook):
    rows = [["Field", "Value"], ["Gap between pieces", 30], ["Girth tolerance", 0], ["Length tolerance", 60]]
    table, findings = read(workbook("stock.xlsx", Stock=rows))
    assert table is not None, codes(findings)
    assert (table.terms.gap, table.terms.girth_tolerance, table.terms.length_tolerance) == (30, 0, 60)


@pytest.mark.parametrize(
    ("sheet", "key", "column", "taken", "refused"),
    [
        ("Stock", "", "Pile within", [0, 5], [-0.1, 5.1]),
        ("Stock", "", "Girth tolerance", [0, 40], [40.1]),
        ("Stock", "", "Length tolerance", [0, 60], [60.1]),
        ("Stock", "", "Other costs of a pair", [0], [-0.01]),
        ("Stock", "", "Hand out on", [dt.date(2000, 1, 1), dt.date(2199, 12, 31)], [dt.date(1999, 12, 31)]),
        ("Stock", "", "Needed by", ["2000-01-01", "2199-12-31"], ["1999-12-31", "2200-01-01"]),
        ("Customers", "Group", "Correlation", [-0.99, 0.99], [-1, 1]),
        ("Customers", "Group", "Share", [0.01], [-0.01]),
        ("Skins", "Skin", "Lost to flaws", [0, 0.9], [-0.01, 0.91]),
        ("Skins", "Skin", "Price", [0], [-0.01]),
        ("Skins", "Skin", "Count", [0, 1000], [1001]),
        ("Making", "Group", "Minutes a pair", [0], [-1]),
        ("Making", "Group", "Rate an hour", [0], [-0.01]),
        ("Making", "Group", "Piece rate", [0], [-0.01]),
        ("Selling", "Group", "Price", [0], [-0.01]),
        ("Outworkers", "Outworker", "Pairs a week", [1], [0]),
    ],
)
def test_a_figure_is_taken_up_to_its_bounds_and_refused_beyond(workbook, sheet, key, column, taken, refused):
    def errors(figure) -> list[str]:
        rows = [[key, column], ["Women", figure]] if key else [["Field", "Value"], [column, figure]]
        return codes(read(workbook("stock.xlsx", **{sheet: rows}))[1])

    assert [figure for figure in taken if errors(figure)] == []
    assert [figure for figure in refused if len(errors(figure)) != 1] == []


@pytest.mark.parametrize("typed", ["17.11.2026", "2026-11-17", "17. 11. 2026", "17/11/2026", "17 November 2026"])
def test_days_typed_as_text_are_read(workbook, typed):
    table, findings = read(workbook("stock.xlsx", Stock=[["Field", "Value"], ["Needed by", typed]]))
    assert table is not None, codes(findings)
    assert table.terms.needed_by == dt.date(2026, 11, 17)


@pytest.mark.parametrize("typed", ["5/6/2026", "31.2.2026", "17.11."])
def test_a_day_that_may_be_two_or_none_is_refused_and_told_how_to_type_it(workbook, typed):
    table, findings = read(workbook("stock.xlsx", Stock=[["Field", "Value"], ["Needed by", typed]]))
    assert table is None
    assert codes(findings) == ["not-a-date"]
    assert "2026-11-02" in " ".join(f"{one.found} {one.expected}" for one in findings if one.code == "not-a-date")


def told(findings, column):
    return [one.found for one in findings if one.code == "default-used" and f"'{column}'" in one.found]


def test_a_default_is_told_only_where_it_is_used(workbook):
    corners = [["Drawn", "outline", x, y] for x, y in ((0, 0), (700, 0), (700, 900), (0, 900))]
    path = workbook(
        "stock.xlsx",
        Stock=[["Field", "Value"], ["Pairs", None]],
        Making=[["Group", "Minutes a pair", "Piece rate"], ["Women", 120, 30], ["Men", 120, None]],
        Skins=[["Skin", "Width"], ["Drawn", None], ["Plain", None]],
        Outlines=[["Skin", "Part", "x", "y"], *corners],
        Customers=[["Group", "Share"], ["Women", 1], ["Men", 0]],
    )
    _, findings = read(path)
    assert told(findings, "Rate an hour") == ["'Rate an hour' is left open (blank in row 3): 15 was used."]
    assert told(findings, "Width") == ["'Width' is left open (blank in row 3): 700 mm was used."]
    assert told(findings, "Girth spread") == ["'Girth spread' is left open (blank in row 2): 10 mm was used."]
    assert not told(findings, "Area unit")
    assert told(findings, "Pairs")
    opened, _ = open_tables(path)
    _, findings = read_stock(opened, groups=["Women"], given=["Pairs"])
    assert not told(findings, "Rate an hour")
    assert not told(findings, "Pairs")


def test_what_is_left_open_counts_as_the_workshop_that_the_guide_describes(workbook):
    # our own choices, to be replaced by a workshop's figures: each is told as a note where it is used
    path = workbook(
        "stock.xlsx",
        Customers=[["Group"], ["Women"]],
        Skins=[["Skin"], ["Lamb"]],
        Making=[["Group"], ["Women"]],
        Outworkers=[["Outworker"], ["Ann"]],
        Selling=[["Group"], ["Women"]],
    )
    table, findings = read(path)
    assert table is not None, codes(findings)
    terms = table.terms
    assert (terms.pairs, terms.at_least, terms.largest_bundle, terms.lay_number) == (20, 0, 10, 1)
    assert (terms.girth_row, terms.length_row, terms.fist_row) == ("hand girth", "hand length", "fist girth")
    assert (terms.girth_tolerance, terms.length_tolerance, terms.room_to_move) == (6, 15, 3)
    assert (terms.gap, terms.pile_within, terms.hands_count, terms.currency) == (4, 5, 20, "€")
    (hands,), (skin,), (work,), (sewer,), (sold,) = (
        table.customers, table.skins, table.work, table.outworkers, table.selling,
    )  # fmt: skip
    assert (hands.share, hands.girth_spread, hands.length_spread, hands.correlation) == (1, 10, 9, 0.5)
    assert (skin.count, skin.width, skin.length, skin.lost, skin.price) == (0, 700, 900, 0.05, 40)
    assert (skin.area, skin.priced_area, skin.buy_more) == (None, None, True)
    assert (work.minutes, work.rate, work.piece_rate) == (120, 15, None)
    assert (sewer.pairs_a_week, sold.price) == (20, 75)


def test_a_piece_rate_that_pays_less_than_the_rate_beside_it_is_told(workbook):
    rows = [["Group", "Minutes a pair", "Rate an hour", "Piece rate"], ["Women", 120, 16, 20], ["Men", 120, 16, 40]]
    table, findings = read(workbook("stock.xlsx", Making=rows))
    assert table is not None
    (low,) = [one for one in findings if one.code == "pay-told-otherwise"]
    assert (low.place.cell, low.severity) == ("D2", Severity.WARNING)
    assert "10.00 an hour" in low.found
    assert "32.00" in low.action
