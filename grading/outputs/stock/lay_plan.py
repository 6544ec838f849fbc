"""The lay plan: how each skin is cut, drawn to scale with labels and figures, and a list of all skins before it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil, cos, pi, radians, sin

import numpy as np
import shapely

from grading.drawing.composing import on_sheets
from grading.drawing.marks import Align, Arrow, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, frames, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.rooms import Room
from grading.drawing.ruled import ruled_table
from grading.drawing.system import LARGE, PLAIN, SMALL
from grading.geometry.arrays import Floats
from grading.model.hands import EITHER
from grading.outputs.wording import CAUTIONS_IN_SHORT
from grading.stock.lays import Laid, Lay
from grading.stock.mock_up import MockUp
from grading.stock.plan import Plan
from grading.stock.skins import Skin

__all__ = ["drawn_lay", "lay_plan"]

_HEADING = Text("", 0, 0, LARGE, bold=True)
_WORDS = Text("", 0, 0, PLAIN)
_PLAIN = Text("", 0, 0, SMALL)
#: How many rows of the list of skins go on a page.
ROWS = 34
#: What is left free over a skin and, with the scale's bar in it, below it, mm.
_OVER, _BELOW = 3.0, 9.0
#: Bends of an outline finer than this, in mm on paper, are left out.
FINEST = 0.03
#: How far apart, in mm of skin, flaws are hatched, and those that are still good for something.
_CLOSE, _WIDE = 12.0, 30.0
#: How long a pile arrow is drawn, mm on paper, as it is tried.
ARROWS = (18.0, 12.0, 8.0, 5.0)


def lay_plan(plan: Plan, printing: Printing, *, run_id: str) -> bytes:
    """The lay plan as a PDF file: the list of skins, then a page for each."""
    block = plan.batch.runs[0].block
    title = TitleBlock("lay plan", block.name, face=block.marked_on, scale="", run=run_id)
    room = frames(printing, replace(title, scale="1 : 1"))[0].area  # with check bars, as a drawing to scale has
    lays = _lays(plan)
    contents = []
    for words, drawing in _overview(plan, room.width - 2):
        contents += on_sheets(drawing, printing, title, words)
    for lay in lays:
        mock_up = _on_it(plan, lay)
        over = _words_over(lay, mock_up, room.width - 2)
        scale = _scale(lay.skin, room.width - 4, room.height - over.box.height - _OVER - _BELOW)
        named = replace(title, piece=lay.skin.name, scale=f"1 : {scale:g}")
        page = _lay_page(lay, mock_up, over, scale, room.width - 2)
        contents += on_sheets(page, printing, named, lay.skin.name)
    about = About("Lay plan", subject=f"How {len(plan.lays)} skins are cut, run {run_id}", keywords=(run_id,))
    return pdf_bytes(numbered(contents), about)


def _lays(plan: Plan) -> tuple[Lay, ...]:
    """Every skin that is cut into: the mock-up's too where no pair is cut from it."""
    trial = plan.batch.mock_up
    if trial is None or any(_on_it(plan, lay) for lay in plan.lays):
        return plan.lays
    return (Lay(trial.skin, ()), *plan.lays)


def _on_it(plan: Plan, lay: Lay) -> MockUp | None:
    """The mock-up, if it lies on this skin."""
    trial = plan.batch.mock_up
    return trial if trial and trial.skin.kind is lay.skin.kind else None


def _scale(skin: Skin, width: float, height: float) -> float:
    """The n of 1 : n, a whole or a half one, at which a skin fits into ``width`` × ``height`` mm of paper."""
    left, bottom, right, top = map(float, skin.edge.bounds)
    return max(2, ceil(2 * (right - left) / width), ceil(2 * (top - bottom) / height)) / 2


