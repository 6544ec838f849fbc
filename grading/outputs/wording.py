"""What every output says alike: the cautions, and what the words of the trade mean."""

from __future__ import annotations

__all__ = ["CAUTIONS", "CAUTIONS_IN_SHORT", "GLOSSARY"]

CAUTIONS = (
    "Blades, needles and adhesives can hurt: work on a firm mat, cut away from the body, air the room.",
    "A mitten made from this is no protective equipment, and must not be sold as such unless it has been assessed "
    "under the rules that apply where it is sold.",
    "Leather that touches skin must meet local limits for chemicals: in the European Union under 3 mg/kg of "
    "chromium VI (Regulation (EU) 301/2014, REACH Annex XVII, entry 47). Ask the tannery for its papers.",
    "Things for small children have rules of their own: cords (EN 14682), small parts, labels.",
    "These are general cautions and no advice: local law and a competent test house decide.",
)

CAUTIONS_IN_SHORT = (
    "Blades, needles and adhesives can hurt. No protective equipment. Leather, and things for small children, are "
    "under local rules: those and a competent test house decide."
)

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
