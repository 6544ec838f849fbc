"""A small picture of the finished mitten for each choice of a style, drawn from a block that is drafted with it."""

from __future__ import annotations

from functools import cache

from grading.drafting.draft import draft, own_table
from grading.drafting.parts.part import LAYER
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import PARTS, STANDARD, mitten
from grading.drawing.marks import Box, Drawing
from grading.drawing.picture import png
from grading.engine.run import grade
from grading.outputs.finished import pictured
from grading.readings.finished import finished

__all__ = ["PICTURE", "pictures_of_choices"]

#: Width and height of a picture, mm, and its dots to a millimetre.
PICTURE = (22.0, 26.0)
_DOTS = 8.0
_MARGIN = 0.5
#: As much of a mitten as is pictured at one scale, so that choices can be compared, mm.
_TALLEST = (215.0, 250.0)


@cache
def pictures_of_choices() -> dict[str, dict[str, bytes]]:
    """A PNG picture for each choice, by part and choice: the palm of the standard mitten but for that choice."""
    return {
        part: {choice: _picture(tuple({**STANDARD, part: choice}.items())) for choice in choices}
        for part, choices in PARTS.items()
    }


@cache
def _picture(chosen: tuple[tuple[str, str], ...]) -> bytes:
    style = dict(chosen)
    table = demo_sizes()[0]
    body, (pile, leather) = table.of_size(BASES[table.group]), LAYER.values()
    block = draft("", (), body, mitten(style).usual(), compressed_pile=pile, leather=leather, date="", style=style)
    run = grade(block, own_table(body))
    layers = finished(run, 0, block.shown.hand).palm
    whole = Drawing(tuple(pictured(layers, 1.0))).box
    width, height = (side - 2 * _MARGIN for side in PICTURE)
    scale = min(width / _TALLEST[0], height / _TALLEST[1])
    drawn = Drawing(tuple(pictured(layers, scale)))
    middle = (PICTURE[0] - whole.width * scale) / 2 - drawn.box.left
    return png(drawn.moved(middle, _MARGIN - drawn.box.bottom), Box(0, 0, *PICTURE), dots_per_mm=_DOTS)
