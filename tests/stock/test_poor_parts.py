"""Poor parts of a skin have a use: scratches under what is turned, and the rest for a trial hand."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from legible import crossed_texts, overlapping_texts
from pypdf import PdfReader
from shapely import affinity

from grading.drafting.stock_scenario import demo_stock
from grading.drawing.marks import Text
from grading.drawing.paper import DEFAULT_PRINTING
from grading.findings import Finding, StoppedError
from grading.model.stock import SkinKind
from grading.outputs.stock.lay_plan import drawn_lay, lay_plan
from grading.stock.lays import Pair
from grading.stock.mock_up import mock_up_findings, trial_hand, with_mock_up
from grading.stock.pieces import CutPiece, pieces_of_pairs
from grading.stock.plan import prepared
from grading.stock.search import Search
from grading.stock.skins import Skin

HAIR = 1e-6
GAP = 4.0
#: A skin of 760 × 1000 mm.
EDGE = ((0.0, 0.0), (760.0, 0.0), (760.0, 1000.0), (0.0, 1000.0))
#: Bands across the skin in which the face is scratched: room for what shows of a trank between them, and no more.
BANDS = tuple(((0.0, y), (760.0, y), (760.0, y + 60.0), (0.0, y + 60.0)) for y in (170.0, 440.0, 710.0))


def skin(**flaws) -> SkinKind:
    return SkinKind("Lamb", 1, 760.0, 1000.0, None, 0.0, 44.0, None, False, EDGE, **flaws)


@pytest.fixture(scope="module")
def women(runs):
    """A pair of the middle women's size."""
    return pieces_of_pairs(runs["Women"], faces=True)[2]


def test_two_thirds_of_a_trank_do_not_show_when_it_is_worn(women, runs):
    trank = next(piece for piece in women if piece.name == "Trank")
    # The fold-backs are 60 and 100 mm whole and as much of the body lies under them: 160 of 99 + 160 mm of its height,
    # and a little less of its breadth there, since the hole is no part of it.
    assert trank.unseen.area / trank.area == pytest.approx(160 / (99 + 160), abs=0.03)
    left, right = (piece for piece in women if piece.name == "Trank")
    assert left.unseen.area == pytest.approx(right.unseen.area)
    for piece in women:
        assert shapely.difference(piece.unseen, shapely.Polygon(piece.outline).buffer(0.2)).area < HAIR


def laid_on(kind: SkinKind, pieces, pairs: int = 6):
    todo = [Pair(number, "Women", "W3", pieces) for number in range(1, pairs + 1)]
    return Search(GAP, 5.0, 1).lays(todo, [Skin(kind, 1, to_buy=False)], lambda *told: None, steps=2_000)


def shown(laid) -> shapely.Geometry:
    """What of a piece shows its face, where it lies on the skin."""
    turned = affinity.rotate(laid.piece.unseen, laid.angle, origin=(0, 0))
    return laid.outline.difference(affinity.translate(turned, laid.x, laid.y).buffer(HAIR))


def test_pieces_cover_scratches_with_what_does_not_show_and_with_nothing_else(women):
    found = laid_on(skin(scratched=BANDS), women)
    (lay,) = found.lays
    scratches = shapely.union_all([shapely.Polygon(band) for band in BANDS])
    assert any(laid.outline.intersection(scratches).area > 100 for laid in lay.laid)
    for laid in lay.laid:
        # Slivers in a seam, where the cut line lies outside the sew line, show nothing.
        assert shown(laid).buffer(-1.5).intersection(scratches).area < HAIR
        assert shapely.contains(shapely.Polygon(EDGE).buffer(HAIR), laid.outline)
    for number, laid in enumerate(lay.laid):
        assert all(shapely.distance(laid.outline, other.outline) >= GAP - HAIR for other in lay.laid[:number])


def simple_pair(number: int) -> Pair:
    """Bodies whose upper and lower fifths do not show, and thumbs that show all over."""
    body = np.array([(-60, 0), (62, 4), (55, 80), (60, 200), (-60, 200), (-52, 90)], dtype=float)
    thumb = np.array([(0, 0), (25, 40), (12, 80), (-12, 80), (-25, 40)], dtype=float)
    pieces = []
    for name, points in (("Body", body), ("Thumb", thumb)):
        for hand, way in (("left", -1), ("right", 1)):
            outline = shapely.Polygon(points * (way, 1))
            middle = shapely.box(-100, 40, 100, 160) if name == "Body" else outline
            unseen = outline.difference(middle)
            pieces.append(CutPiece(name, hand, points * (way, 1), (), unseen=unseen))
    return Pair(number, "Any", "M", tuple(pieces))


