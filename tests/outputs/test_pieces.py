"""The drawn pieces of every size and hand: what is on them, where it stands, and that it can be read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from legible import crossed_texts, overlapping_texts

from grading.drawing.joints import Parting
from grading.drawing.marks import Arrow, Curve, Dot, Drawing, Line, Role, Text
from grading.drawing.shapes import shape
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.geometry.flattening import flatten
from grading.model.block import SeamType
from grading.outputs.pieces import PatternKind, PieceDrawings
from grading.readings.cut_lines import cut_lines

RUN = "1f3a9c2b7d"
WANTED = PatternKind(RUN, each_hand=True)


def marked(run, face: str = "inside"):
    """The run with its skins marked on that face."""
    return replace(run, block=replace(run.block, marked_on=face))


def drawn(pieces: PieceDrawings, size: int) -> dict[str, Drawing]:
    """Every piece of a pair, whole, by its name and hand."""
    return {one.name: one.finished(0, Parting(one.lines.box)) for one in pieces.of_size(size)}


@pytest.fixture(scope="module")
def pairs(runs):
    """{(group, size): {title: drawing}}, marked on the inside, so that right hands are as drawn."""
    found = {}
    for group, run in runs.items():
        pieces = PieceDrawings(marked(run), cut_lines(run), WANTED)
        found |= {(group, size): drawn(pieces, size) for size in range(len(run.sizes))}
    return found


def leather(run, piece: str, size: int, hand: str) -> shapely.Polygon:
    """The piece within its sew lines, of a hand, marked on the inside."""
    sign = np.array([1 if hand == "right" else -1, 1])
    rings = {name: flatten(beziers[size]) * sign for name, beziers in run.pieces[piece].beziers.items()}
    return shapely.Polygon(rings.pop("boundary"), list(rings.values()))


def texts(drawing: Drawing) -> list[str]:
    return [mark.text for mark in drawing.marks if isinstance(mark, Text)]


def test_a_pair_has_each_piece_for_each_hand(pairs):
    for drawings in pairs.values():
        assert list(drawings) == ["Trank right", "Thumb right", "Trank left", "Thumb left"]


def test_words_and_arrows_lie_inside_the_piece_and_off_one_another_in_every_size(pairs, runs):
    for (group, size), drawings in pairs.items():
        for title, drawing in drawings.items():
            inside = leather(runs[group], *title.split()[:1], size, title.split()[1])
            for mark in drawing.marks:
                if isinstance(mark, Text) and mark.text == "CUT OUT":
                    assert shapely.disjoint(inside, shape(mark)), (group, size, title)
                elif isinstance(mark, Text | Arrow):
                    assert shapely.contains_properly(inside, shape(mark)), (group, size, title, mark)
            assert overlapping_texts(drawing) == [], (group, size, title)
            assert crossed_texts(drawing) == [], (group, size, title)


def test_every_piece_says_what_it_is(pairs, runs):
    for (group, size), drawings in pairs.items():
        for title, drawing in drawings.items():
            piece, hand = title.split()
            said = " ".join(texts(drawing))
            named = (f"{piece} {runs[group].sizes[size]}", f"{hand.upper()} HAND", "hand goes in this way", "stretch")
            # A small thumb holds no more in letters of 2.5 mm; the rest stands in the title block of its sheet.
            full = (f"cut 1 for the {hand} hand", "mark with the inside of the skin up", "2026-11-02", RUN)
            rest = ("Fair mitten", "lamb leather, pile inside")
            for words in (*named, *(full + rest if piece == "Trank" else ())):
                assert words in said, (group, size, title, words)


def test_letters_stand_on_the_body_near_their_points(pairs, runs):
    for (group, size), drawings in pairs.items():
        for title, points in (("Trank right", ("T", "H")), ("Thumb right", ("T", "T'", "H"))):
            letters = [mark for mark in drawings[title].marks if isinstance(mark, Text) and mark.text in ("T", "H")]
            piece = runs[group].pieces[title.split()[0]]
            assert len(letters) == len(points)
            for letter, point in zip(letters, points, strict=True):
                away = np.hypot(*(np.array(letter.box.centre) - piece.point(point)[size]))
                assert away < 14, (group, size, point)


def test_right_and_left_are_mirror_images_but_for_their_words(pairs):
    for drawings in pairs.values():
        for piece in ("Trank", "Thumb"):
            right, left = (drawings[f"{piece} {hand}"].marks for hand in ("right", "left"))
            for one, other in zip(right, left, strict=False):
                if isinstance(one, Curve | Line):
                    assert np.abs(one.points * [-1, 1] - other.points).max() < 1e-9
                elif isinstance(one, Arrow):
                    assert (-one.start[0], one.start[1], -one.end[0], one.end[1]) == (*other.start, *other.end)


def test_the_pile_arrow_points_to_the_fingers_and_the_stretch_arrow_across_on_both_hands(pairs):
    for drawings in pairs.values():
        for drawing in drawings.values():
            arrows = {mark.role: mark for mark in drawing.marks if isinstance(mark, Arrow)}
            pile, stretch = arrows[Role.PILE], arrows[Role.STRETCH]
            assert pile.start[0] == pile.end[0]
            assert pile.end[1] - pile.start[1] > 30
            assert not pile.both
            assert stretch.start[1] == stretch.end[1]
            assert stretch.both


@pytest.mark.parametrize(("face", "sign"), [("inside", 1), ("outside", -1)])
def test_the_palm_of_the_right_hand_is_on_the_side_that_the_marked_face_says(runs, face, sign):
    # Common practice: see tests/model/test_hands.py. The hole is in the palm half.
    run = marked(runs["Women"], face)
    trank = drawn(PieceDrawings(run, cut_lines(run), WANTED), 0)["Trank right"]
    holes = [mark for mark in trank.marks if mark.role is Role.CUT_LINE and mark.box.width < 60]
    assert [np.sign(hole.box.centre[0]) for hole in holes] == [sign]


def notches(drawing: Drawing) -> list[float]:
    """The lengths of the strokes across edges."""
    return [round(float(np.hypot(*(b - a))), 3) for a, b in (m.points for m in drawing.marks if m.role is Role.NOTCH)]


def pierced(drawing: Drawing) -> list[Dot]:
    """The places to pierce that are ticks: a change-over's has a cross through it."""
    arms = [mark.box for mark in drawing.marks if mark.role is Role.RULE]
    crosses = [box.centre for box in arms if abs(box.width - box.height) < 1e-9]
    dots = [mark for mark in drawing.marks if mark.role is Role.PIERCING]
    return [dot for dot in dots if all(np.hypot(dot.x - x, dot.y - y) > 0.01 for x, y in crosses)]


