"""Every style that makes sense drafts, grades and keeps the same laws, in every size of the demo's groups.

A sample in which every choice occurs is drawn for the quick suite; `make test-all` takes them all.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import product

import numpy as np
import openpyxl
import pytest
import scipy
import shapely

from grading.audit import audit_block, audit_run
from grading.drafting.base import allowances_from_words, draft_base, style_meant
from grading.drafting.draft import construct, draft, own_table
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import (
    PARTS,
    STANDARD,
    Style,
    choices_in_words,
    mitten,
    senseless,
    spelled,
    style_from_words,
    style_of,
)
from grading.drafting.working import working
from grading.engine.balance import balanced
from grading.engine.run import GradedPiece, SizeRun, grade
from grading.findings import Severity
from grading.geometry.flattening import flatten
from grading.model.block import Mark
from grading.model.measured import Chosen, Hands
from grading.readings.cut_lines import cut_line_findings, cut_lines
from grading.readings.measures import measured
from grading.readings.seams import walked_seams
from grading.sheets.block import read_block
from grading.sheets.hands import read_style
from grading.sheets.opening import open_tables
from grading.sheets.writing import block_workbook, hand_workbook

TABLES = {table.group: table for table in demo_sizes()}
STYLES = [dict(zip(PARTS, chosen, strict=True)) for chosen in product(*PARTS.values())]
EVERY = [style for style in STYLES if not list(senseless(style))]
#: Leather and pile of the demo, mm; a turned part is wider by pi x 1.0 mm at its raw edge, to a hundredth.
LAYER_NAMED = {"compressed pile": 1.8, "leather thickness": 1.0}
LAYER = {"compressed_pile": 1.8, "leather": 1.0, "date": ""}
TURN_ROOM = 3.14
#: The balance value of each piece that has one.
FULLER = {"Thumb": "foot fullness", "Thumb lining": "lining foot fullness"}
#: Drafted coordinates are rounded to a thousandth of a millimetre, the base's and the size's: half of it each.
ROUNDED = 0.0011


def sample() -> list[tuple[Style, str]]:
    """Few styles that have every choice among them, each in one group."""
    left = {(part, choice) for part, choices in PARTS.items() for choice in choices}
    drawn = []
    groups = list(BASES)
    while left:
        best = max(EVERY, key=lambda style: len(left & set(style.items())))
        left -= set(best.items())
        drawn.append((best, groups[len(drawn) % len(groups)]))
    return drawn


DRAWN = sample()
SAMPLE = [pytest.param(style, group, id=f"{group}: {spelled(style)}") for style, group in DRAWN]
ALL = [
    pytest.param(style, group, id=f"{group}: {spelled(style)}", marks=pytest.mark.long)
    for style in EVERY
    for group in BASES
    if (style, group) not in DRAWN
]
every_style = pytest.mark.parametrize(("style", "group"), [*SAMPLE, *ALL])


def hand(group: str, size: str) -> dict[str, float]:
    table = TABLES[group]
    return dict(zip(table.measurements, table.values[:, table.sizes.index(size)].tolist(), strict=True))


def allowed(style: Style, group: str) -> dict[str, float]:
    return mitten(style).usual(small=group == "Children")


def drafted(style: Style, group: str, size: str = ""):
    body = hand(group, size or BASES[group])
    return draft("Own", (group,), body, allowed(style, group), **layers(style), style=style)


def layers(style: Style):
    """The layers that are usual for a style; a lined mitten is of leather without pile."""
    lined = {"compressed_pile": 0.0, "leather": 1.0, "lining": 1.8, "date": ""}
    return lined if style["lining"] == "lined" else LAYER


def within(style: Style) -> dict[str, float]:
    """What the layers make of a block: pi x 1.0 for a turned part; (pi x 1.0 + pi x 1.8) / 2 for a lining.

    And pi x 1.0 + 2 pi x 1.8, the pile or the lining, with 12 to spare, where a slit ends.
    """
    return {"turn room": TURN_ROOM, "slit room": 26.46} | ({"lining within": 4.4} if style["lining"] == "lined" else {})


_RUNS: dict[tuple[str, str], SizeRun] = {}


def graded(style: Style, group: str) -> SizeRun:
    key = spelled(style), group
    if key not in _RUNS:
        _RUNS[key] = balanced(grade(drafted(style, group), TABLES[group]))
    return _RUNS[key]


@every_style
def test_it_grades_without_a_finding(style, group):
    run = graded(style, group)
    found = [*audit_block(run.block), *audit_run(run), *cut_line_findings(run, cut_lines(run))]
    assert [str(finding) for finding in found] == []


@every_style
def test_the_ease_is_the_same_in_every_size(style, group):
    """Palm width is half of fist girth and ease, because the hand has depth: half belongs to each side."""
    run = graded(style, group)
    width = measured(run)["palm width"]
    assert 2 * width - TABLES[group].row("fist girth") == pytest.approx(allowed(style, group)["hand ease"], abs=0.01)


@every_style
def test_seams_have_the_ease_that_they_ask_for(style, group):
    for walked in walked_seams(graded(style, group)):
        assert walked.ease == pytest.approx(np.broadcast_to(walked.target, walked.ease.shape), abs=0.05)


@every_style
def test_what_is_turned_mirrors_the_body_under_it(style, group):
    """At each height, the turned side lies out of the body's by as much of the room as it has gone from the fold."""
    run = graded(style, group)
    for piece, fold, turned, body, depth in turned_parts(style):
        shape = run.pieces[piece]
        for size in range(len(run.sizes)):
            level, raw = shape.point(fold)[size][1], shape.point(depth)[size][1]
            out, up = side(shape, turned, size)
            x, y = side(shape, body, size)
            height = 2 * level - up
            away = np.abs(up - level) / abs(raw - level)
            under = np.interp(height, y[np.argsort(y)], x[np.argsort(y)])
            assert out == pytest.approx(under + away * TURN_ROOM, abs=0.35), fold


