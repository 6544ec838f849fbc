"""What a whole table says of each of its figures: how sure it is that the figure is a slip, and what would be regular.

Sizes × rows is nearly of rank one about its middle: a step of the run is large or small for all rows, each by its own
share. The steps that rows share are fitted by alternating robust regressions (Croux, Filzmoser, Pison, Rousseeuw 2003,
Statistics and Computing 13:23–36). A row is then explained by witnesses (a line, a curve, a bend, a jump, the shared
steps, another row), each a linear model with normal errors no finer than the row's rounding. A figure y_c is a slip
with the odds (Box and Tiao 1968, Biometrika 55:119–129, for one strange figure among n)

    odds(c) = s · u(y_c) · Σ_k w_k p(y without c | k) / Σ_k w_k p(y | k)

k running over witnesses and errors with the weights w, s the share of slips among figures, u how slips lie about what
is regular. So a figure is judged by all the others and never by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from grading.geometry.arrays import Floats

__all__ = ["Judgement", "Suspect", "judged", "roundings", "shared_ladder", "suspects"]

Mask = NDArray[np.bool_]

INCH = 25.4
#: The steps to which figures are rounded, coarsest first, mm: whole and part millimetres and inches.
ROUNDINGS = np.array([INCH, INCH / 2, 10, INCH / 4, 5, INCH / 8, INCH / 10, 2, INCH / 16, 1, 0.5, INCH / 100, 0.1])
#: A figure this near to a multiple of a rounding step is one, mm.
NEAR = 0.002
#: Errors tried, in steps of rounding: the spread of what is merely rounded, and doubled from there.
ERRORS = 0.3 * 2.0 ** np.arange(8)
#: How much less likely each doubling of the error is than the one before.
DOUBLING = 0.4
#: One figure in so many is thought a slip before anything is looked at.
SLIPS = 1 / 400
#: How far slips lie from what is regular, as a share of the figure: half of them nearer, half of them further.
SPREAD = 0.08
#: What the coincidence that all other figures are multiples of a coarser step weighs.
COARSER = 1 / 4
#: How a kind of witness is weighed before anything is looked at.
WEIGHTS = {
    "line": 0.30,
    "curve": 0.05,
    "bend": 0.05,
    "jump": 0.03,
    "two lines": 0.02,
    "ladder": 0.35,
    "ladder and curve": 0.05,
    "another row": 0.15,
    "another family": 0.50,
}
#: How much a curve, a bend and a jump may come to, in steps of the row.
CURVED, BENT, JUMPED = 0.15, 0.7, 1.5

#: A row whose figures come to these odds together has a slip.
SURE = 1.0
#: A figure is named with the likeliest of its row from this share of its odds on.
ALIKE = 0.2
#: More figures of a row are not named for one slip, nor is a table judged more often.
MOST_NAMED, ROUNDS = 3, 4


@dataclass(frozen=True, eq=False)
class Judgement:
    """What a table says of its figures, each array (rows, sizes).

    ``odds`` that a figure is a slip; ``regular`` what the others lead to, mm; ``within`` how far that may be off
    (one standard deviation), mm; ``rounding`` (rows,) what each row is rounded to.
    """

    odds: Floats
    regular: Floats
    within: Floats
    rounding: Floats


def roundings(values: Floats, known: Mask) -> tuple[Floats, Floats]:
    """The step each row is rounded to (rows,), and to which it would be without each of its figures (rows, sizes).

    >>> whole, without = roundings(np.array([[180.0, 185, 192, 195]]), np.ones((1, 4), bool))
    >>> whole.tolist(), without.tolist()
    ([1.0], [[1.0, 1.0, 5.0, 1.0]])
    """
    times = values[..., None] / ROUNDINGS
    odd = (np.abs(times - np.round(times)) * ROUNDINGS > NEAR) & known[..., None]
    count = odd.sum(axis=1)
    whole = ROUNDINGS[np.where((count == 0).any(axis=1), (count == 0).argmax(axis=1), -1)]
    left = count[:, None, :] - odd == 0
    without = ROUNDINGS[np.where(left.any(axis=2), left.argmax(axis=2), -1)]
    return whole, np.where(known, without, whole[:, None])


def _weighted_median(values: Floats, weights: Floats) -> Floats:
    """Along the first axis; where half the weight lies on each side of a gap, its middle."""
    order = np.argsort(values, axis=0)
    values, weights = np.take_along_axis(values, order, 0), np.take_along_axis(weights, order, 0)
    share = np.cumsum(weights, axis=0)
    half = share[-1:] / 2
    low = np.take_along_axis(values, (share >= half - 1e-12).argmax(axis=0)[None], 0)[0]
    high = np.take_along_axis(values, (share > half + 1e-12).argmax(axis=0)[None], 0)[0]
    return (low + high) / 2


def _steepness(values: Floats, known: Mask) -> Floats:
    """The median slope of all pairs of figures of each row (rows,), per size."""
    one, other = np.triu_indices(values.shape[1], 1)
    slopes = (values[:, other] - values[:, one]) / (other - one)
    slopes[~(known[:, one] & known[:, other])] = np.nan
    with np.errstate(all="ignore"):
        return np.nan_to_num(np.nanmedian(slopes, axis=1))


def shared_ladder(values: Floats, known: Mask, rounding: Floats) -> tuple[Floats, Floats, Floats]:
    """Where the sizes stand along the run as rows share it: for each row left out, (rows, sizes); and by each row.

    Returns the places as the other rows have them, the places as each row by itself has them, and each row's step
    (rows,), of the sign with which it runs. Places count in mean steps. Where no other row grows, they are nan.
    """
    rows, sizes = values.shape
    steps = _steepness(values, known)
    middle = np.median(np.where(known, values, np.median(values, axis=1, keepdims=True)), axis=1)
    places = np.arange(sizes) - (sizes - 1) / 2
    growing = np.abs(steps) > 1e-6
    for _ in range(4):
        safe = np.where(growing, steps, 1)
        own = (values - middle[:, None]) / safe[:, None]
        weights = np.where(known & growing[:, None], (np.abs(safe) / rounding)[:, None], 0)
        if not growing.any():
            break
        places = _weighted_median(own, weights)
        error = 0.5 * rounding[:, None]
        weight = known.astype(float)
        for _ in range(4):
            total = weight.sum(axis=1, keepdims=True)
            at, of = (weight * places).sum(1, keepdims=True) / total, (weight * values).sum(1, keepdims=True) / total
            spread = (weight * (places - at) ** 2).sum(1, keepdims=True)
            slope = (weight * (places - at) * (values - of)).sum(1, keepdims=True) / np.maximum(spread, 1e-9)
            off = values - of - slope * (places - at)
            scale = np.maximum(np.median(np.abs(off), axis=1, keepdims=True), error)
            weight = known / (1 + (off / scale / 2) ** 2)
        steps, middle = np.where(growing, slope[:, 0], 0), (of - slope * at)[:, 0]
        growing &= np.abs(steps) > 1e-6
    safe = np.where(growing, steps, 1)
    own = (values - middle[:, None]) / safe[:, None]
    weights = np.where(known & growing[:, None], (np.abs(safe) / rounding)[:, None], 0)
    others = np.repeat(weights[:, None, :], rows, axis=1)
    others[np.arange(rows), np.arange(rows)] = 0
    left_out = np.full((rows, sizes), np.nan)
    told = others.sum(axis=0) > 0
    if told.any():
        median = _weighted_median(np.repeat(own[:, None, :], rows, axis=1), others)
        left_out = np.where(told.all(axis=1, keepdims=True), median, np.nan)
    own = np.where((known & growing[:, None]).all(axis=1, keepdims=True), own, np.nan)
    return left_out, own, steps


def _witnesses(
    values: Floats, known: Mask, rounding: Floats, beside: Sequence[Floats]
) -> tuple[Floats, Floats, Floats, NDArray[np.int_]]:
    """Every witness of every row: bases (rows, witnesses, sizes, 4) scaled to unit spread, means, weights, kinds."""
    rows, sizes = values.shape
    index = np.arange(sizes) - (sizes - 1) / 2
    left_out, own, steps = shared_ladder(values, known, rounding)
    level = np.median(np.where(known, values, np.nanmedian(np.where(known, values, np.nan), axis=1)[:, None]), axis=1)
    grown = np.abs(steps) / np.maximum(np.abs(level), 1e-9)
    usual = np.array([np.median(np.delete(grown, row)) if rows > 1 else 0.06 for row in range(rows)])
    sign = np.array([np.sign(np.median(np.sign(np.delete(steps, row)))) if rows > 1 else 1 for row in range(rows)])
    step = sign * 0.8 * usual * level
    loose = np.maximum(0.6 * usual * np.abs(level), rounding)
    size_of_step = np.maximum(np.abs(steps), 0.5 * np.abs(step))
    shapes: list[tuple[str, Floats, Floats]] = []  # kind, second basis, further bases

    nothing = np.zeros(sizes)
    curve = (index**2 - np.mean(index**2)) / 2
    basis, kinds, weights, mean = [], [], [], []

    def add(kind: str, along: Floats, more: list[tuple[Floats, float]], weight: float) -> None:
        usable = np.isfinite(along).all(axis=1)
        along = np.where(usable[:, None], along, 0)
        bases = [np.repeat((3 * np.abs(level))[:, None], sizes, axis=1), along * loose[:, None]]
        bases += [size_of_step[:, None] * sd * shape for shape, sd in more]
        bases += [np.zeros((rows, sizes))] * (4 - len(bases))
        basis.append(np.stack(bases, axis=-1))
        mean.append(along * step[:, None])
        weights.append(np.where(usable, weight, 0))
        kinds.append(list(WEIGHTS).index(kind))

    line = np.repeat(index[None], rows, axis=0)
    add("line", line, [], WEIGHTS["line"])
    add("ladder", left_out, [], WEIGHTS["ladder"])
    if sizes >= 5:
        add("curve", line, [(curve, CURVED)], WEIGHTS["curve"])
        add("ladder and curve", left_out, [(curve, CURVED / 2)], WEIGHTS["ladder and curve"])
    knots = np.arange(2, sizes - 2)
    for knot in knots:
        bend = np.maximum(np.arange(sizes) - knot, 0.0)
        add("bend", line, [(bend - bend.mean(), BENT)], WEIGHTS["bend"] / len(knots))
    jumps = np.arange(2, sizes - 1)
    for knot in jumps:
        jump = (np.arange(sizes) >= knot) - 0.5
        add("jump", line, [(jump, JUMPED)], WEIGHTS["jump"] / len(jumps))
        if 3 <= knot <= sizes - 3:
            bend = np.maximum(np.arange(sizes) - knot, 0.0)
            add("two lines", line, [(jump, 2 * JUMPED), (bend - bend.mean(), BENT)], WEIGHTS["two lines"] / len(jumps))
    for other in range(rows):
        along = np.repeat(own[other][None], rows, axis=0)
        along[other] = np.nan
        add("another row", along, [], WEIGHTS["another row"] / max(rows - 1, 1))
    for family in beside:
        share = np.where(np.abs(steps) > 1e-6, steps, np.nan)[:, None]
        centred = family - np.nanmedian(family, axis=1, keepdims=True)
        add("another family", centred / share, [], WEIGHTS["another family"] / len(beside))
    return np.stack(basis, 1), np.stack(mean, 1), np.stack(weights, 1), np.array(kinds)


def judged(values: Floats, known: Mask | None = None, beside: Sequence[Floats] = ()) -> Judgement:
    """The odds that each figure of a table (rows, sizes) is a slip. Figures that are not ``known`` say nothing.

    ``beside`` are the same rows and sizes of other families (rows, sizes), nan where a family lacks a size.
    """
    known = np.ones(values.shape, dtype=bool) if known is None else known
    rows, sizes = values.shape
    rounding, without = roundings(values, known)
    basis, mean, weights, kinds = _witnesses(values, known, rounding, beside)
    # errors: (rows, S)
    error = ERRORS * rounding[:, None]
    precision = known[:, None, None, :] / (error**2)[:, None, :, None]  # rows, 1, S, sizes
    level = np.nanmedian(np.where(known, values, np.nan), axis=1)
    y = (values - level[:, None])[:, None, :] - mean  # rows, K, sizes
    y = np.where(known[:, None, :], y, 0)
    gram = np.einsum("rkip,rsi,rkiq->rkspq", basis, precision[:, 0], basis) + np.eye(4)
    inverse = np.linalg.inv(gram)
    by = np.einsum("rkip,rsi,rki->rksp", basis, precision[:, 0], y)
    fit = np.einsum("rkspq,rksq->rksp", inverse, by)
    residual = precision * (y[:, :, None, :] - np.einsum("rkip,rksp->rksi", basis, fit))  # Q y
    leverage = np.einsum("rkip,rkspq,rkiq->rksi", basis, inverse, basis)
    certain = precision - precision**2 * leverage  # diag Q
    certain = np.where(known[:, None, None, :], np.maximum(certain, 1e-12), 1.0)
    count = known.sum(axis=1)[:, None, None]
    log_det = np.linalg.slogdet(gram)[1] + 2 * (count * np.log(error)[:, None, :])
    square = np.einsum("rki,rksi->rks", y, residual)
    told = -0.5 * (square + log_det + count * np.log(2 * np.pi))  # log p(y | k, s)
    alone = -0.5 * residual**2 / certain + 0.5 * np.log(certain / (2 * np.pi))  # log p(y_c | rest, k, s)
    rest = told[..., None] - alone  # log p(rest | k, s)
    # weights of errors, for the row as it is and for each figure left out
    doublings = np.arange(len(ERRORS))
    plain = np.log(DOUBLING) * doublings
    coarser = np.log2(without / rounding[:, None])  # rows, sizes
    beyond = doublings[None, None, :] - coarser[:, :, None]
    gain = np.where(coarser > 0, (count[:, :, 0] - 1) * np.log(without / rounding[:, None]) + np.log(COARSER), 0)
    other = np.where(beyond > -0.6, np.log(DOUBLING) * np.maximum(beyond, 0), -np.inf) + gain[:, :, None]
    other = np.where((coarser > 0)[:, :, None], np.logaddexp(other, plain), plain)
    with np.errstate(divide="ignore"):
        prior = np.log(weights)[:, :, None]
    deviation = residual / certain  # y_c − its prediction
    spread = SPREAD * np.abs(level)[:, None]
    for _ in range(2):
        whole = _log_sum(prior + plain[None, None, :] + told, (1, 2))  # rows
        each = prior[..., None] + other.transpose(0, 2, 1)[:, None] + rest  # rows, K, S, sizes
        left = _log_sum(each, (1, 2))  # rows, sizes
        share = np.exp(each - left[:, None, None, :])
        off = np.einsum("rksi,rksi->ri", share, deviation)
        around = np.sqrt(np.einsum("rksi,rksi->ri", share, 1 / certain + deviation**2) - off**2)
        slip = np.log(spread / np.pi) - np.log(spread**2 + off**2) + np.log(SLIPS)
        odds = slip + left - whole[:, None]
        odds = np.where(known, odds, -np.inf)
        # what form the other rows have, by the kinds and knots that all rows know, and how uneven they are
        break
    return Judgement(np.exp(np.minimum(odds, 300)), values - off, around, rounding)


def _log_sum(logs: Floats, axes: tuple[int, ...]) -> Floats:
    top = logs.max(axis=axes, keepdims=True)
    return np.log(np.exp(logs - top).sum(axis=axes)) + top.squeeze(axis=axes)


@dataclass(frozen=True, slots=True)
class Suspect:
    """A figure that is most likely a slip, or one of two that may be: where, what would be regular, how sure."""

    row: int
    column: int
    regular: float
    share: float


def suspects(values: Floats, beside: Sequence[Floats] = ()) -> list[tuple[Suspect, ...]]:
    """The slips of a table (rows, sizes); each the one figure, or the few of which one is, likeliest first.

    A slip that is found is taken out and the table judged anew, so that none hides another.
    """
    known = np.ones(values.shape, dtype=bool)
    found: list[tuple[Suspect, ...]] = []
    for _ in range(ROUNDS):
        judgement = judged(values, known, beside)
        odds = judgement.odds
        rows = np.flatnonzero((odds.sum(axis=1) >= SURE) & ((known.sum(axis=1) > 3) | known.all(axis=1)))
        for row in rows.tolist():
            best = odds[row].max()
            order = np.argsort(-odds[row], kind="stable")
            named = [column for column in order.tolist() if odds[row, column] >= ALIKE * best][:MOST_NAMED]
            share = odds[row] / odds[row].sum()
            found.append(
                tuple(Suspect(row, column, float(judgement.regular[row, column]), float(share[column])) for column in named)
            )
            known[row, named[0]] = False
        if not len(rows):
            break
    return found
