"""Returned check sheets judged: what passes, whose hand runs short or long, which tolerances the work cannot hold."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean, stdev
from typing import TypeVar

from grading.findings import Finding
from grading.model.returns import HANDS, CheckSheet, Reading, TargetGiven
from grading.model.stock import StockTable, most_particular
from grading.readings.sampling import chi_square_quantile, student_quantile
from grading.units import rounded

__all__ = [
    "FURTHEST",
    "LEAST_LEAN",
    "LEAST_READINGS",
    "NO_NAME",
    "SURE",
    "Holding",
    "Judged",
    "JudgedPair",
    "Judgement",
    "PairVerdict",
    "PairsOfMaker",
    "Returned",
    "Sample",
    "Verdict",
    "judge",
    "judged",
    "pairs_by_maker",
    "verdict",
]

#: A figure under the target by this factor, or over it, is a slip of the keyboard or of the tape.
FURTHEST = 2
#: Lengths that differ by less than this, mm, are the same: what is left of a unit's conversion.
SAME = 2e-6
#: How sure the bounds are: 95 %. Of so many in twenty hands that are even, one will look uneven.
SURE = 0.95
#: With fewer readings nothing is said of a hand or of a tolerance.
LEAST_READINGS = 6
#: What a tape does not show, mm.
LEAST_LEAN = 0.5
#: How much of even work lies within so many standard deviations of its mean: 95 %, from the normal distribution.
SPREAD = 1.96

#: What a maker is called who has left the name open.
NO_NAME = "no name given"

Key = TypeVar("Key")
Thing = TypeVar("Thing")


class Verdict(StrEnum):
    """What a reading comes to."""

    PASS = "pass"
    SHORT = "short"
    LONG = "long"
    CHECK = "check"


class Holding(StrEnum):
    """Whether work as spread as this stays within a tolerance, were its mean right."""

    HOLDS = "holds"
    DOUBTFUL = "may not hold"
    FAILS = "cannot hold"
    TOO_FEW = "too few readings"


class PairVerdict(StrEnum):
    """What a pair comes to."""

    GOOD = "good"
    MEND = "to mend"
    NO_PAIR = "not a pair"
    CHECK = "to check"


@dataclass(frozen=True, slots=True)
class Judged:
    """One reading with its sheet, what it was judged against, and what it comes to."""

    sheet: CheckSheet
    reading: Reading
    target: TargetGiven | None
    verdict: Verdict

    @property
    def deviation(self) -> float | None:
        """How much longer than its figure it is, mm; None where it is nothing to go by."""
        if self.reading.mm is None or self.target is None or self.verdict is Verdict.CHECK:
            return None
        return self.reading.mm - self.target.figure


@dataclass(frozen=True, slots=True)
class JudgedPair:
    """A pair by all that was measured of it.

    ``wrong`` are readings outside their tolerance; ``apart`` how much longer the left is than the right, mm, by each
    measure in which both are right and yet differ by more than they may; ``open`` what could not be judged, in words.
    """

    sheet: CheckSheet
    pair: int
    wrong: tuple[Judged, ...]
    apart: Mapping[str, float]
    open: tuple[str, ...]

    @property
    def verdict(self) -> PairVerdict:
        """Two mittens that are right and differ are no pair, and mending makes them none."""
        if self.apart:
            return PairVerdict.NO_PAIR
        if self.wrong:
            return PairVerdict.MEND
        return PairVerdict.CHECK if self.open else PairVerdict.GOOD


@dataclass(frozen=True, slots=True)
class Sample:
    """Readings taken together: how many came to what, their mean deviation and its bounds, mm, NaN if unknown.

    ``within`` is how far the mean may lie either side of that found, at ``SURE``; ``spread`` the standard deviation.
    """

    passed: int
    short: int
    long: int
    to_check: int
    mean: float
    within: float
    spread: float

    @property
    def count(self) -> int:
        """The readings that could be judged."""
        return self.passed + self.short + self.long

    @property
    def leans(self) -> str:
        """'short' or 'long' where the mean is off by what a tape shows, and one can be sure that it is off."""
        if self.count < LEAST_READINGS or not abs(self.mean) > max(self.within, LEAST_LEAN):
            return ""
        return "short" if self.mean < 0 else "long"


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything returned, judged: readings, pairs, samples by measure, by size and measure, by maker and measure."""

    readings: tuple[Judged, ...]
    pairs: tuple[JudgedPair, ...]
    measures: dict[str, tuple[Sample, Holding]]
    sizes: dict[tuple[str, str, str], Sample]
    makers: dict[tuple[str, str], Sample]

    @property
    def failures(self) -> int:
        return sum(one.verdict in (Verdict.SHORT, Verdict.LONG) for one in self.readings)

    @property
    def to_check(self) -> int:
        """The readings that could not be judged."""
        return sum(one.verdict is Verdict.CHECK for one in self.readings)


