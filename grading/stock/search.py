"""Searches which pairs share a skin, so that fewer skins are cut into and the last of them is used least.

Skin after skin is filled with pairs drawn by chance. Then, over and over, a pair or two of one skin change places with
up to two of another. That stays so if what is free lies together better, and at first also if it lies together a little
worse, since many a good lay is reached only by way of one that is not ('simulated annealing'). All of it is begun anew
several times, with what was learnt of which pairs lie together on a skin; the best lays are kept.
Work is counted in steps and not timed: the same lay number gives the same lay on a quick machine and on a slow one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import log
from random import Random

from grading.stock.lays import Laid, Lay, Pair, least_skins
from grading.stock.placing import Effort, Spot, placed
from grading.stock.rooms import STEP, Rooms
from grading.stock.skins import Skin

__all__ = ["STEPS", "Outcome", "Search", "Told", "never"]

#: Steps of search for each pair.
STEPS = 36_000
#: How often pieces are moved before a trial is given up, once from where those lay that stay, and once from nothing.
MOVES = 30
#: And where more than is aimed at would have to be used at first.
UNLIKELY = 3
#: How often the same pairs are tried on a skin of the same kind.
TRIALS = 6
#: The part of the usable area that is aimed at, at first: it moves by so much with each trial that fails, and by three
#: times as much with one that does not, so that about a quarter of them succeed.
AIM, SHIFT = 0.75, 0.001
#: How far below the aim a trial still tells something about it.
NEAR = 0.02
#: How much worse, on average, what is free may lie together at first, as a part of a skin, and what of that at last.
WORSE, COOLER = 0.003, 0.075
#: After so many steps a pair all is begun anew, with what was learnt: what was led astray once is rarely so twice.
ROUND = 12_000
#: How often the emptiest skin is one of the two that pairs are exchanged between, and how many of each at most.
EMPTIEST, FEW = 0.2, 2
#: As how many steps a draw of pairs counts: it takes about as long.
A_DRAW = 5

#: Told now and then: how many pairs have their place, on how many skins, and the part of the search that is done.
Told = Callable[[int, int, float], None]
#: Whether lays of all pairs are good enough to end the search.
Enough = Callable[[Sequence[Lay]], bool]
#: The spots of all pieces of some pairs, one pair after another.
Spots = tuple[Spot, ...]
#: The spots of the pieces of a pair at first, None for those without one.
Start = tuple[Spot | None, ...]
#: A kind of skin, and the kinds of the pairs to be laid on it, larger ones first.
Sort = tuple[int, tuple[tuple[str, str], ...]]


def never(lays: Sequence[Lay]) -> bool:
    """No lays are good enough: the search goes on to its end."""
    return False


@dataclass(frozen=True, eq=False)
class Outcome:
    """The lays in the order of the skins, the pairs without room, and whether the search was stopped before its end."""

    lays: tuple[Lay, ...]
    left: tuple[Pair, ...]
    stopped: bool


class Search:
    """What is known about laying pairs on skins: it grows from one call to the next.

    ``gap`` is left between pieces, half of it to the skin's edge and to flaws, mm; ``pile_within`` is how many
    degrees a piece may be turned. The same calls with the same lay ``number`` find the same lays.
    """

    def __init__(self, gap: float, pile_within: float, number: int) -> None:
        self._rooms, self._random, self._effort = Rooms(gap, pile_within), Random(number), Effort()
        self._known: dict[Sort, Spots] = {}
        self._failed: Counter[Sort] = Counter()
        self._aims: dict[int, float] = {}

    def lays(
        self,
        pairs: Sequence[Pair],
        skins: Iterable[Skin],
        told: Told,
        *,
        steps: int,
        enough: Enough = never,
        spare_bought: bool = False,
    ) -> Outcome:
        """How the pairs are cut from the fewest of the skins that so many steps a pair, or about that, found.

        The search ends with lays that are ``enough``. A skin on hand that takes no pair is passed over, one to be
        bought that takes none ends the buying. Fewest are all skins together, or with ``spare_bought`` those that have
        to be bought, even if one more on hand is used for it. An interrupt (Ctrl+C) ends the search as soon as every
        pair has its place.
        """
        self._effort, whole, rounds = Effort(), steps * len(pairs), max(1, steps // ROUND)

        def tell(lays: Sequence[Lay]) -> None:
            used = [lay for lay in lays if lay.laid]
            told(sum(len(lay.pairs) for lay in used), len(used), min(self._effort.done / whole, 1.0) if whole else 1.0)

        met: list[Skin] = []
        rest = iter(skins)

        def offered() -> Iterator[Skin]:
            """The skins, which may have no end: those met before, and then the rest."""
            yield from tuple(met)
            for skin in rest:
                met.append(skin)
                yield skin

        best, left, stopped = self._laid_in_turn(pairs, offered(), tell)
        lays, ended = best, bool(left) or stopped or _good_enough(best, enough)
        try:
            for done in range(rounds):
                if done and not ended:
                    lays, more_left, _ = self._laid_in_turn(pairs, offered(), lambda lays: None)
                    ended = bool(more_left)
                while not ended and rounds * self._effort.done < (done + 1) * whole:
                    part = rounds * self._effort.done / whole - done
                    exchanged = self._exchanged(lays, WORSE * COOLER**part)
                    if exchanged is not None and not (spare_bought and _spares_on_hand(exchanged)):
                        lays = exchanged
                        if _rank(lays) < _rank(best):
                            best, ended = lays, _good_enough(lays, enough)
                        tell(best)
            best = self._with_fewer_bought(best)
        except KeyboardInterrupt:
            stopped = True
        used = (lay for lay in best if lay.laid)
        return Outcome(tuple(_numbered(used, met)), tuple(left), stopped)

    # One skin after another

    def _laid_in_turn(
        self, pairs: Sequence[Pair], skins: Iterable[Skin], tell: Callable[[Sequence[Lay]], None]
    ) -> tuple[list[Lay], list[Pair], bool]:
        """Lays of the pairs in an order of chance, the pairs without room, and whether there was an interrupt."""
        lays: list[Lay] = []
        left, stopped = self._shuffled(pairs), False
        for skin in skins:
            try:
                lay = self._filled(skin, left)
                tell([*lays, lay])
            except KeyboardInterrupt:
                stopped = True
                lay = self._filled(skin, left)
            if not lay.laid and skin.to_buy:
                break
            lays += [lay] if lay.laid else []
            left = _without(left, lay)
            if not left:
                break
        return lays, left, stopped

    def _filled(self, skin: Skin, left: Sequence[Pair]) -> Lay:
        """A lay of those pairs that find room one after another."""
        lay, failed = Lay(skin, ()), set[tuple[str, str]]()
        for pair in left:
            if pair.kind not in failed and lay.used + pair.area <= lay.usable:
                likely = lay.used + pair.area <= self._aim(skin) * lay.usable
                more = self._relaid(lay, (), (pair,), MOVES if likely else UNLIKELY)
                lay = more or lay
                failed |= set() if more else {pair.kind}
        self._aims[id(skin.kind)] = max(self._aim(skin), lay.share)
        return lay

    # Two skins

    def _exchanged(self, lays: list[Lay], worse: float) -> list[Lay] | None:
        """The lays after an exchange between two of them, unless that was not found or would be worse by more."""
        self._effort.done += A_DRAW
        if len(lays) < 2:
            return None
        loser = _emptiest(lays) if self._random.random() < EMPTIEST else lays[self._random_below(len(lays))]
        gainer = lays[self._random_below(len(lays))]
        given, taken = self._some_of(loser, 1), self._some_of(gainer, 0)
        more = sum(pair.area for pair in given) - sum(pair.area for pair in taken)
        if more < 0:
            gainer, loser, taken, given, more = loser, gainer, given, taken, -more
        share = (gainer.used + more) / gainer.usable
        aim = self._aim(gainer.skin)
        if gainer is loser or not more or share > aim:
            return None
        after = share * (gainer.used + more) + (loser.used - more) ** 2 / loser.usable
        gain = after - gainer.used * gainer.share - loser.used * loser.share
        if gain < worse * gainer.usable * log(1 - self._random.random()):
            return None
        before = self._effort.done
        fuller = self._relaid(gainer, taken, given)
        if share > aim - NEAR and self._effort.done > before:
            self._aims[id(gainer.skin.kind)] = aim + (3 * SHIFT if fuller else -SHIFT)
        if fuller is None:
            return None
        others = [lay for lay in lays if lay is not gainer and lay is not loser]
        if len(given) == len(loser.pairs) and not taken:
            return _with_one_left_over([*others, fuller], loser.skin)
        emptier = self._relaid(loser, given, taken)
        return None if emptier is None else [*others, fuller, emptier]

    def _with_fewer_bought(self, lays: list[Lay]) -> list[Lay]:
        """The lays, with skins on hand that are left over in place of some that would have to be bought.

        What has no room there goes to skins that are used little. Exchanges seldom come to that: pairs that are moved
        a few at a time leave two skins half used.
        """
        for free in [lay for lay in lays if not lay.laid]:
            to_buy = {id(lay.skin.kind) for lay in lays if lay.laid and lay.skin.to_buy}
            # Skins of a kind are alike: which of them are bought is open.
            for lay in sorted((one for one in lays if id(one.skin.kind) in to_buy), key=lambda one: one.used):
                instead = self._filled(free.skin, lay.pairs)
                others = [one for one in lays if one is not lay and one is not free]
                taken = self._spread(_without(lay.pairs, instead), others) if instead.laid else None
                if taken is not None:
                    return self._with_fewer_bought(_with_one_left_over([*taken, instead], lay.skin))
        return lays

    def _spread(self, pairs: Sequence[Pair], lays: list[Lay]) -> list[Lay] | None:
        """The lays with further pairs, each where there is room and least is used; None if one of them has none."""
        for pair in pairs:
            for lay in sorted((lay for lay in lays if lay.laid), key=lambda lay: lay.share):
                likely = lay.used + pair.area <= self._aim(lay.skin) * lay.usable
                fuller = self._relaid(lay, (), (pair,)) if likely else None
                if fuller:
                    lays = [fuller if one is lay else one for one in lays]
                    break
            else:
                return None
        return lays

    def _aim(self, skin: Skin) -> float:
        return self._aims.get(id(skin.kind), AIM)

    def _some_of(self, lay: Lay, least: int) -> list[Pair]:
        count = least + self._random_below(FEW + 1 - least)
        return self._shuffled(lay.pairs)[:count]

    # One skin

    def _relaid(self, lay: Lay, out: Sequence[Pair], into: Sequence[Pair], moves: int = MOVES) -> Lay | None:
        """The lay without some of its pairs and with others; None if it was not found.

        At first pieces that stay lie where they lay, and new ones where those lay that go.
        """
        skin, stay = lay.skin, [pair for pair in lay.pairs if pair not in out]
        pairs = _larger_first([*stay, *into])
        sort = id(skin.kind), tuple(pair.kind for pair in pairs)
        if sort not in self._known and self._failed[sort] < TRIALS:
            spots = self._placed(skin, pairs, self._start(lay, stay, out, into), moves)
            if spots is not None:
                self._known[sort] = spots
            elif moves == MOVES:
                self._failed[sort] += 1
        spots = self._known.get(sort)
        return None if spots is None else _lay(skin, pairs, spots)

    def _start(self, lay: Lay, stay: Sequence[Pair], out: Iterable[Pair], into: Iterable[Pair]) -> dict[Pair, Start]:
        there = _spots(lay)
        start: dict[Pair, Start] = {pair: there[pair] for pair in stay}
        for old, new in zip(_larger_first(out), _larger_first(into), strict=False):
            start[new] = tuple(
                spot if self._rooms.lies_on(lay.skin, piece, spot.angle, spot.column, spot.row) else None
                for piece, spot in zip(new.pieces, there[old], strict=False)
            )
        return start

    def _placed(self, skin: Skin, pairs: Sequence[Pair], start: dict[Pair, Start], moves: int) -> Spots | None:
        pieces = [piece for pair in pairs for piece in pair.pieces]
        for known in (start, {}) if start and moves == MOVES else (start,):
            first = [spot for pair in pairs for spot in known.get(pair, (None,) * len(pair.pieces))]
            spots = placed(pieces, first, skin, self._rooms, self._random, moves, self._effort)
            if spots is not None:
                return spots
        return None

    def _shuffled(self, pairs: Iterable[Pair]) -> list[Pair]:
        return sorted(pairs, key=lambda _: self._random.random())

    def _random_below(self, number: int) -> int:
        return int(self._random.random() * number)  # the one method of Random that is promised to stay as it is


def _emptiest(lays: Iterable[Lay]) -> Lay:
    """The lay with most that is free, of those on skins to be bought if there are any."""
    return min((lay for lay in lays if lay.laid), key=lambda lay: (not lay.skin.to_buy, lay.share))


def _good_enough(lays: Sequence[Lay], enough: Enough) -> bool:
    used = [lay for lay in lays if lay.laid]
    return enough(used) or len(used) <= least_skins(used)


def _rank(lays: Sequence[Lay]) -> tuple[int, int, float]:
    """Lays are better the fewer skins are bought for them, then the fewer they are, then the less the last is used."""
    used = [lay for lay in lays if lay.laid]
    return sum(lay.skin.to_buy for lay in used), len(used), min(lay.share for lay in used)


def _spares_on_hand(lays: Iterable[Lay]) -> bool:
    """Whether a skin on hand is left over while another is bought."""
    used = {lay.skin.to_buy for lay in lays if lay.laid}
    return True in used and any(not lay.laid for lay in lays)


def _with_one_left_over(lays: list[Lay], empty: Skin) -> list[Lay]:
    """The lays where a skin is left over: rather one that would have to be bought, if it is of the same kind."""
    if empty.to_buy:
        return lays
    instead = next((lay for lay in lays if lay.skin.to_buy and lay.skin.kind is empty.kind), None)
    if instead is None:
        return [*lays, Lay(empty, ())]
    return [*(lay for lay in lays if lay is not instead), Lay(empty, instead.laid)]


def _larger_first(pairs: Iterable[Pair]) -> list[Pair]:
    return sorted(pairs, key=lambda pair: (-pair.area, pair.kind, pair.number))


def _without(pairs: Iterable[Pair], lay: Lay) -> list[Pair]:
    gone = set(lay.pairs)
    return [pair for pair in pairs if pair not in gone]


def _lay(skin: Skin, pairs: Sequence[Pair], spots: Spots) -> Lay:
    pieces = [(pair, piece) for pair in pairs for piece in pair.pieces]
    laid = (
        Laid(pair, piece, float(spot.column * STEP), float(spot.row * STEP), spot.angle)
        for (pair, piece), spot in zip(pieces, spots, strict=True)
    )
    return Lay(skin, tuple(laid))


def _spots(lay: Lay) -> dict[Pair, Spots]:
    spots: dict[Pair, Spots] = {}
    for laid in lay.laid:
        spot = Spot(round(laid.x / STEP), round(laid.y / STEP), laid.angle)
        spots[laid.pair] = (*spots.get(laid.pair, ()), spot)
    return spots


def _numbered(lays: Iterable[Lay], offered: Sequence[Skin]) -> Iterator[Lay]:
    """The lays in the order in which skins were offered; of skins of one kind the first ones, fuller ones first."""
    taken: Counter[int] = Counter()
    first = {id(skin.kind): number for number, skin in reversed(list(enumerate(offered)))}
    for lay in sorted(lays, key=lambda lay: (lay.skin.to_buy, first[id(lay.skin.kind)], -lay.share)):
        kind = lay.skin.kind
        yield Lay([skin for skin in offered if skin.kind is kind][taken[id(kind)]], lay.laid)
        taken[id(kind)] += 1