def turned_parts(style: Style):
    """Piece, fold, edge of the turned side, of the body under it, and the end of the raw edge."""
    if style["fingers"] == "turned":
        yield "Trank", "finger fold", "finger turned side", "side", "finger edge"
    if style["cuff"] == "turned":
        yield "Trank", "cuff fold", "cuff turned side", "side", "cuff edge"
    if style["thumb"] == "turned":
        yield "Thumb", "turn fold", "turned side", "stem side", "turn edge"


def side(piece: GradedPiece, edge: str, size: int):
    stretch = piece.shape.edges[edge]
    return flatten(piece.beziers[stretch.loop][size][stretch.segments], 0.01).T


@every_style
def test_drafting_a_size_and_grading_to_it_are_one_pattern(style, group):
    """Exactly where the balance is the same; and each with its own, to half a millimetre."""
    run = graded(style, group)
    made, allowances = mitten(style), within(style) | allowed(style, group)
    start = {value.name: 0.0 for value in made.balances}
    base = construct(made, hand(group, BASES[group]), allowances)
    for point in run.block.points:
        # What the base's foot was filled by is seen at H, which it moves straight down.
        if point.name == "H" and point.piece in FULLER:
            start[FULLER[point.piece]] = base[point.piece, "H"][1] - point.y
    solved = {balance.driver: balance.solved for balance in run.balances}
    for column, size in enumerate(run.sizes):
        balances = {name: at + solved[name][column] for name, at in start.items()}
        for (piece, point), at in construct(made, hand(group, size), allowances, balances).items():
            assert run.pieces[piece].point(point)[column] == pytest.approx(at, abs=ROUNDED), point
    for size in (run.sizes[0], run.sizes[-1]):
        anew = grade(drafted(style, group, size), own_table(hand(group, size)))
        for name, piece in run.pieces.items():
            assert piece.points[run.sizes.index(size)] == pytest.approx(anew.pieces[name].points[0], abs=0.5)