def _overview(plan: Plan, width: float) -> Iterator[tuple[str, Drawing]]:
    """The list of skins, on as many pages as it takes, with what the best lay could do."""
    rows = [
        [
            lay.skin.name,
            "buy" if lay.skin.to_buy else "on hand",
            ", ".join(pair.size for pair in lay.pairs),
            str(len(lay.laid)),
            f"{lay.used / 1e4:.1f}",
            f"{lay.usable / 1e4:.1f}",
            f"{lay.share:.1%}",
        ]
        for lay in plan.lays
    ]
    terms = plan.batch.table.terms
    said = [
        f"{plan.pairs} pairs on {len(plan.lays)} skins, {sum(lay.skin.to_buy for lay in plan.lays)} of them to buy.",
        f"Pieces {plan.skins.pieces / 1e4:.1f} dm² ÷ usable {plan.skins.usable / 1e4:.1f} dm² = "
        f"{plan.skins.pieces / plan.skins.usable:.1%}; {plan.share_used:.1%} without the last skin. The bound: no lay "
        f"can use more than all of it, and so none can do with fewer than {plan.least_skins} of these skins.",
        f"Lay number {terms.lay_number}, gap {terms.gap:g} mm, pile within {terms.pile_within:g}°; skins are marked "
        f"on the {plan.batch.runs[0].block.marked_on}, that face up.",
        "Both hands of a pair come from one skin. The pile runs up the page, from neck to tail, and so does every "
        "piece's arrow. Look at each skin before you mark it out: what a table calls usable may not be.",
    ]
    headings = ["Skin", "", "Pairs of size", "pieces", "used dm²", "usable dm²", "used"]
    for first in range(0, len(rows), ROWS):
        title = "Lay plan" if first == 0 else "Lay plan, further skins"
        page = paragraph([title], 0, 0, width, _HEADING)
        if first == 0:
            page += paragraph(said, 0, page.box.bottom - 1, width, _PLAIN)
        table = ruled_table(headings, rows[first : first + ROWS], words=3)
        page += table.moved(-table.box.left, page.box.bottom - 3 - table.box.top)
        if first == 0:
            page += paragraph([CAUTIONS_IN_SHORT], 0, page.box.bottom - 3, width, _PLAIN)
        yield title, page


def _words_over(lay: Lay, mock_up: MockUp | None, width: float) -> Drawing:
    """What is said of a skin: its pairs, how much of it they use, and how to read the drawing."""
    heading = paragraph([lay.skin.name], 0, 0, width, _HEADING)
    pairs = ", ".join(f"no. {pair.number} ({pair.group} {pair.size})" for pair in lay.pairs)
    turned = sorted({laid.angle for laid in lay.laid} - {0.0})
    turns = (
        f"; turned off the pile: {', '.join(f'{angle:+g}°' for angle in turned)}".replace("-", "−") if turned else ""
    )
    told_first = [f"Pairs {pairs}."] if pairs else []
    if mock_up:
        told_first.append(
            f"MOCK-UP of {mock_up.pair.group} {mock_up.pair.size}, one hand, M where there is little room: no stock."
        )
    heading += paragraph(told_first, 0, heading.box.bottom, width, _WORDS)
    told = (
        f"{len(lay.laid)} pieces, {lay.used / 1e4:.1f} dm² of {lay.usable / 1e4:.1f} dm² usable: {lay.share:.1%} used"
        f"{turns}. L: left, R: right; flaws are hatched{_good_for(lay)}."
    )
    return heading + paragraph([told], 0, heading.box.bottom, width, _PLAIN)


def _lay_page(lay: Lay, mock_up: MockUp | None, words: Drawing, scale: float, width: float) -> Drawing:
    drawing = drawn_lay(lay, scale, mock_up)
    box = drawing.box
    skin = drawing.moved((width - box.width) / 2 - box.left, words.box.bottom - _OVER - box.top)
    return words + skin + _scale_bar(scale, 0, skin.box.bottom - 4)


def _good_for(lay: Lay) -> str:
    """What is said of flaws that are good for something."""
    kinds = [(lay.skin.kind.poor, "a mock-up"), (lay.skin.kind.scratched, "turned parts")]
    named = [what for flaws, what in kinds if flaws]
    return f", widely those that are good for {' or '.join(named)}" if named else ""


def _scale_bar(scale: float, left: float, y: float) -> Drawing:
    """What 200 mm on the skin is on this page."""
    length = 200 / scale
    ends = [line([(x, y - 1.2), (x, y + 1.2)], Role.CHECK_BAR) for x in (left, left + length)]
    text = replace(_PLAIN, text=f"200 mm on the skin (1 : {scale:g})", x=left + length + 2.5, y=y - SMALL / 2)
    return Drawing((line([(left, y), (left + length, y)], Role.CHECK_BAR), *ends, text))


