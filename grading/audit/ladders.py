"""What a whole table says of each of its figures: how sure it is that the figure is a slip, and what would be regular.

Sizes × rows is nearly of rank one about its middle: a step of the run is large or small for all rows, each by its own
share. Each row is explained by ``witnesses``, linear models with normal errors no finer than the row's rounding. A
figure y_c is a slip with the odds (Box and Tiao 1968, Biometrika 55:119–129, for one strange figure among n)

    odds(c) = s · u(y_c) · Σ_k w_k p(y without c | k) / Σ_k w_k p(y | k)

k running over witnesses and errors with the weights w, s the share of slips among figures, u how slips lie about what
is regular. So a figure is judged by all the others and never by itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from grading.audit.witnesses import FEW, NEAR, Figures, Mask, roundings, witnesses
from grading.geometry.arrays import Floats

__all__ = ["Odds", "Slip", "Suspect", "likely_at_most", "odds_of", "slips", "unjudged"]

#: Errors tried, in steps of rounding, as powers of two of the spread of what is merely rounded.
ROUNDED = 0.4
ERRORS = ROUNDED * 2.0 ** np.arange(-1, 8)
#: How much less likely each doubling of the error is than the one before.
DOUBLING = 0.15
#: One figure in so many is thought a slip before anything is looked at.
SLIPS = 1 / 400
#: How far slips lie from what is regular, as a share of the figure: half of them nearer, half of them further.
SPREAD = 0.08
#: That a row has a form and errors of its own weighs as much as so many other rows that have theirs.
OWN_WAYS = 0.4
#: Slips of the near kind: half of them nearer than this, mm; and the share of slips that copy the neighbour.
NEAR_SLIP, COPIED = 6.0, 0.1
#: A figure that is off by ``MEASURED`` mm is as likely measured so as typed wrong: hands are measured no finer (common
#: practice). In a row that is more even, so is one that is off by ``EVENLY`` times what the regular figure may be off.
MEASURED, EVENLY = 3.0, 4.0
#: Sizes that are no further apart, mm, may well have the same figure: it need not be copied.
ALMOST_ALIKE = 2.0
#: What it weighs that all other figures of a row happen to be multiples of a coarser step.
COARSER = 1 / 4

#: A row whose figures come to these odds together has a slip.
SURE = 0.0115
#: Of few sizes, whose odds are flat, less has to do.
SURE_OF_FEW = 0.0095
#: And to these if it is not the first that is found.
SURE_AGAIN = 0.7
#: A figure is named with the likeliest of its row from this share of its odds on.
ALIKE, ALIKE_OF_FEW = 0.35, 0.02
#: More figures of a row are not named for one slip, nor is a table judged more often.
MOST_NAMED, ROUNDS = 3, 4

#: So many sizes are judged together; a longer table by stretches, half over one another, the most uneven of them.
STRETCH, MOST_STRETCHES = 14, 30
#: A stretch whose increments differ by no more than this many steps of rounding is even, and has no slip in it.
EVEN = 1.01


@dataclass(frozen=True, eq=False)
class Odds:
    """What a table says of its figures.

    ``of_slip`` (rows, sizes) is the logarithm of the odds that a figure is a slip, ``regular`` (rows, sizes) what the
    others lead to, mm; ``rounding`` (rows,) what each row is rounded to, mm; ``likely`` (rows,) the logarithm of each
    row's likelihood if there is no slip in it.
    """

    of_slip: Floats
    regular: Floats
    rounding: Floats
    likely: Floats


def odds_of(figures: Figures) -> Odds:
    """The odds that each figure of a table is a slip, by all the others: see above."""
    values, known = figures.values, figures.known
    rows, _ = values.shape
    rounding, without = roundings(values, known)
    usual = _usual_rounding(rounding)
    y, basis, weights = _witnessed(figures, rounding)
    error = ERRORS * usual[:, None]
    told, alone, off, certain = _explained(y, basis, error, known)
    rest = told[..., None] - alone
    plain, other = _weights_of_errors(error, usual, rounding, without, known)
    with np.errstate(divide="ignore"):
        prior = np.log(weights)[:, :, None] + np.zeros((1, 1, len(ERRORS)))
    spread, step = SPREAD * figures.level[:, None], usual[:, None]
    for last in (False, True):
        whole = prior + plain[:, None, :] + told
        each = prior[..., None] + other.transpose(0, 2, 1)[:, None] + rest
        left = _log_sum(each, (1, 2))
        share = np.exp(each - left[:, None, None, :])
        deviation = np.einsum("rksi,rksi->ri", share, off)
        around = np.sqrt(np.einsum("rksi,rksi->ri", share, 1 / certain + off**2) - deviation**2)
        slip = np.log(SLIPS) + _slips_lie(deviation, around, spread, step, _repeats(values, known))
        # what is regular once it is rounded as the rest of its row is no slip
        odd = known & (np.abs(np.round((values - deviation) / without) * without - values) > NEAR)
        of_slip = np.where(odd, slip + left - _log_sum(whole, (1, 2))[:, None], -np.inf)
        if not last and rows > 1:
            form = np.logaddexp(whole, _log_sum(each + np.where(known, slip, -np.inf)[:, None, None, :], (3,)))
            form = np.exp(form - _log_sum(form, (1, 2))[:, None, None])
            others = (form.sum(axis=0) - form) / (rows - 1)
            like = (rows - 1) / (rows - 1 + OWN_WAYS)
            with np.errstate(divide="ignore"):
                prior = np.log((1 - like) * np.exp(prior) + like * others * (weights > 0)[:, :, None])
    return Odds(of_slip, values - deviation, rounding, _log_sum(whole, (1, 2)))


def _witnessed(figures: Figures, rounding: Floats) -> tuple[Floats, Floats, Floats]:
    """What is left of each row's figures beside each witness's mean (rows, witnesses, sizes), and basis and weights."""
    basis, mean, weights = witnesses(figures, rounding)
    left = (figures.values - figures.middle[:, None])[:, None, :] - mean
    return np.where(figures.known[:, None, :], left, 0), basis, weights


def likely_at_most(figures: Figures, row: int) -> float:
    """What the ``likely`` of a row cannot be above when the table is judged, whichever forms the other rows have.

    Only the row's own witnesses are asked: a small part of the work.
    """
    rows = len(figures.values)
    rounding, without = roundings(figures.values, figures.known)
    usual = _usual_rounding(rounding)
    own = slice(row, row + 1)
    y, basis, weights = (all_of[own] for all_of in _witnessed(figures, rounding))
    error = ERRORS * usual[:, None]
    told, *_ = _explained(y, basis, error[own], figures.known[own])
    plain, _ = _weights_of_errors(error, usual, rounding, without, figures.known)
    like = (rows - 1) / (rows - 1 + OWN_WAYS)
    with np.errstate(divide="ignore"):
        prior = np.log((1 - like) * weights + like * (weights > 0))
    return float(_log_sum(prior[:, :, None] + plain[own][:, None, :] + told, (1, 2))[0])


@np.errstate(divide="ignore")
def _slips_lie(deviation: Floats, around: Floats, spread: Floats, step: Floats, beside: Mask) -> Floats:
    """The log density of a slip that is so far off (rows, sizes): near, anywhere, or its neighbour copied.

    ``around`` (rows, sizes) is how far the regular figure may be off itself.
    """
    near = np.maximum(NEAR_SLIP, step)
    density = (near / (near**2 + deviation**2) + spread / (spread**2 + deviation**2)) / (2 * np.pi)
    density *= deviation**2 / (deviation**2 + np.minimum(MEASURED, EVENLY * around) ** 2)
    density = (1 - COPIED) * density + COPIED * (beside & (np.abs(deviation) > ALMOST_ALIKE)) / step
    logarithm: Floats = np.log(density)
    return logarithm


def _repeats(values: Floats, known: Mask) -> Mask:
    """Whether a figure repeats one beside it, in a row where no other figures do (rows, sizes)."""
    same = np.pad((np.abs(np.diff(values, axis=1)) < NEAR) & known[:, 1:] & known[:, :-1], ((0, 0), (1, 1)))
    enough = values.shape[1] > FEW
    repeats: Mask = (same[:, :-1] | same[:, 1:]) & (same.sum(axis=1) == 1)[:, None] & enough
    return repeats


def _usual_rounding(rounding: Floats) -> Floats:
    """What the other rows are mostly rounded to, (rows,), where that is finer than the row's own figures show."""
    if len(rounding) == 1:
        return np.minimum(rounding, 1)
    others = np.array([np.sort(np.delete(rounding, row))[(len(rounding) - 2) // 2] for row in range(len(rounding))])
    usual: Floats = np.minimum(rounding, others)
    return usual


def _explained(y: Floats, basis: Floats, error: Floats, known: Mask) -> tuple[Floats, Floats, Floats, Floats]:
    """How well every witness with every error explains a row, and each figure by the others.

    ``y`` (rows, witnesses, sizes), ``basis`` (rows, witnesses, sizes, 4) with coefficients of unit spread, ``error``
    (rows, errors). Returns log p(y) (rows, witnesses, errors), and (rows, witnesses, errors, sizes): log p(y_c | the
    others), y_c less what the others lead to, and the reciprocal of that one's variance. By the inverse covariance
    Q of normal y (Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, 5.4.2).
    """
    seen = known[:, None, :, None]
    # A witness that comes to no figure (a step of nought divided by) explains nothing.
    basis = np.where(np.isfinite(basis), basis, 0.0)
    spreads, turned = np.linalg.eigh(np.swapaxes(basis * seen, 2, 3) @ (basis * seen))
    turned = basis @ turned * seen  # the basis along its own axes, of the spreads squared
    precision = (1 / error**2)[:, None, :, None]
    shrunk = precision / (np.maximum(spreads, 0)[:, :, None, :] * precision + 1)  # rows, witnesses, errors, 4
    fit = shrunk * (np.swapaxes(turned, 2, 3) @ y[..., None])[:, :, None, :, 0]
    across = np.swapaxes(turned, 2, 3)
    residual = precision * (y[:, :, None, :] - fit @ across)
    certain = precision * (1 - shrunk @ across**2)
    certain = np.where(known[:, None, None, :], np.maximum(certain, 1e-12), 1.0)
    count = known.sum(axis=1)[:, None, None]
    size = np.log(np.maximum(spreads, 0)[:, :, None, :] * precision + 1).sum(axis=3)
    size = size + count * (2 * np.log(error)[:, None, :] + np.log(2 * np.pi))
    told = -0.5 * ((residual @ y[..., None])[..., 0] + size)
    alone = -0.5 * residual**2 / certain + 0.5 * np.log(certain / (2 * np.pi))
    return told, alone, residual / certain, certain


def _weights_of_errors(
    error: Floats, usual: Floats, rounding: Floats, without: Floats, known: Mask
) -> tuple[Floats, Floats]:
    """The log weight of every error for a row as it is (rows, errors) and without each figure (rows, sizes, errors).

    A row may be rounded as the others are, or to the coarser step its figures show; without one figure to a coarser
    one still. A figure can only be one of a row's steps: where an error is small it has the chance of coming within
    half a step.
    """
    count = known.sum(axis=1)

    def weight(step: Floats, figures: Floats | int, fitted: Floats | int) -> Floats:
        """With everything one axis before the errors."""
        larger = np.maximum(np.log2(error / step / ROUNDED), 0)
        within = _erf(step / (2 * np.sqrt(2) * error))
        chance = np.log(within * error * np.sqrt(2 * np.pi) / step)
        weighed: Floats = np.log(DOUBLING) * larger + figures * np.log(step / usual[:, None]) + fitted * chance
        return weighed

    all_of, but_one = count[:, None], count[:, None] - 1
    alike = (rounding[None, :] > 0.99 * rounding[:, None]).sum(axis=1) - 1
    with np.errstate(divide="ignore"):
        shown = np.log(np.where(rounding > usual * 1.01, (alike + 0.5) / len(rounding), 0))[:, None]
    plain = np.logaddexp(weight(usual[:, None], 0, all_of), shown + weight(rounding[:, None], all_of, all_of))
    others = np.logaddexp(weight(usual[:, None], 0, but_one), shown + weight(rounding[:, None], all_of, but_one))
    other = np.repeat(others[:, None, :], known.shape[1], axis=1)
    for row, column in np.argwhere(without > 1.01 * rounding[:, None]):
        step = np.full((len(usual), 1), without[row, column])
        other[row, column] = np.logaddexp(other[row, column], np.log(COARSER) + weight(step, but_one, but_one)[row])
    return plain, other


_erf = np.vectorize(math.erf, otypes=[float])


@np.errstate(divide="ignore")
def _log_sum(logs: Floats, axes: tuple[int, ...]) -> Floats:
    top = np.nan_to_num(logs.max(axis=axes, keepdims=True), neginf=0)
    total: Floats = np.log(np.exp(logs - top).sum(axis=axes)) + top.squeeze(axis=axes)
    return total


@dataclass(frozen=True, slots=True)
class Suspect:
    """A figure that is most likely a slip: where, and what would be regular, mm."""

    row: int
    column: int
    regular: float


@dataclass(frozen=True, slots=True)
class Slip:
    """What is wrong in a row: one of the figures suspected, the likeliest first; or two, if they are ``exchanged``."""

    suspects: tuple[Suspect, ...]
    exchanged: bool = False


def slips(figures: Figures) -> list[Slip]:
    """The slips of a table. A long one is judged by stretches, each figure with those about it."""
    values = figures.values
    sizes = values.shape[1]
    if sizes <= STRETCH:
        return _slips_of_few(figures)
    of_table = []
    starts, uneven = _stretches(values)
    for number in sorted(uneven[:MOST_STRETCHES]):
        start = starts[number]
        first = start + STRETCH // 4 if number else 0
        after = starts[number + 1] + STRETCH // 4 if number + 1 < len(starts) else sizes
        window = slice(start, start + STRETCH)
        for slip in _slips_of_few(figures.stretch(window)):
            moved = tuple(replace(suspect, column=suspect.column + start) for suspect in slip.suspects)
            if first <= moved[0].column < after:
                of_table.append(replace(slip, suspects=moved))
    return of_table


def unjudged(figures: Figures) -> int:
    """How many stretches of a table that are uneven ``slips`` leaves out, for its length."""
    if figures.values.shape[1] <= STRETCH:
        return 0
    return max(len(_stretches(figures.values)[1]) - MOST_STRETCHES, 0)


def _stretches(values: Floats) -> tuple[list[int], list[int]]:
    """Where the stretches of a long table start, and the numbers of those that are uneven, the most uneven first.

    A stretch is as uneven as the increments of a row differ at most, in steps of its rounding.
    """
    sizes = values.shape[1]
    starts = [*range(0, sizes - STRETCH, STRETCH // 2), sizes - STRETCH]
    rounding, _ = roundings(values, np.ones(values.shape, dtype=bool))
    bent = (np.abs(np.diff(values, 2, axis=1)) / rounding[:, None]).max(axis=0)
    uneven = np.array([bent[start : start + STRETCH - 2].max() for start in starts])
    order = np.argsort(-uneven, kind="stable").tolist()
    return starts, [number for number in order if uneven[number] > EVEN]


def _slips_of_few(figures: Figures) -> list[Slip]:
    """One after another: a slip that is found is taken out and the table judged anew, so that none hides another."""
    so_far: list[Slip] = []
    for _ in range(ROUNDS):
        odds = odds_of(figures)
        sure = SURE_AGAIN if so_far else SURE if figures.values.shape[1] > FEW else SURE_OF_FEW
        enough = (figures.known.sum(axis=1) > FEW) | figures.known.all(axis=1)
        rows = np.flatnonzero((_log_sum(odds.of_slip, (1,)) >= np.log(sure)) & enough).tolist()
        more = []
        for row in sorted({*rows, *(_falling_rows(figures.values, odds) if not so_far else ())}):
            slip = _exchanged(figures, row, odds)
            if slip is None and row in rows:
                slip = _single(row, odds)
            if slip is not None:
                more.append(slip)
        if not more:
            break
        for slip in more:
            # of a row of two at least one figure has to stay
            wrong = slip.suspects if slip.exchanged and figures.values.shape[1] > FEW else slip.suspects[:1]
            figures = figures.without(wrong[0].row, [suspect.column for suspect in wrong])
        so_far += more
    return so_far


def _falling_rows(values: Floats, odds: Odds) -> list[int]:
    """The rows that fall by more than their rounding where most others rise."""
    falls = np.diff(values, axis=1) * _direction(values) < -odds.rounding[:, None]
    return np.flatnonzero((falls & (falls.mean(axis=0) <= 0.5)).any(axis=1)).tolist()


def _direction(values: Floats) -> Floats:
    """+1 for rows that mostly rise, −1 for rows that mostly fall, (rows, 1)."""
    return np.where(np.sign(np.diff(values, axis=1)).sum(axis=1, keepdims=True) < 0, -1.0, 1.0)


def _single(row: int, odds: Odds) -> Slip:
    of_slip = odds.of_slip[row]
    order = np.argsort(-of_slip, kind="stable").tolist()
    alike = ALIKE if len(of_slip) > FEW else ALIKE_OF_FEW
    named = [column for column in order if of_slip[column] >= of_slip.max() + np.log(alike)][:MOST_NAMED]
    return Slip(tuple(Suspect(row, column, float(odds.regular[row, column])) for column in named))


def _exchanged(figures: Figures, row: int, odds: Odds) -> Slip | None:
    """Two figures side by side, if the row is likelier with these exchanged than with one wrong or none."""
    values, known = figures.values, figures.known
    likely = int(np.argmax(odds.of_slip[row]))
    falls = np.flatnonzero(np.diff(values[row]) * _direction(values)[row] < -odds.rounding[row]).tolist()
    none_wrong, one_wrong = odds.likely[row], odds.likely[row] + _log_sum(odds.of_slip[row], (0,))
    best, slip = max(one_wrong, none_wrong + np.log(SURE)), None
    for first in sorted({likely - 1, likely, *falls}):
        if 0 <= first < values.shape[1] - 1 and known[row, first : first + 2].all():
            put_right = figures.exchanged(row, first)
            if likely_at_most(put_right, row) + np.log(SLIPS * COPIED) < best:
                continue  # most are far from it: the whole table need not be judged
            both_wrong = odds_of(put_right).likely[row] + np.log(SLIPS * COPIED)
            if both_wrong > best:
                pair = tuple(Suspect(row, at, float(put_right.values[row, at])) for at in (first, first + 1))
                best, slip = both_wrong, Slip(pair, exchanged=True)
    return slip
