"""Splits a batch into bundles of one size, week by week within what each outworker can do, with due dates."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from grading.codes import Code
from grading.findings import Finding, Place
from grading.model.stock import Outworker, Terms
from grading.stock.lays import Lay, Pair
from grading.stock.skins import Skin

__all__ = ["Bundle", "bundled", "late"]

_WEEK = dt.timedelta(days=7)


@dataclass(frozen=True, eq=False)
class Bundle:
    """Cut pieces of one size that go to one outworker at the start of a week (from 1), due at its end."""

    number: int
    outworker: str
    week: int
    pairs: tuple[Pair, ...]
    skins: tuple[Skin, ...]
    hand_out: dt.date | None
    due: dt.date | None

    @property
    def group(self) -> str:
        return self.pairs[0].group

    @property
    def size(self) -> str:
        return self.pairs[0].size

    @property
    def pieces(self) -> int:
        return sum(len(pair.pieces) for pair in self.pairs)


def bundled(lays: Sequence[Lay], outworkers: Sequence[Outworker], terms: Terms) -> tuple[Bundle, ...]:
    """The bundles in the order of handing out: size by size in the pairs' order, each outworker in the table's order.

    No bundle holds more than the largest allowed or than an outworker's room in that week.
    """
    rank = {lay.skin: number for number, lay in enumerate(lays)}
    skins = {pair: lay.skin for lay in lays for pair in lay.pairs}
    ordered = sorted(skins, key=lambda pair: pair.number)
    waiting = [list(pairs) for _, pairs in groupby(ordered, key=lambda pair: (pair.group, pair.size))]
    bundles: list[Bundle] = []
    week = 0
    while waiting:
        week += 1
        hand_out = terms.hand_out_on and terms.hand_out_on + (week - 1) * _WEEK
        due = terms.hand_out_on and terms.hand_out_on + week * _WEEK
        for outworker in outworkers:
            room = outworker.pairs_a_week
            while room and waiting:
                taken = tuple(waiting[0][: min(room, terms.largest_bundle)])
                del waiting[0][: len(taken)]
                waiting = [pairs for pairs in waiting if pairs]
                room -= len(taken)
                from_skins = tuple(sorted({skins[pair] for pair in taken}, key=rank.__getitem__))
                bundles.append(Bundle(len(bundles) + 1, outworker.name, week, taken, from_skins, hand_out, due))
    return tuple(bundles)


def late(bundles: Sequence[Bundle], terms: Terms) -> list[Finding]:
    """A warning if bundles are due after the day on which the batch is needed."""
    needed = terms.needed_by
    too_late = [bundle for bundle in bundles if needed and bundle.due and bundle.due > needed]
    if not needed or not too_late:
        return []
    pairs, last = sum(len(bundle.pairs) for bundle in too_late), max(bundle.due for bundle in too_late if bundle.due)
    due = "pair is" if pairs == 1 else "pairs are"
    found = f"{pairs} {due} due after {needed.isoformat()}, the last of them on {last.isoformat()}."
    action = "Make fewer, hand out sooner, or find another outworker."
    return [Finding.warning(Code.BUNDLES_LATE, Place(), found, "All due when the batch is needed.", action)]
