"""The demo's figures: size tables and blocks of an invented workshop that prepares for a winter fair.

Every figure is invented: plausible hands, from no survey and no shop. They are there to be replaced.
"""

from __future__ import annotations

import numpy as np

from grading.drafting.draft import draft
from grading.drafting.mitten import ALLOWANCES
from grading.model.block import Block
from grading.model.sizes import SizeTable

__all__ = ["HOW_TO_MEASURE", "demo_block", "demo_sizes"]

#: How each measurement is taken, in the order in which a maker takes them.
HOW_TO_MEASURE = {
    "fist girth": "Round the closed fist at the knuckles, thumb outside, of the larger hand; tape snug, not tight.",
    "hand girth": "Round the knuckles of the open hand, fingers together, thumb left out.",
    "entry girth": "Round the widest part with the thumb tucked into the palm, as the hand goes through a bangle.",
    "hand breadth": "Flat hand on paper: straight across the knuckles, thumb left out.",
    "hand length": "From the wrist crease to the tip of the middle finger, hand flat.",
    "palm length": "From the wrist crease to the crease at the root of the middle finger.",
    "thumb girth": "Round the knuckle of the thumb.",
    "web to knuckle": "From the web between thumb and index finger to the thumb's knuckle.",
    "thumb root length": "From the web down to where the thumb's ball ends above the wrist.",
    "thumb root breadth": "Across the fleshy ball of the thumb, at its widest.",
    "web depth": "From the root of the index finger down to the web of the thumb.",
    "index-middle gap": "From the index side of the palm to the gap between index and middle finger.",
    "wrist girth": "Round the wrist at the crease.",
}

#: First size and step of each measurement, mm: plausible, from memory, no survey.
_FIGURES = {
    "fist girth": ((180, 12), (211, 13), (139, 11)),
    "hand girth": ((162, 11), (190, 12), (126, 10)),
    "entry girth": ((171, 12), (202, 13), (132, 11)),
    "hand breadth": ((69, 4.5), (80, 5), (54, 4.5)),
    "hand length": ((164, 5), (180, 5.5), (112, 11)),
    "palm length": ((93, 3), (103, 3), (64, 6)),
    "thumb girth": ((62, 4), (72, 4), (47, 4)),
    "web to knuckle": ((28, 1), (32, 1), (19, 2)),
    "thumb root length": ((54, 2), (59, 2), (38, 3.5)),
    "thumb root breadth": ((35, 1.5), (39, 1.5), (27, 2)),
    "web depth": ((24, 0.5), (26, 0.5), (16, 1.5)),
    "index-middle gap": ((19, 1), (22, 1), (15, 1)),
    "wrist girth": ((138, 6), (160, 6), (116, 6)),
}

#: The groups and the names of their sizes.
_GROUPS = {
    "Women": ("W1", "W2", "W3", "W4", "W5", "W6"),
    "Men": ("M1", "M2", "M3", "M4", "M5"),
    "Children": ("2-3", "4-5", "6-7", "8-9", "10-11"),
}

#: The size that the demo block is drafted for.
BASE = ("Women", "W3")
#: The layer that the demo material makes, mm: invented.
COMPRESSED_PILE, LEATHER = 1.8, 1.0
DATE = "2026-11-02"
INVENTED = "invented for the demo"


def demo_sizes() -> tuple[SizeTable, ...]:
    """The three invented size groups; the children's carries its own allowances."""
    return tuple(_table(group, column) for column, group in enumerate(_GROUPS))


def demo_block() -> Block:
    """The demo's base block, drafted for the women's third size."""
    group, size = BASE
    table = next(table for table in demo_sizes() if table.group == group)
    column = table.sizes.index(size)
    body = {name: float(table.values[row, column]) for row, name in enumerate(table.measurements)}
    return draft(
        "Fair mitten",
        (),
        body,
        {name: adult for name, (adult, _, _) in ALLOWANCES.items()},
        compressed_pile=COMPRESSED_PILE,
        leather=LEATHER,
        date=DATE,
        notes="Invented for the demo of a small workshop that prepares for a winter fair.",
    )


def _table(group: str, column: int) -> SizeTable:
    sizes = _GROUPS[group]
    steps = np.arange(len(sizes))
    rows = {name: first + step * steps for name, figures in _FIGURES.items() for first, step in [figures[column]]}
    how = dict(HOW_TO_MEASURE)
    if group == "Children":
        for name, (adult, child, note) in ALLOWANCES.items():
            if child != adult:
                rows[name], how[name] = np.full(len(sizes), child), f"Allowance: {note}."
    return SizeTable(
        group=group,
        sizes=sizes,
        measurements=tuple(rows),
        values=np.array(list(rows.values()), dtype=float),
        units=("mm",) * len(rows),
        how_to_measure=tuple(how[name] for name in rows),
        source=(INVENTED,) * len(rows),
    )
