"""Law: whatever is written is read back the same, with nothing to tell, for figures as they can be typed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from grading.findings import Severity
from grading.model import block as model
from grading.model import stock as batch
from grading.model.block import PILE_RUNS, STRETCHES, Amount, Block, Side
from grading.model.hands import INSIDE, OUTSIDE
from grading.model.measured import Hands, TracedPoint
from grading.model.names import name_key
from grading.model.sizes import SizeTable
from grading.sheets.block import read_block
from grading.sheets.block_sheets import BLOCK_SHEETS
from grading.sheets.columns import Cells, Column
from grading.sheets.declared import HAND, SIZE_GROUP, TRACED
from grading.sheets.hands import read_hands
from grading.sheets.opening import open_tables
from grading.sheets.sizes import read_sizes
from grading.sheets.stock import read_stock
from grading.sheets.stock_sheets import STOCK_SHEETS
from grading.sheets.traced import read_traced
from grading.sheets.writing import block_workbook, hand_workbook, sizes_workbook, stock_table_workbook, traced_workbook
from grading.units import MM2_PER, MM_PER


def read_back(workbook: bytes, read):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "tables.xlsx"
        path.write_bytes(workbook)
        opened, problems = open_tables(path)
        value, findings = read(opened)
    assert not problems
    # A default that was left open is told, and a piece rate drawn below the hours' pay, and no more than that.
    assert [finding for finding in findings if finding.code not in ("default-used", "pay-told-otherwise")] == []
    return value


def figures(least: int, most: int):
    """Figures of at most 15 digits between two bounds, as a float is read from what is typed."""
    return (
        st.integers(0, 12)
        .flatmap(lambda places: st.decimals(least, most, places=places, allow_nan=False, allow_infinity=False))
        .map(float)
    )


LETTERS = st.sampled_from("abcdefghijklmnoprstuvwzäéßøłž")
NAMES = st.text(LETTERS, min_size=2, max_size=12)
TEXTS = st.text(st.sampled_from("abcÄŁñ 0123,.:;'=+-/%&<>\"é"), max_size=30).map(lambda text: " ".join(text.split()))
WORDS = TEXTS.filter(lambda text: text and not text.startswith("#"))
LENGTHS = figures(1, 600)
PLACES = figures(-600, 600)
SHARES = figures(-3, 3)


def named(least: int, most: int):
    return st.lists(NAMES, min_size=least, max_size=most, unique_by=name_key).map(tuple)


@st.composite
def size_tables(draw):
    rows, sizes = draw(named(1, 5)), draw(named(1, 4))
    sizes = tuple(f"{size} {number}" for number, size in enumerate(sizes))
    units = tuple(draw(st.sampled_from(list(MM_PER))) for _ in rows)
    typed = [[Fraction(repr(draw(figures(1, 20)))) * MM_PER[unit] for _ in sizes] for unit in units]
    texts = tuple(draw(TEXTS) for _ in rows), tuple(draw(TEXTS) for _ in rows)
    families = draw(st.just(()) | st.tuples(*[NAMES] * len(sizes)))
    return SizeTable(draw(NAMES), sizes, rows, np.array(typed, dtype=float), units, *texts, families=families)


@given(size_tables())
def test_size_tables_are_read_back_the_same_in_the_units_of_their_rows(table):
    (found,) = read_back(sizes_workbook([table]), read_sizes)
    assert (found.values == table.values).all()
    assert replace(found, values=0, places={}).__dict__ == replace(table, values=0, places={}).__dict__


@given(st.dictionaries(NAMES, st.tuples(LENGTHS | st.none(), LENGTHS | st.none(), TEXTS), min_size=1))
def test_hands_are_read_back_the_same(taken):
    left, right = ({name: row[hand] for name, row in taken.items() if row[hand] is not None} for hand in (0, 1))
    how = {name: text for name, (_, _, text) in taken.items()}
    found = read_back(hand_workbook(Hands(left, right), how), lambda opened: read_hands(opened, how, "mm"))
    assert (found.left, found.right) == (left, right)


@given(st.lists(st.builds(TracedPoint, NAMES, NAMES, PLACES, PLACES, st.booleans(), NAMES), min_size=1))
def test_traced_points_are_read_back_the_same(points):
    points = tuple({(point.piece, point.name): point for point in points}.values())
    assert read_back(traced_workbook(points), lambda opened: read_traced(opened, "mm")) == points


@st.composite
def eases(draw, allowances):
    fixed, part = figures(-20, 20).map(lambda mm: Amount(mm=mm)), figures(0, 1).map(lambda part: Amount(part=part))
    return draw(st.none() | fixed | part | st.sampled_from(allowances).map(lambda name: Amount(allowance=name)))


@st.composite
def blocks(draw):
    """A block of rings: their shape means nothing, and every column of every sheet is drawn."""
    values, moves, kinds = draw(named(2, 4)), draw(named(1, 3)), draw(named(1, 2))
    pieces = draw(named(1, 2))
    drafted = [draw(PLACES) for _ in values]
    kinds_of_value = [model.Kind.BALANCE, *(draw(st.sampled_from(model.Kind)) for _ in values[1:])]
    every = draw(st.lists(NAMES, min_size=3, max_size=6, unique_by=name_key))
    ring = [*every, every[0]]
    xy = st.tuples(PLACES, PLACES)
    places = draw(st.lists(xy, min_size=len(every), max_size=len(every), unique=True))
    half = len(every) // 2
    seam_types = st.sampled_from(kinds)
    edges = [
        model.Edge(piece, name, model.BOUNDARY, tuple(points), draw(seam_types))
        for piece in pieces
        for name, points in (("one", ring[: half + 1]), ("other", ring[half:]))
    ]
    side = st.builds(Side, st.sampled_from(pieces), st.sampled_from([("one",), ("other",), ("one", "other")]))
    words = st.lists(WORDS, max_size=3, unique_by=name_key)
    seams = draw(words)
    shown = [name for name in seams if ";" not in name]
    limit = st.builds(
        model.Limit, st.none(), WORDS, SHARES, st.none() | WORDS, SHARES, figures(1, 9) | NAMES,
        st.none() | PLACES | NAMES, st.none() | PLACES | NAMES, st.sampled_from(list(Severity)), TEXTS,
    )  # fmt: skip
    how, point = st.sampled_from(["straight", "along", "height", "narrowest"]), st.sampled_from(every)
    measure = st.builds(
        model.Measure, st.none(), st.sampled_from(pieces), how, point, point, SHARES, st.none(), st.none(),
        st.booleans(), NAMES | st.just(""), SHARES, TEXTS,
    )  # fmt: skip
    tolerances = draw(figures(0, 9)), draw(figures(0, 9))
    balance = st.just("") | st.just(values[0])
    return Block(
        name=draw(WORDS),
        groups=draw(named(0, 2)),
        drawn_from=draw(st.sampled_from([INSIDE, OUTSIDE])),
        marked_on=draw(st.sampled_from([INSIDE, OUTSIDE])),
        compressed_pile=draw(figures(0, 9)),
        leather=draw(figures(0, 9)),
        date=draw(st.dates(date(2000, 1, 1)).map(str) | st.just("")),
        notes=draw(TEXTS),
        values=tuple(
            model.Value(name, kind, mm, draw(st.just(mm) | PLACES), draw(PLACES), draw(PLACES), draw(TEXTS))
            for name, mm, kind in zip(values, drafted, kinds_of_value, strict=True)
        ),
        pieces=tuple(
            model.Piece(
                piece,
                False,
                draw(st.integers(0, 9)),
                draw(st.integers(0, 9)),
                draw(TEXTS),
                draw(st.sampled_from(["", *PILE_RUNS])),
                draw(st.sampled_from(["", *STRETCHES])),
                draw(st.sampled_from(["", *every])),
                draw(TEXTS),
            )
            for piece in pieces
        ),
        moves=tuple(
            model.Move(
                name,
                tuple(
                    model.Share(value, draw(SHARES), draw(SHARES))
                    for value in draw(st.sampled_from([values, values[:1]]))
                ),
            )
            for name in moves
        ),
        points=tuple(
            model.Point(piece, name, x, y, draw(st.booleans()), draw(st.sampled_from([(), moves])), draw(TEXTS))
            for piece in pieces
            for name, (x, y) in zip(every, places, strict=True)
        ),
        edges=tuple(edges),
        seam_types=tuple(
            model.SeamType(name, draw(figures(0, 20)), draw(TEXTS), draw(TEXTS), draw(TEXTS)) for name in kinds
        ),
        seams=tuple(
            model.Seam(
                name,
                draw(side),
                draw(side),
                draw(eases(values)),
                draw(eases(values)),
                draw(eases(values)),
                draw(balance),
                draw(st.integers(0, 40)),
                draw(st.integers(1, 5)),
                draw(figures(0, 1).filter(lambda share: share < 1)),
            )
            for name in seams
        ),
        marks=tuple(
            model.Mark(
                draw(st.sampled_from(pieces)), name, "notch", ", ".join(draw(st.permutations(every))), draw(TEXTS)
            )
            for name in draw(words)
        ),
        measures=tuple(
            replace(
                draw(measure),
                name=name,
                **draw(st.sampled_from([{}, {"tolerance_minus": tolerances[0], "tolerance_plus": tolerances[1]}])),
            )
            for name in draw(words)
        ),
        limits=tuple(replace(draw(limit), name=name) for name in draw(words)),
        making=tuple(
            model.Step(name, draw(WORDS), *(draw(TEXTS) for _ in range(4)), draw(st.sampled_from(["", *shown])))
            for name in draw(words)
        ),
        work=tuple(model.Instruction(name, draw(WORDS)) for name in draw(words)),
    )


@settings(phases=(Phase.explicit, Phase.reuse, Phase.generate))  # a block takes minutes to shrink
@given(blocks())
def test_blocks_are_read_back_the_same(block):
    assert read_back(block_workbook(block), read_block) == block


RINGS = st.sampled_from(
    [((0.0, 0.0), (700.5, 10.0), (690.0, 900.25)), ((1.0, 2.0), (3.0, 2.0), (3.0, 9.0), (1.0, 9.0))]
)


@st.composite
def stock_tables(draw):
    groups, money = draw(named(1, 3)), figures(0, 500)
    day = st.none() | st.dates(date(2000, 1, 1), date(2199, 1, 1))
    count = st.integers(0, 1000)
    skins = []
    for name in draw(named(1, 3)):
        unit = draw(st.sampled_from(["sq ft", "sq m", "sq dm"]))
        area = draw(st.none() | figures(1, 90))
        outline = draw(st.just(()) | RINGS)
        skins.append(
            batch.SkinKind(
                name,
                1,
                draw(LENGTHS),
                draw(LENGTHS),
                None if area is None else float(Fraction(repr(area)) * MM2_PER[unit]),
                draw(figures(0, 1).map(lambda part: part * 0 if part > 0.9 else part)),
                draw(money),
                draw(st.none() | st.sampled_from([float(mm2) for mm2 in MM2_PER.values()])),
                draw(st.booleans()),
                outline,
                (draw(RINGS),) if outline else (),
                (draw(RINGS),) if outline and draw(st.booleans()) else (),
                (draw(RINGS),) if outline and draw(st.booleans()) else (),
                unit,
            )
        )
    return batch.StockTable(
        terms=batch.Terms(
            draw(count), draw(count), draw(NAMES), draw(NAMES), draw(figures(0, 20)), draw(figures(0, 20)),
            draw(figures(0, 20)), draw(figures(0, 5)), draw(count), draw(st.integers(1, 99)), draw(day), draw(day),
            draw(WORDS), draw(money),
        ),
        customers=tuple(
            batch.Customers(
                group, draw(figures(1, 9)), draw(st.none() | LENGTHS), draw(LENGTHS), draw(st.none() | LENGTHS),
                draw(LENGTHS), draw(figures(-1, 1).map(lambda part: part * 0.5)), draw(TEXTS),
            )
            for group in groups
        ),
        sold=tuple(batch.Sold(group, draw(NAMES), draw(count)) for group in groups),
        skins=tuple(skins),
        work=tuple(batch.Work(group, "", draw(money), draw(money), draw(st.none() | money)) for group in ("", *groups)),
        outworkers=tuple(batch.Outworker(name, draw(st.integers(1, 99))) for name in draw(named(1, 3))),
        selling=tuple(batch.SellingPrice(group, "", draw(money)) for group in ("", *groups)),
    )  # fmt: skip


@given(stock_tables())
def test_stock_tables_are_read_back_the_same(table):
    assert read_back(stock_table_workbook(table), read_stock) == table


@pytest.mark.parametrize(
    "sheet", [SIZE_GROUP, HAND, TRACED, *BLOCK_SHEETS, *STOCK_SHEETS], ids=lambda sheet: sheet.name
)
def test_every_field_of_a_sheets_value_is_filled_by_one_column(sheet):
    columns = sheet.fields or (*sheet.columns, *([sheet.others] if sheet.others else []))
    filled = [column.fills for column in columns if column.fills]
    assert len(set(filled)) == len(filled)
    whole = {name.split(".")[0] for name in filled}
    known = {name for name in sheet.of.__dataclass_fields__ if not name.endswith("place")}
    assert whole <= known
    if sheet.name == "Block":
        known -= {other.fills for other in BLOCK_SHEETS}
    assert known - whole == ({"outline", "flaws", "poor", "scratched", "taken"} if sheet.name == "Skins" else set())


@pytest.mark.parametrize("kind", [kind for kind in Cells if kind.is_length])
def test_a_length_is_spelled_as_it_was_typed(kind):
    for unit, typed in (("in", "8.41"), ("cm", "21.123456789012"), ("in", "0.123456789012345")):
        column = Column("Length", kind, "As typed.")
        assert column.spell(column.parse(typed, unit), unit) == float(Decimal(typed))
