"""Plans a batch: so many pairs, as many as the skins on hand allow, or as many as a sum of money pays for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from grading.codes import Code
from grading.engine.run import SizeRun
from grading.findings import Finding, Place, StoppedError, amount, counted
from grading.model.stock import SkinKind, StockTable, most_particular
from grading.stock.bundles import Bundle, bundled, late
from grading.stock.costs import SizeCosts, SkinCosts, size_costs, skin_costs
from grading.stock.demand import Market, Wanted, markets, unknown_names, wanted
from grading.stock.lays import Lay, Pair, least_skins
from grading.stock.mock_up import MockUp, mock_up_findings, trial_hand, with_mock_up
from grading.stock.pieces import CutPiece, pieces_of_pairs
from grading.stock.search import STEPS, Enough, Outcome, Search, never
from grading.stock.skins import Skin, best_for_its_price, best_to_buy, bought, on_hand, price_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["MOST_PAIRS", "Batch", "Plan", "Progress", "prepared"]

#: More pairs than this are no small batch, and would take long to lay.
MOST_PAIRS = 2000
_IN_PARTS = "Plan it as several batches."

#: Steps of search for each pair where several numbers of pairs are tried, and for all of them at most.
STEPS_EACH, STEPS_OF_ALL = 6_000, 450_000
#: The part of the usable area that is likely to be used: where such attempts begin.
LIKELY = 0.74

#: Told now and then: the pairs that are laid out, how many have their place, on how many skins, and the part of the
#: search that is done.
Progress = Callable[[int, int, int, float], None]


@dataclass(frozen=True, eq=False)
class Plan:
    """A batch: what is wanted, how each skin is cut, who sews what until when, and what it costs.

    ``stopped`` says that the search for the lays was interrupted: they are the best that were found until then.
    """

    batch: Batch
    wanted: tuple[Wanted, ...]
    lays: tuple[Lay, ...]
    bundles: tuple[Bundle, ...]
    skins: SkinCosts
    sizes: tuple[SizeCosts, ...]
    findings: tuple[Finding, ...]
    stopped: bool

    def __repr__(self) -> str:
        return f"<Plan: {self.pairs} pairs on {len(self.lays)} skins>"

    def frame(self) -> pd.DataFrame:
        """One row a size, by group: pairs, by how many they are out of what is due, and the figures of one pair.

        ``area`` is in mm², ``minutes`` are of work; ``used`` and ``lost`` leather, ``work``, ``other``, ``cost``,
        ``price`` and ``margin`` are in the stock table's money.
        """
        import pandas as pd  # slow to import, and planning needs none

        money = ("area", "minutes", "used", "lost", "work", "other", "cost", "price", "margin")
        rows = [
            {"pairs": row.pairs, "out by": row.out_by} | {name: getattr(costs, name) for name in money}
            for row, costs in zip(self.wanted, self.sizes, strict=True)
        ]
        keys = [(row.group, row.size) for row in self.wanted]
        return pd.DataFrame(rows, index=pd.MultiIndex.from_tuples(keys, names=("group", "size")))

    @property
    def pairs(self) -> int:
        return sum(row.pairs for row in self.wanted)

    @property
    def cost(self) -> float:
        """What the batch costs, its skins paid in full."""
        return sum(row.cost * row.pairs for row in self.sizes)

    @property
    def takings(self) -> float:
        """What it brings if all of it is sold."""
        return sum(row.price * row.pairs for row in self.sizes)

    @property
    def least_skins(self) -> int:
        """With fewer of its skins no lay can do."""
        return least_skins(self.lays)

    @property
    def share_used(self) -> float:
        """The pieces' area ÷ the usable area of all skins but the last; of that one where it is alone."""
        full = self.lays[:-1] or self.lays
        return sum(lay.used for lay in full) / sum(lay.usable for lay in full)


#: A plan of so many pairs if they are possible, how many are likely to be, and whether the search was stopped.
_Attempt = tuple[Plan | None, int, bool]