@every_style
def test_the_palm_half_has_the_thumb_hole_and_the_hands_are_those_of_the_standard_mitten(style, group):
    run, standard = graded(style, group), graded(STANDARD, group)
    assert [run.block.view(hand) for hand in ("left", "right")] == [
        standard.block.view(hand) for hand in ("left", "right")
    ]
    for loop, beziers in run["Trank"].beziers.items():
        if loop != "boundary" and style["thumb place"] == "forward":
            assert (beziers[..., 0].min(axis=(1, 2)) > 1).all()


@every_style
def test_names_are_given_once_and_every_allowance_has_its_bounds(style, group):
    block = graded(style, group).block
    for rows in (
        [value.name for value in block.values],
        [move.name for move in block.moves],
        [(point.piece, point.name) for point in block.points],
        [seam.name for seam in block.seams],
        [measure.name for measure in block.measures],
        [limit.name for limit in block.limits],
    ):
        assert [name for name, times in Counter(rows).items() if times > 1] == []
    assert set(allowed(style, group)) <= {limit.what for limit in block.limits}


@every_style
def test_its_workbook_is_read_back_as_it_was_written(style, group, tmp_path):
    block = graded(style, group).block
    (tmp_path / "block.xlsx").write_bytes(block_workbook(block))
    read, findings = read_block(open_tables(tmp_path / "block.xlsx")[0])
    assert findings == []
    for rows in ("style", "values", "pieces", "points", "edges", "marks", "measures", "making"):
        assert getattr(read, rows) == getattr(block, rows), rows
    # A share of many decimals is written with fewer; so written, it is read as it stands.
    (tmp_path / "again.xlsx").write_bytes(block_workbook(read))
    assert read_block(open_tables(tmp_path / "again.xlsx")[0]) == (read, [])


@every_style
def test_the_working_tells_every_coordinate_from_figures_told_before(style, group):
    block = graded(style, group).block
    body = hand(group, BASES[group])
    told = dict(body) | {value.name: value.drafted for value in block.values}
    for line in working(block, body):
        assert set(line.figures) <= set(told), line.what
        told[line.what] = line.mm
    coordinates = {round(abs(mm), 2) for mm in told.values()}
    for point in block.points:
        for mm in (point.x, point.y):
            assert mm == 0 or any(abs(abs(mm) - one) < 0.011 for one in coordinates), point.name


def test_a_block_says_its_style():
    style = {**STANDARD, "fingers": "plain", "thumb": "none, with a hole"}
    block = drafted(style, "Men")
    assert "fingers: plain" in block.style
    assert style_of(block) == style
    assert style_of(drafted(STANDARD, "Men")) == STANDARD


@pytest.mark.parametrize(
    "choices",
    [
        {"thumb": "none", "thumb place": "at the side"},
        {"thumb": "none", "fingers": "closed top"},
        {"thumb": "none", "cuff": "leather band"},
    ],
)
def test_choices_that_make_no_mitten_together_are_told_with_why(choices):
    findings = list(senseless({**STANDARD, **choices}))
    assert [finding.code for finding in findings] == ["choices-apart"]
    assert all(f"{part} '{choice}'" in findings[0].found for part, choice in choices.items())


def chosen(**choices: str) -> list[Chosen]:
    return [Chosen(part.replace("_", " "), choice) for part, choice in choices.items()]


def test_the_sheet_style_is_read_as_it_is_written_and_filled_in(tmp_path):
    path = tmp_path / "hands.xlsx"
    path.write_bytes(hand_workbook(Hands(), {}, choices_in_words()))
    style, findings = style_from_words(read_style(open_tables(path)[0])[0])
    assert (style, findings) == (STANDARD, [])
    book = openpyxl.load_workbook(path)
    sheet = book["Style"]
    lists = {str(one.sqref): one.formula1 for one in sheet.data_validations.dataValidation}
    for row in range(2, sheet.max_row + 1):
        part = sheet.cell(row, 1).value
        name, cells = lists[f"B{row}"].replace("$", "").split("!")
        offered = [cell.value for (cell,) in book[name.strip("'")][cells]]
        assert offered == list(PARTS[part])
        sheet.cell(row, 2).value = offered[-1].upper()
    book.save(path)
    chosen_last, findings = style_from_words(read_style(open_tables(path)[0])[0])
    assert chosen_last == {part: list(choices)[-1] for part, choices in PARTS.items()}


