"""Plans a batch: so many pairs, as many as the skins on hand allow, or as many as a sum of money pays for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, chain

from grading.engine.run import SizeRun
from grading.findings import Finding, Place, Severity
from grading.model.stock import StockTable, most_particular
from grading.stock.bundles import Bundle, bundled, late
from grading.stock.costs import SizeCosts, SkinCosts, size_costs, skin_costs
from grading.stock.demand import Market, Wanted, markets, unknown_names, wanted
from grading.stock.lays import Lay, Pair, lays
from grading.stock.pieces import CutPiece, pieces_of_pairs
from grading.stock.skins import Skin, best_to_buy, bought, on_hand, price_of

__all__ = ["MOST_PAIRS", "Batch", "Impossible", "Plan", "Progress", "prepared"]

#: More pairs than this are no small batch, and would take long to lay.
MOST_PAIRS = 2000
_HOW_MANY = "Fill in 'Pairs' on the sheet Stock, or give --pairs."
_IN_PARTS = "Plan it as several batches."

#: Told after each skin: how many pairs have their place, and of how many.
Progress = Callable[[int, int], None]


class Impossible(Exception):  # noqa: N818 - the tables are at fault, not the program
    """No plan can be made; ``finding`` says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(str(finding))
        self.finding = finding


@dataclass(frozen=True, eq=False)
class Plan:
    """A batch: what is wanted, how each skin is cut, who sews what until when, and what it costs."""

    batch: Batch
    wanted: tuple[Wanted, ...]
    lays: tuple[Lay, ...]
    bundles: tuple[Bundle, ...]
    skins: SkinCosts
    sizes: tuple[SizeCosts, ...]
    findings: tuple[Finding, ...]

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
        """No lay can do with fewer of these skins: so many of the largest have the pieces' area and no more."""
        usable = sorted((lay.usable for lay in self.lays), reverse=True)
        return 1 + sum(area < self.skins.pieces for area in accumulate(usable))

    @property
    def share_used(self) -> float:
        """The pieces' area ÷ the usable area of all skins but the last; of that one where it is alone."""
        full = self.lays[:-1] or self.lays
        return sum(lay.used for lay in full) / sum(lay.usable for lay in full)


