"""The cutting patterns: the pieces of one pair in one size, at true scale, on as few sheets as they take."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.drawing.arranging import arranged, in_one
from grading.drawing.pages import Titled, Wording, room, tiled_set
from grading.drawing.paper import LINE_ROOM, Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.styles import Styles
from grading.engine.run import SizeRun
from grading.model.block import Block
from grading.outputs.pieces import PieceDrawings, Wanted
from grading.outputs.wording import CAUTIONS_IN_SHORT, dated, hands_told
from grading.publish.names import file_name
from grading.readings.cut_lines import CutLoop

__all__ = ["patterns"]

#: The widest that a print shop's sheet gets before pieces are laid in another row, mm.
WIDEST = 850.0


def patterns(run: SizeRun, loops: Sequence[CutLoop], printing: Printing, wanted: Wanted) -> Iterator[tuple[str, bytes]]:
    """A PDF file for every size, by the name of its file without ending: cutting patterns, or net templates."""
    pieces = PieceDrawings(run, loops, wanted)
    names: list[str] = []
    for size, named in enumerate(run.sizes):
        pair = [Titled(title, drawing) for title, drawing in pieces.pair(size)]
        names.append(file_name(named, names, "size"))
        if pair:
            yield names[-1], _file(run, named, pair, printing, wanted)


def _file(run: SizeRun, size: str, pair: Sequence[Titled], printing: Printing, wanted: Wanted) -> bytes:
    kind = "card templates, net" if wanted.net else "cutting patterns"
    title = f"{run.block.name} · {run.group} · size {size} · {kind}"
    wording = Wording(title, _footer(run, wanted))
    if printing.paper.to_fit:
        groups = [in_one(pair, WIDEST)]
    else:
        sheets = [(area.width + 2 * LINE_ROOM, area.height + 2 * LINE_ROOM) for area in room(printing, wording)]
        groups = arranged(pair, sheets)
    subject = f"{kind.capitalize()} of {hands_told(run.block)}, run {wanted.run_id}"
    about = About(title, subject=subject, keywords=("mitten", "pattern", run.group, size, wanted.run_id))
    return pdf_bytes(tiled_set(groups, printing, wording), Styles(), about)


def _footer(run: SizeRun, wanted: Wanted) -> tuple[str, ...]:
    block = run.block
    lines = (
        "cut on the solid line, which is the sew line: no seam allowance"
        if wanted.net
        else "cut on the solid line; the dashed line is sewn; without one they are the same"
    )
    marks = dict.fromkeys(
        f"{_SIGNS[mark.kind]}: {mark.note}" for mark in block.marks if mark.kind in _SIGNS and mark.note
    )
    legend = [
        "Marks: single strokes meet single ones, double ones double ones, letters their like",
        *marks,
        "long and short dashes up the middle: mirror line, not cut",
        *_arrows(block),
    ]
    return (
        f"run {wanted.run_id} · {dated(block)} · scale 1:1 · {hands_told(block)}, marked with the {block.marked_on} of "
        f"the skin up · {lines}",
        "; ".join(legend) + ".",
        CAUTIONS_IN_SHORT,
    )


def _arrows(block: Block) -> Iterator[str]:
    """What the arrows on the pieces mean, as far as there are any."""
    if any(piece.stretch for piece in block.pieces):
        yield "arrow with two heads: the way that the leather stretches"
    ways = {piece.pile for piece in block.pieces}
    if 1 in ways:
        yield "arrow 'hand goes in this way': so does the pile run"
    if -1 in ways:
        yield "arrow 'pile runs this way': the hand goes in against it"
    if ways != {0}:
        yield "on a turned part the pile then runs the other way, which is right"


#: How a mark that has a note is shown.
_SIGNS = {"notch": "notch", "tick": "tick", "change-over": "small cross"}
