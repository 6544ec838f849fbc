"""Lays without a search, for tests of what does not depend on how pieces lie."""

from __future__ import annotations

from itertools import islice

from grading.stock.lays import Laid, Lay
from grading.stock.search import Outcome


def heaped(search, pairs, skins, told, **kwargs) -> Outcome:
    """All pairs on the first skin, one over another."""
    (skin,) = islice(skins, 1)
    return Outcome(
        (Lay(skin, tuple(Laid(pair, piece, 0, 0, 0) for pair in pairs for piece in pair.pieces)),), (), False
    )
