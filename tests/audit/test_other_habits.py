"""Blocks and tables of other habits than the demo's: nothing is wrong with them, and nothing is said to be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from grading.audit import audit_block, audit_fit, audit_run
from grading.drafting.draft import draft
from grading.drafting.scenario import demo_allowances, demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import Severity
from grading.model.block import Block, Kind, Limit, SeamType
from grading.model.sizes import SizeTable

WOMEN, MEN, CHILDREN = demo_sizes()
Habit = tuple[Block, SizeTable]


def drafted(
    table: SizeTable = WOMEN, size: int = 2, pile: float = 1.8, leather: float = 1.0, **allowances: float
) -> Block:
    """A block for the third size of a table, with other allowances named by words joined by _."""
    body = dict(zip(table.measurements, table.values[:, 2].tolist(), strict=True))
    other = {name.replace("_", " ").replace("fold back", "fold-back"): figure for name, figure in allowances.items()}
    wanted = demo_allowances(table.group) | other
    return draft("Other", (), body, wanted, compressed_pile=pile, leather=leather, date="")


def columns(table: SizeTable, figures: np.ndarray) -> SizeTable:
    return replace(table, sizes=tuple(f"s{number}" for number in range(figures.shape[1])), values=figures)


def thirty() -> SizeTable:
    first, last = WOMEN.values[:, :1], WOMEN.values[:, -1:]
    return columns(WOMEN, first + (last - first) * np.linspace(0, 1, 30))


def irregular() -> SizeTable:
    steps = np.array([0, 0.8, 2, 2.9, 4.2, 5])
    return columns(WOMEN, np.round(WOMEN.values[:, :1] + (WOMEN.values[:, 1:2] - WOMEN.values[:, :1]) * steps))


def in_inches() -> Habit:
    """Hands and allowances to a sixteenth of an inch, points to half of that."""
    sixteenth = 25.4 / 16
    half = sixteenth / 2
    table = columns(WOMEN, np.round(WOMEN.values / sixteenth) * sixteenth)
    allowances = {name: round(mm / sixteenth) * sixteenth for name, mm in demo_allowances("Women").items()}
    body = dict(zip(table.measurements, table.values[:, 2].tolist(), strict=True))
    block = draft("Inches", (), body, allowances, compressed_pile=1.8, leather=1.0, date="")
    points = tuple(replace(p, x=round(p.x / half) * half, y=round(p.y / half) * half) for p in block.points)
    return replace(block, points=points), table


def with_type(block: Block, name: str, **changes: object) -> Block:
    return replace(block, seam_types=tuple(replace(t, **changes) if t.name == name else t for t in block.seam_types))


def hemmed() -> Block:
    block = demo_block()
    hem = SeamType("hem", 8.0, "running stitch")
    edges = (replace(e, seam_type="hem") if e.name == "cuff raw edge" else e for e in block.edges)
    return replace(block, seam_types=(*block.seam_types, hem), edges=tuple(edges))


def tolerances(minus: float, plus: float) -> Block:
    block = demo_block()
    return replace(
        block,
        measures=tuple(
            m if m.tolerance_plus is None else replace(m, tolerance_minus=minus, tolerance_plus=plus)
            for m in block.measures
        ),
    )


def two_of_each() -> Block:
    block = demo_block()
    return replace(block, pieces=tuple(replace(piece, cut_left=2, cut_right=2) for piece in block.pieces))


def used_now(**figures: float) -> Block:
    block = demo_block()
    values = tuple(replace(v, now=figures.get(v.name.replace(" ", "_"), v.now)) for v in block.values)
    return replace(block, values=values)


def own_order() -> Block:
    block = demo_block()
    return replace(block, seams=block.seams[::-1], limits=block.limits[::-1], marks=block.marks[::-1])


def of_an_allowance(limit: Limit) -> bool:
    """Whether a limit holds an allowance, by nothing that a table has."""
    value = demo_block().value(limit.what)
    return value is not None and value.kind is Kind.ALLOWANCE and not isinstance(limit.divided_by, str)


HABITS: dict[str, Callable[[], Habit]] = {
    "roomier": lambda: (drafted(hand_ease=34.0, thumb_ease=24.0), WOMEN),
    "closer, of thin leather": lambda: (drafted(pile=0.5, leather=0.8, hand_ease=12.0, thumb_ease=10.0), WOMEN),
    "short fold-backs": lambda: (drafted(finger_fold_back=20.0, cuff_fold_back=30.0), WOMEN),
    "long cuffs": lambda: (drafted(cuff_fold_back=160.0), WOMEN),
    "flared cuffs": lambda: (drafted(cuff_flare=12.0), WOMEN),
    "straight sides": lambda: (drafted(waist_shaping=0.0, finger_taper=0.0, cuff_flare=0.0), WOMEN),
    "thumb at the side": lambda: (drafted(thumb_forward=2.0), WOMEN),
    "long thumb turn": lambda: (drafted(thumb_turn=40.0), WOMEN),
    "men": lambda: (drafted(MEN), MEN),
    "children": lambda: (drafted(CHILDREN), CHILDREN),
    "one size": lambda: (drafted(), columns(WOMEN, WOMEN.values[:, 2:3])),
    "thirty sizes": lambda: (drafted(), thirty()),
    "irregular steps": lambda: (drafted(), irregular()),
    "inches": in_inches,
    "wide inside seams": lambda: (with_type(demo_block(), "inside seam", allowance=6.0), WOMEN),
    "hemmed cuff": lambda: (hemmed(), WOMEN),
    "tolerances of half a millimetre": lambda: (tolerances(0.5, 0.5), WOMEN),
    "tolerances one way only": lambda: (tolerances(0.0, 2.5), WOMEN),
    "two of each piece": lambda: (two_of_each(), WOMEN),
    "other eases for this run": lambda: (used_now(hand_ease=30.0, web_lowering=5.0), WOMEN),
    "rows in another order": lambda: (own_order(), WOMEN),
    "only what moves points": lambda: (
        replace(demo_block(), limits=tuple(one for one in demo_block().limits if of_an_allowance(one))),
        WOMEN.only([value.name for value in demo_block().values if value.kind is Kind.BODY]),
    ),
}
#: What a step of a thirtieth of a run cannot keep: a tolerance smaller than it. Close to the hand there are no 12 mm to
#: spare at the waist. 6 mm laid into a hole of 8 mm radius do not turn.
EXPECTED = {
    "thirty sizes": {"tolerances-meet"},
    "closer, of thin leather": {"limit-passed"},
    "wide inside seams": {"allowance-in-hollow"},
}


@pytest.mark.parametrize("habit", HABITS)
def test_another_habit_is_not_told_as_a_mistake(habit):
    block, table = HABITS[habit]()
    findings = [*audit_block(block), *audit_fit(block, table), *audit_run(balanced(grade(block, table)))]
    told = [finding for finding in findings if finding.severity is not Severity.NOTE]
    assert {finding.code for finding in told} <= EXPECTED.get(habit, set()), "\n".join(map(str, told))