@dataclass(frozen=True, slots=True)
class PairsOfMaker:
    """How many of a maker's pairs came to what, and what the good ones pay, None where nobody says."""

    name: str
    counts: Mapping[PairVerdict, int]
    pay: float | None


@dataclass(frozen=True, eq=False)
class Returned:
    """What came back: the judgement of all sheets taken, those sheets, and each file's name by its SHA-256."""

    judgement: Judgement
    sheets: tuple[CheckSheet, ...]
    files: Mapping[str, str]
    findings: tuple[Finding, ...]

    def __repr__(self) -> str:
        return f"<Returned: {len(self.sheets)} sheets, {len(self.findings)} findings>"


def verdict(mm: float | None, target: TargetGiven | None) -> Verdict:
    """What a length in mm comes to, to be looked at where either is unknown; both bounds of a tolerance pass.

    >>> [str(verdict(mm, TargetGiven(100, 2, 3))) for mm in (97.9, 98, 103, 103.1, 10.2, None)]
    ['short', 'pass', 'pass', 'long', 'check', 'check']
    """
    if mm is None or target is None or not target.figure / FURTHEST - SAME <= mm <= target.figure * FURTHEST + SAME:
        return Verdict.CHECK
    if mm < target.figure - target.minus - SAME:
        return Verdict.SHORT
    return Verdict.LONG if mm > target.figure + target.plus + SAME else Verdict.PASS


def judged(sheet: CheckSheet, targets: Mapping[str, TargetGiven | None]) -> list[Judged]:
    """Every reading of a sheet against the target of its measure, if there is one."""
    asked = [(reading, targets.get(reading.measure)) for reading in sheet.readings]
    return [Judged(sheet, reading, target, verdict(reading.mm, target)) for reading, target in asked]


def judge(readings: Sequence[Judged]) -> Judgement:
    """All readings put together; people are told apart by the name they wrote, whatever its case."""
    names: dict[str, str] = {}
    for one in readings:
        names.setdefault(one.sheet.maker, one.sheet.name or NO_NAME)
    by_measure = _grouped(readings, lambda one: one.reading.measure)
    return Judgement(
        tuple(readings),
        _judged_pairs(readings),
        {measure: (_sample(ones), _holding(ones)) for measure, ones in by_measure.items()},
        _samples(readings, lambda one: (one.sheet.group, one.sheet.size, one.reading.measure)),
        _samples(readings, lambda one: (names[one.sheet.maker], one.reading.measure)),
    )


def _judged_pairs(readings: Iterable[Judged]) -> tuple[JudgedPair, ...]:
    """Every pair of which anything was measured, in the order of the sheets."""
    pairs = _grouped(readings, lambda one: (id(one.sheet), one.reading.pair))
    return tuple(map(_judged_pair, pairs.values()))


