"""The seam types that edges are drafted with, or may be given instead, and what their allowances are held to."""

from __future__ import annotations

from grading.drafting.parts.part import bounds
from grading.model.block import Limit, SeamType

__all__ = [
    "BANDED",
    "BOUND",
    "FELLED",
    "HEMMED",
    "INSIDE",
    "JOINED",
    "LINING_RIM",
    "LINING_SEAM",
    "OVERSEWN",
    "PLAIN_EDGES",
    "RAW",
    "SEWN",
]

RAW, BOUND, HEMMED, OVERSEWN, INSIDE = "raw edge", "bound edge", "hemmed edge", "oversewn", "inside seam"
#: How a band is closed and sewn on.
BANDED = "band seam"
#: How a lining is sewn: to itself, round a hole or into one, to an edge of what it lies in, and on its inside.
LINING_SEAM, LINING_RIM, JOINED, FELLED = "lining seam", "lining rim", "joined edge", "felled edge"

#: What a plain edge, which is left raw, may be given instead.
PLAIN_EDGES = (BOUND, HEMMED)

# A row stands in as few lines as it takes.
# fmt: off
#: Each seam type with the bounds of its allowance, by name. Common practice.
SEWN: dict[str, tuple[SeamType, Limit]] = {
    kind.name: (kind, bounds(kind.name, least, most, why))
    for kind, least, most, why in (
        (SeamType(RAW, 0.0, "none", "left as cut"), 0.0, 1.0, "What is left raw is cut where it ends."),
        (SeamType(OVERSEWN, 0.0, "oversewing, from the leather side", "edge to edge, no allowance"), 0.0, 1.0,
            "Sewn edge to edge, over both: there is nothing beyond the sew line."),
        (SeamType(INSIDE, 2.0, "running stitch, pile shorn in the seam", "leather sides together"), 1.5, 12.0,
            "With less the stitches tear out; more lies in a ridge."),
        (SeamType(BOUND, 0.0, "binding, hemmed down on the inside", "cut the strip 0.97 times as long as the edge"),
            0.0, 1.0, "A bound edge ends where it is cut."),
        (SeamType(HEMMED, 8.0, "hidden hemming stitch", "stay tape along the fold, pile shorn in the hem"), 8.0, 30.0,
            "A hem of less than 8 mm does not lie flat."),
        (SeamType(BANDED, 6.0, "stretch stitch", "the band stretched to meet the ticks"), 4.0, 12.0,
            "With less the stitches tear out of the rib; more lies in a ridge."),
        (SeamType(LINING_SEAM, 2.5, "running stitch", "faces together; oversew a cloth that frays first"), 2.0, 12.0,
            "With less it frays out; more lies in a ridge."),
        (SeamType(LINING_RIM, 2.0, "small running stitch", "faces together; oversew a cloth that frays first"), 1.5,
            6.0, "With less the stitches tear out; more does not lie round a hole."),
        (SeamType(JOINED, 5.0, "running stitch", "leather side to the lining's face"), 3.0, 12.0,
            "With less the stitches tear out; more lies in a ridge."),
        (SeamType(FELLED, 8.0, "felling stitch by hand", "turned in, and felled to the inside at the fold"), 6.0, 20.0,
            "Less is not turned in."),
    )
}
