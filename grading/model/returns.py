"""Check sheets as they come back: which run and size each is of, who measured, and every reading."""

from __future__ import annotations

from dataclasses import dataclass

from grading.findings import Place

__all__ = ["CHECK_FIELDS", "CHECK_HEADINGS", "HANDS", "PAIRS", "CheckSheet", "Reading", "TargetGiven", "pair_heading"]

#: The fields above a check sheet's table, each in the first column, its value in the second.
CHECK_FIELDS = ("Style", "Group", "Size", "Run", "Unit", "Name", "Date", "Remarks")
#: The headings of what is asked, before those of the pairs.
CHECK_HEADINGS = ("Letter", "Measure", "Finished", "−", "+")
HANDS = ("left", "right")
#: How many pairs a check sheet has room for.
PAIRS = 5


def pair_heading(pair: int, hand: str) -> str:
    """The heading over the readings of one mitten.

    >>> pair_heading(2, "left")
    'Pair 2 left'
    """
    return f"Pair {pair} {hand}"


@dataclass(frozen=True, slots=True)
class TargetGiven:
    """What a sheet says a measure has to come to: its figure, tolerance − and tolerance +, mm."""

    figure: float
    minus: float
    plus: float


@dataclass(frozen=True, slots=True)
class Reading:
    """One mitten measured once: what was ``typed``, and what that is in mm, None where it is no length."""

    measure: str
    pair: int
    hand: str
    typed: str
    mm: float | None
    place: Place


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """One filled sheet; ``given`` is what stands on it beside each measure, None where that cannot be read."""

    place: Place
    run_id: str
    group: str
    size: str
    unit: str
    name: str
    date: str
    remarks: str
    given: tuple[tuple[str, TargetGiven | None], ...]
    readings: tuple[Reading, ...]
