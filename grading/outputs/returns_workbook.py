"""The workbook of returned check sheets: failures by size and measure, each maker's hand, every reading."""

from __future__ import annotations

import math
from collections.abc import Sequence

from grading.model.stock import StockTable
from grading.outputs.returns_words import pair_told
from grading.outputs.spec.auditing import findings_sheet
from grading.outputs.spec.figures import in_unit
from grading.outputs.wording import CAUTIONS
from grading.readings.returns import (
    LEAST_LEAN,
    LEAST_READINGS,
    SURE,
    Holding,
    Judgement,
    PairVerdict,
    Returned,
    Sample,
    Verdict,
    pairs_by_maker,
)
from grading.units import DECIMALS, UNIT_WORDS
from grading.workbooks.book import Book, Content, Heading, Look, Styled

__all__ = ["returns_workbook"]

_COUNTS = [Heading(word, Look.COUNT, 10) for word in ("readings", *(str(word) for word in Verdict))]
_HOW_SURE = (
    f"Mean deviation: how much longer (+) or shorter (−) than the figure, over all readings that could be judged. "
    f"The true mean lies within ± of it, {SURE:.0%} sure (Student's t at that count, readings taken as independent; "
    f"with many rows, one in twenty will look uneven by chance). 'short' or 'long': sure of that, by over "
    f"{LEAST_LEAN} mm, and from {LEAST_READINGS} readings on."
)


def returns_workbook(returned: Returned, unit: str, stock: StockTable | None = None) -> bytes:
    """What came back, as a file, figures in ``unit``; what good pairs pay as the stock table says."""
    book = Book("Returned check sheets", decimals=DECIMALS[unit], read=True)
    _pairs(book, returned.judgement, unit, stock)
    _by_measure(book, returned.judgement, unit)
    _by_size(book, returned.judgement, unit)
    _by_maker(book, returned.judgement, unit)
    _sheets(book, returned)
    _readings(book, returned.judgement, unit)
    findings_sheet(book, [*returned.findings, *book.findings])
    return book.to_bytes()


def _pairs(book: Book, judgement: Judgement, unit: str, stock: StockTable | None) -> None:
    sheet = book.sheet("Pairs", landscape=True)
    sheet.title("Returned pairs")
    paid = [Heading(f"pay, {stock.terms.currency}", Look.NUMBER)] if stock else []
    columns = [
        Heading("Maker"),
        Heading("pairs", Look.COUNT, 11),
        *(Heading(str(word), Look.COUNT, 11) for word in PairVerdict),
    ]
    counted: list[list[Content]] = [
        [one.name, sum(one.counts.values()), *one.counts.values(), *([one.pay] if stock else [])]
        for one in pairs_by_maker(judgement, stock)
    ]
    sheet.table([*columns, *paid], counted, name="Pairs by maker")
    sheet.gap()
    sheet.note(
        "good: both mittens within every tolerance, and alike. to mend: a mitten is outside a tolerance; measure again "
        "when it is mended. not a pair: in some measure both are right, but differ by more than 'Pair within' of the "
        "block's sheet Measures allows, or by over the mean of the two tolerances where that is blank: see whether "
        "other mittens of the size match. Only good pairs are counted in the pay."
    )
    sheet.gap()
    headings = [Heading(name) for name in ("File", "Sheet", "Maker", "Group", "Size")]
    rows: list[list[Content]] = []
    for pair in judgement.pairs:
        of, good = pair.sheet, pair.verdict is PairVerdict.GOOD
        where: list[Content] = [of.place.workbook, of.place.sheet, of.name, of.group, of.size, pair.pair]
        rows.append([*where, Styled.flagged(str(pair.verdict), not good), pair_told(pair, unit)])
    sheet.table(
        [*headings, Heading("Pair", Look.COUNT), Heading("Verdict"), Heading("Why", width=90)], rows, name="Pairs"
    )


def _by_measure(book: Book, judgement: Judgement, unit: str) -> None:
    sheet = book.sheet("By measure", landscape=True)
    sheet.title(f"Returned work by measure, {UNIT_WORDS[unit]}")
    columns = [Heading("Measure"), *_COUNTS, *_deviation(unit), Heading("leans"), Heading("tolerance")]
    rows = [
        [
            measure,
            *_counts(sample),
            *_mean(sample, unit),
            Styled.flagged(sample.leans, bool(sample.leans)),
            Styled.flagged(str(holding), holding in (Holding.DOUBTFUL, Holding.FAILS)),
        ]
        for measure, (sample, holding) in judgement.measures.items()
    ]
    sheet.table(columns, rows, name="By measure")
    sheet.gap()
    sheet.note(_HOW_SURE)
    sheet.note(
        "Tolerance: whether 95 % of work as uneven as each maker's own would stay within it if every mean were "
        "right (normal distribution). 'may not hold': by the spread found it would not; 'cannot hold': nor by the "
        "least spread that one can be 95 % sure of at that count (chi square). Such a tolerance has to be wider, or "
        "the way of making another; a mean that is off is a matter of telling whoever sews."
    )
    sheet.gap()
    sheet.line(["Cautions"], Look.HEADING)
    for caution in CAUTIONS:
        sheet.note(caution)


