"""Audit a block's drawing against the figures that it says it was drafted with, where the one follows from the other.

A block whose points were constructed from its values lies, at every point, where its moves lead from nothing: P₀ = Σ
R_k d₀_k. What is left over, P₀ − Σ R_k d₀_k, is then nought but for a slip: in proportion to one value's shares where
that value's figure is wrong, at one point where its place or a share is. A pattern that was traced or shaped by eye
leaves something over at most of its points, and is judged by its measures alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from grading.audit.figures import shown
from grading.codes import Code
from grading.engine.run import SizeRun, grade
from grading.engine.shapes import shapes
from grading.findings import Finding, Severity
from grading.geometry.arrays import Floats
from grading.model.block import Block, Kind, Measure, Value
from grading.model.sizes import SizeTable
from grading.readings.measures import taken

__all__ = ["BASE_RULES", "grows"]

#: A hand is measured to half a millimetre at best: what a figure is off by no more than is no slip of it, mm.
READ_TO = 0.5
#: The steps in which points may be written, the coarsest first, mm; finer ones are shown nowhere.
STEPS = (25.4 / 16, 1.0, 25.4 / 32, 0.5, 25.4 / 64, 0.1, 0.05, 0.01)
#: The share of coordinates that are whole steps where points are written so; and how near to one they are, mm.
WRITTEN, NEAR = 0.9, 0.001
#: The share of a block's coordinates that follow from its values, where it counts as constructed from them.
CONSTRUCTED = 0.75
#: Fewer coordinates do not tell how a block was made.
FEWEST_TO_TELL = 6
#: A share smaller than this tells nothing of its value's figure.
LEAST_SHARE = 0.05
#: A point further than this from where its values lead, mm, is more than tuned.
TUNED = 10.0
#: An allowance that was drawn with so many times what is stated, or fewer, is no tuning either.
FEWEST, MOST = 1 / 3, 2.0
#: How far the ease of a traced pattern may be from the one it states, mm: folds and edges are read off singly.
READ_OFF_TO = 8.0
#: Ways of measuring that are sums of coordinates.
STRAIGHT = ("across", "height", "sideways")


@dataclass(frozen=True, eq=False)
class _Coordinates:
    """The n coordinates of a block's points that tell something, each ``of`` a piece, a point and an axis (x 0, y 1).

    ``left`` (n,) is what the values do not explain, mm. ``shares`` (values + shifts, n) are what one unit of each value
    adds, and then what a shift adds of a whole piece that may lie anywhere up or across its paper. ``exact`` (n,) is
    how far a coordinate may be from where its values lead by rounding alone, mm.
    """

    of: tuple[tuple[str, str, int], ...]
    left: Floats
    shares: Floats
    exact: Floats


@dataclass(frozen=True, eq=False)
class _Fault:
    """Values whose figures together are off by ``off`` mm, if the drawing is right; ``even`` if all shares are one."""

    values: tuple[Value, ...]
    off: float
    even: bool


def _drawn_as_stated(block: Block) -> Iterator[Finding]:
    """A constructed block by every coordinate, one that was traced or shaped by eye by its measures."""
    coordinates = _coordinates(block)
    if len(coordinates.of) >= FEWEST_TO_TELL:
        faults, left = _faults(block, coordinates)
        if np.mean(np.abs(left) <= coordinates.exact) >= CONSTRUCTED:
            return _constructed(block, coordinates, faults, left)
    return _ease_as_stated(block)


def _constructed(block: Block, coordinates: _Coordinates, faults: list[_Fault], left: Floats) -> Iterator[Finding]:
    """A constructed block: each value's figure, then each point on its own."""
    for fault in faults:
        yield _value_finding(fault)
    at = {(point.piece, point.name): point for point in block.points}
    for number in np.flatnonzero(np.abs(left) > coordinates.exact):
        piece, name, axis = coordinates.of[number]
        point = at[piece, name]
        drawn = (point.x, point.y)[axis]
        moved = [value.name for value, share in zip(block.values, coordinates.shares[:, number], strict=False) if share]
        yield Finding(
            Code.POINT_NOT_WHERE_VALUES_LEAD,
            Severity.WARNING if abs(left[number]) > TUNED else Severity.NOTE,
            point.place,
            f"{name} of {piece} is drawn at {'xy'[axis]} {shown(drawn)} mm.",
            f"Its moves, and what {', '.join(moved) or 'the block'} "
            f"{'were' if len(moved) > 1 else 'was'} drafted with, lead to {shown(drawn - left[number])} mm.",
            "Leave it if you shaped the pattern there; else check the point, its moves and their shares.",
        )


