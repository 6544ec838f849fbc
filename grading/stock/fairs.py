"""What was asked for at past fairs updates the shares that hands alone would give, so that the stock follows customers.

The hands of all customers count as so many pairs; every pair that was sold, or asked for in vain, counts as one. A
share is then that of all these pairs: the mean of a Dirichlet distribution whose prior is the hands and whose counts
are the fairs' (Gelman and others, Bayesian Data Analysis, 3rd edition, 2013, section 3.4).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from grading.geometry.arrays import Floats
from grading.model.stock import Sold

__all__ = ["Followed", "asked_for", "followed"]


@dataclass(frozen=True, eq=False)
class Followed:
    """A group's shares after past fairs: of all customers, and ``sizes`` (sizes,) of its own.

    ``weight`` is the part that past fairs have in ``sizes``; the rest is that of the hands.
    """

    share: float
    sizes: Floats
    weight: float


def asked_for(sold: Sequence[Sold], group: str, sizes: Sequence[str]) -> list[int]:
    """How many pairs of each size of a group were sold, or asked for in vain, at all fairs together."""
    return [
        sum((row.pairs or 0) + (row.missing or 0) for row in sold if (row.group, row.size) == (group, size))
        for size in sizes
    ]


def followed(
    shares: Sequence[float], hands: Sequence[Floats], known: Sequence[bool], asked: Sequence[Floats], count: float
) -> list[Followed]:
    """Each group's share and sizes as ``asked`` for, where the hands of all those groups count as ``count`` pairs.

    ``hands`` are the parts that sizes have by hands alone, which count for nothing where they are not ``known``. Groups
    that no fair tells of keep their share and their sizes; the others share out what they have together.

    >>> import numpy as np
    >>> (one,) = followed([1.0], [np.array([0.5, 0.5])], [True], [np.array([30, 10])], 40)
    >>> one.sizes.tolist(), one.weight
    ([0.625, 0.375], 0.5)
    """
    told = [number for number, pairs in enumerate(asked) if pairs.sum() > 0]
    together, in_all = sum(shares[number] for number in told), sum(float(asked[number].sum()) for number in told)
    shares_followed = [Followed(share, parts, 0.0) for share, parts in zip(shares, hands, strict=True)]
    for number in told:
        pairs = float(asked[number].sum())
        counted = count * shares[number] / together
        own = counted if known[number] else 0.0
        shares_followed[number] = Followed(
            share=together * (counted + pairs) / (count + in_all),
            sizes=(own * hands[number] + asked[number]) / (own + pairs),
            weight=pairs / (own + pairs),
        )
    return shares_followed