@dataclass(frozen=True, eq=False)
class Batch:
    """All that a plan is made from, ready: tables, graded runs, markets, and the pieces of a pair of every size."""

    table: StockTable
    runs: tuple[SizeRun, ...]
    markets: tuple[Market, ...]
    pieces: dict[tuple[str, str], tuple[CutPiece, ...]]
    at_least: int
    findings: tuple[Finding, ...]

    def for_pairs(self, pairs: int, progress: Progress) -> Plan:
        """A plan for so many pairs, on the skins on hand and as many more as it takes. Raises Impossible."""
        least = self.at_least * len(self.pieces)
        if pairs < 1:
            raise Impossible(_error("pairs-too-few", "A batch of 0 pairs is none.", "One pair at least.", _HOW_MANY))
        if pairs > MOST_PAIRS:
            found = f"{pairs} pairs are more than is laid out at once."
            raise Impossible(_error("batch-too-large", found, f"{MOST_PAIRS} pairs at most.", _IN_PARTS))
        if pairs < least:
            found = f"{pairs} pairs are too few for {self.at_least} of each of {len(self.pieces)} sizes."
            raise Impossible(
                _error("pairs-too-few", found, f"{least} pairs or more.", "Make more, or fewer of a size.")
            )
        plan = self._on(self._all_skins(), pairs, progress)
        if plan is None:
            raise Impossible(
                _error(
                    "skins-too-few",
                    f"Not all of {pairs} pairs find room on the skins on hand.",
                    "As many skins as it takes, or a kind that can be bought and is large enough for a pair.",
                    "Plan fewer pairs or with --skins, or add skins that can be bought.",
                )
            )
        return plan

    def for_skins(self, progress: Progress) -> Plan:
        """The most pairs that were found to fit on the skins on hand. Raises Impossible."""
        usable = sum(skin.usable.area for skin in on_hand(self.table.skins))
        return self._most(
            lambda pairs: self._on(on_hand(self.table.skins), pairs, progress),
            int(usable / self._mean(self._area)),
            "The skins on hand are too few for a pair, or for the least of each size.",
        )

    def for_budget(self, budget: float, progress: Progress) -> Plan:
        """The most pairs that were found to cost no more than a sum, skins and work together. Raises Impossible."""

        def attempt(pairs: int) -> Plan | None:
            plan = self._on(self._all_skins(), pairs, progress)
            return plan if plan and plan.cost <= budget else None

        skin = min(price_of(kind) / Skin(kind, 1, to_buy=False).usable.area for kind in self.table.skins)
        cheapest = self._mean(lambda key: self._pay(key) + skin * self._area(key))
        most = int(budget / cheapest) if cheapest > 0 else MOST_PAIRS
        if most > MOST_PAIRS:
            found = f"{budget:g} may pay for {most} pairs, more than are laid out at once."
            raise Impossible(_error("batch-too-large", found, f"{MOST_PAIRS} pairs at most.", _IN_PARTS))
        too_little = f"{budget:g} is too little for a pair, or for the least of each size."
        return self._most(attempt, min(most, MOST_PAIRS), too_little)

    def _most(self, attempt: Callable[[int], Plan | None], most: int, too_little: str) -> Plan:
        """The plan of the largest number of pairs, up to ``most``, that an attempt finds possible, by bisection."""
        least, most = max(1, self.at_least * len(self.pieces)), most + 1
        best = attempt(least) if least <= most else None
        if best is None:
            raise Impossible(
                _error("batch-too-small", too_little, "One pair at least, and the least of every size.", "Allow more.")
            )
        while most - least > 1:
            middle = (least + most) // 2
            plan = attempt(middle)
            least, most, best = (middle, most, plan) if plan else (least, middle, best)
        return best

    def _all_skins(self) -> Iterator[Skin]:
        more = best_to_buy(self.table.skins)
        return chain(on_hand(self.table.skins), bought(more) if more else ())

    def _on(self, skins: Iterable[Skin], pairs: int, progress: Progress) -> Plan | None:
        """The plan of so many pairs on these skins; None if not every pair finds room."""
        rows = wanted(self.markets, pairs, self.at_least)
        keys = [(row.group, row.size) for row in rows for _ in range(row.pairs)]
        todo = [Pair(number, *key, self.pieces[key]) for number, key in enumerate(keys, 1)]
        terms = self.table.terms
        found, done = [], 0
        for lay in lays(todo, skins, gap=terms.gap, pile_within=terms.pile_within, seed=terms.seed):
            found.append(lay)
            done += len(lay.pairs)
            progress(done, pairs)
        if done < pairs:
            return None
        costs = skin_costs(found)
        bundles = bundled(found, self.table.outworkers, terms)
        sizes = size_costs(self.table, rows, [self._area((row.group, row.size)) for row in rows], costs)
        return Plan(self, rows, tuple(found), bundles, costs, sizes, (*self.findings, *late(bundles, terms)))

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


def prepared(table: StockTable, runs: Sequence[SizeRun], at_least: int | None = None) -> Batch:
    """Everything ready for planning; ``at_least`` of each size, or what the table says. Raises Impossible."""
    found, findings = markets(table, runs)
    if not found:
        raise Impossible(
            _error("no-customers", "No graded group has customers.", "A row on Customers for one group.", "Add it.")
        )
    pieces = {
        (market.group, size): of_size
        for market in found
        for size, of_size in zip(market.run.sizes, pieces_of_pairs(market.run), strict=True)
    }
    least = table.terms.at_least if at_least is None else at_least
    return Batch(table, tuple(runs), found, pieces, least, (*findings, *unknown_names(table, runs)))


def _error(code: str, found: str, expected: str, action: str) -> Finding:
    return Finding(code, Severity.ERROR, Place(), found, expected, action)
