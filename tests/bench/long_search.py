"""What a search of an hour reaches with the demo's sixty pairs: the reference that a search of seconds stands beside.

One lay number after another is searched, and every set of pairs that was found to lie together on a skin is kept. An
integer programme (HiGHS, by scipy) then chooses among all of them the sets that take all pairs on the fewest skins, the
last of which counts by its filled share.

``python tests/bench/long_search.py 3600`` does so for that many processor seconds, and tells how it came on.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator
from itertools import chain, count

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from grading.drafting.scenario import demo_block, demo_sizes
from grading.drafting.stock_scenario import demo_stock
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.stock import SkinKind
from grading.stock.demand import wanted
from grading.stock.lays import Pair
from grading.stock.plan import Batch, prepared
from grading.stock.search import STEPS, Search
from grading.stock.skins import Skin, best_to_buy, bought, on_hand

PAIRS = 60
#: Most of what one lay number finds it finds in this part of its steps.
PART = 1 / 3
#: Sets are chosen anew after so many lay numbers, for so many seconds at most.
EACH, LONGEST = 12, 60.0

#: A kind of skin by its name, and how many pairs of each (group, size) were found to lie on it together.
Set = tuple[str, tuple[tuple[tuple[str, str], int], ...]]


def main() -> None:
    seconds = float(sys.argv[1])
    batch = prepared(demo_stock(), [balanced(grade(demo_block(table.group), table)) for table in demo_sizes()])
    found: set[Set] = set()
    least = least_chosen = float("inf")
    for number in count(1):
        one, sets = searched(batch, number)
        found.update(sets)
        least = min(least, one)
        told = f"{time.process_time():5.0f} s  lay number {number}: {one:.3f} skins, the best one {least:.3f}"
        over = time.process_time() > seconds
        if number % EACH == 0 or over:
            skins, bound = chosen(batch, sorted(found))
            least_chosen = min(least_chosen, skins)
            told += f"; chosen among {len(found):,} sets {least_chosen:.3f}, of these no fewer than {bound:.3f}"
        print(told, flush=True)
        if over:
            return


def demanded(batch: Batch) -> dict[tuple[str, str], int]:
    return {(row.group, row.size): row.pairs for row in wanted(batch.markets, PAIRS, batch.at_least)}


def searched(batch: Batch, number: int) -> tuple[float, Iterator[Set]]:
    """How many skins one lay number takes, and the sets that were found with it."""
    keys = [key for key, pairs in demanded(batch).items() for _ in range(pairs)]
    todo = [Pair(one, *key, batch.pieces[key]) for one, key in enumerate(keys, 1)]
    kinds, terms = batch.table.skins, batch.table.terms
    to_buy = best_to_buy(kinds)
    assert to_buy
    search = Search(terms.gap, terms.pile_within, number)
    lays = search.lays(todo, chain(on_hand(kinds), bought(to_buy)), lambda *told: None, steps=int(PART * STEPS)).lays
    names = {id(kind): kind.name for kind in kinds}
    sets = ((names[kind], tuple(sorted(Counter(pairs).items()))) for kind, pairs in search._known)
    return len(lays) - 1 + min(lay.share for lay in lays), sets


def chosen(batch: Batch, sets: list[Set]) -> tuple[float, float]:
    """The fewest skins on which sets have room for all pairs, and fewer than which no choice of them has."""
    demand, kinds = demanded(batch), {kind.name: kind for kind in batch.table.skins}
    area = {key: sum(piece.area for piece in pieces) for key, pieces in batch.pieces.items()}
    on_skin = np.array([[dict(pairs).get(key, 0) for key in demand] for _, pairs in sets])
    share = on_skin @ np.array([area[key] for key in demand]) / np.array([usable(kinds[name]) for name, _ in sets])
    # Whole skins first, for which sets that others hold are not needed, then the last one, of which there is one.
    names = np.array([name for name, _ in sets])
    whole = [place for place in range(len(sets)) if (names == names[place])[_holding(on_skin, place)].sum() == 1]
    takes = np.concatenate([on_skin[whole], on_skin]).T
    last = np.repeat([0.0, 1.0], [len(whole), len(sets)])
    of_kind = np.concatenate([names[whole], names])
    rules = [LinearConstraint(takes, lb=list(demand.values())), LinearConstraint(last[None], 1, 1)]
    for kind in kinds.values():
        if not kind.buy_more:
            rules.append(LinearConstraint((of_kind == kind.name)[None].astype(float), ub=kind.count))
    cost = np.concatenate([np.ones(len(whole)), share])
    options = {"time_limit": LONGEST}
    result = milp(cost, integrality=np.ones_like(cost), bounds=Bounds(0), constraints=rules, options=options)
    return float("inf") if result.x is None else result.fun, result.mip_dual_bound


def _holding(on_skin: np.ndarray, place: int) -> np.ndarray:
    """Which sets have all that one of them has."""
    return (on_skin >= on_skin[place]).all(axis=1)


def usable(kind: SkinKind) -> float:
    return float(Skin(kind, 1, to_buy=False).usable.area)


if __name__ == "__main__":
    main()
