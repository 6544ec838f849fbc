"""One rule says which hand is drawn and which face is up; patterns, nest, sketch, cards and lays all keep to it."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from grading.drafting.one_hand import one_pair
from grading.drafting.scenario import demo_sizes
from grading.drawing.joints import Parting
from grading.drawing.marks import Arrow, Curve, Drawing, Line, Role, Text
from grading.engine.graded import GradedGroup
from grading.engine.run import grade
from grading.model.block import Edge, Piece, Point
from grading.model.measured import Hands
from grading.outputs.files import Choices, group_files
from grading.outputs.nest import nested
from grading.outputs.pieces import PatternKind, PieceDrawings
from grading.outputs.size_sheet import PICTURE, size_sheets
from grading.outputs.sketch import sketch
from grading.readings.cut_lines import cut_lines
from grading.stock.pieces import pieces_of_pairs

WOMEN = demo_sizes()[0]
FACES = ("inside", "outside")


def hand_of(palm: float, face: str) -> str:
    """Whose hand a trank wraps that lies on the table fingers up, a face up, its palm half to that side.

    By the directions alone, without the program's rule: the outside of the leather is the outside of the hand, so
    the palm faces up where the outside is up. The mirror line lies along the index finger, towards the thumb. On a
    right hand the thumb lies where the fingers' direction crossed with the palm's points.
    """
    fingers, thumb = np.array([0, 1, 0]), np.array([-np.sign(palm), 0, 0])
    palm_faces = np.array([0, 0, 1 if face == "outside" else -1])
    return "right" if np.cross(fingers, palm_faces) @ thumb > 0 else "left"


def lopsided(block, drawn_from: str, marked_on: str, left: int = 1, right: int = 1):
    """The demo's trank, whose hole lies in its palm half, and a patch beside its own x = 0."""
    corners = {"a": (5, 0), "b": (60, 0), "c": (60, 25), "d": (5, 70)}
    own = [Point("Patch", name, x, y, True, ()) for name, (x, y) in corners.items()]
    pieces = (replace(block.pieces[0], cut_left=left, cut_right=right), Piece("Patch", False, left, right, "", ""))
    return replace(
        block,
        drawn_from=drawn_from,
        marked_on=marked_on,
        pieces=pieces,
        points=(*(point for point in block.points if point.piece == "Trank"), *own),
        edges=(
            *(edge for edge in block.edges if edge.piece == "Trank"),
            Edge("Patch", "round", "boundary", (*corners, "a"), "raw edge"),
        ),
        seams=(),
        marks=(),
        measures=(),
        limits=(),
        values=tuple(value for value in block.values if value.kind.value != "balance"),
        moves=tuple(
            replace(move, shares=tuple(share for share in move.shares if share.value != "foot fullness"))
            for move in block.moves
        ),
    )


def pieces_drawn(run, size: int = 0, net: bool = False) -> dict[str, Drawing]:
    """Every piece for each hand, whole, by its name and hand."""
    drawn = PieceDrawings(run, cut_lines(run), PatternKind("0", net, each_hand=True)).of_size(size)
    return {one.name: one.finished(0, Parting(one.lines.box)) for one in drawn}


def palms(drawing: Drawing, role: Role) -> float:
    """Where a trank's hole lies beside its middle, or a patch, which has none, beside x = 0."""
    boxes = [mark.box for mark in drawing.marks if isinstance(mark, Curve | Line) and mark.role is role]
    widest = max(boxes, key=lambda box: box.width)
    narrowest = min(boxes, key=lambda box: box.width)
    return narrowest.centre[0] - (widest.centre[0] if narrowest is not widest else 0.0)


@pytest.mark.parametrize("marked_on", FACES)
@pytest.mark.parametrize("drawn_from", FACES)
def test_patterns_and_lays_show_the_hand_that_they_name(block, drawn_from, marked_on):
    run = grade(lopsided(block, drawn_from, marked_on), WOMEN)
    for net in (False, True):
        for title, drawing in pieces_drawn(run, net=net).items():
            assert hand_of(palms(drawing, Role.CUT_LINE), marked_on) == title.split()[-1], title
    for piece in pieces_of_pairs(run)[0]:
        x = piece.holes[0][:, 0].mean() if piece.holes else piece.outline[:, 0].mean()
        assert hand_of(x, marked_on) == piece.hand


