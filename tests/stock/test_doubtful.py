"""Figures of a stock table that are in another unit, or priced for something else; and those that are only unusual."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.drafting.stock_scenario import demo_stock
from grading.findings import Severity
from grading.model.stock import Customers, SkinKind
from grading.stock.doubtful import doubtful
from grading.stock.plan import prepared
from grading.stock.skins import best_for_its_price

LAMB = SkinKind("Lamb", 1, 740.0, 985.0, None, 0.0, 44.0, None, False)
FOOT = 92_903.04  # mm²: 1 sq ft (NIST SP 811)


@pytest.fixture(scope="module")
def found(runs):
    def of(**changes):
        return [
            (one.code, str(one.severity), one.action)
            for one in doubtful(replace(demo_stock(), **changes), [*runs.values()])
        ]

    return of


def codes(found) -> list[tuple[str, str]]:
    return [(code, severity) for code, severity, _ in found]


def test_the_demos_own_table_is_in_order(found):
    assert found() == []


@pytest.mark.parametrize(
    ("row", "meant"),
    [
        (Customers("Women", girth=18.8), "centimetres typed as millimetres"),
        (Customers("Women", girth=7.4), "inches typed as millimetres"),
        (Customers("Women", girth=1880.0), "millimetres typed as centimetres"),
        (Customers("Women", girth=188.0, length=17.6), "centimetres typed as millimetres"),
        (Customers("Women", girth=188.0, girth_spread=1.05), "centimetres typed as millimetres"),
        (Customers("Women", girth=188.0, length_spread=90.0), "millimetres typed as centimetres"),
    ],
)
def test_customers_in_another_unit_are_an_error_that_names_it(found, row, meant):
    ((code, severity, action),) = found(customers=(row,))
    assert (code, severity) == ("figure-out-of-range", "error")
    assert meant in action


@pytest.mark.parametrize(
    "row", [Customers("Women"), Customers("Women", girth=176.0), Customers("Women", girth=200.0, girth_spread=18.0)]
)
def test_unusual_customers_are_left_alone(found, row):
    assert found(customers=(row,)) == []


def test_customers_whom_no_size_fits_are_a_warning(found):
    assert codes(found(customers=(Customers("Children", girth=214.0),))) == [("customers-not-fitted", "warning")]


@pytest.mark.parametrize("skin", [replace(LAMB, width=74.0, length=98.5), replace(LAMB, width=7400.0, length=9850.0)])
def test_a_skin_in_another_unit_is_an_error(found, skin):
    assert ("figure-out-of-range", "error") in codes(found(skins=(skin,)))


@pytest.mark.parametrize("feet", [65.0, 0.65])
def test_an_area_that_the_skins_shape_cannot_have_is_an_error(found, feet):
    assert ("area-against-outline", "error") in codes(found(skins=(replace(LAMB, area=feet * FOOT),)))


def test_the_usable_area_of_a_skin_nobody_measured_says_how_large_it_is(found):
    assert found(skins=(replace(LAMB, width=700.0, length=900.0, area=15 * FOOT, price=97.0),)) == []


def test_a_price_a_foot_that_stands_as_one_a_skin_is_a_warning(found):
    by_the_foot = replace(LAMB, name="By the foot", price=6.5, priced_area=FOOT)
    assert found(skins=(LAMB, by_the_foot)) == []
    assert codes(found(skins=(LAMB, replace(by_the_foot, priced_area=None)))) == [("price-unit", "warning")] * 2
    large = replace(LAMB, width=2200.0, length=2745.0, area=None, price=6.5)  # 65 sq ft for 6.5 €
    assert codes(found(skins=(large,))) == [("price-unit", "warning")]
    assert Severity.WARNING.value == "warning"


@pytest.mark.parametrize(("minutes", "told"), [(1.5, 1), (14.0, 1), (15.0, 0), (0.0, 0), (960.0, 0), (970.0, 1)])
def test_hours_that_stand_as_minutes_are_a_warning(found, minutes, told):
    work = (replace(demo_stock().work[0], minutes=minutes),)
    assert codes(found(work=work)) == [("minutes-unusual", "warning")] * told


#: What is hardly thinkable and what is merely unusual, just on either side of each bound. Common practice, no source.
SQUARE = replace(LAMB, width=1000.0, length=1000.0)  # 10.76 sq ft
OTHER = replace(SQUARE, name="Other", price=40.0)
UNTHINKABLE, UNUSUAL = "figure-out-of-range", ""
EITHER_SIDE = [
    *(("girth_spread", 188.0 * part, code) for part, code in
      [(0.014, UNTHINKABLE), (0.016, UNUSUAL), (0.24, UNUSUAL), (0.26, UNTHINKABLE)]),
    *(("length_spread", 176.0 * part, code) for part, code in
      [(0.014, UNTHINKABLE), (0.016, UNUSUAL), (0.24, UNUSUAL), (0.26, UNTHINKABLE)]),
]  # fmt: skip


@pytest.mark.parametrize(("spread", "mm", "code"), EITHER_SIDE)
def test_a_spread_is_told_beyond_what_hands_of_a_group_have_and_not_before(found, spread, mm, code):
    row = Customers("Women", girth=188.0, length=176.0, **{spread: mm})
    assert [one for one, _ in codes(found(customers=(row,)))] == [code] * bool(code)


@pytest.mark.parametrize(("times", "code"), [(1.55, "customers-not-fitted"), (1.65, UNTHINKABLE)])
@pytest.mark.parametrize("larger", [True, False])
def test_a_mean_hand_far_from_all_sizes_is_of_another_group_first_and_then_in_another_unit(
    found, tables, times, larger, code
):
    girths = tables["Women"].row("hand girth")
    girth = girths.max() * times if larger else girths.min() / times
    assert [one for one, _ in codes(found(customers=(Customers("Women", girth=girth),)))] == [code]


@pytest.mark.parametrize(("mm", "told"), [(190.0, True), (210.0, False), (3400.0, False), (3600.0, True)])
@pytest.mark.parametrize("side", ["width", "length"])
def test_a_skin_is_told_where_no_skin_is_so_small_or_so_large(found, mm, told, side):
    skin = replace(LAMB, price=0.0, **{side: mm})
    assert [one for one, _ in codes(found(skins=(skin,)))] == [UNTHINKABLE] * told


@pytest.mark.parametrize(("part", "told"), [(0.28, True), (0.32, False), (1.04, False), (1.06, True)])
@pytest.mark.parametrize("drawn", [True, False])
def test_a_usable_area_is_told_beyond_what_a_shape_can_have(found, part, told, drawn):
    corners = ((0.0, 0.0), (1000.0, 0.0), (1000.0, 1000.0), (0.0, 1000.0))
    skin = replace(SQUARE, price=0.0, area=part * 1e6, outline=corners if drawn else ())
    assert [one for one, _ in codes(found(skins=(skin,)))] == ["area-against-outline"] * told


@pytest.mark.parametrize(("left", "told"), [(0.005, True), (0.02, False)])
def test_flaws_are_told_where_they_leave_next_to_nothing(found, left, told):
    def upright(width: float) -> tuple[tuple[float, float], ...]:
        return ((0.0, 0.0), (width, 0.0), (width, 1000.0), (0.0, 1000.0))

    skin = replace(SQUARE, price=0.0, outline=upright(1000.0), flaws=(upright(1000.0 * (1 - left)),))
    assert [one for one, _ in codes(found(skins=(skin,)))] == ["skin-outline"] * told


@pytest.mark.parametrize(("times", "told"), [(1 / 4.2, 2), (1 / 3.8, 0), (3.8, 0), (4.2, 2)])
def test_a_skin_is_told_that_costs_several_times_what_another_does(found, times, told):
    skins = (OTHER, replace(SQUARE, price=40.0 * times))
    assert [one for one, _ in codes(found(skins=skins))] == ["price-unit"] * told


@pytest.mark.parametrize(("a_foot", "told"), [(0.45, True), (0.55, False), (58.0, False), (62.0, True)])
def test_the_price_of_the_only_skin_is_held_against_what_skins_cost_in_a_money_one_knows(found, a_foot, told):
    skin = replace(SQUARE, price=a_foot, priced_area=FOOT)
    assert [one for one, _ in codes(found(skins=(skin,)))] == ["price-unit"] * told
    abroad = replace(demo_stock().terms, currency="Kč")
    assert found(skins=(skin,), terms=abroad) == []


def test_a_skin_of_which_its_flaws_leave_nothing_is_an_error_and_no_division_by_zero(found, runs):
    edge = ((0.0, 0.0), (700.0, 0.0), (700.0, 900.0), (0.0, 900.0))
    ruined = replace(LAMB, outline=edge, flaws=(edge,))
    assert ("skin-outline", "error") in codes(found(skins=(ruined, demo_stock().skins[-1])))
    # From a script nobody is held to that: such a skin takes no piece, and is the dearest there is.
    table = replace(demo_stock(), skins=(ruined, demo_stock().skins[-1]))
    assert best_for_its_price(table.skins).name == "Lamb by the foot"
    plan = prepared(table, [runs["Children"]], at_least=0).for_pairs(2, lambda *told: None)
    assert all(lay.skin.kind is not ruined for lay in plan.lays)
