"""Searches which pairs share a skin, so that fewer skins are cut into and the last of them is used least.

Skin after skin is filled as far as can be found with pairs drawn by chance, since sizes that fill a skin together are
rarely neighbours. Then a few skins at a time are filled anew, which counts if what is free lies together better, and
so the emptiest skin ends up empty. Work is counted in steps and not timed: the same lay number gives the same lay on
a quick machine and on a slow one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from random import Random
from typing import TypeVar

from grading.stock.lays import Laid, Lay, Pair, least_skins
from grading.stock.placing import Spot, Work, placed
from grading.stock.rooms import STEP, Rooms
from grading.stock.skins import Skin

__all__ = ["STEPS", "Found", "Search", "Told"]

#: Steps of search for each pair.
STEPS = 10_000
#: How often pieces are moved before a trial is given up: where one pair is put in, and where all pairs are new.
PUT_IN, ANEW = 30, 200
#: After so many trials in a row that failed a skin is left as it is: at first, and where some are filled anew.
TRIALS, TRIALS_ANEW = 6, 2
#: The part of the usable area that is aimed at, at first: it moves by so much with each trial that fails, and by three
#: times as much with one that does not, so that about a quarter of them succeed.
AIM, SHIFT = 0.75, 0.001
#: How far below the aim a trial still tells something about it.
NEAR = 0.02
#: What a trial adds to the used part of a skin: so much at least, and so much beyond the aim.
ADDED, BEYOND = 1e-4, 0.01
#: How often pairs are drawn before there is taken to be no set of them to try.
DRAWS = 40
#: What a draw and a round of filling anew take besides, in steps: about as long as those.
A_DRAW, A_ROUND = 4, 50
#: So many skins at most are filled anew together.
TOGETHER = 5
#: More than all of it is never used.
NO_END = 1 << 60

Item = TypeVar("Item")

#: Told now and then: how many pairs have their place, on how many skins, and the part of the search that is done.
Told = Callable[[int, int, float], None]
#: The spots of the pieces of each of some pairs.
Spots = tuple[tuple[Spot, ...], ...]
#: A kind of skin, and the kinds of the pairs to be laid on it, larger ones first.
Sort = tuple[int, tuple[tuple[str, str], ...]]


@dataclass(frozen=True, eq=False)
class Found:
    """The lays in the order of the skins, the pairs without room, and whether the search was stopped before its end."""

    lays: tuple[Lay, ...]
    left: tuple[Pair, ...]
    stopped: bool


@dataclass(eq=False)
class Search:
    """What is known about laying pairs on skins: it grows from one call to the next.

    ``gap`` is left between pieces, half of it to the skin's edge and to flaws, mm; ``pile_within`` is how many
    degrees a piece may be turned. The same calls with the same lay ``number`` find the same lays.
    """

    gap: float
    pile_within: float
    number: int
    _tried: dict[Sort, Spots | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._rooms = Rooms(self.gap, self.pile_within)
        self._random = Random(self.number)
        self._work = Work(0)
        self._aim = AIM

    def lays(self, pairs: Sequence[Pair], skins: Iterable[Skin], told: Told, *, steps: int, enough: int = 1) -> Found:
        """How the pairs are cut from the fewest of the skins that so many steps a pair, or about that, found.

        The search ends with ``enough`` skins. A skin on hand that takes no pair is passed over, one to be bought
        that takes none ends the buying. An interrupt (Ctrl+C) ends the search as soon as every pair has its place.
        """
        whole = steps * len(pairs)
        self._work = Work(whole)

        def tell(lays: Sequence[Lay]) -> None:
            done = 1 - max(self._work.left, 0) / whole if whole else 1.0
            told(sum(len(lay.pairs) for lay in lays), len(lays), done)

        offered: list[Skin] = []
        stopped = False
        lays: list[Lay] = []
        left = sorted(pairs, key=lambda pair: -pair.area)
        fill: Callable[[Skin, Sequence[Pair]], Lay] = partial(self._aimed, trials=TRIALS)
        for skin in skins:
            if not left:
                break
            offered.append(skin)
            try:
                lay = fill(skin, left)
                tell([*lays, lay])
            except KeyboardInterrupt:
                stopped, fill = True, self._largest_first
                lay = fill(skin, left)
            if not lay.laid and skin.to_buy:
                break
            lays += [lay] if lay.laid else []
            left = _without(left, lay)
        try:
            while not left and not stopped and self._work.left > 0 and len(lays) > max(enough, least_skins(lays)):
                lays = self._some_anew(lays)
                tell(lays)
        except KeyboardInterrupt:
            stopped = True
        return Found(tuple(_numbered(lays, offered)), tuple(left), stopped)

    # Some skins

    def _some_anew(self, lays: list[Lay]) -> list[Lay]:
        """The lays, of which a few are others if those bring together what is free."""
        self._work.left -= A_ROUND
        emptiest_first = sorted(lays, key=lambda lay: (not lay.skin.to_buy, lay.share))
        last = emptiest_first[0 if self._random.random() < 0.5 else self._below(len(lays))]
        others = self._shuffled(lay for lay in lays if lay is not last)
        some = [*others[: 1 + self._below(TOGETHER - 1)], last]
        left = sorted((pair for lay in some for pair in lay.pairs), key=lambda pair: -pair.area)
        anew = []
        for lay in sorted(some, key=lambda lay: lay.skin.to_buy):
            anew.append(self._aimed(lay.skin, left, TRIALS_ANEW))
            left = _without(left, anew[-1])
        if left or _together(anew) <= _together(some) * (1 + ADDED):
            return lays
        return [*(lay for lay in lays if lay not in some), *(lay for lay in anew if lay.laid)]

    # One skin

    def _aimed(self, skin: Skin, left: Sequence[Pair], trials: int) -> Lay:
        """A lay of pairs drawn by chance that uses as much of the skin as was found; none twice without success."""
        best, failed = Lay(skin, ()), 0
        while failed < trials:
            drawn = self._drawn(skin, left, best.share)
            if drawn is None:
                break
            new = self._sort(skin, drawn) not in self._tried
            lay = self._laid(skin, drawn, Lay(skin, ()), ANEW, self._work)
            best, failed = (lay, 0) if lay else (best, failed + 1)
            if new and sum(pair.area for pair in drawn) > (self._aim - NEAR) * best.usable:
                self._aim += 3 * SHIFT if lay else -SHIFT
        return self._with_more(best, left, 0) if best.laid else self._largest_first(skin, left)

    def _drawn(self, skin: Skin, left: Sequence[Pair], used: float) -> list[Pair] | None:
        """Pairs that use more than the part ``used`` of the skin, larger ones first; None if no draw gave any."""
        usable = float(skin.usable.area)
        most = max(used + BEYOND, self._aim) * usable
        for _ in range(DRAWS):
            self._work.left -= A_DRAW
            drawn, area = [], 0.0
            for pair in self._shuffled(left):
                if area + pair.area <= most:
                    drawn.append(pair)
                    area += pair.area
            if area > (used + ADDED) * usable and self._tried.get(self._sort(skin, drawn), ()) is not None:
                return _ordered(drawn)
        return None

    def _largest_first(self, skin: Skin, left: Sequence[Pair]) -> Lay:
        """A lay of the largest pairs that find room one after another."""
        return self._with_more(Lay(skin, ()), left, PUT_IN)

    def _with_more(self, lay: Lay, left: Iterable[Pair], moves: int) -> Lay:
        """The lay with those pairs, tried one after another, for which so many moves make room."""
        failed: set[tuple[str, str]] = set()
        for pair in left:
            if pair.kind not in failed and pair not in lay.pairs:
                more = self._laid(lay.skin, _ordered([*lay.pairs, pair]), lay, moves, Work(NO_END))
                lay = more or lay
                failed |= set() if more else {pair.kind}
        return lay

    def _laid(self, skin: Skin, pairs: Sequence[Pair], before: Lay, moves: int, work: Work) -> Lay | None:
        """A lay of just these pairs, which are at first where they were before; None if it was not found."""
        sort = self._sort(skin, pairs)
        spots = self._tried.get(sort)
        if spots is None and sum(pair.area for pair in pairs) <= skin.usable.area:
            there = _spots(before)
            start = [there.get(pair, (None,) * len(pair.pieces)) for pair in pairs]
            pieces = [pair.pieces for pair in pairs]
            spots = placed(pieces, start, skin, self._rooms, self._random, moves, work)
            if spots or moves == ANEW:
                self._tried[sort] = spots
        return None if spots is None else _lay(skin, pairs, spots)

    def _sort(self, skin: Skin, pairs: Iterable[Pair]) -> Sort:
        return id(skin.kind), tuple(pair.kind for pair in _ordered(pairs))

    # Chance, by the one method of Random that is promised to stay as it is

    def _below(self, number: int) -> int:
        return int(self._random.random() * number)

    def _shuffled(self, items: Iterable[Item]) -> list[Item]:
        return sorted(items, key=lambda _: self._random.random())


def _ordered(pairs: Iterable[Pair]) -> list[Pair]:
    return sorted(pairs, key=lambda pair: (-pair.area, pair.kind, pair.number))


def _without(pairs: Iterable[Pair], lay: Lay) -> list[Pair]:
    gone = set(lay.pairs)
    return [pair for pair in pairs if pair not in gone]


def _together(lays: Iterable[Lay]) -> float:
    """How well what is free lies together: what is used counts more on a skin of which much is used."""
    return sum(lay.used * lay.share for lay in lays)


def _lay(skin: Skin, pairs: Sequence[Pair], spots: Spots) -> Lay:
    return Lay(
        skin,
        tuple(
            Laid(pair, piece, float(spot.column * STEP), float(spot.row * STEP), spot.angle)
            for pair, of_pair in zip(pairs, spots, strict=True)
            for piece, spot in zip(pair.pieces, of_pair, strict=True)
        ),
    )


def _spots(lay: Lay) -> dict[Pair, tuple[Spot, ...]]:
    found: dict[Pair, tuple[Spot, ...]] = {}
    for laid in lay.laid:
        spot = Spot(round(laid.x / STEP), round(laid.y / STEP), laid.angle)
        found[laid.pair] = (*found.get(laid.pair, ()), spot)
    return found


def _numbered(lays: Iterable[Lay], offered: Sequence[Skin]) -> Iterator[Lay]:
    """The lays in the order in which skins were offered; of skins of one kind the first ones, fuller ones first."""
    taken: Counter[int] = Counter()
    first = {id(skin.kind): number for number, skin in reversed(list(enumerate(offered)))}
    for lay in sorted(lays, key=lambda lay: (lay.skin.to_buy, first[id(lay.skin.kind)], -lay.share)):
        kind = lay.skin.kind
        yield Lay([skin for skin in offered if skin.kind is kind][taken[id(kind)]], lay.laid)
        taken[id(kind)] += 1
