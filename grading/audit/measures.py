"""Audit the points of measure: that each is of something, grows with what it says, and can be kept with a needle."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.audit.figures import shown
from grading.audit.subject import Subject
from grading.codes import Code
from grading.findings import Finding
from grading.measuring.ways import WAYS, Goes
from grading.model.block import Block, Measure

__all__ = ["MEASURE_BLOCK_RULES", "MEASURE_RULES"]

#: A measure that is to be the same in every size may differ by this, mm.
SAME = 0.05
#: What is shorter than this, mm, is not measured.
NOTHING = 1.0
#: How often a length counts: a half of the round lies flat, and both of a pair may be measured together.
TIMES = (0.25, 0.5, 1.0, 2.0, 4.0)
#: Both tolerances together: less than this, mm, nobody sews to; more than this share of the measure tells nothing.
FINEST, COARSEST = 0.8, 0.25
#: A tolerance either way that is of use however short the measure is, mm.
MODEST = 3.0


def _same_unless_it_follows(subject: Subject) -> Iterator[Finding]:
    """What follows no measurement is an allowance, such as a fold-back, and those do not grow with the hand."""
    for measure in subject.measured.measures:
        if measure.follows or not WAYS[measure.how].in_proportion or measure.tolerance is None:
            continue  # one without a tolerance is there for a limit, which holds it
        figures = subject.measured[measure.name]
        if np.ptp(figures) > SAME:
            yield Finding.warning(
                Code.GROWS_AND_FOLLOWS_NOTHING,
                measure.place,
                f"{measure.name} runs from {shown(figures.min())} to {shown(figures.max())} mm over the sizes of "
                f"{subject.run.group}.",
                "The same in every size, since it follows nothing.",
                f"Name what it grows with under 'Follows', or check the moves of {_ends_in_words(measure)}.",
            )


def _is_something(subject: Subject) -> Iterator[Finding]:
    """A measure with no length, between points that no allowance sets apart, was meant for other points."""
    for measure in subject.measured.measures:
        if WAYS[measure.how].goes is Goes.NEITHER or measure.times == 0:
            continue  # those are small without their ends being the wrong ones
        short = np.abs(subject.measured[measure.name]) < NOTHING
        if not short.any() or _set_apart(subject, measure):
            continue
        for size in np.flatnonzero(short):
            yield Finding.error(
                Code.MEASURE_OF_NOTHING,
                subject.place(size, measure=measure.name),
                f"{measure.name} is {shown(subject.measured[measure.name][size])} mm.",
                "A length: its two ends lie in one place, or at one height.",
                f"Check {_ends_in_words(measure)} on the sheet Measures, and how it is measured.",
            )


def _set_apart(subject: Subject, measure: Measure) -> bool:
    """Whether some value could set the ends of a measure apart: a fold-back of nought is then a maker's choice."""
    shape = subject.run.pieces[measure.piece].shape
    rules = dict(zip(shape.names, np.moveaxis(shape.rules, 1, 0), strict=True))
    one, other = (rules.get(name.removesuffix("'")) for name in (measure.start, measure.end or measure.start))
    if one is None or other is None:
        return False
    axes = {"height": [1], "sideways": [0]}.get(measure.how, [0, 1])
    return bool((one != other)[:, axes].any())


def _usual_times(block: Block) -> Iterator[Finding]:
    for measure in block.measures:
        if not np.isclose(np.abs(np.array(TIMES) - measure.times), 0).any():
            yield Finding.warning(
                Code.TIMES_UNUSUAL,
                measure.place,
                f"{measure.name} counts {measure.times:g} times the length between its ends.",
                f"One of {', '.join(f'{times:g}' for times in TIMES)}: 0.5 for half of a round that lies flat.",
                "Correct 'Times'.",
            )


def _twins(block: Block) -> Iterator[Finding]:
    """Two measures of the same length under two names: one of them was meant for other points."""
    known: dict[tuple[object, ...], str] = {}
    for measure in block.measures:
        what = (measure.piece, measure.how, measure.start, measure.end, measure.times)
        if what in known:
            yield Finding.warning(
                Code.MEASURES_OF_ONE_THING,
                measure.place,
                f"{measure.name} is measured as {known[what]} is: {measure.how}, {_ends_in_words(measure)}.",
                "Other points: or one of the two is not what it is called.",
                "Correct 'From' or 'To', or delete one of the rows.",
            )
        known.setdefault(what, measure.name)


def _tolerances_of_use(block: Block) -> Iterator[Finding]:
    for measure in block.measures:
        if measure.tolerance is not None and measure.tolerance < FINEST:
            yield Finding.warning(
                Code.TOLERANCE_TOO_FINE,
                measure.place,
                f"{measure.name} may differ by −{measure.tolerance_minus:g} and +{measure.tolerance_plus:g} mm.",
                "A millimetre or two: no seam in leather is truer, and every mitten would be sent back.",
                "Widen the tolerances; leave both blank for a measure that is only checked here.",
            )


def _tolerances_tell(subject: Subject) -> Iterator[Finding]:
    """A tolerance of a good part of the measure lets anything pass."""
    for measure in subject.measured.measures:
        if (both := measure.tolerance) is None:
            continue
        least = float(np.abs(subject.measured[measure.name]).min())
        if least >= NOTHING and (both > least or both > max(COARSEST * least, 2 * MODEST)):
            yield Finding.warning(
                Code.TOLERANCE_TOO_COARSE,
                measure.place,
                f"{measure.name} may differ by −{measure.tolerance_minus:g} and +{measure.tolerance_plus:g} mm; it is "
                f"{shown(least)} mm at the least.",
                f"Less than {COARSEST:.0%} of it in all: or a wrong one passes.",
                "Narrow the tolerances, or check their unit.",
            )


def _ends_in_words(measure: Measure) -> str:
    return f"{measure.start} and {measure.end}" if measure.end else measure.start or "the outline"


#: The rules for measures as they are written, and as they come out in a run.
MEASURE_BLOCK_RULES = (_usual_times, _twins, _tolerances_of_use)
MEASURE_RULES = (_same_unless_it_follows, _is_something, _tolerances_tell)
