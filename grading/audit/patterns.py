"""Audit the pattern against the body: ease, increments, limits and seams, in every size."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.audit.figures import apart, shown
from grading.audit.mistaken import likely_unit
from grading.audit.subject import Subject
from grading.codes import Code
from grading.findings import Finding, Place
from grading.geometry.arrays import Floats
from grading.measuring.ways import WAYS
from grading.model.block import Kind, Limit, name_and_more
from grading.model.names import nearest

__all__ = ["PATTERN_RULES"]

#: An increment or an ease off by more than this, mm, is no rounding.
EXACT = 0.05
#: Each half of a balanced seam may be this far from its own target, mm.
HALF = 0.5
#: Seam ease is held to its bounds and to its target to within this, mm.
CLOSE = 0.01
#: Leather takes up this share of a seam's length, where the ease lies, without a pucker. Common practice.
MOST_EASED = 0.08
#: A limit is held to within this, mm or a ratio: a figure that just keeps it may have been rounded in its last bits.
ROUNDING = 1e-6
#: Sizes graded further than this many steps from the base want a sample sewn first. Common practice.
STEPS_FROM_BASE = 3


def _increments_follow_the_body(subject: Subject) -> Iterator[Finding]:
    """A measure grows by its share of what the body grows by, and so its ease is the same in every size."""
    run = subject.run
    for measure in subject.measured.measures:
        if not measure.follows:
            continue
        try:
            body = subject.figure(measure.follows) * measure.follows_share
        except KeyError:
            yield Finding.warning(
                Code.FOLLOWS_UNKNOWN_NAME,
                measure.place,
                f"{measure.name} follows '{measure.follows}', which group {run.group} does not have.",
                "A measurement of its table, or an allowance or a measure of the block.",
                "Correct the name, or add the measurement: whether it grows with the body was not checked.",
            )
            continue
        ease = subject.measured[measure.name] - body
        drift = np.diff(ease)
        for size in np.flatnonzero(np.abs(drift) > EXACT) if subject.ordered else ():
            step = np.diff(body)[size]
            yield Finding.error(
                Code.INCREMENT_NOT_ITS_SHARE,
                subject.place(size + 1, measure=measure.name),
                f"Grows by {shown(step + drift[size])} mm from size {run.sizes[size]}, its share of {measure.follows} "
                f"by {shown(step)} mm.",
                "The same increment: or the ease differs from size to size.",
                f"Check the moves of {measure.start} and {measure.end or 'of the points beside it'}.",
            )
        if np.ptp(ease) > EXACT:
            yield Finding.error(
                Code.EASE_VARIES,
                Place(group=run.group, measure=measure.name),
                f"Ease over its share of {measure.follows} runs from {shown(ease.min())} to {shown(ease.max())} mm.",
                "The same ease in every size.",
                f"Check the allowances and the moves that follow {measure.follows}.",
            )


def _limits(subject: Subject) -> Iterator[Finding]:
    """What the block's own Limits sheet asks."""
    for limit in subject.run.block.limits:
        try:
            values, least, most = _limited(subject, limit)
        except KeyError as unknown:
            meant = nearest(unknown.args[0], subject.run.body.measurements)
            yield Finding.warning(
                Code.LIMIT_UNKNOWN_NAME,
                limit.place,
                f"The limit '{limit.name}' names {unknown}, which group {subject.run.group} does not have.",
                f"Perhaps its row '{meant}' is meant."
                if meant
                else "A measurement of its table, or an allowance or a measure of the block.",
                "Correct the name, or add the measurement: the limit was not checked.",
            )
            continue
        passed = np.flatnonzero(~((values >= least - ROUNDING) & (values <= most + ROUNDING)))
        of_block = _is_fixed(subject, limit)
        fixed = of_block and len(passed) == len(values)
        varies = any((row != row[0]).any() for row in (values, least, most))
        for size in passed[:1] if fixed else passed:
            value, low, high = values[size], least[size], most[size]
            unit = likely_unit(value, max(low, 0.0), high) if of_block and limit.less is None else ""
            yield Finding(
                Code.LIMIT_PASSED,
                limit.severity,
                subject.place_of(limit.what) if fixed else subject.place(size, measure=limit.name),
                f"{_limit_in_words(limit)} {_miss_in_words(value, low, high, _unit_of(subject, limit))}"
                f"{f' in size {subject.run.sizes[size]}' if fixed and varies else ''}.",
                f"{limit.why}{_layers_in_words(subject, limit)}",
                f"Check the figures it is made of, in the tables and in the block{unit}.",
            )