def _value_finding(fault: _Fault) -> Finding:
    body = [value for value in fault.values if value.kind is Kind.BODY]
    eases = [value for value in fault.values if value.kind is not Kind.BODY]
    stated = sum(value.drafted for value in eases)
    if eases:
        tuned = FEWEST * stated <= stated + fault.off <= MOST * stated or not body
        severity = Severity.WARNING if tuned else Severity.ERROR
    else:
        severity = Severity.NOTE if fault.even or abs(fault.off) <= READ_TO else Severity.ERROR
    names = " and ".join(value.name for value in fault.values)
    figures = " + ".join(f"{value.drafted:g}" for value in fault.values)
    total = sum(value.drafted for value in fault.values) + fault.off
    together = "together " if len(fault.values) > 1 else ""
    return Finding(
        Code.DRAFTED_WITH_ANOTHER_FIGURE,
        severity,
        fault.values[0].place,
        f"{names}: drafted with {figures} mm by the sheet, {together}with {shown(total)} mm by the points.",
        "The figure that the block was drawn with: sizes are worked out from what differs from it.",
        "Put the figure back, and write another allowance under 'Use now'; if you moved all these points, write "
        "what they were drawn with.",
    )


def _coordinates(block: Block) -> _Coordinates:
    drafted = np.array([value.drafted for value in block.values])
    balances = np.array([value.kind is Kind.BALANCE for value in block.values])
    of, left, shares, ways = [], [], [], []
    for name, shape in shapes(block).items():
        over = shape.points - np.einsum("kpc,k->pc", shape.rules, drafted)
        for axis in (0, 1):
            ways += [(name, axis)] if axis or not shape.piece.mirrored else []
            for row, point in enumerate(shape.names):
                # On the mirror line, or on the line from which heights count.
                on_axis = not shape.rules[:, row, axis].any() and shape.points[row, axis] == 0
                # What a balance value moves is drawn with some of that already, which no sheet states.
                if not on_axis and not shape.rules[balances, row].any():
                    of.append((name, point, axis))
                    left.append(over[row, axis])
                    shares.append(shape.rules[:, row, axis])
    of_values = np.array(shares).reshape(len(of), len(block.values)).T
    shifts = np.array([[float((piece, axis) == way) for piece, _, axis in of] for way in ways])
    return _Coordinates(
        tuple(of),
        np.array(left),
        np.concatenate([of_values, shifts.reshape(len(ways), len(of))]),
        _written_step(block) + np.abs(drafted) @ _rounding_of_shares(of_values),
    )


def _written_step(block: Block) -> float:
    """The step in which a block's points are written, mm: half of one for the point, half for what it is held to."""
    places = np.array([figure for point in block.points for figure in (point.x, point.y)])
    written = (step for step in STEPS if np.mean(np.abs(places - np.round(places / step) * step) < NEAR) >= WRITTEN)
    return next(written, STEPS[-1]) + NEAR


def _rounding_of_shares(shares: Floats) -> Floats:
    """How far shares may be off by being rounded to three or four decimals; with fewer they are meant as they stand."""
    written_in = [np.abs(shares - np.round(shares, decimals)) < 1e-9 for decimals in (2, 3, 4)]
    return np.select(written_in, [0.0, 0.5e-3, 0.5e-4])


