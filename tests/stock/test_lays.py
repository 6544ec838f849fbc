"""Lays on hundreds of random skins: nothing overlaps, nothing leaves the skin, the pile is kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from grading.engine.run import grade
from grading.model.block import Block
from grading.model.stock import SkinKind
from grading.stock.lays import Lay, Pair
from grading.stock.pieces import CutPiece, pieces_of_pairs
from grading.stock.search import Search
from grading.stock.skins import Skin

#: Rounding of coordinates, mm and mm².
HAIR = 1e-6


def piece(name: str, hand: str, points: list[tuple[float, float]]) -> CutPiece:
    flip = np.array([1 if hand == "right" else -1, 1])
    return CutPiece(name, hand, np.array(points, float) * flip, ())


def pair(number: int, size: float) -> Pair:
    body = [(-40, 0), (45, 5), (38, 50), (50, 100), (-45, 100)]
    thumb = [(0, 0), (22, 30), (8, 34), (8, 60), (-8, 60), (-8, 34), (-22, 30)]
    scaled = [[(x * size, y * size) for x, y in points] for points in (body, thumb)]
    names = [("Body", scaled[0]), ("Thumb", scaled[1])]
    pieces = [piece(name, hand, points) for name, points in names for hand in ("left", "right")]
    return Pair(number, "Any", f"{size:g}", tuple(pieces))


@st.composite
def skins(draw) -> Skin:
    """A skin with any number of corners at any distance round its middle, and up to three flaws."""
    corners = draw(st.lists(st.floats(120, 420), min_size=5, max_size=14))
    turns = np.arange(len(corners)) / len(corners) * 2 * np.pi
    outline = tuple(zip((corners * np.cos(turns)).tolist(), (corners * np.sin(turns)).tolist(), strict=True))
    flaws = []
    for _ in range(draw(st.integers(0, 3))):
        x, y, size = draw(st.floats(-200, 200)), draw(st.floats(-200, 200)), draw(st.floats(5, 60))
        flaws.append(((x, y), (x + size, y + size / 3), (x + size / 2, y + size)))
    return Skin(SkinKind("Any", 1, 1.0, 1.0, None, 0.0, 1.0, None, False, outline, tuple(flaws)), 1, to_buy=False)


def check(lay: Lay, gap: float, pile_within: float) -> None:
    outlines = [laid.outline for laid in lay.laid]
    near = lay.skin.usable.buffer(HAIR)
    assert all(shapely.contains(near, outline) for outline in outlines)
    for flaw in lay.skin.flaws:
        assert all(shapely.intersection(flaw, outline).area < HAIR for outline in outlines)
    for number, outline in enumerate(outlines):
        for other in outlines[:number]:
            assert shapely.distance(outline, other) >= gap - HAIR
    assert all(abs(laid.angle) <= pile_within for laid in lay.laid)
    assert lay.share <= 1
    for one in lay.pairs:
        assert sum(laid.pair is one for laid in lay.laid) == len(one.pieces)


def lays(pairs: list[Pair], skins: list[Skin], *, gap: float, pile_within: float, number: int = 1) -> tuple[Lay, ...]:
    """The lays after a short search."""
    return Search(gap, pile_within, number).lays(pairs, skins, lambda *told: None, steps=500).lays


@settings(max_examples=25)
@given(skins(), st.floats(0, 8), st.sampled_from([0.0, 2.0, 5.0]), st.integers(0, 3))
def test_no_piece_overlaps_another_or_leaves_the_skin_or_lies_in_a_flaw_or_off_the_pile(skin, gap, within, number):
    pairs = [pair(1, 1.0), pair(2, 0.7)]
    for lay in lays(pairs, [skin], gap=gap, pile_within=within, number=number):
        check(lay, gap, within)


@pytest.mark.long
@settings(max_examples=300)
@given(skins(), st.floats(0, 8), st.integers(0, 1000))
def test_the_demos_pieces_keep_apart_on_the_skin_and_off_its_flaws(runs, skin, gap, number):
    run = runs["Children"]
    pieces = zip(run.sizes, pieces_of_pairs(run), strict=True)
    pairs = [Pair(number, run.group, size, of_size) for number, (size, of_size) in enumerate(pieces, 1)]
    for lay in lays(pairs, [skin], gap=gap, pile_within=5.0, number=number):
        check(lay, gap, 5.0)


SQUARE = ((0.0, 0.0), (300.0, 0.0), (300.0, 300.0), (0.0, 300.0))


def square_skin(flaws: tuple = (), to_buy: bool = False) -> Skin:
    return Skin(SkinKind("Square", 1, 1.0, 1.0, None, 0.0, 1.0, None, True, SQUARE, flaws), 1, to_buy)


def squares(number: int, side: float) -> Pair:
    corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
    return Pair(number, "Squares", f"{side:g}", (piece("Square", "right", corners),))


def test_four_squares_fill_a_square_skin_that_has_room_for_them_and_a_few_mm_more():
    found = lays([squares(n, 140) for n in range(9)], [square_skin()] * 3, gap=4, pile_within=0)
    assert [len(lay.laid) for lay in found] == [4, 4, 1]


def test_a_pair_that_fits_nowhere_ends_the_buying_of_skins():
    assert not (lays([squares(1, 299)], [square_skin(to_buy=True)] * 2, gap=4, pile_within=5))


def test_a_flaw_in_the_middle_keeps_a_large_piece_off():
    flaw = ((148.0, 148.0), (152.0, 148.0), (152.0, 152.0), (148.0, 152.0))
    assert lays([squares(1, 160)], [square_skin()], gap=0, pile_within=5)
    assert not (lays([squares(1, 160)], [square_skin((flaw,))], gap=0, pile_within=5))


def test_turning_within_the_pile_finds_room_that_is_not_there_without():
    lean = np.radians(5)
    turn = np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    outline = tuple(map(tuple, (np.array(SQUARE) @ turn).tolist()))
    skin = Skin(SkinKind("Leaning", 1, 1.0, 1.0, None, 0.0, 1.0, None, True, outline), 1, to_buy=False)
    assert not (lays([squares(1, 290)], [skin], gap=0, pile_within=0))
    (lay,) = lays([squares(1, 290)], [skin], gap=0, pile_within=5)
    assert abs(lay.laid[0].angle) == 5


def test_the_same_lay_number_gives_the_same_lay_and_another_may_not(runs):
    pieces = pieces_of_pairs(runs["Women"])[2]
    pairs = [Pair(number, "Women", "W3", pieces) for number in range(3)]
    skin = Skin(SkinKind("Lamb", 1, 720.0, 920.0, None, 0.05, 1.0, None, True), 1, to_buy=False)

    def places(number: int) -> list[tuple[float, float, float]]:
        (lay,) = lays(pairs, [skin], gap=4, pile_within=5, number=number)
        return [(laid.x, laid.y, laid.angle) for laid in lay.laid]

    assert places(1) == places(1)
    assert len({tuple(places(seed)) for seed in range(4)}) > 1


def test_left_and_right_pieces_are_mirror_images_and_as_large_as_their_cut_lines_say(runs):
    for of_size in pieces_of_pairs(runs["Women"]):
        for name in ("Trank", "Thumb"):
            left, right = (next(p for p in of_size if (p.name, p.hand) == (name, hand)) for hand in ("left", "right"))
            mirrored = shapely.transform(left.polygon, lambda points: points * [-1, 1])
            assert shapely.symmetric_difference(mirrored, right.polygon).area == pytest.approx(0, abs=HAIR)


def lopsided(block: Block) -> Block:
    """The block with its thumb drawn whole and bulged on the palm half, cut without allowances."""
    half = [point for point in block.points if point.piece == "Thumb"]
    middle = {point.name for point in half if point.x == 0}
    other = [replace(point, name=f"{point.name} 2", x=-0.8 * point.x, moves=()) for point in half if point.x != 0]
    edges = [edge for edge in block.edges if edge.piece == "Thumb"]
    back = [
        replace(
            edge,
            name=f"{edge.name} 2",
            points=tuple(name if name in middle else f"{name} 2" for name in reversed(edge.points)),
        )
        for edge in reversed(edges)
    ]
    return replace(
        block,
        pieces=tuple(replace(piece, mirrored=False) for piece in block.pieces if piece.name == "Thumb"),
        points=(*half, *other),
        edges=tuple(replace(edge, seam_type="raw edge") for edge in (*edges, *back)),
        seams=(),
        marks=(),
        measures=(),
    )


@pytest.mark.parametrize("marked_on", ["inside", "outside"])
def test_a_piece_that_is_not_symmetric_is_turned_over_for_the_hand_that_it_was_not_drawn_for(block, tables, marked_on):
    # Common practice: fingers up, inside up, palm half on the right is a right hand; the outside shows the other.
    run = grade(replace(lopsided(block), drawn_from="inside", marked_on=marked_on), tables["Women"])
    pieces = pieces_of_pairs(run)[2]
    assert sorted(piece.hand for piece in pieces) == ["left", "right"]
    for piece in pieces:
        low, _, high, _ = piece.polygon.bounds
        assert (high > -low) is ((piece.hand == "right") is (marked_on == "inside"))


def test_on_the_inside_a_right_hand_has_its_thumb_hole_on_the_right(runs):
    # TRADE: fingers up, palm half on the right, inside up: a right hand; the outside shows the other.
    run = runs["Women"]
    trank = next(p for p in pieces_of_pairs(run)[0] if (p.name, p.hand) == ("Trank", "right"))
    hole_on_right = trank.holes[0][:, 0].mean() > 0
    assert hole_on_right == (run.block.marked_on == "inside")
