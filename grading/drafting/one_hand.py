"""One customer's pair: what was measured, what was estimated and how far that may be off, each hand graded."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from grading.audit import audit_fit, audit_run
from grading.codes import Code
from grading.drafting.hands import check_hands
from grading.drafting.measuring import ROUND
from grading.engine.balance import balanced
from grading.engine.graded import GradedGroup, run_id
from grading.engine.run import grade
from grading.findings import Finding, Place, has_errors
from grading.geometry.arrays import Floats
from grading.model.block import Block
from grading.model.hands import LEFT, RIGHT
from grading.model.measured import Hands
from grading.model.sizes import SizeTable
from grading.readings.cut_lines import cut_line_findings, cut_lines

__all__ = ["Estimate", "OneHand", "fitted", "leave_one_out", "one_pair", "spread_of", "stock_group"]

#: Nineteen people in twenty lie within this part of what a regression on one other measurement says of them, leaving
#: each out in turn. A size table, which is made to be regular, cannot tell: it knows no people. A wrist girth was
#: measured: from the girth of forearm, upper arm or ankle it is 6.7 to 8.6 % (507 adults, openintro 'bdims').
WRIST = 0.09
#: Of no other measurement of a hand is there open data, and these are the least by the nearest of their kind: girths
#: of limbs from one another, up to 12 % for forearm, ankle and calf, breadths of wrist and elbow, 10 % (both 'bdims');
#: middle fingers of 3,000 men about their mean, 9.1 % (Macdonell 1902, HistData 'MacdonellDF').
GIRTHS, BREADTHS, LENGTHS = 0.12, 0.10, 0.10
#: What the one size of a customer's pair is called.
OWN_SIZE = "made to measure"
#: Directions in which a table varies by less than this part of its main one are rounding, and are not fitted.
ROUNDING = 0.05


@dataclass(frozen=True)
class Estimate:
    """What a measurement that was not taken is estimated at, mm: nineteen hands in twenty lie ``within`` so much of it.

    That was measured on people where ``surely``; else nobody knows, and it is the least that it can be.
    """

    measurement: str
    mm: float
    within: float
    surely: bool = False


@dataclass(frozen=True, eq=False)
class OneHand:
    """A hand's pattern: 'left', 'right' or 'both', its graded size, what was estimated, and its stock size.

    ``nearest`` is a size of the group, ``stock`` (measurements,) its figures in mm, in the order of the run's table.
    """

    hand: str
    graded: GradedGroup
    estimates: tuple[Estimate, ...]
    nearest: str
    stock: Floats


def fitted(known: Floats, wanted: Floats, given: Floats) -> Floats:
    """What ``wanted`` (cases,) comes to for ``given`` (new cases, measurements), by least squares on ``known`` (cases,
    measurements).

    Measurements count by how much they vary; where they all say the same, as in a size table that grows by even
    steps, the estimate follows their average.
    """
    centre, spread = known.mean(axis=0), known.std(axis=0)
    spread = np.where(spread > 0, spread, 1.0)
    factors, *_ = np.linalg.lstsq((known - centre) / spread, wanted - wanted.mean(), rcond=ROUNDING)
    estimate: Floats = wanted.mean() + ((given - centre) / spread) @ factors
    return estimate


def leave_one_out(known: Floats, wanted: Floats) -> Floats:
    """What each case (cases,) differs by from the estimate made from all the others."""
    estimates = (
        fitted(np.delete(known, case, axis=0), np.delete(wanted, case), known[[case]])[0] for case in range(len(wanted))
    )
    off: Floats = wanted - np.fromiter(estimates, dtype=float)
    return off


def stock_group(groups: Sequence[GradedGroup]) -> tuple[GradedGroup | None, list[Finding]]:
    """The one size group whose block and table a pair is made from, or a finding if there are several."""
    if len(groups) == 1:
        return groups[0], []
    names = ", ".join(group.run.group for group in groups)
    found, expected = f"There are {len(groups)} size groups: {names}.", "One: its base block and its hands are used."
    return None, [Finding.error(Code.WHICH_GROUP, Place(), found, expected, "Name it with --group.")]


def one_pair(
    hands: Hands, stock: GradedGroup, name: str, inputs: Sequence[tuple[str, str]] = (), *, same_length: bool = False
) -> tuple[tuple[OneHand, ...], list[Finding]]:
    """The patterns of one customer's hands from a group's block: one for both if they are alike, else one each.

    ``inputs`` are further files (name, SHA-256) that the figures came from. With ``same_length`` both hands have the
    larger figure of everything that is not a girth or a breadth, so that the two mittens are alike in length.
    """
    findings = list(check_hands(hands))
    table = stock.run.body
    findings += _useless(hands, table)
    if not {*hands.left, *hands.right} & set(table.measurements):
        found, expected = "No measurement of a hand was given.", "At the least the fist girth of the larger hand."
        action = f"Give one of {', '.join(table.measurements)}."
        findings.append(Finding.error(Code.MEASUREMENT_MISSING, Place(), found, expected, action))
    if has_errors(findings):
        return (), findings
    # What was taken of one hand only is the best that is known of the other.
    each = {LEFT: {**hands.right, **hands.left}, RIGHT: {**hands.left, **hands.right}}
    wanted = {"both": each[LEFT]} if each[LEFT] == each[RIGHT] else each
    known = {hand: _figures(figures, stock) for hand, figures in wanted.items()}
    if same_length:
        known = _of_one_length(known, stock.run.table)
    pair = []
    for hand, (values, estimates) in known.items():
        group = name if hand == "both" else f"{name}, {hand} hand"
        made = _one_hand(hand, values, estimates, stock, group, inputs)
        findings += made.graded.findings
        pair.append(made)
    return (() if has_errors(findings) else tuple(pair)), findings


#: Figures of a table's measurements, mm, and those among them that were estimated.
Known = tuple[Floats, list[Estimate]]


def _of_one_length(hands: Mapping[str, Known], table: SizeTable) -> dict[str, Known]:
    """The hands with the larger figure of every length in each."""
    lengths = np.array([name not in ROUND for name in table.measurements])
    most = np.max([values for values, _ in hands.values()], axis=0)
    largest = dict(zip(table.measurements, most.tolist(), strict=True))
    return {
        hand: (
            np.where(lengths, most, values),
            [one if one.measurement in ROUND else replace(one, mm=largest[one.measurement]) for one in estimates],
        )
        for hand, (values, estimates) in hands.items()
    }


def _figures(figures: Mapping[str, float], stock: GradedGroup) -> Known:
    """A hand's figure of every row of the table: as measured, as the group sets it, or estimated from the others."""
    table, body = stock.run.table, stock.run.body
    given = [name for name in body.measurements if name in figures]
    values, estimates = np.empty(len(table.measurements)), []
    for row, measurement in enumerate(table.measurements):
        if measurement in figures:
            values[row] = figures[measurement]
        elif measurement not in body.measurements:
            values[row] = table.values[row, 0]  # an allowance that the group sets, the same in all its sizes
        else:
            estimate = _estimated(measurement, {name: figures[name] for name in given}, body)
            values[row] = estimate.mm
            estimates.append(estimate)
    return values, estimates