@pytest.mark.parametrize("marked_on", FACES)
@pytest.mark.parametrize("drawn_from", FACES)
@pytest.mark.parametrize(("left", "right"), [(1, 1), (1, 0), (0, 1)])
def test_nest_and_sketch_show_the_marked_face_of_a_hand_that_is_cut_and_name_it(
    block, drawn_from, marked_on, left, right
):
    run = grade(lopsided(block, drawn_from, marked_on, left, right), WOMEN)
    shown = run.block.shown
    assert (shown.face, {"left": left, "right": right}[shown.hand]) == (marked_on, 1)
    for piece in run.pieces.values():
        drawing = nested(run, piece)
        # Of a mirrored piece the palm half is drawn, beside its mirror line; the patch lies beside x = 0.
        middle = [mark.box.left for mark in drawing.marks if mark.role is Role.MIRROR_LINE] or [0.0]
        palm = max((mark.box for mark in drawing.marks if mark.role is Role.SEW_LINE), key=lambda box: box.width)
        assert hand_of(palm.centre[0] - middle[0], marked_on) == shown.hand
        said = " ".join(mark.text for mark in drawing.marks if isinstance(mark, Text))
        assert f"{marked_on} up: {shown.hand} hand" in said
    sketched = sketch(run, 0, [], *PICTURE)
    outlines = [mark.box for mark in sketched.marks if isinstance(mark, Curve)]
    hole = outlines[1].centre[0] - outlines[0].centre[0]
    assert hand_of(hole, marked_on) == shown.hand
    captions = [mark.text for mark in sketched.marks if isinstance(mark, Text) and "1 :" in mark.text]
    assert len(captions) == 1
    assert captions[0].startswith(f"{marked_on} up: {shown.hand} hand · ")


@pytest.fixture(scope="module")
def stock(runs) -> GradedGroup:
    return GradedGroup(runs["Women"], "0", (), (), ())


def printed(graded, kind: str, **choices) -> str:
    files = dict(group_files(graded, Choices(only=(kind,), **choices)))
    return " ".join(page.extract_text() for file in files.values() for page in PdfReader(BytesIO(file)).pages)


def test_the_card_and_the_pattern_of_one_hand_speak_of_that_hand_only(stock):
    pair, _ = one_pair(Hands({"fist girth": 200}, {"fist girth": 209}), stock, "Order 12")
    for one, hand, other in zip(pair, ("left", "right"), ("right", "left"), strict=True):
        card, pattern = printed(one.graded, "cards"), printed(one.graded, "patterns")
        assert f"outside up: {hand} hand" in card
        assert f"Cut for the {hand} hand" in card
        assert f"{hand} hand · outside up" in " ".join(pattern.split())
        for text in (card, pattern):
            assert f"{other} hand" not in text.casefold()
            assert "mirrors" not in text
            assert f"size {hand}" not in text
            assert "one pair" not in text


def test_the_card_of_a_pair_says_which_of_its_hands_is_drawn(stock):
    (both,), _ = one_pair(Hands({"fist girth": 204}, {"fist girth": 204}), stock, "Order 12")
    card = printed(both.graded, "cards")
    assert "outside up: left hand" in card
    assert "Cut for one pair" in card
    assert "left mirrors right" in card


def test_another_face_for_one_run_holds_for_all_its_sheets(stock):
    (both,), _ = one_pair(Hands({"fist girth": 204}, {"fist girth": 204}), stock, "Order 12")
    for kind in ("cards", "nest"):
        assert "inside up: right hand" in printed(both.graded, kind, marked_on="inside").replace("\n", " ")


def arrows(drawing: Drawing, role: Role) -> list[Arrow]:
    return [mark for mark in drawing.marks if isinstance(mark, Arrow) and mark.role is role]


