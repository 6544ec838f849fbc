"""The demo's figures: size tables and blocks of an invented workshop that prepares for a winter fair.

Every figure is invented: plausible hands, from no survey and no shop. They are there to be replaced.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from grading.drafting.draft import draft
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drafting.parts.part import LINING_THICKNESS
from grading.drafting.style import STANDARD, Style, mitten
from grading.model.block import Block, Piece
from grading.model.making import Instruction
from grading.model.sizes import SizeTable

__all__ = [
    "BASES",
    "INVENTED",
    "demo_allowances",
    "demo_block",
    "demo_blocks",
    "demo_sizes",
    "stepped",
    "workshop_block",
]

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
    "web to tip": ((55, 2), (62, 2), (38, 3.5)),
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

#: The size that each group's base block is drafted for: none is graded more than three steps from it.
BASES = {"Women": "W3", "Men": "M3", "Children": "6-7"}
#: The group whose sizes are small enough to want fold-backs and ease of their own.
SMALL = "Children"
_DATE = "2026-11-02"
INVENTED = "invented for the demo"
#: What the demo's workshop cuts from and sews with, and what it asks of whoever sews: its own, and no other block's.
_MATERIAL, _SMOOTH, _LINING = "lamb leather, pile inside", "smooth lamb leather", "wool fleece"
_NEEDLE, _THREAD = "glover's needle, size 7", "waxed linen, 0.4 mm"
_TERMS = {
    "Stitches in 3 cm": "Oversewing 10 to 12; running stitch 9 or 10.",
    "Reference": "Hold colour and pile of both hands against the swatch: a pair is cut from one skin.",
    "Spoiled piece": "Do not mend it or cut it smaller. Send it back with its number and ask for another: no charge.",
    "Send back": "All pairs, spoiled and spare pieces, thread left over, and the check sheet filled in.",
}


def demo_sizes() -> tuple[SizeTable, ...]:
    """The three invented size groups of the standard mitten."""
    return tuple(
        stepped(group, sizes, {name: figures[column] for name, figures in _FIGURES.items()})
        for column, (group, sizes) in enumerate(_GROUPS.items())
    )


def demo_allowances(group: str) -> dict[str, float]:
    """The allowances that a group's base block is drafted with, in mm by name."""
    return mitten(STANDARD).usual(small=group == SMALL)


def demo_block(group: str = "Women") -> Block:
    """The demo's base block for one group, drafted for its base size."""
    table = next(table for table in demo_sizes() if table.group == group)
    notes = "Invented for the demo of a small workshop that prepares for a winter fair."
    return workshop_block("Fair mitten", table, BASES[group], STANDARD, demo_allowances(group), notes)


def demo_blocks() -> tuple[Block, ...]:
    """A base block for each of the three groups."""
    return tuple(demo_block(group) for group in _GROUPS)


def workshop_block(
    name: str, table: SizeTable, size: str, style: Style, allowances: Mapping[str, float], notes: str
) -> Block:
    """A style's block for one size of a group, of the usual material, with what the demo's workshop fills in."""
    layer = mitten(style).layer
    block = draft(
        name,
        (table.group,),
        table.of_size(size),
        allowances,
        compressed_pile=layer["compressed pile"],
        leather=layer["leather thickness"],
        lining=layer.get(LINING_THICKNESS, 0.0),
        date=_DATE,
        notes=notes,
        style=style,
    )
    sewn = (replace(kind, needle=_NEEDLE) if kind.stitch != "none" else kind for kind in block.seam_types)
    return replace(
        block,
        pieces=tuple(replace(piece, material=_material(piece)) for piece in block.pieces),
        seam_types=tuple(sewn),
        making=tuple(replace(step, needle=_NEEDLE, thread=_THREAD) if step.stitch else step for step in block.making),
        work=tuple(Instruction(one.topic, one.text or _TERMS[one.topic]) for one in block.work),
    )


def _material(piece: Piece) -> str:
    if piece.lining:
        return _LINING
    return (_MATERIAL if piece.pile else _SMOOTH) if piece.of_skin else piece.material


def stepped(group: str, sizes: tuple[str, ...], figures: Mapping[str, tuple[float, float]]) -> SizeTable:
    """The size table of a group that grows by even steps: the first size of each measurement and its step, mm."""
    steps = np.arange(len(sizes))
    rows = {name: first + step * steps for name, (first, step) in figures.items()}
    return SizeTable(
        group=group,
        sizes=sizes,
        measurements=tuple(rows),
        values=np.array(list(rows.values()), dtype=float),
        units=("mm",) * len(rows),
        how_to_measure=tuple(HOW_TO_MEASURE[name] for name in rows),
        source=(INVENTED,) * len(rows),
    )
