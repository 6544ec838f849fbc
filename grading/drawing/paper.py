"""Papers, and what a printer makes of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from grading.drawing.marks import Box

__all__ = ["DEFAULT_PRINTING", "LINE_ROOM", "MARGIN", "PAPERS", "Paper", "PaperSheet", "Printing"]

#: What the printers of a home or a copy shop leave white at each edge, in mm (common practice).
MARGIN = 7.0
#: What is kept free round a drawing's box for the width of its lines, in mm.
LINE_ROOM = 0.5


@dataclass(frozen=True)
class Paper:
    """A paper with its sides in mm; one cut ``to_fit`` is as large as its drawing needs, up to those sides."""

    name: str
    short: float
    long: float
    to_fit: bool = False


#: A4 and A3 as in ISO 216, Letter and Tabloid as in ANSI/ASME Y14.1 (sizes A and B). A page of a PDF file has
#: sides of at most 14 400 units of 1/72 in (ISO 32000-1, Annex C).
PAPERS = {
    paper.name: paper
    for paper in (
        Paper("a4", 210, 297),
        Paper("a3", 297, 420),
        Paper("letter", 215.9, 279.4),
        Paper("tabloid", 279.4, 431.8),
        Paper("sheet", 5080, 5080, to_fit=True),
    )
}


@dataclass(frozen=True)
class PaperSheet:
    """One side of paper, measured in mm as they come out of the printer, from its lower left corner.

    ``scale`` (x, y) is what the file must hold for 1 mm to come out as 1 mm.
    """

    width: float
    height: float
    printable: Box
    scale: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True)
class Printing:
    """A paper and a printer that may print wrongly scaled.

    ``correct_short`` and ``correct_long`` are wanted length / printed length, along the paper's short and long
    side. They change what one sheet can hold, and nothing else has to know of them.
    """

    paper: Paper
    correct_short: float = 1.0
    correct_long: float = 1.0

    @property
    def told(self) -> str:
        """What a sheet made for a printer that prints wrongly scaled says of it; blank for one that prints true."""
        bars = [100 / factor for factor in (self.correct_short, self.correct_long)]
        shown = " × ".join(dict.fromkeys(f"{bar:.1f}" for bar in bars))
        return f"Made for a printer that prints {shown} for 100." if bars != [100.0, 100.0] else ""

    def not_cut_to_fit(self) -> Printing:
        """The same with A4 for paper that is cut to fit: that is for patterns, what is read goes on plain sheets."""
        return replace(self, paper=PAPERS["a4"]) if self.paper.to_fit else self

    def upright(self) -> PaperSheet:
        """The sheet with its short side below."""
        return _sheet((self.paper.short, self.paper.long), (self.correct_short, self.correct_long))

    def lying(self) -> PaperSheet:
        """The sheet with its long side below."""
        return _sheet((self.paper.long, self.paper.short), (self.correct_long, self.correct_short))

    def around(self, width: float, height: float) -> PaperSheet:
        """A sheet cut to fit so that ``width`` × ``height`` mm are printable, as far as the paper goes."""
        scale = (self.correct_short, self.correct_long)
        most = (self.paper.short, self.paper.long)
        needed = ((side + 2 * MARGIN) * max(1.0, factor) for side, factor in zip((width, height), scale, strict=True))
        across, up = (min(side, limit) for side, limit in zip(needed, most, strict=True))
        return _sheet((across, up), scale)


DEFAULT_PRINTING = Printing(PAPERS["a4"])


def _sheet(paper: tuple[float, float], scale: tuple[float, float]) -> PaperSheet:
    """The sheet on a paper (width, height).

    A file scaled by less than 1 holds more mm than the paper has; a printer that prints too large loses them
    at both edges alike, so the margin grows by that.
    """
    from grading.drawing.marks import Box  # numpy and fonts, which naming a paper needs not

    width, height = (side / factor for side, factor in zip(paper, scale, strict=True))
    across, up = (MARGIN + max(0.0, (drawn - side) / 2) for drawn, side in zip((width, height), paper, strict=True))
    return PaperSheet(width, height, Box(across, up, width - across, height - up), scale)
