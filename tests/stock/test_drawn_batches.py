"""Twenty batches drawn by chance, beside what an earlier method of this project laid them on.

That method took pairs from the largest down, laid the hulls of their pieces, pushed to a corner, tried six pushes for
each skin and kept the one that used most; it searched nothing. It stands in this repository's history: the figures of
``BEFORE`` are those of ``lays`` in ``grading/stock/lays.py`` at commit 75a505a for ``drawn(1)`` to ``drawn(20)`` with
seed 1, as ``taken`` counts them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from math import cos, pi, sin
from random import Random

import numpy as np
import pytest
import shapely

from grading.model.stock import SkinKind
from grading.stock.lays import Lay, Pair
from grading.stock.pieces import CutPiece
from grading.stock.search import STEPS, Search
from grading.stock.skins import bought, on_hand

#: Rounding of coordinates, mm and mm².
HAIR = 1e-6
#: Skins by batch with the earlier method.
BEFORE = (
    3.578, 8.295, 4.487, 5.332, 9.528, 7.392, 4.547, 3.575, 6.404, 8.554,
    7.174, 6.357, 3.573, 4.304, 8.430, 5.107, 8.353, 3.544, 7.251, 10.404,
)  # fmt: skip
#: The right side of a trank and of a thumb with their allowances, mm, of a middle women's size, then mirrored.
TRANK = ((115, -100), (115, -86), (117, -50), (112, -6), (114, 100), (112, 117), (108, 129), (114, 144), (117, 159))
THUMB = ((5, -100), (10, -98), (18, -91), (37, -65), (54, -39), (47, -34), (45, -24), (44, 12), (48, 24))
#: Its sizes against that one: those of children, of women and of men.
SIZES = (0.70, 0.76, 0.82, 0.88, 0.94, 0.97, 1.0, 1.03, 1.06, 1.09, 1.13)


@dataclass(frozen=True)
class Drawn:
    """Pairs, kinds of skins of which the last can be bought, a gap in mm, and degrees off the pile."""

    pairs: tuple[Pair, ...]
    skins: tuple[SkinKind, ...]
    gap: float
    pile_within: float


def pieces(size: float) -> tuple[CutPiece, ...]:
    found = []
    for name, side in (("Trank", TRANK), ("Thumb", THUMB)):
        outline = np.array([*side, *((-x, y) for x, y in reversed(side))]) * size
        found += [CutPiece(name, hand, outline, ()) for hand in ("left", "right")]
    return tuple(found)


def drawn(number: int) -> Drawn:
    random = Random(number)

    def between(low: float, high: float) -> float:
        return low + (high - low) * random.random()

    of_size = {size: pieces(size) for size in SIZES}
    chosen = sorted(SIZES[int(between(0, len(SIZES)))] for _ in range(int(between(12, 33))))
    pairs = tuple(Pair(n, "Any", f"{size:g}", of_size[size]) for n, size in enumerate(chosen, 1))
    odd = []
    for name in ("One", "Two", "Three")[: int(between(0, 4))]:
        corners = 18
        reach = [between(0.9, 1.1) for _ in range(corners)]
        width, length = between(300, 400), between(400, 520)
        outline = tuple(
            (
                reach[n] * width * superellipse(cos(2 * pi * n / corners)),
                reach[n] * length * superellipse(sin(2 * pi * n / corners)),
            )
            for n in range(corners)
        )
        flaws = tuple(flaw(between(-300, 300), between(-400, 400), between(10, 50)) for _ in range(int(between(0, 4))))
        odd.append(SkinKind(name, 1, 2 * width, 2 * length, None, 0.0, 40.0, None, False, outline, flaws))
    like = SkinKind(
        "Like", int(between(0, 9)), between(600, 850), between(800, 1050), None, between(0, 0.1), 40, None, True
    )
    return Drawn(pairs, (*odd, like), float(int(between(2, 7))), float(int(between(0, 6))))


def superellipse(part: float) -> float:
    """A coordinate of a shape between an ellipse and a box, from that of a circle."""
    return abs(part) ** 0.6 * (1 if part > 0 else -1)


def flaw(x: float, y: float, size: float) -> tuple[tuple[float, float], ...]:
    return ((x - size, y), (x, y - size), (x + size, y), (x, y + size))


def taken(lays: Sequence[Lay]) -> float:
    """How many skins, of which the emptiest counts by its filled share."""
    return len(lays) - 1 + min(lay.share for lay in lays)


def check(lay: Lay, gap: float, pile_within: float) -> None:
    """On true outlines, by shapely: nothing off the skin or on a flaw, the gap and the pile kept, pairs whole."""
    outlines = [laid.outline for laid in lay.laid]
    assert shapely.contains(lay.skin.edge.buffer(HAIR), outlines).all()
    for one in lay.skin.flaws:
        assert (shapely.area(shapely.intersection(one, outlines)) < HAIR).all()
    tree = shapely.STRtree(outlines)
    near = tree.query(outlines, predicate="dwithin", distance=gap - HAIR)
    assert (near[0] == near[1]).all()
    assert all(abs(laid.angle) <= pile_within for laid in lay.laid)
    assert all(sum(laid.pair is pair for laid in lay.laid) == len(pair.pieces) for pair in lay.pairs)


def laid(batch: Drawn, steps: int) -> tuple[Lay, ...]:
    skins = chain(on_hand(batch.skins), bought(batch.skins[-1]))
    found = Search(batch.gap, batch.pile_within, 1).lays(batch.pairs, skins, lambda *told: None, steps=steps)
    assert not found.left
    assert sorted(pair.number for lay in found.lays for pair in lay.pairs) == sorted(
        pair.number for pair in batch.pairs
    )
    for lay in found.lays:
        check(lay, batch.gap, batch.pile_within)
    return found.lays


@pytest.mark.long
def test_drawn_batches_take_five_percent_fewer_skins_than_before_and_none_takes_more():
    parts = [taken(laid(drawn(number), STEPS)) / before for number, before in enumerate(BEFORE, 1)]
    assert max(parts) <= 1
    assert sum(parts) / len(parts) <= 0.95


def test_a_drawn_batch_after_a_short_search_keeps_to_its_skins_its_gap_and_its_pile():
    assert taken(laid(drawn(4), 500)) <= BEFORE[3] + 1