def test_notches_are_cut_where_the_allowance_has_room_and_ticks_drawn_where_not(block, runs):
    table = runs["Women"].table
    roomy = replace(block, seam_types=(*block.seam_types[:2], SeamType("inside seam", 4.0, "", "")))
    run = balanced(grade(roomy, table))
    wide = drawn(PieceDrawings(marked(run), cut_lines(run), WANTED), 2)["Thumb right"]
    assert notches(wide) == [2.0] * 9  # half of 4 mm: three single marks, three double ones
    narrow = replace(block, seam_types=(*block.seam_types[:2], SeamType("inside seam", 3.0, "", "")))
    tight = balanced(grade(narrow, table))
    drawing = drawn(PieceDrawings(marked(tight), cut_lines(tight), WANTED), 2)["Thumb right"]
    assert notches(drawing) == []
    assert [dot.radius for dot in pierced(drawing)] == [0.75] * 9  # circles of 1.5 mm
    inside = leather(run, "Thumb", 2, "right").buffer(0.01)
    assert all(shapely.covers(inside, shape(dot)) for dot in pierced(drawing))


def test_net_pieces_are_cut_on_the_sew_line_and_have_ticks(runs):
    run = runs["Men"]
    pieces = PieceDrawings(marked(run), cut_lines(run), replace(WANTED, net=True))
    for title, drawing in drawn(pieces, 4).items():
        outlines = [mark for mark in drawing.marks if mark.role is Role.CUT_LINE]
        loops = run.pieces[title.split()[0]].beziers
        sign = 1 if title.endswith("right") else -1
        assert not [mark for mark in drawing.marks if mark.role is Role.SEW_LINE]
        for outline, beziers in zip(outlines, loops.values(), strict=True):
            assert np.abs(outline.points - beziers[4] * [sign, 1]).max() < 1e-9
        assert "net: no seam allowance" in " ".join(texts(drawing))
        assert notches(drawing) == []
        assert len(pierced(drawing)) == 9


def test_a_piece_that_is_not_cut_for_a_hand_is_not_drawn_for_it(runs):
    run = runs["Women"]
    block = run.block
    one_handed = replace(run, block=replace(block, pieces=(replace(block.pieces[0], cut_left=0), block.pieces[1])))
    titles = [one.name for one in PieceDrawings(one_handed, cut_lines(run), WANTED).of_size(0)]
    assert titles == ["Trank right", "Thumb right", "Thumb left"]
