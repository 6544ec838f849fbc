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


@pytest.mark.parametrize(("minutes", "told"), [(1.5, 1), (15.0, 0), (0.0, 0), (960.0, 0), (1300.0, 1)])
def test_hours_that_stand_as_minutes_are_a_warning(found, minutes, told):
    work = (replace(demo_stock().work[0], minutes=minutes),)
    assert codes(found(work=work)) == [("minutes-unusual", "warning")] * told


def test_a_skin_of_which_its_flaws_leave_nothing_is_an_error_and_no_division_by_zero(found, runs):
    edge = ((0.0, 0.0), (700.0, 0.0), (700.0, 900.0), (0.0, 900.0))
    ruined = replace(LAMB, outline=edge, flaws=(edge,))
    assert ("skin-outline", "error") in codes(found(skins=(ruined, demo_stock().skins[-1])))
    # From a script nobody is held to that: such a skin takes no piece, and is the dearest there is.
    table = replace(demo_stock(), skins=(ruined, demo_stock().skins[-1]))
    assert best_for_its_price(table.skins).name == "Lamb by the foot"
    plan = prepared(table, [runs["Children"]], at_least=0).for_pairs(2, lambda *told: None)
    assert all(lay.skin.kind is not ruined for lay in plan.lays)
