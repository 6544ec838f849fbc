"""What every output says alike: the cautions, and what the words of the trade mean."""

from __future__ import annotations

from grading.engine.run import SizeRun
from grading.model.block import Block
from grading.model.hands import EITHER

__all__ = ["CAUTIONS", "CAUTIONS_AT_WORK", "CAUTIONS_IN_SHORT", "GLOSSARY", "hand_told", "hands_told", "sizes_told"]

#: Every caution, for covers; the README lists them too.
CAUTIONS = (
    "Blades, needles and adhesives can hurt: work on a firm mat, cut away from the body, air the room.",
    "Count needles and pins out and in: one left in a mitten hurts whoever puts it on.",
    "Dust of leather and of pile irritates eyes and lungs: draw it off, sweep up damp, wear a mask made for it.",
    "A finished mitten is not protective equipment, and must not be sold as such unless it has been assessed under the "
    "rules that apply where it is sold.",
    "Leather and dyes that touch skin must meet local limits for chemicals: in the European Union leather holds under "
    "3 mg/kg of chromium VI (Regulation (EU) 301/2014, REACH Annex XVII, entry 47), and some dyes are forbidden. Ask "
    "the tannery for its papers.",
    "Whoever sells has duties of product safety: a maker's name and address, a batch that can be traced and called "
    "back, warnings where they are due.",
    "Things for small children have rules of their own: cords, small parts, labels.",
    "Work at home and pay by the piece are under rules too: reckon what a pair pays an hour, and keep to the minimum.",
    "Sew a sample before you cut a batch, and always when a size is more than three steps from the one that was "
    "drafted.",
    "These are general cautions and no advice: local law and a competent test house decide.",
)

CAUTIONS_IN_SHORT = (
    "Blades, needles, adhesives and dust can hurt; count needles out and in. A finished mitten is not protective "
    "equipment. Sew a sample first. Leather, dyes, things for small children, sale and home work are under local "
    "rules: those and a competent test house decide."
)

#: For whoever sews, where there is little room.
CAUTIONS_AT_WORK = (
    "Needles, blades, adhesives and dust can hurt: count needles out and in. A finished mitten is not protective "
    "equipment. Home work has rules of its own."
)


def hands_told(block: Block) -> str:
    """For which hands pieces are cut."""
    return "one pair" if len(block.hands) != 1 else f"the {block.hands[0]} hand"


def sizes_told(run: SizeRun) -> str:
    """Which sizes a run has, by the first and the last."""
    return " to ".join(dict.fromkeys((run.sizes[0], run.sizes[-1])))


def hand_told(hand: str) -> str:
    """A hand in words.

    >>> hand_told("left"), hand_told("either")
    ('the left hand', 'either hand')
    """
    return f"{hand} hand" if hand == EITHER else f"the {hand} hand"


#: The trade's words; turn point, curve point, mirror line, sew line, boundary and internal cut-out as in ASTM D6673.
GLOSSARY = (
    ("allowance", "what is added outside the sew line, the same in every size; at a cut-out it goes into the hole"),
    ("base size", "the size that the block was drafted for, from which the others are graded"),
    ("block", "the base pattern in one size, from which others are made"),
    ("boundary", "the outline of a piece"),
    ("bundle ticket", "the label that travels with a bundle of cut pieces of one size"),
    ("change-over", "where a seam goes on from the skin's other face, since the part that is turned shows that one"),
    ("curve point", "a point on a smooth curve"),
    ("ease", "pattern measure less body measure: room to move, to get in, and for the material's own thickness"),
    ("fold-back", "the part at fingers, cuff or thumb that is turned to the outside and lies on the body"),
    ("foot", "the flared lower part of the thumb piece, sewn into the hole"),
    ("grade rule", "how a point moves for a size step"),
    ("grading", "making the other sizes from the base by moving its points by set amounts"),
    ("increment", "the difference of a measure from one size to the next"),
    ("internal cut-out", "a hole in a piece, such as the thumb hole"),
    ("mirror line", "the line about which a piece is its own mirror image; it is not cut"),
    ("nest", "all sizes of one piece drawn over one another at a common stacking point"),
    ("outworker", "somebody who sews at home from cut pieces and a spec sheet, paid by the piece"),
    ("point of measure", "between which places a finished piece is measured, and how"),
    ("seam ease", "how much longer one side of a seam is than the other; the long side is eased in"),
    ("sew line", "the line that is sewn on; every finished measure is taken on it"),
    ("size run", "the set of sizes made of one style"),
    ("spec sheet", "what a finished piece is measured against: points of measure, sizes, tolerances"),
    ("thumb hole", "the cut-out in the palm half of the trank that takes the thumb"),
    ("tolerance", "how much less (−) or more (+) than its figure a measure may be and still pass"),
    ("trank", "the main piece of a mitten: back and palm in one, wrapped round the hand"),
    ("turn point", "a corner of an outline"),
    ("web", "the skin between thumb and index finger; the top of the thumb hole sits there"),
)