def test_a_wrong_word_on_the_sheet_is_told_with_its_cell(tmp_path):
    path = tmp_path / "hands.xlsx"
    path.write_bytes(hand_workbook(Hands(), {}, choices_in_words()))
    book = openpyxl.load_workbook(path)
    book["Style"]["B3"] = "ribbed"
    book.save(path)
    _, findings = style_from_words(read_style(open_tables(path)[0])[0])
    assert [(finding.place.sheet, finding.place.cell) for finding in findings] == [("Style", "B3")]


def test_words_are_forgiven_their_spelling_and_later_ones_count():
    style, findings = style_from_words([*chosen(fingers="turned"), Chosen(" Fingers", "PLAIN")])
    assert (style["fingers"], findings) == ("plain", [])


@pytest.mark.parametrize(
    ("words", "near"), [(("fingres", "plain"), "fingers"), (("cuff", "plane"), "plain"), (("sole", "turned"), "")]
)
def test_a_word_that_is_no_choice_is_told_with_the_nearest(words, near):
    style, findings = style_from_words([Chosen(*words)])
    assert [finding.code for finding in findings] == ["unknown-choice"]
    assert (f"'{near}'" if near else "One of") in findings[0].expected
    assert style == STANDARD


def test_each_allowance_of_0_names_where_its_own_part_ends_then():
    pairs = [(name, "0") for name in ("finger fold-back", "cuff fold-back", "thumb turn")]
    style, others, findings = style_meant(STANDARD, pairs, "mm")
    assert style == {**STANDARD, "fingers": "plain", "cuff": "plain", "thumb": "plain"}
    assert others == []
    ends = [finding.action.split("'")[1] for finding in findings]
    assert ends == ["finger edge", "cuff length", "thumb end"]
    short, _, (finding,) = style_meant({**STANDARD, "thumb": "none"}, [("finger fold-back", "0")], "mm")
    assert short["fingers"] == "plain"
    assert "Nothing else" in finding.action


def test_choices_apart_are_told_once():
    typed = [Chosen("thumb", "none"), Chosen("fingers", "closed top")]
    style, findings = style_from_words(typed)
    assert [finding.code for finding in findings] == ["choices-apart"]
    assert style_meant(style, [], "mm") == (style, [], [])


@pytest.mark.parametrize(
    ("allowance", "part"), [("finger fold-back", "fingers"), ("cuff fold-back", "cuff"), ("Thumb turn", "thumb")]
)
@pytest.mark.parametrize("nothing", ["0", "0 cm"])
def test_an_allowance_of_0_that_stands_for_another_choice_means_it_and_says_so(allowance, part, nothing):
    pairs = [(allowance, nothing), ("hand ease", "26 mm")]
    style, others, findings = style_meant(STANDARD, pairs, "mm")
    assert style == {**STANDARD, part: "plain"}
    assert others == pairs[1:]
    assert [(finding.code, finding.severity) for finding in findings] == [("zero-is-a-choice", Severity.NOTE)]
    assert f"{part} 'plain'" in findings[0].found
    # the next time it is a choice, of which the allowance is none
    assert style_meant(style, pairs, "mm") == (style, pairs, [])
    _, refused = allowances_from_words(pairs, "mm", style)
    assert [finding.code for finding in refused] == ["unknown-allowance"]


@pytest.mark.parametrize(
    ("allowance", "style"), [("cuff length", {"cuff": "plain"}), ("thumb end", {"thumb": "plain"})]
)
def test_a_plain_part_too_short_to_draw_is_told_and_not_drafted(allowance, style):
    style = {**STANDARD, **style}
    figures, _ = allowances_from_words([(allowance, "3")], "mm", style)
    right = hand("Women", "W3")
    block, findings = draft_base(Hands(right, right), figures, name="", style=style)
    assert block is None
    assert [(finding.code, finding.place.measure) for finding in findings] == [("nothing-to-draw", allowance)]


