"""How pairs, skins and bundles are listed in few words, and what they are paid."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from itertools import groupby
from math import floor

from grading.stock.bundles import Bundle
from grading.stock.fits import Fit
from grading.stock.plan import Plan
from grading.stock.skins import Skin
from grading.units import DECIMALS, MM_PER, show

__all__ = [
    "by_outworker",
    "days_of",
    "fitted_told",
    "numbered",
    "pay_of_a_pair",
    "shown_down",
    "skins_named",
    "to_sign",
    "totals_of",
]

#: What a tape in inches shows, mm.
_SIXTEENTH = 25.4 / 16


def by_outworker(plan: Plan) -> dict[str, list[Bundle]]:
    """The bundles of each outworker who has any, in the stock table's order."""
    names = [outworker.name for outworker in plan.batch.table.outworkers]
    having = {name: [bundle for bundle in plan.bundles if bundle.outworker == name] for name in names}
    return {name: bundles for name, bundles in having.items() if bundles}


def pay_of_a_pair(plan: Plan) -> dict[tuple[str, str], float]:
    """What a pair of each (group, size) is paid."""
    return {(row.group, row.size): row.work for row in plan.sizes}


def totals_of(bundles: Iterable[Bundle], pay: Mapping[tuple[str, str], float]) -> tuple[int, int, float]:
    """How many pairs and pieces some bundles have, and what they pay in all by the ``pay`` of a pair of each size."""
    listed = list(bundles)
    paid = sum(len(bundle.pairs) * pay[bundle.group, bundle.size] for bundle in listed)
    return sum(len(bundle.pairs) for bundle in listed), sum(bundle.pieces for bundle in listed), paid


def days_of(bundle: Bundle) -> tuple[dt.date | str, dt.date | str]:
    """When a bundle goes out and is due: the days, or the weeks where the table has no days."""
    if bundle.hand_out is None or bundle.due is None:
        return f"week {bundle.week}", f"end of week {bundle.week}"
    return bundle.hand_out, bundle.due


def to_sign(money: str) -> tuple[str, ...]:
    """What an outworker and the maker sign for: what was taken, what came back, and what was paid."""
    return "Taken, pieces counted", "Brought back, pairs", f"Paid, {money}"


def shown_down(mm: float, unit: str) -> str:
    """A length in a unit, never more than it is: a size is promised to nobody whom it does not fit.

    >>> shown_down(165.549, "mm"), shown_down(210.0, "mm"), shown_down(210.5, "cm"), shown_down(166, "in")
    ('165.5', '210', '21.05', '6 1/2')
    """
    if unit == "in":
        return show(floor(round(mm / _SIXTEENTH, 6)) * _SIXTEENTH, unit)
    decimals = DECIMALS[unit]
    # What lies on a figure but for the noise of floats is that figure.
    units = floor(round(mm / float(MM_PER[unit]) * 10**decimals, 6))
    text = f"{units / 10**decimals:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def fitted_told(fit: Fit, unit: str) -> str:
    """The girths that a size fits.

    >>> fitted_told(Fit("6-7", 161.0, 154.549, 165.549), "mm")
    '154.5–165.5 mm'
    """
    return f"{shown_down(fit.least, unit)}–{shown_down(fit.most, unit)} {unit}"


def numbered(numbers: Iterable[int]) -> str:
    """Numbers in their order, runs of them by their ends.

    >>> numbered([3, 4, 5, 9])
    '3–5, 9'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)


def skins_named(skins: Iterable[Skin]) -> str:
    """Skins by name, those of one kind together, in the order of their numbers."""
    said = []
    for _, alike in groupby(skins, key=lambda skin: id(skin.kind)):
        ordered = sorted(alike, key=lambda skin: skin.number)
        single = len(ordered) == 1
        said.append(
            ordered[0].name if single else f"{ordered[0].kind.name} {numbered(skin.number for skin in ordered)}"
        )
    return ", ".join(said)
