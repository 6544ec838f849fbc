"""Check sheets as they come back: which run and size each is of, who measured, and every reading."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from grading.findings import Place
from grading.model.names import Names, name_key

__all__ = ["HANDS", "PAIRS", "CheckSheet", "Reading", "TargetGiven", "pair_heading"]

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
    """What a sheet says a measure has to come to: its figure, tolerance − and tolerance +, mm.

    ``pair_within`` is what its block says of how far left and right of a pair may differ, None where it does not.
    """

    figure: float
    minus: float
    plus: float
    pair_within: float | None = None

    @property
    def apart(self) -> float:
        """How far left and right may differ, mm: half of what the tolerance leaves in all, where nobody says."""
        return (self.minus + self.plus) / 2 if self.pair_within is None else self.pair_within


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

    @property
    def maker(self) -> str:
        """Whoever measured, however they spelled their name."""
        return name_key(self.name)

    def spelled_as(self, group: str, sizes: Iterable[str], measures: Iterable[str]) -> CheckSheet:
        """The sheet with its group, size and measures spelled as in a run, where they are the same."""
        known = Names(measures)
        return replace(
            self,
            group=Names([group]).settled_or_not(self.group),
            size=Names(sizes).settled_or_not(self.size),
            given=tuple((known.settled_or_not(name), target) for name, target in self.given),
            readings=tuple(replace(one, measure=known.settled_or_not(one.measure)) for one in self.readings),
        )