def test_measurements_that_no_part_needs_are_not_asked_for():
    style = {**STANDARD, "fingers": "plain", "thumb": "none"}
    right = {"fist girth": 204.0, "palm length": 99.0}
    drafted_of_two, findings = draft_base(
        Hands(right, right), allowed(style, "Women") | LAYER_NAMED, name="", style=style
    )
    assert findings == []
    assert drafted_of_two is not None


def test_no_turn_at_the_fingers_means_that_the_edge_lies_where_the_maker_wants_it():
    """Common practice, no source."""
    style = {**STANDARD, "fingers": "plain"}
    for wanted in (0.0, 12.0, 55.0):
        allowances = {**allowed(style, "Women"), "finger edge": wanted}
        block = draft("", (), hand("Women", "W2"), allowances, **LAYER, style=style)
        edge = next(point for point in block.points if point.name == "finger edge")
        assert edge.y == pytest.approx(96 + wanted)  # W2: palm 93 + 3


def test_a_straight_cuff_without_a_thumb_piece_is_a_trank_alone():
    """Common practice, no source."""
    style = {**STANDARD, "fingers": "plain", "cuff": "plain", "thumb": "none"}
    run = graded(style, "Women")
    assert list(run) == ["Trank"]
    assert list(run["Trank"].loops) == ["boundary"]
    # Its top edge lies at least 8 mm below the web: common practice.
    web = TABLES["Women"].row("palm length") - TABLES["Women"].row("web depth")
    assert (web - run["Trank"].point("finger edge")[:, 1] >= 8).all()


def test_a_plain_mitten_has_the_coordinates_worked_by_hand():
    """W1: fist 180 and ease 24 make a side of 102; palm 93. Worked on paper from the usual allowances.

    The finger edge lies 30 beyond the palm, 123, 6 in; widest at 0.75 x 123 = 92.25; palm at 0.45 x 123 = 55.35, 0.4
    in. The waist lies 2 x 0.05 x 50 = 5 below the wrist, 2 in; the cuff's body 25 down, 1.1 in and 0.9 out; its edge
    50 down, 3 out. The thumb, (62 + 19) / 2 = 40.5 a side, ends 12 beyond its knuckle.
    """
    style = {**STANDARD, "fingers": "plain", "cuff": "plain", "thumb": "plain"}
    found = construct(mitten(style), hand("Women", "W1"), allowed(style, "Women"))
    by_hand = {
        ("Trank", "finger centre"): (0, 123),
        ("Trank", "finger edge"): (96, 123),
        ("Trank", "widest"): (102, 92.25),
        ("Trank", "palm"): (101.6, 55.35),
        ("Trank", "wrist"): (100.2, 0),
        ("Trank", "waist"): (100, -5),
        ("Trank", "cuff body"): (101.8, -25),
        ("Trank", "cuff edge"): (105, -50),
        ("Trank", "cuff centre"): (0, -50),
        ("Thumb", "end centre"): (0, 12),
        ("Thumb", "end edge"): (40.5, 12),
        ("Thumb", "knuckle"): (40.5, 0),
    }
    assert {name: found[name] for name in by_hand} == {name: pytest.approx(at) for name, at in by_hand.items()}


def test_a_bare_thumb_passes_its_hole():
    """Twice its height is at least the thumb's girth, what the layer takes, and 10 mm: common practice."""
    style = {**STANDARD, "thumb": "none, with a hole"}
    run = graded(style, "Men")
    height = measured(run)["thumb hole height"]
    takes = 2 * np.pi * 1.8 + np.pi * 1.0
    assert (2 * height >= TABLES["Men"].row("thumb girth") + takes + 10).all()
    assert list(run) == ["Trank"]


