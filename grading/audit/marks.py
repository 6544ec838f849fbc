"""Audit the marks: notches and ticks that are to meet when a seam is sewn, and do not."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.audit.figures import shown
from grading.audit.subject import RunRule, Subject
from grading.engine.run import SizeRun
from grading.findings import Finding, Place, Severity
from grading.geometry.arrays import Floats
from grading.readings.marks import point_marks
from grading.readings.walks import Walk, walked_sides

__all__ = ["MARK_RULES"]

#: How much more than the seam's ease two marks that meet may lie apart, mm: about as true as one cuts a notch.
APART = 1.0


def _marks_pair(subject: Subject) -> Iterator[Finding]:
    """Each notch or tick inside one side of a seam meets one of the other side, within the seam's ease."""
    run = subject.run
    marked = {row.piece for row in run.block.marks if row.kind in ("notch", "tick")}
    for seam in run.block.seams:
        if marked.isdisjoint((seam.side_a.piece, seam.side_b.piece)):
            continue
        a, b = walked_sides(run, seam)
        on_a, on_b = _marks_along(run, a), _marks_along(run, b)
        if len(on_a) != len(on_b):
            yield Finding(
                "marks-do-not-pair",
                Severity.WARNING,
                Place(group=run.group, seam=seam.name),
                f"Side A has {len(on_a)} notches or ticks between its ends, side B {len(on_b)}.",
                "As many on either side: each meets another.",
                "Add the one that is missing, or take out the one that has no other.",
            )
            continue
        ease = a.length - b.length
        for (name, from_a), (other, from_b) in zip(on_a, on_b, strict=True):
            off = from_a - from_b
            astray = (off < np.minimum(ease, 0) - APART) | (off > np.maximum(ease, 0) + APART)
            for size in np.flatnonzero(astray):
                yield Finding(
                    "marks-do-not-pair",
                    Severity.WARNING,
                    subject.place(size, seam=seam.name),
                    f"From the start, {name} is {shown(from_a[size], 1)} mm along side A, {other} "
                    f"{shown(from_b[size], 1)} mm along side B.",
                    f"Apart by no more than the seam's ease, {shown(ease[size], 1)} mm, and {APART:g} mm.",
                    "Move one of the points, or let matching marks be set from the seam: sheet Seams.",
                )


def _marks_along(run: SizeRun, walk: Walk) -> list[tuple[str, Floats]]:
    """The notches and ticks between the ends of a walk, in order, each with its distance (sizes,) from the start."""
    found = []
    for row in run.block.marks:
        if row.piece != walk.piece or row.kind not in ("notch", "tick"):
            continue
        for mark in point_marks(run, row):
            away = np.abs(walk.beziers[:, 1:, 0] - mark.places[:, None]).max(axis=(0, 2))
            found += [(mark.name, walk.reached[:, 1 + joint]) for joint in np.flatnonzero(away < 1e-6)]
    return sorted(found, key=lambda pair: float(pair[1][0]))


#: The rules for marks, in the order in which their findings are told.
MARK_RULES: tuple[RunRule, ...] = (_marks_pair,)
