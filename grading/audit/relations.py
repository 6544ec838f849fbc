"""What holds between the measurements of any hand: within what spans each lies, and how they compare.

Where a size's figures contradict one another, the row that most of them contradict is the one that is told. Names
that are not known here are left alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import inf

import numpy as np

from grading.audit.figures import in_unit
from grading.audit.mistaken import likely_unit
from grading.codes import Code
from grading.findings import Finding, Severity
from grading.model.sizes import SizeTable

__all__ = ["PLAUSIBLE", "RELATIONS", "Relation", "audit_relations"]

#: The least and the most, mm, from a small child's hand to a large man's, with a fifth to spare. From memory: what
#: lies outside is far more often another unit than another hand.
PLAUSIBLE = {
    "fist girth": (110, 330),
    "hand girth": (100, 300),
    "entry girth": (105, 315),
    "hand breadth": (43, 125),
    "hand length": (90, 250),
    "palm length": (51, 145),
    "thumb girth": (38, 110),
    "web to knuckle": (15, 50),
    "web to tip": (29, 95),
    "thumb root length": (30, 84),
    "thumb root breadth": (21, 57),
    "web depth": (12.5, 35),
    "index-middle gap": (12, 33),
    "wrist girth": (92, 235),
}
#: So far beyond its span a figure is of no hand at all; nearer by, it may be of an infant's.
FAR = 1.6


@dataclass(frozen=True, slots=True)
class Relation:
    """One measurement is at least and at most so many times another, on any hand."""

    what: str
    to: str
    least: float
    most: float
    why: str


#: From memory, and wider than the hands of any published table: EN 420's run from 0.77 to 1.05 in length to girth.
RELATIONS = (
    Relation("fist girth", "hand girth", 1.0, 1.35, "A closed fist is larger round than the open hand."),
    Relation("entry girth", "hand girth", 1.0, 1.3, "With the thumb tucked in, a hand is larger round than without."),
    Relation("wrist girth", "hand girth", 0.6, 1.0, "A wrist is smaller round than the hand."),
    Relation("hand breadth", "hand girth", 0.34, 0.5, "Flat across, a hand is less than half of its girth."),
    Relation("hand length", "hand girth", 0.65, 1.3, "A hand is about as long as it is round."),
    Relation("palm length", "hand length", 0.42, 0.72, "A palm is a little over half of the hand long."),
    Relation("thumb girth", "hand girth", 0.26, 0.5, "A thumb is about a third of the hand round."),
    Relation("web to knuckle", "palm length", 0.15, 0.55, "From web to knuckle is about a third of the palm."),
    Relation("web to tip", "hand length", 0.24, 0.46, "From the web a thumb is about a third of the hand long."),
    Relation("thumb root length", "palm length", 0.35, 0.85, "A thumb's root is a little over half of the palm long."),
    Relation("thumb root breadth", "hand breadth", 0.3, 0.8, "A thumb's root is about half of the hand broad."),
    Relation("web depth", "palm length", 0.12, 0.5, "The web lies about a quarter of the palm down."),
    Relation("index-middle gap", "web to knuckle", 0.4, 1.15, "An index finger is less broad than its thumb is long."),
    Relation("index-middle gap", "hand breadth", 0.14, 0.45, "The gap lies about a quarter of the hand in."),
)


def audit_relations(table: SizeTable) -> Iterator[Finding]:
    """Figures of a table that can be of no hand, or not of the same hand as those beside them."""
    table = table.spelled_as(PLAUSIBLE)
    rows = dict(zip(table.measurements, table.values, strict=True))
    implausible = list(_implausible(table))
    yield from implausible
    of_no_hand = {finding.place for finding in implausible}
    told: dict[tuple[str, Relation], list[int]] = {}
    for size in range(len(table.sizes)):
        for name, relation in _contradicted({row: float(figures[size]) for row, figures in rows.items()}):
            told.setdefault((name, relation), []).append(size)
    for (name, relation), sizes in told.items():
        other = relation.to if name == relation.what else relation.what
        figure, beside, unit = rows[name], rows[other], table.unit(name)
        bounds = {size: _bounds(relation, name, float(beside[size])) for size in sizes}
        # The unit that was probably meant, if the row contradicts the others in every size and each time alike.
        meant = {likely_unit(float(figure[size]), *bounds[size]) for size in sizes}
        cause = meant.pop() if len(meant) == 1 and len(sizes) == len(table.sizes) else ""
        for size in sizes:
            if table.place(name, table.sizes[size]) in of_no_hand:
                continue
            low, high = bounds[size]
            yield Finding(
                Code.FIGURE_IN_ANOTHER_UNIT if cause else Code.FIGURES_OF_NO_HAND,
                Severity.ERROR if cause else Severity.WARNING,
                table.place(name, table.sizes[size]),
                f"{name} is {in_unit(figure[size], unit)} beside a {other} of "
                f"{in_unit(beside[size], table.unit(other))}.",
                f"{in_unit(low, unit)} to {in_unit(high, unit)}. {relation.why}",
                f"Check both figures and their units{cause}.",
                cause=cause,
            )


def _implausible(table: SizeTable) -> Iterator[Finding]:
    for name, row in zip(table.measurements, table.values, strict=True):
        if name not in PLAUSIBLE:
            continue
        (least, most), unit = PLAUSIBLE[name], table.unit(name)
        for size in np.flatnonzero((row * FAR < least) | (row > most * FAR)):
            cause = likely_unit(float(row[size]), least, most)
            yield Finding.error(
                Code.FIGURE_IN_ANOTHER_UNIT if cause else Code.FIGURE_OF_NO_HAND,
                table.place(name, table.sizes[size]),
                f"{name} is {in_unit(row[size], unit)}.",
                f"Between {in_unit(least, unit)} and {in_unit(most, unit)}, from a small child's hand to a "
                "large man's.",
                f"Check the figure and the row's unit{cause}.",
                cause=cause,
            )


def _contradicted(hand: Mapping[str, float]) -> list[tuple[str, Relation]]:
    """The figures of a hand that contradict others, those with most against them first, each with one relation."""
    broken = []
    for relation in RELATIONS:
        if hand.keys() >= {relation.what, relation.to}:
            ratio = hand[relation.what] / hand[relation.to] if hand[relation.to] else inf
            if not relation.least <= round(ratio, 6) <= relation.most:
                broken.append(relation)
    against_most = []
    while broken:
        against = [name for relation in broken for name in (relation.what, relation.to)]
        worst = max(dict.fromkeys(against), key=against.count)
        against_most.append((worst, next(one for one in broken if worst in (one.what, one.to))))
        broken = [one for one in broken if worst not in (one.what, one.to)]
    return against_most


def _bounds(relation: Relation, name: str, beside: float) -> tuple[float, float]:
    """What one measurement of a relation may be beside the other's figure, mm."""
    if name == relation.what:
        return relation.least * beside, relation.most * beside
    return beside / relation.most, beside / relation.least
