"""The seam types that edges are drafted with, or may be given instead, and what their allowances are held to."""

from __future__ import annotations

from grading.drafting.parts.part import bounds
from grading.model.block import Limit, SeamType

__all__ = ["BOUND", "HEMMED", "INSIDE", "OVERSEWN", "PLAIN_EDGES", "RAW", "SEWN"]

RAW, BOUND, HEMMED, OVERSEWN, INSIDE = "raw edge", "bound edge", "hemmed edge", "oversewn", "inside seam"

#: What a plain edge, which is left raw, may be given instead.
PLAIN_EDGES = (BOUND, HEMMED)

#: Each seam type with the bounds of its allowance, by name. Common practice.
SEWN: dict[str, tuple[SeamType, Limit]] = {
    kind.name: (kind, bounds(kind.name, least, most, why))
    for kind, least, most, why in (
        (SeamType(RAW, 0.0, "none", "left as cut"), 0.0, 1.0, "What is left raw is cut where it ends."),
        (
            SeamType(OVERSEWN, 0.0, "oversewing, from the leather side", "edge to edge, no allowance"),
            0.0,
            1.0,
            "Sewn edge to edge, over both: there is nothing beyond the sew line.",
        ),
        (
            SeamType(INSIDE, 2.0, "running stitch, pile shorn in the seam", "leather sides together"),
            1.5,
            12.0,
            "With less the stitches tear out; more lies in a ridge.",
        ),
        (
            SeamType(BOUND, 0.0, "binding, hemmed down on the inside", "cut the strip 0.97 times as long as the edge"),
            0.0,
            1.0,
            "A bound edge ends where it is cut.",
        ),
        (
            SeamType(HEMMED, 8.0, "hidden hemming stitch", "stay tape along the fold, pile shorn in the hem"),
            8.0,
            30.0,
            "A hem of less than 8 mm does not lie flat.",
        ),
    )
}