def _faults(block: Block, coordinates: _Coordinates) -> tuple[list[_Fault], Floats]:
    """Values that are off, the one that explains most first, and what is left over after all of them."""
    left, every = coordinates.left, coordinates.shares
    waiting = list(range(len(every)))
    faults: list[_Fault] = []
    while waiting:
        tried = {one: _best_figure(every[one], left, coordinates.exact) for one in waiting}
        best = max(tried, key=lambda one: tried[one][0])
        gain, off = tried[best]
        magnitudes = np.abs(every[best])
        magnitudes = magnitudes[magnitudes > LEAST_SHARE]
        if gain < 2 or gain <= len(magnitudes) / 2:
            break
        left = left - off * every[best]
        # What moves the same coordinates by the same shares cannot be told apart by them.
        alike = [one for one in waiting if np.abs(every[one] - every[best]).max() < 1e-9]
        waiting = [one for one in waiting if one not in alike]
        values = tuple(block.values[one] for one in alike if one < len(block.values))
        if values:
            faults.append(_Fault(values, off, bool(np.ptp(magnitudes) < 1e-9)))
    return faults, left


def _best_figure(shares: Floats, left: Floats, exact: Floats) -> tuple[int, float]:
    """How many coordinates more one figure for a value explains at best, and that figure."""
    telling = (np.abs(shares) > LEAST_SHARE) & (np.abs(left) > exact)
    if not telling.any():
        return 0, 0.0
    offs = left[telling] / shares[telling]
    explained = np.count_nonzero(np.abs(left - offs[:, None] * shares) <= exact, axis=1)
    best = int(np.argmax(explained))
    return int(explained[best] - np.count_nonzero(np.abs(left) <= exact)), float(offs[best])


def _ease_as_stated(block: Block) -> Iterator[Finding]:
    """A traced block: what a measure is over its share of the body is the ease that the allowances state."""
    lengths = [measure for measure in block.measures if measure.how in STRAIGHT and measure.follows]
    figures = taken(_own_run(block, {}), lengths).values[:, 0]
    for measure, figure in zip(lengths, figures, strict=True):
        value = block.value(measure.follows)
        if value is None or value.kind is not Kind.BODY:
            continue
        by = {one.name: grows(block, measure, one.name) for one in block.values}
        eases = [one.name for one in block.values if one.kind is Kind.ALLOWANCE and by[one.name]]
        if not eases:
            continue
        stated = sum(by[one.name] * one.drafted for one in block.values)
        if abs(figure - stated) > READ_OFF_TO:
            body = measure.follows_share * value.drafted
            yield Finding.warning(
                Code.EASE_NOT_AS_STATED,
                value.place,
                f"{measure.name} is drawn {shown(figure)} mm, {shown(figure - body)} mm over its share of "
                f"{value.name}, {value.drafted:g} mm.",
                f"{shown(stated - body)} mm, by what {', '.join(eases)} "
                f"{'were' if len(eases) > 1 else 'was'} drafted with.",
                "Put the figure back that the block was drafted with: sizes are worked out from what differs from it.",
            )


def grows(block: Block, measure: Measure, value: str) -> float:
    """What a straight measure grows by for one unit of a value."""
    before, after = (taken(_own_run(block, {value: step}), [measure]).values[0, 0] for step in (0.0, 1e-3))
    return float(round((after - before) * 1e3, 6))


def _own_run(block: Block, changed: dict[str, float]) -> SizeRun:
    """The block as drafted, but for values that are changed by so many mm."""
    now = tuple(replace(value, now=value.drafted + changed.get(value.name, 0.0)) for value in block.values)
    body = [value for value in now if value.kind is Kind.BODY]
    figures = np.array([[value.now] for value in body]).reshape(len(body), 1)
    table = SizeTable("", ("drafted",), tuple(value.name for value in body), figures)
    return grade(replace(block, values=now), table)


#: The rule for a block's drawing against its own figures.
BASE_RULES = (_drawn_as_stated,)