def _by_size(book: Book, judgement: Judgement, unit: str) -> None:
    sheet = book.sheet("By size", landscape=True, frozen_columns=3)
    sheet.title(f"Returned work by size and measure, {UNIT_WORDS[unit]}")
    columns = [Heading("Group"), Heading("Size"), Heading("Measure"), *_COUNTS, *_deviation(unit)]
    rows: list[list[Content]] = [
        [group, size, measure, *_counts(sample), *_mean(sample, unit)]
        for (group, size, measure), sample in judgement.sizes.items()
    ]
    sheet.table(columns, rows, name="By size")


def _by_maker(book: Book, judgement: Judgement, unit: str) -> None:
    sheet = book.sheet("By maker", landscape=True, frozen_columns=2)
    sheet.title(f"Returned work by maker and measure, {UNIT_WORDS[unit]}")
    sheet.note("All sizes together, so that a hand that always runs short or long shows.")
    columns = [Heading("Maker"), Heading("Measure"), *_COUNTS, *_deviation(unit), Heading("leans")]
    rows: list[list[Content]] = [
        [maker, measure, *_counts(sample), *_mean(sample, unit), Styled.flagged(sample.leans, bool(sample.leans))]
        for (maker, measure), sample in judgement.makers.items()
    ]
    sheet.table(columns, rows, name="By maker")
    sheet.gap()
    sheet.note(_HOW_SURE)


def _sheets(book: Book, returned: Returned) -> None:
    sheet = book.sheet("Sheets", landscape=True)
    sheet.title("Check sheets counted")
    headings = ("File", "Sheet", "Run", "Group", "Size", "Maker", "Date", "Remarks")
    rows = [
        [one.place.workbook, one.place.sheet, one.run_id, one.group, one.size, one.name, one.date, one.remarks]
        for one in returned.sheets
    ]
    sheet.table([Heading(heading) for heading in headings], rows, name="Sheets")


def _readings(book: Book, judgement: Judgement, unit: str) -> None:
    sheet = book.sheet("Readings", landscape=True)
    sheet.title(f"Every reading, {UNIT_WORDS[unit]}")
    columns = [Heading(heading) for heading in ("File", "Sheet", "Cell", "Maker", "Group", "Size", "Measure")]
    columns += [
        Heading("Pair", Look.COUNT),
        Heading("Hand"),
        Heading("As typed"),
        Heading(f"reading, {UNIT_WORDS[unit]}", Look.NUMBER),
    ]
    columns += [Heading("figure", Look.NUMBER), Heading("deviation", Look.SIGNED), Heading("Verdict")]
    rows: list[list[Content]] = []
    for one in judgement.readings:
        place, reading = one.reading.place, one.reading
        figure = None if one.target is None else one.target.figure
        lengths = [None if mm is None else float(in_unit(mm, unit)) for mm in (reading.mm, figure, one.deviation)]
        whose = [place.workbook, place.sheet, place.cell, one.sheet.name, one.sheet.group, one.sheet.size]
        mitten: list[Content] = [reading.measure, reading.pair, reading.hand, reading.typed]
        rows.append([*whose, *mitten, *lengths, Styled.flagged(str(one.verdict), one.verdict is not Verdict.PASS)])
    sheet.table(columns, rows, name="Readings")


def _deviation(unit: str) -> list[Heading]:
    return [
        Heading(f"mean deviation, {UNIT_WORDS[unit]}", Look.FINE),
        Heading("±", Look.NUMBER),
        Heading("spread", Look.NUMBER),
    ]


def _counts(sample: Sample) -> list[Content]:
    counts: Sequence[int] = (sample.passed, sample.short, sample.long, sample.to_check)
    return [sum(counts), *counts]


def _mean(sample: Sample, unit: str) -> list[Content]:
    lengths = (sample.mean, sample.within, sample.spread)
    return [None if math.isnan(mm) else float(in_unit(mm, unit)) for mm in lengths]
