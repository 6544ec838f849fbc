"""Laying out: how time grows with the pairs, and how dense one long strip is laid beside an open-source packer.

The packer is spyrrow (MIT), which knows neither pairs nor flaws nor several skins; it packs one strip, in equal time.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Sequence
from random import Random

import numpy as np
import shapely
import spyrrow

from grading.drafting.scenario import demo_block, demo_sizes
from grading.drafting.stock_scenario import demo_stock
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.model.stock import SkinKind
from grading.stock.pieces import CutPiece
from grading.stock.placing import Effort, placed
from grading.stock.plan import Batch, prepared
from grading.stock.rooms import STEP, Rooms
from grading.stock.skins import Skin

#: The strip's width and the gap between pieces, mm.
WIDTH, GAP = 892, 4
#: Density at which the strip is begun, how much shorter or longer it becomes, and moves of each trial.
BEGUN, SHORTER, LONGER, MOVES = 0.72, 0.99, 1.02, 2_000


def main() -> None:
    batch = prepared(demo_stock(), [balanced(grade(demo_block(table.group), table)) for table in demo_sizes()])
    seconds = float(sys.argv[1])
    pieces = [batch.pieces[row.group, row.size] for row in batch.for_pairs(60, silent).wanted for _ in range(row.pairs)]
    told = {"growth": growth(batch), "pieces": sum(map(len, pieces)), "seconds": seconds}
    told |= {"strip": strip(pieces, seconds), "spyrrow": of_packer(pieces, seconds)}
    print(json.dumps(told))


def silent(pairs: int, laid: int, skins: int, part: float) -> None:
    pass


def growth(batch: Batch) -> dict[str, object]:
    """Processor seconds and skins for so many pairs, and the log-log slope."""
    pairs, seconds, skins = (60, 120, 240), [], []
    for count in pairs:
        start = time.process_time()
        skins.append(len(batch.for_pairs(count, silent).lays))
        seconds.append(round(time.process_time() - start, 2))
    slope = float(np.polyfit(np.log(pairs), np.log(seconds), 1)[0])
    return {"pairs": pairs, "seconds": seconds, "skins": skins, "slope": round(slope, 3)}


def strip(of_pairs: Sequence[Sequence[CutPiece]], seconds: float) -> float:
    """The density of the shortest strip on which all pieces were placed, true areas against width by length."""
    start, random, rooms = time.perf_counter(), Random(1), Rooms(GAP, 0)
    pieces = [piece for of_pair in of_pairs for piece in of_pair]
    area = sum(piece.area for piece in pieces)
    length, best = area / WIDTH / BEGUN, float("inf")
    spots: Sequence = [None] * len(pieces)
    while time.perf_counter() - start < seconds:
        corners = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, length), (0.0, length))
        skin = Skin(SkinKind("Strip", 1, WIDTH, length, None, 0.0, 1.0, None, False, corners), 1, to_buy=False)
        there = [
            spot if spot and rooms.lies_on(skin, piece, spot.angle, spot.column, spot.row) else None
            for piece, spot in zip(pieces, spots, strict=True)
        ]
        found = placed(pieces, there, skin, rooms, random, MOVES, Effort())
        if found is None:
            length = min(length * LONGER, (length + best) / 2)
            continue
        spots, low, high = found, float("inf"), 0.0
        for piece, spot in zip(pieces, spots, strict=True):
            _, bottom, _, top = shapely.Polygon(piece.outline).bounds
            low, high = min(low, bottom + spot.row * STEP), max(high, top + spot.row * STEP)
        best = min(best, high - low + GAP)
        length = best * SHORTER
    return round(area / WIDTH / best, 4)


def of_packer(pieces: Sequence[Sequence[CutPiece]], seconds: float) -> float:
    """The packer's density on one thread, pieces kept as far apart, the pile kept exactly."""
    items = [
        spyrrow.Item(f"{number}", [tuple(point) for point in piece.outline.tolist()], 1, [0.0])
        for number, piece in enumerate(piece for of_pair in pieces for piece in of_pair)
    ]
    area = sum(piece.area for of_pair in pieces for piece in of_pair)
    instance = spyrrow.StripPackingInstance("strip", WIDTH, items)
    config = spyrrow.StripPackingConfig(
        total_computation_time=round(seconds), min_items_separation=GAP, num_workers=1, seed=1, early_termination=False
    )
    return round(area / WIDTH / instance.solve(config).width, 4)


if __name__ == "__main__":
    main()
