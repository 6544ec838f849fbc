"""What cannot be right in a stock table beside the sizes it is for: another unit, a price for something else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from statistics import median

import shapely

from grading.audit.mistaken import unit_beside
from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding, Place, amount
from grading.model.stock import Customers, SkinKind, StockTable
from grading.units import MM2_PER, show

__all__ = ["doubtful"]

#: A mean hand this many times below the smallest size, or above the largest, is no other hand but another unit.
_BEYOND = 1.6
#: Standard deviations of hands are such parts of their mean: 5 to 7 % in adults of one sex (openintro 'bdims', wrists),
#: up to 12 % over several years of children (from memory); what lies outside these is another unit.
_SPREADS = (0.015, 0.25)
#: The width and length of skins that mittens are cut from, mm: common practice, with room to spare.
_SKIN = (200.0, 3500.0)
#: What a skin counts as that nobody measured: its usable area then says how large it is.
_UNMEASURED = (700.0, 900.0)
#: The usable part of a skin, of its width × length or its outline: no more than all, and hardly less than this.
_USABLE = (0.3, 1.05)
#: Of a drawn skin so much is left by its flaws, or one of them is drawn in another unit.
_LEFT = 0.01
#: A skin that costs so many times more or less for its area than the others is priced by another unit.
_DEARER = 4.0
#: What a square foot of skin costs in money of about a euro's worth: common practice, with room to spare.
_PRICES, _MONEY = (0.5, 60.0), ("€", "$", "£", "eur", "usd", "gbp", "chf")
#: Cutting and sewing a pair by hand takes from a quarter of an hour to two working days. Common practice.
_MINUTES = (15.0, 960.0)


def doubtful(table: StockTable, runs: Sequence[SizeRun]) -> Iterator[Finding]:
    """Errors where a figure is that of another unit, warnings where it may be."""
    by_group = {run.group: run for run in runs}
    for row in table.customers:
        if run := by_group.get(row.group):
            yield from _customers(table, row, run)
    for skin in table.skins:
        yield from _flaws(skin)
        yield from _size_and_area(skin)
    yield from _prices(table)
    yield from _minutes(table)


def _customers(table: StockTable, row: Customers, run: SizeRun) -> Iterator[Finding]:
    terms = table.terms
    for what, mean, spread, measurement, tolerance in (
        ("girth", row.girth, row.girth_spread, terms.girth_row, terms.girth_tolerance),
        ("length", row.length, row.length_spread, terms.length_row, terms.length_tolerance),
    ):
        figures = run.table.row(measurement)
        if figures is None:
            continue
        least, most = float(figures.min()), float(figures.max())
        middle = (least + most) / 2
        sizes = f"The sizes of {run.group} have {measurement} {_mm(least)} to {_mm(most)} mm."
        if mean is not None and not least / _BEYOND <= mean <= most * _BEYOND:
            found = f"Customers of {row.group} have a mean hand {what} of {_mm(mean)} mm."
            yield _out_of_range(row.place, found, sizes, mean, middle)
            continue
        if mean is not None and not least - tolerance - spread <= mean <= most + tolerance + spread:
            found = f"Customers of {row.group} have a mean hand {what} of {_mm(mean)} mm: hardly one is fitted."
            action = "Check the figure and its unit, and whether the group is the right one."
            yield Finding.warning(Code.CUSTOMERS_NOT_FITTED, row.place, found, sizes, action)
        low, high = (part * (mean or middle) for part in _SPREADS)
        if not low <= spread <= high:
            found = f"The {what} spread of {row.group} is {_mm(spread)} mm."
            expected = f"Between {low:.1f} and {high:.0f} mm, as hands of one group differ."
            yield _out_of_range(row.place, found, expected, spread, 0.06 * (mean or middle))


def _flaws(skin: SkinKind) -> Iterator[Finding]:
    """Flaws that leave nothing of a skin."""
    whole = shapely.Polygon(skin.outline)
    ruined = shapely.union_all([shapely.Polygon(flaw) for flaw in skin.flaws])
    if skin.flaws and whole.difference(ruined).area < _LEFT * whole.area:
        found = f"The flaws of {skin.name} leave nothing of it that could be used."
        expected = "Flaws that leave room for pieces."
        action = "Correct the points on the sheet Outlines, or delete the skin's row."
        yield Finding.error(Code.SKIN_OUTLINE, skin.place, found, expected, action)


def _size_and_area(skin: SkinKind) -> Iterator[Finding]:
    shape = shapely.Polygon(skin.outline) if skin.outline else shapely.box(0, 0, skin.width, skin.length)
    left, bottom, right, top = shape.bounds
    width, length, whole = right - left, top - bottom, shape.area
    least, most = _SKIN
    if not (least <= width <= most and least <= length <= most):
        found = f"{skin.name} is {_mm(width)} × {_mm(length)} mm."
        expected = f"Between {_mm(least)} and {_mm(most)} mm each way, as skins that mittens are cut from."
        yield _out_of_range(skin.place, found, expected, max(width, length), 900.0)
        return
    if skin.area is None or (not skin.outline and (skin.width, skin.length) == _UNMEASURED):
        return
    part = skin.area / whole
    if not _USABLE[0] <= part <= _USABLE[1]:
        found = f"{skin.name} has a usable area of {_feet(skin.area):.1f} sq ft, and its shape has {_feet(whole):.1f}."
        unit = next((unit for unit, size in MM2_PER.items() if _fits_in_unit(skin.area, size, whole)), "")
        action = f"Check the area and its unit{f': the figure looks like one in {unit}' if unit else ''}."
        expected = f"Between {_USABLE[0] * _feet(whole):.1f} and {_USABLE[1] * _feet(whole):.1f} sq ft."
        yield Finding.error(Code.AREA_AGAINST_OUTLINE, skin.place, found, expected, action)


def _fits_in_unit(area: float, unit: Fraction, whole: float) -> bool:
    """Whether an area, read in one of the units, would fit were it in that one."""
    return any(
        _USABLE[0] <= area * float(unit / read) / whole <= _USABLE[1] for read in MM2_PER.values() if read != unit
    )


def _feet(area: float) -> float:
    return area / float(MM2_PER["sq ft"])


def _price_of_a_foot(skin: SkinKind) -> float:
    area = shapely.Polygon(skin.outline).area if skin.outline else skin.area or skin.width * skin.length
    return skin.price / _feet(float(skin.priced_area or area))


def _prices(table: StockTable) -> Iterator[Finding]:
    """A price for a skin that is one for its square foot, or the other way round."""
    prices = {skin.name: _price_of_a_foot(skin) for skin in table.skins if skin.price > 0}
    for skin in table.skins:
        price = prices.get(skin.name)
        if price is None:
            continue
        others = [other for name, other in prices.items() if name != skin.name]
        usual = median(others) if others else 0.0
        plain = table.terms.currency.lower() in _MONEY
        odd = not usual / _DEARER <= price <= usual * _DEARER if others else plain and not _within(price, _PRICES)
        if odd:
            per = "a skin" if skin.priced_area is None else "an area"
            found = f"{skin.name} costs {amount(skin.price)} {table.terms.currency} {per}: {price:.2f} a square foot."
            expected = f"The others cost about {usual:.2f}." if others else "Most skins cost between 0.50 and 60."
            action = "Check the price, and what 'Price per' and 'Area unit' say that it is for."
            yield Finding.warning(Code.PRICE_UNIT, skin.place, found, expected, action)


def _minutes(table: StockTable) -> Iterator[Finding]:
    """Hours that stand as minutes, or minutes of a whole batch."""
    for row in table.work:
        if row.minutes and not _within(row.minutes, _MINUTES):
            of = " ".join(part for part in (row.group or "all groups", row.size) if part)
            found = f"A pair of {of} takes {amount(row.minutes)} minutes."
            expected = (
                f"Between {amount(_MINUTES[0])} and {amount(_MINUTES[1])} minutes: what a pair costs follows from it."
            )
            action = "Check the figure: hours are typed as minutes, 1.5 hours as 90; leave it if it is meant."
            yield Finding.warning(Code.MINUTES_UNUSUAL, row.place, found, expected, action)


def _within(figure: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= figure <= bounds[1]


def _out_of_range(place: Place, found: str, expected: str, figure: float, usual: float) -> Finding:
    meant = unit_beside(figure, usual)
    action = f"Check the figure and the row's unit{f': the figure looks like {meant}' if meant else ''}."
    return Finding.error(Code.FIGURE_OUT_OF_RANGE, place, found, expected, action)


def _mm(length: float) -> str:
    return show(length, "mm")