CLOSED = {**STANDARD, "fingers": "closed top", "thumb": "closed"}
#: How far below the middle finger's tip the others' are, the fingers together, and how long that finger is, mm: 51
#: young adults, Chatzioglou, Pinar, Govsa 2024, Anat Cell Biol 57(2):172-182. Scaled by hand length less palm length.
BELOW_MIDDLE = {"index": 10.7, "middle": 0.0, "ring": 10.8, "little": 10.8 + 25.6}
MIDDLE = 70.7


def finger_tips(body):
    """Where the finger tips lie on the wrapped hand: half its depth round the index side, fingers a gap broad each."""
    depth = (body["hand girth"] - 2 * body["hand breadth"]) / (np.pi - 2)
    scale = (body["hand length"] - body["palm length"]) / MIDDLE
    for number, below in enumerate(BELOW_MIDDLE.values()):
        yield depth / 2 + (number + 0.5) * body["index-middle gap"], body["hand length"] - scale * below


@pytest.mark.parametrize("group", BASES)
def test_every_finger_tip_has_room_under_a_closed_top_in_every_size(group):
    """0.8 to 2.2 times the tip ease, straight up and to the nearest point of the edge. Common practice."""
    run = graded(CLOSED, group)
    ease = allowed(CLOSED, group)["tip ease"]
    for column, size in enumerate(run.sizes):
        x, y = side(run["Trank"], "top", column)
        for across, up in finger_tips(hand(group, size)):
            room = np.interp(across, x, y) - up, np.hypot(x - across, y - up).min()
            assert all(0.8 * ease <= mm <= 2.2 * ease for mm in room), (size, across, room)


@pytest.mark.parametrize("group", BASES)
@pytest.mark.parametrize(("piece", "edge"), [("Trank", "top"), ("Thumb", "tip")])
def test_a_rounded_end_rises_at_the_mirror_line_is_level_at_its_summit_and_runs_upright_into_the_side(
    group, piece, edge
):
    """60 to 75 degrees at the mirror line. Common practice."""
    run = graded(CLOSED, group)
    of = run[piece]
    stretch = of.shape.edges[edge]
    points = next(one for one in run.block.edges if (one.piece, one.name) == (piece, edge)).points
    summit = points.index(f"{edge} summit")
    for beziers in of.beziers[stretch.loop][:, stretch.segments]:
        start = beziers[0, 1] - beziers[0, 0]
        level = beziers[summit, 1] - beziers[summit, 0]
        end = beziers[-1, 3] - beziers[-1, 2]
        rises, falls, ends = (np.degrees(np.arctan2(way[1], way[0])) for way in (start, level, end))
        assert 60 <= rises <= 75
        assert abs(falls) < 2
        assert abs(ends + 90) < 3


@pytest.mark.parametrize("group", BASES)
def test_the_two_edges_of_a_closed_top_are_equally_long(group):
    run = graded(CLOSED, group)
    for piece, edge in (("Trank", "top"), ("Thumb", "tip")):
        assert run[piece].edge_lengths(edge) == pytest.approx(run[piece].edge_lengths(f"{edge}'"), abs=0.1)


def test_a_rounded_top_is_as_long_as_its_curve_integrated():
    """scipy.integrate.quad over the speed of each cubic, written out from its handles."""
    run = graded(CLOSED, "Women")
    stretch = run["Trank"].shape.edges["top"]
    lengths = run["Trank"].edge_lengths("top")
    for column in (0, 5):
        total = 0.0
        for p in run["Trank"].beziers[stretch.loop][column][stretch.segments]:

            def speed(t, p=p):
                along = 3 * ((1 - t) ** 2 * (p[1] - p[0]) + 2 * (1 - t) * t * (p[2] - p[1]) + t * t * (p[3] - p[2]))
                return np.hypot(*along)

            total += scipy.integrate.quad(speed, 0, 1)[0]
        assert lengths[column] == pytest.approx(total, abs=0.001)


#: Hand circumference and length, mm, sizes 6 to 11: EN 420:2003+A1:2009, carried into EN ISO 21420:2020.
EN_420 = {"6": (152, 160), "7": (178, 171), "8": (203, 182), "9": (229, 192), "10": (254, 204), "11": (279, 215)}