def drawn_lay(lay: Lay, scale: float, mock_up: MockUp | None = None) -> Drawing:
    """A skin, its flaws, and the pieces on it with their labels and pile arrows, 1 : ``scale``."""
    marks: list[Mark] = [line(_ring(lay.skin.edge.exterior) / scale, Role.FRAME, closed=True)]
    for part in shapely.get_parts(lay.skin.usable):
        if not part.exterior.equals(lay.skin.edge.exterior):
            marks.append(line(_ring(part.exterior) / scale, Role.REFERENCE_LINE, closed=True))
    for flaw in lay.skin.flaws:
        marks += _hatched(flaw, scale, _CLOSE)
    trial = mock_up.laid if mock_up else ()
    pieces = shapely.union_all([laid.outline for laid in (*lay.laid, *trial)])
    for points in (*lay.skin.kind.poor, *lay.skin.kind.scratched):
        # Words in a piece that lies on such a part are not crossed.
        for part in shapely.get_parts(shapely.Polygon(points).difference(pieces)):
            marks += _hatched(part, scale, _WIDE)
    for laid in lay.laid:
        marks += _piece(laid, scale)
    for laid in trial:
        marks += _trial_piece(laid, scale)
    return Drawing(tuple(marks))


def _ring(ring: shapely.LinearRing) -> Floats:
    points: Floats = shapely.get_coordinates(ring)[:-1]
    return points


def _hatched(flaw: shapely.Polygon, scale: float, apart: float) -> Iterator[Mark]:
    """A flaw's outline, and slanting lines across it, ``apart`` mm of skin from one another."""
    yield line(_ring(flaw.exterior) / scale, Role.REFERENCE_LINE, closed=True)
    left, bottom, right, top = flaw.bounds
    for start in np.arange(left - (top - bottom), right, apart):
        stroke = shapely.LineString([(start, bottom), (start + top - bottom, top)]).intersection(flaw)
        for part in shapely.get_parts(stroke):
            if part.length > 0 and part.geom_type == "LineString":
                yield line(shapely.get_coordinates(part) / scale, Role.REFERENCE_LINE)


def _outlined(laid: Laid, scale: float) -> tuple[list[Mark], Room]:
    """A piece's cut outline and its holes, and the room that is left in it."""
    drawn = laid.outline.simplify(FINEST * scale)
    rings = (drawn.exterior, *drawn.interiors)
    room = Room(shapely.transform(laid.outline, lambda points: points / scale), [])
    return [line(_ring(ring) / scale, Role.CUT_LINE, closed=True) for ring in rings], room


def _piece(laid: Laid, scale: float) -> Iterator[Mark]:
    """A piece with size, hand and number of its pair, or the number and the hand alone, and its pile arrow."""
    lines, room = _outlined(laid, scale)
    yield from lines
    hand = "" if laid.piece.hand == EITHER else f" {laid.piece.hand[0].upper()}"
    yield from _words_in(room, [f"{laid.pair.size}{hand}", f"no. {laid.pair.number}"], [f"{laid.pair.number}{hand}"])
    if laid.piece.has_pile:
        yield from _arrow(laid.angle, room)


def _trial_piece(laid: Laid, scale: float) -> Iterator[Mark]:
    """A piece of the mock-up, marked as such."""
    lines, room = _outlined(laid, scale)
    yield from lines
    words = list(_words_in(room, ["MOCK-UP", laid.pair.size], ["MOCK-", "UP"]))
    yield from words or _words_in(room, ["M"], ["M"])


def _words_in(room: Room, whole: list[str], short: list[str]) -> Iterator[Mark]:
    """The whole words where there is room for them, or the short ones alone, upright or turned."""
    for texts, height, angle in (
        (whole, PLAIN, 0.0),
        (whole, SMALL, 0.0),
        (short, PLAIN, 0.0),
        (short, SMALL, 0.0),
        (whole, SMALL, pi / 2),
        (short, SMALL, pi / 2),
    ):
        rows = [
            Text(text, 0, -1.6 * number * height, height, align=Align.CENTRE, bold=True)
            for number, text in enumerate(texts)
        ]
        drawing = Drawing(tuple(rows))
        drawing = drawing.turned() if angle else drawing
        box = drawing.box
        place = room.take(box.width, box.height, room.middle)
        if place is not None:
            yield from drawing.moved(place.left - box.left, place.bottom - box.bottom).marks
            return


def _arrow(angle: float, room: Room) -> Iterator[Mark]:
    """An arrow along the pile of a piece that is turned by ``angle`` degrees, as long as there is room."""
    along = np.array([-sin(radians(angle)), cos(radians(angle))])
    for length in ARROWS:
        reach = along * length
        place = room.take(abs(float(reach[0])) + 1.4, float(reach[1]), room.middle)
        if place is not None:
            start, end = (np.array(place.centre) + way * reach / 2 for way in (-1, 1))
            yield Arrow(tuple(start.tolist()), tuple(end.tolist()), Role.PILE, head=min(4.0, length / 3))
            return
