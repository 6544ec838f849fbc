"""Shares out a whole number of pairs by the method of the largest remainder, with a least for each."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

__all__ = ["apportioned", "quotas"]


def quotas(shares: Sequence[float | Fraction], total: int) -> list[Fraction]:
    """What each would get if pairs could be divided: exact, in proportion to its share.

    Raises ValueError for a share below zero, or where all are zero.
    """
    exact = [Fraction(share) for share in shares]
    if not exact or min(exact) < 0 or sum(exact) == 0:
        raise ValueError("shares must be zero or more, and some above zero")
    return [total * share / sum(exact) for share in exact]


def apportioned(shares: Sequence[float | Fraction], total: int, at_least: int = 0) -> list[int]:
    """The whole number for each share, ``total`` in all and none under ``at_least``.

    Each gets the whole part of its quota, and those with the largest remainders one more (Hamilton 1792; also
    Hare and Niemeyer). Equal remainders: the larger share first, then the earlier. Whoever would come out under
    ``at_least`` is given that much, and the rest is shared out anew among the others, none of whom is then off
    its quota of that rest by one or more. Raises ValueError where ``total`` cannot give everyone ``at_least``.

    >>> apportioned([50, 30, 20], 12), apportioned([90, 9, 1], 12, at_least=1)
    ([6, 4, 2], [10, 1, 1])
    """
    if total < at_least * len(shares):
        raise ValueError(f"{total} pairs are too few for {at_least} of each of {len(shares)} sizes")
    given = _largest_remainder(shares, total)
    short = {number for number, pairs in enumerate(given) if pairs < at_least}
    while short:
        others = [number for number in range(len(shares)) if number not in short]
        rest = _largest_remainder([shares[number] for number in others], total - at_least * len(short))
        given = [at_least] * len(shares)
        for number, pairs in zip(others, rest, strict=True):
            given[number] = pairs
        under = {number for number in others if given[number] < at_least}
        if not under:
            break
        short |= under
    return given


def _largest_remainder(shares: Sequence[float | Fraction], total: int) -> list[int]:
    if not shares:
        return []
    due = quotas(shares, total)
    whole = [int(quota) for quota in due]
    order = sorted(range(len(due)), key=lambda number: (whole[number] - due[number], -due[number]))
    for number in order[: total - sum(whole)]:
        whole[number] += 1
    return whole