@pytest.mark.parametrize(("says", "way"), [("fingers to cuff", -1), ("cuff to fingers", 1), ("", 0)])
def test_a_pile_arrow_points_where_the_block_says_on_every_sheet_and_on_the_skin(block, says, way):
    made = lopsided(block, "inside", "outside")
    run = grade(replace(made, pieces=tuple(replace(piece, pile_arrow=says) for piece in made.pieces)), WOMEN)
    drawings = [drawing for title, drawing in pieces_drawn(run).items() if "Trank" in title]
    drawings += [sketch(run, 0, [], *PICTURE), *(nested(run, piece) for piece in run.pieces.values())]
    for drawing in drawings:
        ways = {int(np.sign(arrow.end[1] - arrow.start[1])) for arrow in arrows(drawing, Role.PILE)}
        assert ways == ({way} if way else set())
        words = " ".join(mark.text for mark in drawing.marks if isinstance(mark, Text))
        assert ("hand goes in this way" in words) <= (way == 1)
    for piece in pieces_of_pairs(run)[0]:
        # On a skin whose pile runs up the page, the trank's deep cuff lies below its fingers, or above them.
        assert piece.has_pile == bool(way)
        if piece.holes:
            middle = (piece.outline[:, 1].min() + piece.outline[:, 1].max()) / 2
            assert np.sign(piece.holes[0][:, 1].mean() - middle) == (way or 1)


@pytest.mark.parametrize("says", ["across", "along", ""])
def test_a_stretch_arrow_stands_only_where_the_block_says_so(block, says):
    made = lopsided(block, "inside", "outside")
    run = grade(replace(made, pieces=tuple(replace(piece, stretch=says) for piece in made.pieces)), WOMEN)
    for title, drawing in pieces_drawn(run, 2).items():
        found = [arrow.end[0] != arrow.start[0] for arrow in arrows(drawing, Role.STRETCH)]
        assert found == ([says == "across"] if says else []), title


@pytest.mark.parametrize("marked_on", FACES)
@pytest.mark.parametrize("drawn_from", FACES)
@pytest.mark.parametrize(("left", "right"), [(1, 1), (1, 0), (0, 1)])
def test_card_pattern_and_finished_picture_agree_on_the_hand(runs, drawn_from, marked_on, left, right):
    whole = runs["Women"].block
    pieces = tuple(replace(piece, cut_left=left, cut_right=right) for piece in whole.pieces)
    block = replace(whole, drawn_from=drawn_from, marked_on=marked_on, pieces=pieces)
    run = replace(runs["Women"], block=block)
    content = size_sheets(run, run_id="0", unit="mm")[2]
    picture = content.picture(PICTURE[1])
    told = [mark for mark in picture.marks if isinstance(mark, Text)]
    (palm,) = [mark for mark in told if mark.text.startswith("palm of the ")]
    # Seen from the palm, fingers up, a right hand has its thumb at the viewer's right.
    turned = [mark.box for mark in picture.marks if mark.role is Role.SHADE and mark.box.bottom > palm.y]
    thumb = min(turned, key=lambda box: box.width * box.height)
    cuff = max(turned, key=lambda box: box.width * box.height)
    seen = "right" if thumb.centre[0] > cuff.centre[0] else "left"
    assert palm.text == f"palm of the {seen} hand"
    outlines = sorted(
        (mark.box for mark in picture.marks if isinstance(mark, Curve) and mark.role is Role.OUTLINE),
        key=lambda box: -box.width * box.height,
    )
    trank = outlines[0]
    (hole,) = [box for box in outlines[1:] if trank.contains(box)]
    assert hand_of(hole.centre[0] - trank.centre[0], marked_on) == seen
    assert any(mark.text.startswith(f"{marked_on} up: {seen} hand") for mark in told)
    if left + right == 1:
        assert seen == ("left" if left else "right")
    # Printed for one hand, that the card shows; the other's is its back.
    drawn = PieceDrawings(run, cut_lines(run), PatternKind("0")).of_size(2)
    (pattern,) = [one.finished(0, Parting(one.lines.box)) for one in drawn if "Trank" in one.name]
    assert hand_of(palms(pattern, Role.CUT_LINE), marked_on) == seen
    assert f"{seen.upper()} HAND" in [mark.text for mark in pattern.marks if isinstance(mark, Text)]
    assert content.cut.headings[1] == ("Cut for one pair" if left + right == 2 else f"Cut for the {seen} hand")
