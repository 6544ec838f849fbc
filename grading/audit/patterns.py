"""Audit the pattern against the body: ease, increments, limits and seams, in every size."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.audit.subject import RunRule, Subject
from grading.findings import Finding, Place, Severity
from grading.geometry.arrays import Floats
from grading.model.block import Limit

__all__ = ["PATTERN_RULES"]

#: An increment or an ease off by more than this, mm, is no rounding.
EXACT = 0.05
#: Each half of a balanced seam may be this far from its own target, mm.
HALF = 0.5
#: Seam ease is held to its bounds to within this, mm.
CLOSE = 0.01
#: Sizes graded further than this many steps from the base want a sample sewn first. Common practice.
STEPS_FROM_BASE = 3


def _increments_follow_the_body(subject: Subject) -> Iterator[Finding]:
    """A measure grows by its share of what the body grows by, and so its ease is the same in every size."""
    run = subject.run
    for measure in subject.measured.measures:
        if not measure.follows:
            continue
        body = subject.figure(measure.follows) * measure.follows_share
        ease = subject.measured[measure.name] - body
        for size in np.flatnonzero(np.abs(np.diff(ease)) > EXACT):
            yield Finding(
                "increment-not-its-share",
                Severity.ERROR,
                subject.place(size + 1, measure=measure.name),
                f"Grows by {np.diff(subject.measured[measure.name])[size]:.2f} mm from size {run.sizes[size]}, its "
                f"share of the body by {np.diff(body)[size]:.2f} mm.",
                "The same increment: or the ease differs from size to size.",
                f"Check the moves of the points it is measured between: {measure.start}, {measure.end or 'its image'}.",
            )
        if np.ptp(ease) > EXACT:
            yield Finding(
                "ease-varies",
                Severity.ERROR,
                Place(group=run.group, measure=measure.name),
                f"Ease runs from {ease.min():.2f} to {ease.max():.2f} mm over the sizes.",
                "The same ease in every size.",
                f"Check the allowances and the moves that follow {measure.follows}.",
            )


def _limits(subject: Subject) -> Iterator[Finding]:
    """What the block's own Limits sheet asks."""
    for limit in subject.run.block.limits:
        try:
            values, least, most = _limited(subject, limit)
        except KeyError as unknown:
            yield Finding(
                "limit-unknown-name",
                Severity.WARNING,
                limit.place,
                f"The limit '{limit.name}' names {unknown}, which group {subject.run.group} does not have.",
                "A measurement, an allowance or a measure.",
                "Correct the name, or add the measurement: the limit was not checked.",
            )
            continue
        for size in np.flatnonzero((values < least - EXACT) | (values > most + EXACT)):
            short = values[size] < least[size]
            yield Finding(
                "limit-passed",
                limit.severity,
                subject.place(size, measure=limit.name),
                f"{values[size]:.4g} is {'less' if short else 'more'} than {least[size] if short else most[size]:.4g}.",
                limit.why,
                "Check the figures it is made of, in the tables and in the block.",
            )


def _limited(subject: Subject, limit: Limit) -> tuple[Floats, Floats, Floats]:
    """A limit's value and bounds in every size, each (sizes,)."""

    def figure(of: float | str | None, otherwise: float = 0.0) -> Floats:
        if isinstance(of, str):
            return subject.figure(of)
        return np.full(len(subject.run.sizes), otherwise if of is None else of)

    values = limit.times * figure(limit.what) - limit.less_times * figure(limit.less)
    return values / figure(limit.divided_by), figure(limit.least, -np.inf), figure(limit.most, np.inf)


def _tolerances_meet(subject: Subject) -> Iterator[Finding]:
    """Where a measure tells the size, the largest of one size must stay under the smallest of the next."""
    for measure in subject.measured.measures:
        if not measure.tells_size or measure.tolerance_plus is None or measure.tolerance_minus is None:
            continue
        both = measure.tolerance_plus + measure.tolerance_minus
        steps = np.diff(subject.measured[measure.name])
        for size in np.flatnonzero(both >= steps):
            yield Finding(
                "tolerances-meet",
                Severity.WARNING,
                subject.place(size + 1, measure=measure.name),
                f"+{measure.tolerance_plus:g} of size {subject.run.sizes[size]} and −{measure.tolerance_minus:g} of "
                f"this one take up {both:g} mm of an increment of {steps[size]:.2f} mm.",
                "Less than the increment: or a mitten may be either size.",
                "Narrow the tolerances, or widen the step.",
            )