def _layers_in_words(subject: Subject, limit: Limit) -> str:
    """What each layer takes of the round, to follow a sentence, where the limit asks for room for all of them."""
    if not limit.asks_for_layers:
        return ""
    takes = subject.run.block.layers
    total = f"; {shown(sum(takes.values()))} mm in all" if len(takes) > 1 else ""
    return f" Of the round take: {', '.join(f'{name} {shown(mm)} mm' for name, mm in takes.items())}{total}."


def _is_fixed(subject: Subject, limit: Limit) -> bool:
    """Whether a limit holds a figure of the block's own, the same in every size: an allowance, or a seam type's."""
    value = subject.run.block.value(limit.what)
    kinds = (kind.name for kind in subject.run.block.seam_types)
    return value.kind is Kind.ALLOWANCE if value is not None else limit.what in kinds


def _limited(subject: Subject, limit: Limit) -> tuple[Floats, Floats, Floats]:
    """A limit's value and bounds in every size, each (sizes,)."""

    def figure(of: float | str | None, otherwise: float = 0.0) -> Floats:
        if isinstance(of, str):
            name, more = name_and_more(of)
            return subject.figure(name) + more
        return np.full(len(subject.run.sizes), otherwise if of is None else of)

    values = limit.times * figure(limit.what) - limit.less_times * figure(limit.less)
    divisor = figure(limit.divided_by)
    ratio = np.divide(values, divisor, out=np.full_like(values, np.nan), where=divisor != 0)
    return ratio, figure(limit.least, -np.inf), figure(limit.most, np.inf)


def _limit_in_words(limit: Limit) -> str:
    """What a limit looks at, as a maker would write it."""
    words = _multiple(limit.times, limit.what)
    if limit.less is not None:
        words = f"{words} less {_multiple(limit.less_times, limit.less)}"
    if limit.divided_by == 1:
        return words
    return f"({words}) ÷ {limit.divided_by}" if limit.less is not None else f"{words} ÷ {limit.divided_by}"


def _multiple(times: float, what: str) -> str:
    return what if times == 1 else f"{times:g} × {what}"


def _unit_of(subject: Subject, limit: Limit) -> str:
    """What stands behind a limit's figures: mm, the sign of degrees, or nothing behind a ratio."""
    if limit.divided_by != 1:
        return ""
    angles = [measure.name for measure in subject.run.block.measures if WAYS[measure.how].degrees]
    return "°" if limit.what in angles else " mm"


def _miss_in_words(value: float, least: float, most: float, unit: str) -> str:
    """How a figure misses its bounds; what cannot be measured, or divided by nought, keeps none."""
    if np.isnan(value):
        return "comes to no figure in this size"
    figure, bound = apart(value, least if value < least else most)
    return f"is {figure}{unit}, {'less' if value < least else 'more'} than {bound}{unit}"


def _tolerances_meet(subject: Subject) -> Iterator[Finding]:
    """Where a measure tells the size, the largest of one size must stay under the smallest of the next."""
    if not subject.ordered:
        return
    for measure in subject.measured.measures:
        if not measure.tells_size or (both := measure.tolerance) is None:
            continue
        steps = np.diff(subject.measured[measure.name])
        for size in np.flatnonzero(both >= steps - ROUNDING):
            yield Finding.warning(
                Code.TOLERANCES_MEET,
                subject.place(size + 1, measure=measure.name),
                f"+{measure.tolerance_plus:g} of size {subject.run.sizes[size]} and −{measure.tolerance_minus:g} of "
                f"this one take up {both:g} mm of an increment of {shown(steps[size])} mm.",
                "Less than the increment: or a mitten may be either size.",
                "Narrow the tolerances, or widen the step.",
            )


def _seam_ease(subject: Subject) -> Iterator[Finding]:
    """Every seam's ease within its bounds: a side A that is shorter than B has an ease below zero."""
    for walked in subject.seams:
        ease = walked.ease
        for bound, beyond, word in (
            (walked.least, ease < walked.least - CLOSE, "least"),
            (walked.most, ease > walked.most + CLOSE, "most"),
        ):
            for size in np.flatnonzero(beyond):
                yield Finding.error(
                    Code.SEAM_EASE_OUT_OF_BOUNDS,
                    subject.place(size, seam=walked.seam.name),
                    f"Ease {shown(ease[size], sign='+')} mm (side A {shown(walked.side_a[size])}, side B "
                    f"{shown(walked.side_b[size])}).",
                    f"At {word} {shown(bound[size], sign='+')} mm.",
                    "Let a balance value fill or flatten side A, or check the points of both sides.",
                )