def _one_hand(
    hand: str,
    values: Floats,
    estimates: Sequence[Estimate],
    stock: GradedGroup,
    name: str,
    inputs: Sequence[tuple[str, str]],
) -> OneHand:
    table = stock.run.table
    estimated = {made.measurement for made in estimates}
    source = tuple("estimated" if name in estimated else "measured" for name in table.measurements)
    single = replace(
        table, group=name, sizes=(OWN_SIZE,), values=values[:, None], source=source, places={}, families=()
    )
    block = _for_hand(stock.run.block, hand)
    run = balanced(grade(block, single))
    loops = cut_lines(run)
    findings = [*audit_fit(block, single), *audit_run(run), *_far_out(stock, values[0]), *cut_line_findings(run, loops)]
    near = int(np.argmin(np.abs(table.values[0] - values[0])))
    graded = GradedGroup(run, run_id(block, single), loops, tuple(findings), (*stock.inputs, *inputs))
    return OneHand(hand, graded, tuple(estimates), table.sizes[near], table.values[:, near])


def _estimated(measurement: str, figures: Mapping[str, float], table: SizeTable) -> Estimate:
    """A measurement from those given: a girth from girths and a length from lengths, where there are any of its kind.

    A size table grows all of them alike and cannot tell; a hand may be long and slender.
    """
    kind = {name: mm for name, mm in figures.items() if (name in ROUND) == (measurement in ROUND)} or figures
    known = table.only(list(kind)).values.T
    wanted = table.only([measurement]).values[0]
    mm = round(float(fitted(known, wanted, np.array([list(kind.values())]))[0]), 1)
    off = 2 * float(np.sqrt(np.mean(leave_one_out(known, wanted) ** 2))) if len(wanted) > 2 else 0.0
    part, measured_on_people = spread_of(measurement)
    # From a measurement of another kind nobody's spread is known.
    surely = measured_on_people and any((name in ROUND) == (measurement in ROUND) for name in figures)
    return Estimate(measurement, mm, max(off, part * mm), surely)


def spread_of(measurement: str) -> tuple[float, bool]:
    """How far people lie from an estimate of that measurement, as a part of it, and whether that was measured of it.

    >>> spread_of("wrist girth"), spread_of("hand breadth"), spread_of("hand length")
    ((0.09, True), (0.1, False), (0.1, False))
    """
    if measurement == "wrist girth":
        return WRIST, True
    if measurement not in ROUND:
        return LENGTHS, False
    return (GIRTHS, False) if measurement.endswith("girth") else (BREADTHS, False)


def _for_hand(block: Block, hand: str) -> Block:
    """The block with only the pieces of that hand to cut."""
    if hand == "both":
        return block
    return replace(
        block,
        pieces=tuple(
            replace(piece, cut_left=piece.cut_left * (hand == LEFT), cut_right=piece.cut_right * (hand == RIGHT))
            for piece in block.pieces
        ),
    )


def _useless(hands: Hands, table: SizeTable) -> Iterator[Finding]:
    """A note for every measurement that the group's table does not have: there it changes nothing."""
    for name in dict.fromkeys((*hands.left, *hands.right)):
        if name not in table.measurements:
            place, found = Place(group=table.group, measure=name), "The size table has no row of that name."
            yield Finding.note(Code.MEASUREMENT_NOT_USED, place, found, "It is left out.", "")


def _far_out(stock: GradedGroup, lead: float) -> Iterator[Finding]:
    """A warning where a hand lies beyond the group's sizes by more than a step: estimates reach no further."""
    table = stock.run.table
    girths = table.values[0]
    step = float(np.median(np.diff(np.sort(girths)))) if len(girths) > 1 else 0.0
    if not girths.min() - step <= lead <= girths.max() + step:
        yield Finding.warning(
            Code.BEYOND_THE_SIZES,
            Place(group=table.group, measure=table.measurements[0]),
            f"{table.measurements[0]} is {lead:g} mm; the group's sizes run from {girths.min():g} to "
            f"{girths.max():g} mm.",
            "Within a step of the sizes: beyond, estimates and the shape of the block are guesses.",
            "Measure everything, take the group that is nearer, and sew a sample first.",
        )