@dataclass(frozen=True, eq=False)
class Batch:
    """All that a plan is made from, ready: tables, graded runs, markets, and the pieces of a pair of every size."""

    table: StockTable
    runs: tuple[SizeRun, ...]
    markets: tuple[Market, ...]
    pieces: dict[tuple[str, str], tuple[CutPiece, ...]]
    at_least: int
    findings: tuple[Finding, ...]
    mock_up: MockUp | None = None

    def __repr__(self) -> str:
        return f"<Batch: {len(self.pieces)} sizes of {', '.join(run.group for run in self.runs)}>"

    def for_pairs(self, pairs: int, progress: Progress) -> Plan:
        """A plan for so many pairs, on the skins on hand and as many more as it takes. Raises StoppedError."""
        least = self.at_least * len(self.pieces)
        if pairs < 1:
            action = "Fill in 'Pairs' on the sheet Stock, or give --pairs."
            raise _impossible(Code.PAIRS_TOO_FEW, "A batch of 0 pairs is none.", "One pair at least.", action)
        if pairs > MOST_PAIRS:
            said = f"{pairs} pairs are more than is laid out at once."
            raise _impossible(Code.BATCH_TOO_LARGE, said, f"{MOST_PAIRS} pairs at most.", _IN_PARTS)
        if pairs < least:
            said = f"{_are(pairs, 'pair')} too few for {self.at_least} of each of {len(self.pieces)} sizes."
            raise _impossible(Code.PAIRS_TOO_FEW, said, f"{least} pairs or more.", "Make more, or fewer of a size.")
        outcome = self._laid(self._search(), pairs, progress, steps=STEPS)
        without = [pair for lay in outcome.lays if self._cannot_be_had(lay.skin) for pair in lay.pairs]
        if outcome.left or without:
            raise self._too_few(outcome, pairs, [*outcome.left, *without])
        return self._planned(outcome, pairs)

    def for_skins(self, progress: Progress) -> Plan:
        """The most pairs that were found to fit on the skins on hand. Raises StoppedError."""
        usable = sum(skin.usable.area for skin in on_hand(self.table.skins))
        mean, search = self._mean(self._area), self._search()

        def attempt(pairs: int) -> _Attempt:
            outcome = self._laid(
                search, pairs, progress, steps=_steps_each(pairs), enough=_nothing_to_buy, spare_bought=True
            )
            too_many = len(outcome.left) + sum(len(lay.pairs) for lay in outcome.lays if lay.skin.to_buy)
            if too_many:
                return None, pairs - too_many, outcome.stopped
            room = LIKELY * usable - sum(lay.used for lay in outcome.lays)
            return self._planned(outcome, pairs), pairs + int(room / mean), outcome.stopped

        too_little = "The skins on hand are too few for a pair, or for the least of each size."
        return self._most(attempt, int(LIKELY * usable / mean), too_little)

    def for_budget(self, budget: float, progress: Progress) -> Plan:
        """The most pairs that were found to cost no more than a sum, skins and work together. Raises StoppedError."""
        sum_, kind = f"{amount(budget)} {self.table.terms.currency}", best_for_its_price(self.table.skins)
        skin = price_of(kind) / Skin(kind, 1, to_buy=False).usable.area
        if budget > MOST_PAIRS * self._mean(lambda key: self._pay(key) + skin * self._area(key)):
            said = f"{sum_} may pay for more than {MOST_PAIRS} pairs, and no more are laid out at once."
            raise _impossible(Code.BATCH_TOO_LARGE, said, f"{MOST_PAIRS} pairs at most.", _IN_PARTS)
        search = self._search()

        def attempt(pairs: int) -> _Attempt:
            pay = sum(self._pay((row.group, row.size)) * row.pairs for row in self._wanted(pairs))

            def paid(lays: Sequence[Lay]) -> bool:
                cost = pay + sum(lay.skin.price for lay in lays)
                return cost <= budget and not any(self._cannot_be_had(lay.skin) for lay in lays)

            outcome = self._laid(search, pairs, progress, steps=_steps_each(pairs), enough=paid)
            cost = pay + sum(lay.skin.price for lay in outcome.lays)
            plan = self._planned(outcome, pairs) if not outcome.left and paid(outcome.lays) else None
            return plan, int(pairs * budget / cost) if cost else MOST_PAIRS, outcome.stopped

        likely = self._mean(lambda key: self._pay(key) + skin / LIKELY * self._area(key))
        guess = int(budget / likely) if likely > 0 else MOST_PAIRS
        return self._most(attempt, guess, f"{sum_} is too little for a pair, or for the least of each size.")

    def _most(self, attempt: Callable[[int], _Attempt], guess: int, too_little: str) -> Plan:
        """The plan of the most pairs that an attempt found possible, while one more was not found to be.

        Numbers are tried that lie between what was possible and what was not: the guess, and then as many as the last
        attempt gives reason to expect. An attempt that was stopped is the last.
        """
        least = max(1, self.at_least * len(self.pieces))
        possible, impossible, best, stopped = least - 1, MOST_PAIRS + 1, None, False
        while impossible - possible > 1 and not stopped:
            pairs = min(max(guess, possible + 1), impossible - 1)
            plan, guess, stopped = attempt(pairs)
            if plan:
                possible, best = pairs, plan
            else:
                impossible = pairs
        if best is None:
            expected = "One pair at least, and the least of every size."
            raise _impossible(Code.BATCH_TOO_SMALL, too_little, expected, "Allow more.")
        return best

    # Laying out

    def _search(self) -> Search:
        terms = self.table.terms
        return Search(terms.gap, terms.pile_within, terms.lay_number)

    def _more(self) -> SkinKind:
        """The kind of which more are laid out on than are on hand, whether it can be bought or not."""
        return best_to_buy(self.table.skins) or best_for_its_price(self.table.skins)

    def _cannot_be_had(self, skin: Skin) -> bool:
        return skin.to_buy and not skin.kind.buy_more

    def _laid(
        self,
        search: Search,
        pairs: int,
        progress: Progress,
        *,
        steps: int,
        enough: Enough = never,
        spare_bought: bool = False,
    ) -> Outcome:
        """So many pairs, shared out over the sizes, on the skins on hand and on as many more as it takes."""
        keys = [(row.group, row.size) for row in self._wanted(pairs) for _ in range(row.pairs)]
        todo = [Pair(number, *key, self.pieces[key]) for number, key in enumerate(keys, 1)]
        skins = chain(on_hand(self.table.skins), bought(self._more()))
        return search.lays(todo, skins, partial(progress, pairs), steps=steps, enough=enough, spare_bought=spare_bought)

    def _wanted(self, pairs: int) -> tuple[Wanted, ...]:
        return wanted(self.markets, pairs, self.at_least)

    def _planned(self, outcome: Outcome, pairs: int) -> Plan:
        """The plan of pairs that all have their place."""
        rows, costs = self._wanted(pairs), skin_costs(outcome.lays)
        bundles = bundled(outcome.lays, self.table.outworkers, self.table.terms)
        sizes = size_costs(self.table, rows, [self._area((row.group, row.size)) for row in rows], costs)
        findings = (*self.findings, *late(bundles, self.table.terms), *_stopped(outcome))
        return Plan(self, rows, outcome.lays, bundles, costs, sizes, findings, outcome.stopped)

    def _too_few(self, outcome: Outcome, pairs: int, without: Sequence[Pair]) -> StoppedError:
        """Which pairs find no room, and what would have to be bought for them."""
        listed = Counter(f"{pair.group} {pair.size}" for pair in sorted(without, key=lambda pair: pair.number))
        sizes = ", ".join(f"{size} × {count}" if count > 1 else size for size, count in listed.items())
        more, kind = sum(self._cannot_be_had(lay.skin) for lay in outcome.lays), self._more()
        action = f"Plan {pairs - len(without)} pairs (--skins finds the most), or add skins that can be bought"
        action += f": {more} more like {kind.name} would do." if more else "."
        if outcome.left:
            action = f"Add skins that are large enough: {kind.name} is not, for {len(outcome.left)} of them."
        return _impossible(
            Code.SKINS_TOO_FEW,
            f"{pairs - len(without)} of {pairs} pairs find room, which is the most that was found; without: {sizes}.",
            "As many skins as it takes, or a kind that can be bought and is large enough for a pair.",
            action,
        )

    def _area(self, key: tuple[str, str]) -> float:
        return sum(piece.area for piece in self.pieces[key])

    def _pay(self, key: tuple[str, str]) -> float:
        work = most_particular(self.table.work, *key)
        return (work.pay if work else 0.0) + self.table.terms.other_costs

    def _mean(self, figure: Callable[[tuple[str, str]], float]) -> float:
        """A figure of each size, averaged over the customers."""
        return sum(
            market.share * float(part) * figure((market.group, size))
            for market in self.markets
            for size, part in zip(market.run.sizes, market.sizes, strict=True)
        )


