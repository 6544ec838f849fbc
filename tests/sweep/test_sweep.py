"""Wrong but plausible figures, names and rows in the demo's tables: few spoil leather in silence, and none crashes.

``python tests/sweep`` prints the whole table; ``python tests/sweep =NUMBER`` makes one change again.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest
from changes import Change
from telling import sheet_of
from verdicts import CHOICE, CRASH, HARMFUL, LATENT, SMALL, Sweep

#: How many changes of each sheet may still be silent and harmful, or silent until an allowance is changed. Left are
#: what nothing else in a block says: from which face it is drawn (Block), and at which of two points of its side a
#: thumb's width is taken, or whether its length is, along the stem or straight up (Measures); and short rows of one
#: hand exchanged that are a hand either way (sizes: web depth with what lies beside).
BOUNDS = {
    "Block": (1, 0),
    "Base values": (0, 5),
    "Pieces": (0, 0),
    "Moves": (10, 260),
    "Points": (30, 12),
    "Edges": (0, 0),
    "Seams": (0, 0),
    "Measures": (2, 0),
    "sizes: Women": (2, 0),
    "sizes: Men": (2, 0),
    "sizes: Children": (2, 0),
}
DRAWN = 25


@pytest.fixture(scope="module")
def sweep() -> Sweep:
    return Sweep()


def one(sweep: Sweep, sheet: str, place: str, kind: str) -> Change:
    (change,) = (c for c in sweep.changes if (c.sheet, c.place, c.kind) == (sheet, place, kind))
    return change


def test_every_change_has_its_number_and_changes_something(sweep):
    assert [change.number for change in sweep.changes] == list(range(1, len(sweep.changes) + 1))
    assert len({(c.workbook, c.sheet, c.kind, tuple(c.cells.items())) for c in sweep.changes}) == len(sweep.changes)
    assert len(sweep.changes) > 15_000


def test_a_figure_in_another_unit_is_told_and_one_rewritten_as_it_was_is_not(sweep):
    inches = one(sweep, "Women", "E2", "×25.4")
    assert sweep.verdict(inches).told == "error"
    unchanged = replace(inches, cells={at: value / 25.4 for at, value in inches.cells.items()})
    assert (sweep.verdict(unchanged).told, sweep.verdict(unchanged).kind) == (None, SMALL)


def test_how_far_lines_move_is_measured_where_nothing_is_told(sweep):
    # an allowance's range is for the maker to say; nothing is drawn by it while it is as drafted
    bound = sweep.verdict(one(sweep, "Seams", "D2", "×0.9"))
    assert (bound.told, bound.moved) == (None, 0.0)
    # a share of the hand's ease: nothing moves until that ease is another
    share = replace(one(sweep, "Moves", "C3", "×0.5"), kind="test")
    verdict = sweep.verdict(share)
    assert verdict.told is not None or (verdict.kind, verdict.moved) == (LATENT, 0.0)


def test_none_of_some_changes_drawn_crashes(sweep):
    drawn = random.Random(12).sample(sweep.changes, DRAWN)
    verdicts = [sweep.verdict(change) for change in drawn]
    assert [str(v.change) for v in verdicts if v.told == CRASH] == []
    assert {v.kind for v in verdicts if v.told is None} <= {SMALL, CHOICE, LATENT, HARMFUL}
    assert sum(v.told is not None for v in verdicts) > DRAWN / 3


@pytest.mark.long
def test_no_more_changes_are_silent_and_harmful_than_are_known(sweep):
    verdicts = [sweep.verdict(change) for change in sweep.changes]
    assert [str(v.change) for v in verdicts if v.told == CRASH] == []
    silent = Counter((sheet_of(v), v.kind) for v in verdicts if v.told is None)
    found = {sheet: (silent[sheet, HARMFUL], silent[sheet, LATENT]) for sheet in dict.fromkeys(map(sheet_of, verdicts))}
    more = {
        sheet: counts
        for sheet, counts in found.items()
        for known in [BOUNDS.get(sheet, (0, 0))]
        if counts[0] > known[0] or counts[1] > known[1]
    }
    assert more == {}