def _seam_ease(subject: Subject) -> Iterator[Finding]:
    """Every seam's ease within its bounds, never below zero where side A is meant to be the longer."""
    for walked in subject.seams:
        ease = walked.ease
        for bound, beyond, word in (
            (walked.least, ease < walked.least - CLOSE, "least"),
            (walked.most, ease > walked.most + CLOSE, "most"),
        ):
            for size in np.flatnonzero(beyond):
                yield Finding(
                    "seam-ease-out-of-bounds",
                    Severity.ERROR,
                    subject.place(size, seam=walked.seam.name),
                    f"Ease {ease[size]:+.2f} mm (side A {walked.side_a[size]:.2f}, side B {walked.side_b[size]:.2f}).",
                    f"At {word} {bound[size]:.2f} mm.",
                    "Let a balance value fill or flatten side A, or check the points of both sides.",
                )


def _balance(subject: Subject) -> Iterator[Finding]:
    """Balanced seams at their target together, and each of them near its own."""
    balances = {balance.driver.casefold(): balance for balance in subject.run.balances}
    for balance in balances.values():
        for size in np.flatnonzero(balance.missed):
            yield Finding(
                "balance-out-of-reach",
                Severity.ERROR,
                subject.place(size, seam=", ".join(balance.seams)),
                f"{balance.driver} stops at {balance.solved[size]:.2f} mm, where the ease still is "
                f"{abs(balance.missed[size]):.2f} mm {'over' if balance.missed[size] > 0 else 'under'} its target.",
                "The target, within the bounds of that value and above the least length of the seam.",
                "Change the target, or redraft the points of side A.",
            )
    for walked in subject.seams:
        if walked.seam.target is None:
            continue
        slack = HALF if walked.seam.balance.casefold() in balances else np.inf
        for size in np.flatnonzero(np.abs(walked.ease - walked.target) > slack):
            yield Finding(
                "half-seam-off-target",
                Severity.WARNING,
                subject.place(size, seam=walked.seam.name),
                f"Ease {walked.ease[size]:+.2f} mm.",
                f"{walked.target[size]:.2f} ± {HALF} mm: a right total can hide a twisted thumb.",
                "Check the points of this half against the other's.",
            )
        if walked.seam.balance and not balances:
            for size in np.flatnonzero(np.abs(walked.ease - walked.target) > CLOSE):
                yield Finding(
                    "seam-not-balanced",
                    Severity.WARNING,
                    subject.place(size, seam=walked.seam.name),
                    f"Ease {walked.ease[size]:+.2f} mm, not balanced.",
                    f"{walked.target[size]:.2f} mm.",
                    f"Let {walked.seam.balance} be solved for each size.",
                )


def _far_from_base(subject: Subject) -> Iterator[Finding]:
    """Grading is trusted for a few steps; beyond, the shape of a hand changes."""
    run = subject.run
    lead = run.table.measurements[0]
    if len(run.sizes) < 2 or lead not in run.drivers:
        return
    names = [name.casefold() for name in run.drivers.names]
    step = float(np.median(np.diff(run.table.values[0])))
    steps = np.abs(run.table.values[0] - run.drivers.base[names.index(lead.casefold())]) / step if step > 0 else []
    far = np.flatnonzero(np.array(steps) > STEPS_FROM_BASE + 1e-9)
    if len(far):
        yield Finding(
            "far-from-base",
            Severity.NOTE,
            Place(group=run.group, size=", ".join(run.sizes[size] for size in far)),
            f"Graded up to {max(steps):.1f} steps of {lead} from the base block.",
            f"{STEPS_FROM_BASE} steps is as far as one grades without sewing a sample.",
            "Sew a sample of the furthest size before cutting, or draft a base for this group.",
        )


#: The rules for a pattern against the body, in the order in which their findings are told.
PATTERN_RULES: tuple[RunRule, ...] = (
    _increments_follow_the_body,
    _limits,
    _tolerances_meet,
    _seam_ease,
    _balance,
    _far_from_base,
)