def prepared(
    table: StockTable, runs: Sequence[SizeRun], at_least: int | None = None, mock_up: str | None = None
) -> Batch:
    """Everything ready for planning; ``at_least`` of each size, or what the table says. Raises StoppedError.

    A ``mock_up`` of a size, one hand, is laid before all else, where the skins are too poor for stock.
    """
    with_customers, findings = markets(table, runs)
    if not with_customers:
        raise StoppedError(_no_customers(table, runs))
    scratched = any(kind.scratched for kind in table.skins)
    pieces = {
        (market.group, size): of_size
        for market in with_customers
        for size, of_size in zip(market.run.sizes, pieces_of_pairs(market.run, faces=scratched), strict=True)
    }
    least = table.terms.at_least if at_least is None else at_least
    trial = None
    if mock_up is not None:
        hand = trial_hand(pieces, mock_up, {run.group: run.block.shown.hand for run in runs})
        if isinstance(hand, Finding):
            raise StoppedError(hand)
        trial, skins = with_mock_up(hand, table.skins, table.terms.gap)
        table = replace(table, skins=skins)
        findings += mock_up_findings(trial, mock_up)
    return Batch(table, tuple(runs), with_customers, pieces, least, (*findings, *unknown_names(table, runs)), trial)


def _stopped(outcome: Outcome) -> list[Finding]:
    """A note if the search for the lays was ended before its time."""
    if not outcome.stopped:
        return []
    said = f"The search was stopped: {_are(len(outcome.lays), 'skin')} the fewest that were found until then."
    action = "Run it again and let it end, if fewer skins matter."
    return [Finding.note(Code.SEARCH_STOPPED, Place(), said, "A search to its end.", action)]


def _are(count: int, thing: str) -> str:
    return f"{counted(count, thing)} {'is' if count == 1 else 'are'}"


def _no_customers(table: StockTable, runs: Sequence[SizeRun]) -> Finding:
    place = table.customers[0].place
    theirs, graded = (", ".join(one.group for one in groups) for groups in (table.customers, runs))
    return Finding.error(
        Code.NO_CUSTOMERS,
        Place(place.workbook, place.sheet),
        f"No group that was graded has customers: the rows here are for {theirs}.",
        f"A row for one of {graded} at least.",
        "Name each group as its sheet in the size tables is named, here and on the other sheets.",
    )


def _impossible(code: Code, found: str, expected: str, action: str) -> StoppedError:
    return StoppedError(Finding.error(code, Place(), found, expected, action))


def _steps_each(pairs: int) -> int:
    """Steps of search for each of so many pairs: fewer where they are many, so that no attempt takes long."""
    return min(STEPS_EACH, STEPS_OF_ALL // pairs)


def _nothing_to_buy(lays: Sequence[Lay]) -> bool:
    return not any(lay.skin.to_buy for lay in lays)
