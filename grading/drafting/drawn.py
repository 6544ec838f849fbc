"""A base block of a pattern drawn in a drawing program: its nodes become points, its curves are held to the drawing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import shapely

from grading.codes import Code
from grading.drafting.base import Drafted
from grading.drafting.draft import own_table
from grading.drafting.parts.part import THUMB, TRANK
from grading.engine.run import grade
from grading.findings import Finding, Place
from grading.geometry.flattening import flatten
from grading.model.measured import TracedPoint
from grading.publish.disk import plain_bytes
from grading.sheets.drawn import MOST_BYTES, DrawnPattern, placed, points_of, too_much

__all__ = ["DRAWINGS", "read_drawing", "strayed"]

#: The endings of drawings that are read.
DRAWINGS = (".svg", ".dxf")
#: A block's curve that leaves the drawn one by more than this, mm, is told.
HELD = 0.2


def read_drawing(path: Path) -> tuple[DrawnPattern, tuple[TracedPoint, ...], list[Finding]]:
    """The pieces of an SVG or DXF drawing, each at its origin, their points, and whatever stands in the way."""
    from grading.sheets.drawn_dxf import read_dxf
    from grading.sheets.drawn_svg import read_svg

    try:
        content = plain_bytes(path, MOST_BYTES)
    except OSError as error:
        found, action = f"The file cannot be read: {error.strerror}.", "Check its name, and whether you may read it."
        finding = Finding.error(Code.DRAWING_NOT_READ, Place(path.name), found, "A drawing.", action)
        return DrawnPattern(()), (), [finding]
    if len(content) > MOST_BYTES:
        return DrawnPattern(()), (), [too_much(path, f"The file has over {MOST_BYTES // 1_000_000} MB.")]
    read = read_svg if path.suffix.lower() == ".svg" else read_dxf
    drawn, findings = read(path, content, (TRANK, THUMB))
    if findings:
        return drawn, (), findings
    drawn = placed(drawn)
    points, findings = points_of(drawn, path)
    return drawn, points, findings


def strayed(drafted: Drafted, drawn: DrawnPattern, path: Path) -> Iterator[Finding]:
    """A warning for each outline that the block's curves through its nodes do not hold, with the place."""
    run = grade(drafted.block, own_table(drafted.hand.figures))
    for part in drawn.parts:
        own = [shapely.LinearRing(flatten(beziers[0], 0.01)) for beziers in run.pieces[part.piece].beziers.values()]
        for loop in part.loops:
            points = flatten(loop, 0.02)
            # Each outline of a piece is held to the one of the block's that lies nearest to it as a whole.
            away = min((shapely.distance(shapely.points(points), ring) for ring in own), key=lambda one: one.max())
            worst = int(np.argmax(away))
            if away[worst] <= HELD:
                continue
            x, y = points[worst].tolist()
            yield Finding.warning(
                Code.CURVE_NOT_HELD,
                Place(path.name, piece=part.piece),
                f"Near x {x:.0f}, y {y:.0f} mm the block's curve lies {away[worst]:.1f} mm beside the drawn one.",
                f"Within {HELD} mm: a block's curve runs smoothly through its points, whatever handles were drawn.",
                f"Add a node with a name near x {x:.0f}, y {y:.0f} mm, or leave it if the curve is as good.",
            )
