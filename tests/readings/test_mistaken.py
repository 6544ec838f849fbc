"""Sheets whose figures are in another unit, measured otherwise, or sent twice; and those that only look so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.findings import Place
from grading.model.returns import CheckSheet, Reading, TargetGiven
from grading.readings.mistaken import doubled_measures, mistaken_unit, same_readings

FIGURES = {"palm width": 114.0, "finished length": 248.0, "thumb hole round": 121.0, "cuff width": 108.0}
TARGETS = {name: TargetGiven(figure, 2.0, 2.0) for name, figure in FIGURES.items()}


def sheet(factor: float = 1.0, name: str = "Ann", pairs: int = 2, off: float = 0.8, **factors: float) -> CheckSheet:
    readings = tuple(
        Reading(measure, pair, hand, "", (figure + off * pair) * factors.get(measure.split()[0], factor), Place())
        for measure, figure in FIGURES.items()
        for pair in range(1, pairs + 1)
        for hand in ("left", "right")
    )
    return CheckSheet(Place(), "1f3a", "Women", "W3", "mm", name, "", "", (), readings)


# 1 in = 25.4 mm (NIST SP 811)
@pytest.mark.parametrize("factor", [10, 0.1, 25.4, 1 / 25.4, 2.54, 1 / 2.54])
def test_a_sheet_filled_in_another_unit_is_known_by_its_ratio(factor):
    found = mistaken_unit(sheet(factor), TARGETS)
    assert found is not None
    assert found[0] == pytest.approx(factor)


@pytest.mark.parametrize("factor", [1, 0.9, 1.2, 2, 0.5])
def test_work_that_is_merely_wrong_is_in_its_unit(factor):
    assert mistaken_unit(sheet(factor), TARGETS) is None


def test_two_slips_on_a_sheet_are_no_other_unit():
    readings = list(sheet().readings)
    readings[:2] = [replace(one, mm=one.mm * 10) for one in readings[:2]]
    assert mistaken_unit(replace(sheet(), readings=tuple(readings)), TARGETS) is None


def test_widths_measured_round_are_named_and_lengths_are_not():
    assert doubled_measures(sheet(palm=2, cuff=2), TARGETS) == {"palm width": 2.0, "cuff width": 2.0}
    assert doubled_measures(sheet(thumb=0.5), TARGETS) == {"thumb hole round": 0.5}
    assert doubled_measures(sheet(1.3), TARGETS) == {}


def test_one_reading_of_twice_its_figure_is_a_slip():
    readings = list(sheet().readings)
    readings[0] = replace(readings[0], mm=readings[0].mm * 2)
    assert doubled_measures(replace(sheet(), readings=tuple(readings)), TARGETS) == {}


def test_the_same_sheet_sent_again_is_known_whatever_the_case_of_its_name():
    first = sheet()
    assert same_readings(sheet(name=" ANN"), [first]) == (first, True)
    assert same_readings(sheet(name="Bo"), [first]) == (first, True)
    assert same_readings(sheet(pairs=5), [first]) == (first, False)


def test_other_work_of_the_same_size_is_no_second_copy():
    assert same_readings(sheet(off=0.9), [sheet()]) is None
    assert same_readings(replace(sheet(), size="W4"), [sheet()]) is None
    few = replace(sheet(), readings=sheet().readings[:3])
    assert same_readings(replace(few, name="Bo"), [few]) is None


@pytest.mark.parametrize(("in_another", "of", "told"), [(13, 16, True), (12, 16, False), (3, 3, True), (2, 2, False)])
def test_a_sheet_is_in_another_unit_where_four_fifths_of_it_and_three_figures_agree(in_another, of, told):
    readings = [
        replace(one, mm=one.mm * (10 if number < in_another else 1)) for number, one in enumerate(sheet().readings[:of])
    ]
    assert (mistaken_unit(replace(sheet(), readings=tuple(readings)), TARGETS) is not None) == told


@pytest.mark.parametrize(("off", "told"), [(0.86, True), (0.84, False), (1.14, True), (1.16, False)])
def test_finished_work_lies_within_a_seventh_of_its_figure_or_so(off, told):
    assert (mistaken_unit(sheet(25.4 * off, off=0.0), TARGETS) is not None) == told
    assert (doubled_measures(sheet(palm=2 * off, off=0.0), TARGETS) != {}) == told


@pytest.mark.parametrize(("readings", "alike"), [(6, True), (5, False)])
def test_figures_of_two_people_are_alike_by_chance_where_they_are_few(readings, alike):
    first = replace(sheet(), readings=sheet().readings[:readings])
    assert (same_readings(replace(first, name="Bo"), [first]) is not None) == alike
    assert same_readings(first, [first]) == (first, True)