def test_finished_lengths_differ_by_exactly_the_steps_of_the_published_hand_lengths():
    """Closed, the mitten is as long as hand length, tip ease and what lies below the wrist line."""
    table = TABLES["Men"]
    length = np.array([length for _, length in EN_420.values()], dtype=float)
    values = np.array([np.interp(length, table.row("hand length"), row) for row in table.values])
    values[table.measurements.index("hand length")] = length
    own = replace(table, sizes=tuple(EN_420), values=values)
    run = balanced(grade(drafted(CLOSED, "Men"), own))
    ease = allowed(CLOSED, "Men")
    finished = measured(run)["finished length"]
    assert finished == pytest.approx(length + ease["tip ease"] + ease["cuff fold-back"] / 2, abs=0.001)
    assert np.diff(finished) == pytest.approx(np.diff(length))
    assert 2 * measured(run)["palm width"] == pytest.approx(own.row("fist girth") + ease["hand ease"], abs=0.01)


def test_a_closed_top_has_the_coordinates_worked_by_hand():
    """W1, on paper. A side 102. Half the depth (162 - 2 x 69) / (2 x 1.1416) = 24 / 2.2832 = 10.512.

    Summit across: 10.512 + 1.5 x 19 = 39.012; top 164 + 14 = 178; the dart 178 - 0.25 x 102 = 152.5, so that it rises
    25.5. End: 93 + 0.4 x (164 - 93) = 121.4, so that it falls 56.6. From the summit to the side: 62.988.
    Rise: 0.19 x 39.012 = 7.412 | 152.5 + 0.44 x 25.5 = 163.72; shoulder 21.456 | 152.5 + 20.91 = 173.41.
    Fall: 39.012 + 0.22 x 62.988 = 52.869 | 178 - 0.062 x 56.6 = 174.491; slope 39.012 + 27.715 = 66.727 | 178 - 15.282
    = 162.718; turn-down 39.012 + 57.319 = 96.331 | 178 - 45.846 = 132.154; upright 39.012 + 62.862 = 101.874 |
    178 - 54.279 = 123.721.
    The thumb: a side 40.5, web to tip 55, web to knuckle 28: top 55 - 28 + 10 = 37, dart 37 - 10.125 = 26.875, summit
    20.25 across, end 0.4 x 27 = 10.8.
    """
    found = construct(mitten(CLOSED), hand("Women", "W1"), {"turn room": TURN_ROOM, **allowed(CLOSED, "Women")})
    by_hand = {
        ("Trank", "finger centre"): (0, 152.5),
        ("Trank", "top rise"): (7.412, 163.72),
        ("Trank", "top shoulder"): (21.456, 173.41),
        ("Trank", "top summit"): (39.012, 178),
        ("Trank", "top fall"): (52.869, 174.491),
        ("Trank", "top slope"): (66.727, 162.718),
        ("Trank", "top turn-down"): (96.331, 132.154),
        ("Trank", "top upright"): (101.874, 123.721),
        ("Trank", "top end"): (102, 121.4),
        ("Trank", "knuckle"): (102, 93),
        ("Thumb", "tip centre"): (0, 26.875),
        ("Thumb", "tip summit"): (20.25, 37),
        ("Thumb", "tip end"): (40.5, 10.8),
    }
    assert {name: found[name] for name in by_hand} == {
        name: pytest.approx(at, abs=0.0006) for name, at in by_hand.items()
    }


def test_a_measurement_that_a_choice_needs_is_asked_for_with_the_choice_that_needs_it():
    right = {**hand("Women", "W3")}
    del right["web to tip"], right["hand length"]
    made, findings = draft_base(Hands(right, right), allowed(CLOSED, "Women") | LAYER_NAMED, name="", style=CLOSED)
    assert made is None
    missing = {finding.place.measure: finding.found for finding in findings if finding.code == "measurement-missing"}
    assert set(missing) == {"web to tip", "hand length"}
    assert "thumb 'closed'" in missing["web to tip"]
    assert "fingers 'closed top'" in missing["hand length"]
    standard, findings = draft_base(Hands(right, right), allowed(STANDARD, "Women") | LAYER_NAMED, name="")
    assert standard is not None
    assert findings == []


