"""A lining: the mitten once more, smaller by what the layers take, worn inside with its face to the hand."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import numpy as np
import pypdf
import pytest

from grading.audit import audit_run
from grading.drafting.draft import construct, draft
from grading.drafting.parts.lining import GAP, LINES, _join, lining_within
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.drawing.marks import Line, Role
from grading.drawing.paper import PAPERS, Printing
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import has_errors
from grading.model.block import Edge
from grading.outputs.cards import cards
from grading.outputs.pieces import PatternKind, PieceDrawings
from grading.outputs.size_sheet import letters
from grading.outputs.steps import step_drawings
from grading.readings.cut_lines import cut_lines
from grading.readings.finished import finished
from grading.readings.marks import edge_marks
from grading.readings.measures import taken
from grading.readings.seams import walked_seams
from grading.sheets.block import read_block
from grading.sheets.opening import open_tables
from grading.sheets.writing import block_workbook
from grading.stock.pieces import pieces_of_pairs

LINED = {**STANDARD, "lining": "lined"}
PLAIN = {**LINED, "fingers": "plain", "cuff": "plain", "thumb": "plain"}
TABLES = {table.group: table for table in demo_sizes()}
#: Leather of 1 mm with fleece of 2 mm.
LAYERS = {"compressed_pile": 0.0, "leather": 1.0, "lining": 2.0, "date": ""}


def hand(group: str, size: str):
    table = TABLES[group]
    return dict(zip(table.measurements, table.values[:, table.sizes.index(size)].tolist(), strict=True))


def drafted(style=LINED, group="Women", **allowances: float):
    usual = mitten(style).usual(small=group == "Children")
    named = {name.replace("_", " "): mm for name, mm in allowances.items()}
    return draft("", (group,), hand(group, BASES[group]), usual | named, **LAYERS, style=style)


@pytest.fixture(scope="module")
def lined():
    return balanced(grade(drafted(), TABLES["Women"]))


@pytest.fixture(scope="module")
def plain():
    return balanced(grade(drafted(PLAIN), TABLES["Women"]))


def test_leather_of_1_with_fleece_of_2_makes_a_half_4_7_mm_less():
    """Half of what the outer layer takes, pi x 1, and of pi x 2 for the lining itself: common practice."""
    assert lining_within(0, 1, 2) == pytest.approx(4.7, abs=0.02)
    # A leather with pile inside leaves less: 2 pi for a mm of that.
    assert lining_within(1, 1, 2) - lining_within(0, 1, 2) == pytest.approx(np.pi, abs=0.01)


def test_half_its_round_is_less_by_that_in_every_size(lined):
    measures = {one.name: one for one in lined.block.measures}
    for outer in ("palm width", "thumb width"):
        both = taken(lined, [measures[outer], measures[f"lining {outer}"]]).values
        assert both[0] - both[1] == pytest.approx(4.71, abs=0.01)


def test_it_is_shorter_at_the_tips_and_longer_at_the_cuff_than_what_is_seen(lined):
    outer, inner, thumb, in_thumb = (lined[name] for name in ("Trank", "Lining", "Thumb", "Thumb lining"))
    for tip in (
        outer.point("finger fold") - inner.point("finger edge"),
        thumb.point("turn fold") - in_thumb.point("end edge"),
    ):
        assert (tip[:, 1] >= 3).all()
        assert (tip[:, 1] <= 4).all()
    longer = (outer.point("cuff fold") - inner.point("cuff edge"))[:, 1]
    assert (longer >= 5).all()
    assert (longer <= 8).all()


def test_t_stays_and_the_hole_is_the_same(lined):
    for point in ("T", "H", "palm side", "index heel"):
        assert lined["Lining"].point(point) == pytest.approx(lined["Trank"].point(point))
    assert lined["Thumb lining"].point("T")[:, 1] == pytest.approx(lined["Thumb"].point("T")[:, 1])


def test_its_thumb_is_balanced_anew(lined):
    """Narrower in a hole as large, so fuller: and each half has the seam ease that the outer one has."""
    assert [one.driver for one in lined.balances] == ["foot fullness", "lining foot fullness"]
    seams = {walked.seam.name: walked for walked in walked_seams(lined)}
    for half in ("palm", "index"):
        outer, inner = seams[f"thumb in hole, {half} half"], seams[f"lining thumb in hole, {half} half"]
        assert inner.ease == pytest.approx(outer.ease, abs=0.5)
        assert inner.ease == pytest.approx(inner.target, abs=0.5)


def test_a_lining_has_the_coordinates_worked_by_hand():
    """W1, all plain, leather 1 and fleece 2. Worked on paper from the usual allowances.

    A side of the trank is (180 + 24) / 2 = 102, of the lining 97.29. The finger edge lies at 93 + 30 - 3.5 = 119.5,
    6 in. The waist shaping is 2 - 0.1 x 4.71 = 1.529; the cuff ends at -(50 + 6.5) = -56.5, 3 out; the thumb's tip at
    12 - 3.5 = 8.5, a side of it (62 + 19) / 2 - 4.71 = 35.79.
    """
    given = mitten(PLAIN).usual() | {"lining within": 4.71}
    found = construct(mitten(PLAIN), hand("Women", "W1"), given)
    by_hand = {
        ("Lining", "finger edge"): (91.29, 119.5),
        ("Lining", "widest"): (97.29, 89.625),
        ("Lining", "waist"): (95.761, -5.65),
        ("Lining", "cuff edge"): (100.29, -56.5),
        ("Thumb lining", "end edge"): (35.79, 8.5),
        ("Thumb lining", "knuckle"): (35.79, 0),
    }
    assert {name: found[name] for name in by_hand} == {name: pytest.approx(at) for name, at in by_hand.items()}


@pytest.mark.parametrize("marked_on", ["inside", "outside"])
def test_its_face_is_the_hand_side_and_its_patterns_lie_as_the_tranks_do(lined, marked_on):
    """What is the outside of the leather is the back of the lining: so both are marked alike for one hand."""
    block = replace(lined.block, marked_on=marked_on)
    run = replace(lined, block=block)
    drawings = PieceDrawings(run, cut_lines(run), PatternKind("0", net=False, each_hand=True))
    up = "back" if marked_on == "outside" else "face"
    for one in drawings.of_size(0):
        words = drawings._words(one)
        told = f"mark with the {up} of the lining up" if one.piece.lining else f"mark with the {marked_on} of the skin"
        assert any(line.startswith(told) for line in words)
    # By directions alone: fingers up, on a right hand seen from within, where its palm faces away, the mirror line
    # along the index finger is on the left, towards the thumb, and the palm half on the right.
    holes = {(run["Lining"].beziers["thumb hole"][..., 0] > 0).all()}
    seen_from_within = block.view("right").reversed is (marked_on == "outside")
    assert holes == {True}
    assert seen_from_within


def test_all_layers_count_and_the_ease_warning_names_them():
    """Pi x 1 for the leather, 2 pi x 2 for the lining in it: 15.7 mm; common practice."""
    run = grade(drafted(hand_ease=14.0), TABLES["Women"])
    assert run.block.material_takes == pytest.approx(np.pi + 4 * np.pi)
    told = [one for one in audit_run(run) if one.place.measure == "hand ease"]
    assert "hand ease is 14.00 mm, less than 15.71 mm" in told[0].found
    assert "leather 3.14 mm, lining 12.57 mm; 15.71 mm in all" in told[0].expected


def test_the_gap_for_turning_is_left_in_its_side_where_edges_are_joined(plain, lined):
    """60 to 70 mm: common practice. Where the lining is felled by hand nothing is turned through it."""
    assert 60 <= GAP <= 70
    seams = {seam.name: seam for seam in plain.block.seams}
    assert seams["lining side seam"].left_open == GAP
    assert not any(seam.left_open for seam in lined.block.seams)
    marks = [mark for mark in edge_marks(plain) if mark.name == "lining side seam"]
    assert {mark.piece for mark in marks} == {"Lining"}
    strokes = np.array([mark.places for mark in marks if (mark.places[:, 0] > 0).all()])
    ends = strokes[:2].mean(axis=0), strokes[2:].mean(axis=0)
    # on a side that is nearly straight
    assert np.hypot(*(ends[0] - ends[1]).T) == pytest.approx(GAP, abs=1)


def test_the_step_that_leaves_the_gap_draws_it_open(plain):
    steps = dict(zip([step.what_to_do for step in plain.block.making], step_drawings(plain, 2), strict=True))
    (closing,) = (drawing for words, drawing in steps.items() if "leaving 65 mm open" in words)
    bold = [mark for mark in closing.marks if isinstance(mark, Line) and mark.role is Role.OUTLINE]
    assert len(bold) == 4  # each side above and below the gap


def test_open_ends_are_joined_or_felled(plain, lined):
    sewn = {(edge.piece, edge.name): edge.seam_type for edge in (*plain.block.edges, *lined.block.edges)}
    assert sewn["Lining", "cuff edge"] == "felled edge"  # of the one whose cuff is turned, which comes last
    joined = {seam.name: seam for seam in plain.block.seams if seam.name.startswith("lining to")}
    assert list(joined) == ["lining to finger edge", "lining to cuff edge", "lining to thumb edge"]
    for seam in joined.values():
        for side in (seam.side_a, seam.side_b):
            edges = {e.name: e.seam_type for e in plain.block.edges if e.piece == side.piece}
            assert edges[side.edges[0]] == "joined edge"
    assert not [row for row in plain.block.work if row.topic == "Plain edges"]


def test_what_is_lined_looks_as_it_does_without(lined):
    bare = balanced(grade(drafted(STANDARD), TABLES["Women"]))
    for hand_ in ("left", "right"):
        with_, without = finished(lined, 1, hand_), finished(bare, 1, hand_)
        assert [layer.piece for layer in with_.palm] == [layer.piece for layer in without.palm]
        for one, other in zip((*with_.palm, *with_.back), (*without.palm, *without.back), strict=True):
            assert one.area.equals_exact(other.area, 1e-6)


def test_no_skin_is_used_for_it(lined):
    assert {piece.name for piece in pieces_of_pairs(lined)[0]} == {"Trank", "Thumb"}
    assert {piece.name for piece in lined.block.pieces if piece.lining} == set(LINES.values())


def test_a_lined_block_is_read_as_it_is_written(tmp_path):
    path = tmp_path / "block.xlsx"
    block = replace(drafted(PLAIN), name="Lined mitten")
    path.write_bytes(block_workbook(block))
    read, findings = read_block(open_tables(path)[0])
    assert not has_errors(findings)
    assert replace(read, work=()) == replace(block, work=())  # topics without a text are left to be filled in


def test_with_a_thumb_at_the_side_the_lining_too_serves_either_hand():
    block = drafted({**PLAIN, "thumb place": "at the side"})
    assert [block.cut_for(piece) for piece in block.pieces] == [(("either", 2),)] * 4


def test_closed_ends_are_fixed_at_both_tips_with_stays():
    """Stays of 10 mm: common practice. The lining is closed like what it lies in, 3 to 4 mm below it."""
    block = drafted({**LINED, "fingers": "closed top", "thumb": "closed"})
    (stays,) = (step for step in block.making if "10 mm" in step.stitch)
    assert "fingers and of the thumb" in stays.what_to_do
    at = {(point.piece, point.name): point.y for point in block.points}
    for outer, inner, summit in (("Trank", "Lining", "top summit"), ("Thumb", "Thumb lining", "tip summit")):
        assert 3 <= at[outer, summit] - at[inner, summit] <= 4


def test_a_lining_is_measured_before_it_is_set_in_and_its_cut_pieces_by_the_audit_alone(lined):
    """On sheets with what it should be, but no letter: its pieces are drawn nowhere there."""
    own = [one for one in lined.block.measures if one.piece in LINES.values()]
    told = [one for one in own if one.tolerance_plus is not None]
    assert {one.name for one in told} >= {"lining palm width", "lining finished length", "lining thumb width"}
    assert all(one.how_to_measure.startswith("Before the lining is set in: ") for one in told)
    assert not any("hole" in one.name or "rim" in one.name for one in told)
    letters_ = dict(zip((one.name for one in told), letters(lined.block, told), strict=True))
    assert set(letters_.values()) == {""}
    text = " ".join(
        page.extract_text()
        for page in pypdf.PdfReader(BytesIO(cards(lined, Printing(PAPERS["a4"]), run_id="1", unit="mm"))).pages
    )
    for measure, figures in zip(told, taken(lined, told).values, strict=True):
        assert measure.name in text
        assert f"{figures[0]:.1f}" in text
    assert "pile combed" not in text


@pytest.mark.parametrize(("points", "edges"), [(("a", "b"), ("rim",)), (("centre", "b"), ("rim", "rim'"))])
def test_an_edge_is_joined_to_its_linings_with_its_image_only_where_it_ends_on_the_mirror_line(points, edges):
    seam = _join(Edge("Trank", "rim", "boundary", points, "joined"), {"centre"})
    assert (seam.side_a.edges, seam.side_b.edges) == (edges, edges)
    assert (seam.side_a.piece, seam.side_b.piece) == ("Trank", LINES["Trank"])