corners = st.tuples(st.floats(0, 760), st.floats(0, 1000), st.floats(10, 160), st.floats(5, 60))


def lie_rightly(scratches, gap: float, number: int) -> None:
    """Six pairs laid on a scratched skin: nothing that shows its face lies on a scratch."""
    flaws = tuple(((x, y), (x + wide, y + high / 3), (x + wide / 2, y + high)) for x, y, wide, high in scratches)
    kind = skin(scratched=flaws)
    pairs = [simple_pair(one) for one in range(1, 7)]
    found = Search(gap, 5.0, number).lays(pairs, [Skin(kind, 1, to_buy=False)], lambda *told: None, steps=300)
    scratched = shapely.union_all([shapely.Polygon(flaw) for flaw in flaws])
    for lay in found.lays:
        for place, laid in enumerate(lay.laid):
            assert shown(laid).buffer(-1.5).intersection(scratched).area < HAIR
            assert shapely.contains(shapely.Polygon(EDGE).buffer(HAIR), laid.outline)
            assert all(shapely.distance(laid.outline, other.outline) >= gap - HAIR for other in lay.laid[:place])


@settings(max_examples=6)
@given(st.lists(corners, min_size=1, max_size=5), st.floats(0, 8), st.integers(0, 99))
def test_on_random_scratches_nothing_lies_that_shows_its_face(scratches, gap, number):
    lie_rightly(scratches, gap, number)


@pytest.mark.long
@settings(max_examples=200)
@given(st.lists(corners, min_size=1, max_size=5), st.floats(0, 8), st.integers(0, 99))
def test_on_hundreds_of_random_scratches_nothing_lies_that_shows_its_face(scratches, gap, number):
    lie_rightly(scratches, gap, number)


def test_more_pairs_find_room_where_scratches_are_good_for_turned_parts(women):
    with_use, without = (laid_on(skin(**{kind: BANDS}), women) for kind in ("scratched", "flaws"))
    count = [sum(len(lay.pairs) for lay in found.lays) for found in (with_use, without)]
    assert count[0] > count[1]


#: A belly that is good for a trial hand of any women's size, and a hole in the middle of it.
BELLY = ((20.0, 20.0), (740.0, 20.0), (740.0, 420.0), (20.0, 420.0))
HOLE = ((350.0, 200.0), (380.0, 200.0), (365.0, 240.0))


def test_stock_keeps_off_what_is_good_for_a_mock_up_only(women):
    for lay in laid_on(skin(poor=(BELLY,)), women).lays:
        for laid in lay.laid:
            assert laid.outline.intersection(shapely.Polygon(BELLY)).area < HAIR


@pytest.fixture(autouse=True)
def fewer_places(monkeypatch):
    monkeypatch.setattr("grading.stock.mock_up._STEP", 24.0)


def trial(runs, size="W3"):
    pieces = dict(zip((("Women", size) for size in runs["Women"].sizes), pieces_of_pairs(runs["Women"]), strict=True))
    return trial_hand(pieces, size, {"Women": "right"})


def test_a_mock_up_lies_on_poor_parts_off_holes_and_leaves_its_place_to_nobody(runs):
    hand = trial(runs)
    assert {piece.hand for piece in hand.pieces} == {"right"}
    mock_up, (kind,) = with_mock_up(hand, [skin(flaws=(HOLE,), poor=(BELLY,))], GAP)
    outlines = [laid.outline for laid in mock_up.laid]
    assert len(outlines) == 2
    assert mock_up.good < 0.02 * sum(outline.area for outline in outlines)
    for outline in outlines:
        assert shapely.contains(shapely.Polygon(EDGE), outline)
        assert outline.distance(shapely.Polygon(HOLE)) >= GAP / 2 - HAIR
    assert shapely.distance(*outlines) >= GAP - HAIR
    assert Skin(kind, 1, to_buy=False).usable.intersection(shapely.union_all(outlines)).area < HAIR
    assert mock_up_findings(mock_up, "W3") == []