AT_THE_SIDE = {**STANDARD, "thumb place": "at the side"}


def test_a_side_thumb_has_the_coordinates_worked_by_hand():
    """W1, on paper: T at 93 - 24 = 69 and H at 69 - 54 = 15, both on the mirror line; the half hole is 35 / 2 wide.

    Shoulder 0.66 x 17.5 = 11.55 out, 0.14 x 54 = 7.56 down; side 17.5 out, 30.78 down; heel 12.95 out, 48.6 down.
    """
    allowances = {"turn room": TURN_ROOM, **allowed(AT_THE_SIDE, "Women")}
    found = construct(mitten(AT_THE_SIDE), hand("Women", "W1"), allowances)
    by_hand = {
        "T": (0, 69),
        "hole shoulder": (11.55, 61.44),
        "hole side": (17.5, 38.22),
        "hole heel": (12.95, 20.4),
        "H": (0, 15),
    }
    assert {name: found["Trank", name] for name in by_hand} == {n: pytest.approx(at) for n, at in by_hand.items()}


def test_a_side_thumb_makes_a_trank_that_is_its_own_mirror_image():
    """Its cut polygon, laid over its image by shapely; and both halves of the hole take the foot alike."""
    run = graded(AT_THE_SIDE, "Men")
    for size in run.sizes:
        cut = run["Trank"].cut_polygon(size)
        over = shapely.affinity.scale(cut, -1, 1, origin=(0, 0))
        assert cut.symmetric_difference(over).area < 0.01
        assert len(cut.interiors) == 1
    one, other = (walked for walked in walked_seams(run) if walked.seam.matching)
    assert one.ease == pytest.approx(other.ease, abs=0.001)
    assert [run.block.cut_for(piece) for piece in run.block.pieces] == [(("either", 2),), (("either", 2),)]


def test_a_thumb_that_is_set_forward_tells_the_hands_apart():
    for piece in graded(STANDARD, "Men").block.pieces:
        assert graded(STANDARD, "Men").block.cut_for(piece) == (("right", 1), ("left", 1))


@pytest.mark.parametrize("wrong", ["strokes", "mark", "hole", "count"])
def test_a_piece_that_differs_in_anything_from_its_image_is_not_for_either_hand(wrong):
    block = graded(AT_THE_SIDE, "Men").block
    trank = block.pieces[0]
    if wrong == "strokes":
        seams = (replace(block.seams[0], strokes=2), *block.seams[1:])
        block = replace(block, seams=seams)
    elif wrong == "mark":
        block = replace(block, marks=(*block.marks, Mark("Trank", "here", "tick", "wrist")))
    elif wrong == "hole":
        block = graded(STANDARD, "Men").block
    else:
        trank = replace(trank, cut_left=2)
    assert "either" not in dict(block.cut_for(trank))


def test_a_half_drawn_hole_is_read_back_from_the_blocks_workbook(tmp_path):
    block = drafted(AT_THE_SIDE, "Women")
    (tmp_path / "block.xlsx").write_bytes(block_workbook(block))
    read, findings = read_block(open_tables(tmp_path / "block.xlsx")[0])
    assert findings == []
    assert read == replace(block, work=read.work)
    assert {one for one in block.work if one.text} == set(read.work)


def test_a_hole_drawn_by_half_ends_on_the_mirror_line(tmp_path):
    block = drafted(AT_THE_SIDE, "Women")
    points = tuple(replace(p, x=3.0) if (p.piece, p.name) == ("Trank", "H") else p for p in block.points)
    (tmp_path / "block.xlsx").write_bytes(block_workbook(replace(block, points=points)))
    _, findings = read_block(open_tables(tmp_path / "block.xlsx")[0])
    assert [finding.code for finding in findings] == ["loop-not-closed"]
    assert "mirror line" in findings[0].expected