def _judged_pair(ones: Sequence[Judged]) -> JudgedPair:
    wrong = tuple(one for one in ones if one.verdict in (Verdict.SHORT, Verdict.LONG))
    open_ = [_where(one.reading) for one in ones if one.verdict is Verdict.CHECK]
    apart: dict[str, float] = {}
    measured = {(one.reading.measure, one.reading.hand): one for one in ones}
    for measure in dict.fromkeys(one.reading.measure for one in ones):
        left, right = (measured.get((measure, hand)) for hand in HANDS)
        if left is None or right is None:
            open_.append(f"{measure} {HANDS[left is not None]} not measured")
        elif left.target and left.verdict is right.verdict is Verdict.PASS:
            longer = (left.deviation or 0.0) - (right.deviation or 0.0)
            if abs(longer) > left.target.apart + SAME:
                apart[measure] = longer
    return JudgedPair(ones[0].sheet, ones[0].reading.pair, wrong, apart, tuple(open_))


def pairs_by_maker(judgement: Judgement, stock: StockTable | None) -> tuple[PairsOfMaker, ...]:
    """Each maker's pairs counted, and what the good ones pay by the stock table's work, if there is one."""
    by_maker = _grouped(judgement.pairs, lambda pair: pair.sheet.maker)
    return tuple(
        PairsOfMaker(
            ones[0].sheet.name or NO_NAME,
            {verdict: sum(one.verdict is verdict for one in ones) for verdict in PairVerdict},
            _pay(ones, stock) if stock else None,
        )
        for ones in by_maker.values()
    )


def _pay(pairs: Iterable[JudgedPair], stock: StockTable) -> float | None:
    """What the good pairs pay, None where the stock table does not say for one of them."""
    good = [pair.sheet for pair in pairs if pair.verdict is PairVerdict.GOOD]
    work = [most_particular(stock.work, sheet.group, sheet.size) for sheet in good]
    return None if None in work else rounded(sum(one.pay for one in work if one), 2)


def _where(reading: Reading) -> str:
    cell = f" (cell {reading.place.cell}: {reading.typed})" if reading.place.cell else ""
    return f"{reading.measure} {reading.hand}{cell}"


def _grouped(things: Iterable[Thing], key: Callable[[Thing], Key]) -> dict[Key, list[Thing]]:
    groups: dict[Key, list[Thing]] = {}
    for one in things:
        groups.setdefault(key(one), []).append(one)
    return groups


def _samples(readings: Iterable[Judged], key: Callable[[Judged], Key]) -> dict[Key, Sample]:
    return {name: _sample(ones) for name, ones in _grouped(readings, key).items()}


def _sample(ones: Sequence[Judged]) -> Sample:
    passed, short, long, to_check = (sum(one.verdict is word for one in ones) for word in Verdict)
    deviations = _deviations(ones)
    mean = fmean(deviations) if deviations else math.nan
    spread = within = math.nan
    if len(deviations) > 1:
        spread = stdev(deviations)
        within = student_quantile((1 + SURE) / 2, len(deviations) - 1) * spread / math.sqrt(len(deviations))
    return Sample(passed, short, long, to_check, mean, within, spread)


def _holding(ones: Sequence[Judged]) -> Holding:
    """Whether the work's spread fits its tolerance, and whether it can be only chance that it does not.

    The spread is that round each maker's own mean: a mean that is off can be told to whoever sews. Where 95 % of
    such work would take more room than the tolerance leaves, it may not hold; where even the least spread that one
    can be sure of (one-sided, by chi square) takes more, it cannot.
    """
    hands = [
        deviations for own in _grouped(ones, lambda one: one.sheet.maker).values() if (deviations := _deviations(own))
    ]
    freedom = sum(map(len, hands)) - len(hands)
    if freedom < LEAST_READINGS - 1:
        return Holding.TOO_FEW
    squares = sum((deviation - fmean(hand)) ** 2 for hand in hands for deviation in hand)
    spread = math.sqrt(squares / freedom)
    # The tightest of what they were judged against, should tolerances have changed between runs.
    room = min(one.target.minus + one.target.plus for one in ones if one.target)
    least = spread * math.sqrt(freedom / chi_square_quantile(SURE, freedom))
    if 2 * SPREAD * least > room:
        return Holding.FAILS
    return Holding.DOUBTFUL if 2 * SPREAD * spread > room else Holding.HOLDS


def _deviations(ones: Iterable[Judged]) -> list[float]:
    return [one.deviation for one in ones if one.deviation is not None]