def _ease_where_it_lies(subject: Subject) -> Iterator[Finding]:
    """A stretch that is kept without ease leaves more of it to the rest."""
    for walked in subject.seams:
        if not walked.seam.without_ease:
            continue
        for size in np.flatnonzero(walked.where_it_lies > MOST_EASED + ROUNDING):
            yield Finding.warning(
                Code.EASE_TOO_DENSE,
                subject.place(size, seam=walked.seam.name),
                f"Ease {shown(walked.ease[size], sign='+')} mm is {100 * walked.where_it_lies[size]:.1f} % of side B "
                f"where it lies, since {walked.seam.without_ease:.0%} of that is without ease.",
                f"At most {MOST_EASED:.0%} where it lies: more puckers.",
                "Lower the target, or the share without ease.",
            )


def _balance(subject: Subject) -> Iterator[Finding]:
    """Balanced seams at their target together, and each of them near its own."""
    balances = {balance.driver: balance for balance in subject.run.balances}
    missed = {
        driver: sum(
            (seam.ease - seam.target for seam in subject.seams if seam.seam.balance == driver),
            start=np.zeros(len(subject.run.sizes)),
        )
        for driver in balances
    }
    for driver, balance in balances.items():
        for size in np.flatnonzero(np.abs(missed[driver]) > CLOSE):
            yield Finding.error(
                Code.BALANCE_OUT_OF_REACH,
                subject.place(size, seam=", ".join(balance.seams)),
                f"{balance.driver} stops at {shown(balance.solved[size])} mm, where the ease still is "
                f"{shown(abs(missed[driver][size]))} mm {'over' if missed[driver][size] > 0 else 'under'} its target.",
                "The target, within the bounds of that value and above the least length of the seam.",
                "Change the target, or redraft the points of side A; let no other balance value move this seam.",
            )
    for walked in subject.seams:
        if not walked.seam.balance:
            continue
        off = np.abs(walked.ease - walked.target)
        solved = balances.get(walked.seam.balance)
        if solved is None:
            for size in np.flatnonzero(off > CLOSE):
                yield Finding.warning(
                    Code.SEAM_NOT_BALANCED,
                    subject.place(size, seam=walked.seam.name),
                    f"Ease {shown(walked.ease[size], sign='+')} mm, not balanced.",
                    f"{shown(walked.target[size], sign='+')} mm, its target, in every size.",
                    f"Let {walked.seam.balance} be solved for each size.",
                )
            continue
        for size in np.flatnonzero((off > HALF + ROUNDING) & (np.abs(missed[walked.seam.balance]) <= CLOSE)):
            yield Finding.warning(
                Code.HALF_SEAM_OFF_TARGET,
                subject.place(size, seam=walked.seam.name),
                f"Ease {shown(walked.ease[size], sign='+')} mm.",
                f"{shown(walked.target[size], sign='+')} ± {HALF} mm: a right total can hide a twisted thumb.",
                "Check the points of this half against the other's.",
            )


def _far_from_base(subject: Subject) -> Iterator[Finding]:
    """Grading is trusted for a few steps; beyond, the shape of a hand changes."""
    run = subject.run
    lead = run.table.measurements[0]
    if len(run.sizes) < 2 or not subject.ordered or lead not in run.drivers:
        return
    drafted = run.drivers.base[run.drivers.names.index(lead)]
    girth = run.table.values[0]
    steps = np.abs(girth - drafted) / np.median(np.diff(girth))
    far = np.flatnonzero(steps > STEPS_FROM_BASE + ROUNDING)
    if len(far):
        yield Finding.note(
            Code.FAR_FROM_BASE,
            Place(group=run.group, size=", ".join(run.sizes[size] for size in far)),
            f"Graded up to {shown(steps.max(), 1)} steps of {lead} from the base block.",
            f"{STEPS_FROM_BASE} steps is as far as one grades without sewing a sample.",
            "Sew a sample of the furthest size before cutting, or draft a base for this group.",
        )


#: The rules for a pattern against the body, in the order in which their findings are told.
PATTERN_RULES = (
    _increments_follow_the_body,
    _limits,
    _tolerances_meet,
    _seam_ease,
    _ease_where_it_lies,
    _balance,
    _far_from_base,
)