def test_of_several_skins_the_one_with_poor_parts_is_taken_and_only_one_of_its_kind(runs):
    plain, poor = skin(), replace(skin(poor=(BELLY,)), name="Belly", count=3, buy_more=True)
    mock_up, kinds = with_mock_up(trial(runs), [plain, poor], GAP)
    assert [(kind.name, kind.count) for kind in kinds] == [("Lamb", 1), ("Belly, with the mock-up", 1), ("Belly", 2)]
    assert mock_up.skin.kind is kinds[1]
    assert not kinds[1].buy_more


def test_without_poor_parts_it_is_told_what_good_leather_it_takes_and_without_room_that_there_is_none(runs):
    mock_up, _ = with_mock_up(trial(runs), [skin()], GAP)
    assert [one.code for one in mock_up_findings(mock_up, "W3")] == ["mock-up-of-good-leather"]
    tiny = replace(skin(), outline=((0.0, 0.0), (200.0, 0.0), (200.0, 200.0)))
    mock_up, kinds = with_mock_up(trial(runs), [tiny], GAP)
    assert (mock_up, kinds) == (None, (tiny,))
    assert [one.code for one in mock_up_findings(mock_up, "W3")] == ["mock-up-without-room"]


def test_a_mock_up_of_no_size_or_of_several_is_refused(runs):
    pieces = {("Women", "S"): (), ("Men", "S"): (), ("Men", "L"): ()}
    hands = {"Women": "right", "Men": "right"}
    for size, words in (("XL", "no size 'XL'"), ("S", "Women and Men")):
        refused = trial_hand(pieces, size, hands)
        assert isinstance(refused, Finding)
        assert refused.code == "mock-up-of-no-size"
        assert words in refused.found
    assert not isinstance(trial_hand(pieces, "men s", hands), Finding)


@pytest.fixture(scope="module")
def plan(runs):
    """Five pairs of children's mittens and a mock-up beside them."""
    table = demo_stock()
    children = tuple(row for row in table.customers if row.group == "Children")
    small = replace(table, customers=children, skins=(skin(flaws=(HOLE,), poor=(BELLY,)),))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("grading.stock.plan.STEPS", 200)
        patch.setattr("grading.stock.mock_up._STEP", 24.0)
        return prepared(small, list(runs.values()), 0, "6-7").for_pairs(3, lambda *told: None)


def test_a_mock_up_is_no_stock_and_no_piece_of_stock_lies_near_it(plan):
    assert plan.pairs == 3
    trial_pieces = [laid.outline for laid in plan.batch.mock_up.laid]
    for lay in plan.lays:
        for laid in lay.laid:
            assert all(shapely.distance(laid.outline, other) >= GAP - HAIR for other in trial_pieces)
    assert sum(len(lay.pairs) for lay in plan.lays) == 3


def test_the_lay_plan_marks_the_mock_up_on_its_skin(plan):
    pages = [page.extract_text() for page in PdfReader(BytesIO(lay_plan(plan, DEFAULT_PRINTING, run_id="1f3a"))).pages]
    (page,) = [page for page in pages if "MOCK-UP of Children 6-7, one hand" in page]
    # Over the skin, on the trank, and on the thumb, which on a smaller drawing has little room.
    assert len(re.findall("MOCK-", page)) == 3
    mock_up = plan.batch.mock_up
    (small,) = (drawn_lay(lay, 6, mock_up) for lay in plan.lays if lay.skin.kind is mock_up.skin.kind)
    assert [mark.text for mark in small.marks if isinstance(mark, Text)].count("M") == 1
    assert "good for a mock-up" in " ".join(page.split())
    for lay in plan.lays:
        drawing = drawn_lay(lay, 5, plan.batch.mock_up)
        assert not overlapping_texts(drawing)
        assert not crossed_texts(drawing)


def test_a_mock_up_in_a_size_that_is_not_planned_stops_the_plan(runs):
    with pytest.raises(StoppedError) as stopped:
        prepared(demo_stock(), list(runs.values()), 0, "W9")
    assert stopped.value.finding.code == "mock-up-of-no-size"
