"""Returned work at a glance: a strip for each measure with its tolerance and every reading, and a sentence each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from statistics import fmean

import numpy as np

from grading.drawing.composing import on_sheets
from grading.drawing.fonts import ASCENT, text_width
from grading.drawing.marks import Align, Dot, Drawing, Mark, Role, Text, line, paragraph
from grading.drawing.pages import TitleBlock, frames, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.drawing.system import LARGE, SMALL
from grading.readings.returns import LEAST_READINGS, Holding, Judged, Judgement, Sample, pairs_by_maker
from grading.units import UNIT_WORDS, show

__all__ = ["makers_told", "measure_told", "pairs_told", "returned_page", "strips"]

#: The columns of a strip, mm: the name of the measure with its sentence, and the strip itself.
NAMES, LONG = 78.0, 106.0
#: How far apart the readings of two makers stand, and strips from one another, mm.
LEVEL, APART = 3.2, 2.6
#: Half a sign's width, mm, and the signs besides full dot and circle: whether their lines are closed, and those.
_SIGN = 0.9
_SIGNS: tuple[tuple[bool, tuple[tuple[tuple[float, float], ...], ...]], ...] = (
    (True, (((-1, -1), (1, -1), (1, 1), (-1, 1)),)),
    (True, (((-1, -1), (1, -1), (0, 1)),)),
    (False, (((-1, -1), (1, 1)), ((-1, 1), (1, -1)))),
    (True, (((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)),)),
    (False, (((-1.3, 0), (1.3, 0)), ((0, -1.3), (0, 1.3)))),
    (True, (((-1, 1), (1, 1), (0, -1)),)),
    (True, (((-1, -1), (1, -1), (-1, 1), (1, 1)),)),
    (False, (((0, -1.3), (0, 1.3)),)),
    (True, (((-1, -1), (-1, 1), (1, 0)),)),
    (False, (((-1, 1), (0, -1), (1, 1)),)),
)
_WORDS = Text("", 0, 0, SMALL)
_HEAD = Text("", 0, 0, SMALL, bold=True)


def returned_page(judgement: Judgement, printing: Printing, unit: str) -> bytes:
    """What came back as a PDF file: a sentence for each maker, and a strip for each measure."""
    title = TitleBlock("returned work", "Check sheets", scale="")
    room = frames(printing, title)[0].area.height
    contents = []
    for page in _pages(judgement, unit, room):
        contents += on_sheets(page, printing, title)
    about = About("Returned check sheets", subject="Every reading against its tolerance", keywords=("mitten",))
    return pdf_bytes(numbered(contents), about)


def _pages(judgement: Judgement, unit: str, room: float) -> Iterator[Drawing]:
    page = paragraph(["Returned work"], 0, 0, NAMES + LONG, Text("", 0, 0, LARGE, bold=True))
    page += paragraph(
        [*makers_told(judgement, unit), *pairs_told(judgement)], 0, page.box.bottom - 1, NAMES + LONG, _WORDS
    )
    page += _key(judgement).moved(0, page.box.bottom - 3)
    for strip in strips(judgement, unit):
        if -page.box.bottom + strip.box.height + APART > room - 2:
            yield page
            page = _key(judgement)
        page += strip.moved(0, page.box.bottom - APART - strip.box.top)
    yield page


def makers_told(judgement: Judgement, unit: str) -> Iterator[str]:
    """A sentence for each maker: whose hand runs short or long, where, and by how much."""
    for maker, keys in groupby(judgement.makers, key=lambda key: key[0]):
        samples = {measure: judgement.makers[maker, measure] for _, measure in keys}
        judged = {name: sample for name, sample in samples.items() if sample.count >= LEAST_READINGS}
        said = []
        for way in ("short", "long"):
            leaning = {name: sample for name, sample in judged.items() if sample.leans == way}
            if leaning:
                everywhere = len(leaning) == len(judged) > 1
                far = f"{_mean_told([*leaning.values()], unit)} {way}"
                said.append(f"sews {far} everywhere" if everywhere else f"sews {', '.join(leaning)} {far}")
        if not judged:
            yield f"{maker}: too few readings to say how this hand runs."
        elif said:
            yield f"{maker} {' and '.join(said)}."
        else:
            yield f"{maker} runs neither short nor long."


def pairs_told(judgement: Judgement) -> Iterator[str]:
    """A sentence for each maker: how many pairs came to what."""
    for one in pairs_by_maker(judgement, None):
        counts = [f"{count} {verdict}" for verdict, count in one.counts.items() if count]
        yield f"Pairs of {one.name}: {', '.join(counts)}."


def _mean_told(samples: Sequence[Sample], unit: str) -> str:
    """How far off these are on average, without a sign."""
    return f"{show(round(abs(fmean(sample.mean for sample in samples)), 1), unit)} {UNIT_WORDS[unit]}"


def measure_told(sample: Sample, holding: Holding) -> str:
    """A sentence for a measure: how many readings pass, and what its spread says of the tolerance."""
    if not sample.count:
        return "no reading could be judged"
    off = [f"{count} {way}" for count, way in ((sample.short, "short"), (sample.long, "long")) if count]
    told = f"{', '.join(off)} of {sample.count}" if off else f"all {sample.count} pass"
    if sample.to_check:
        told += f", {sample.to_check} to check"
    if holding in (Holding.DOUBTFUL, Holding.FAILS):
        told += f"; work as uneven as this {holding} the tolerance"
    return told


def strips(judgement: Judgement, unit: str) -> Iterator[Drawing]:
    """For each measure its name and sentence, its narrowest tolerance as a band, and every reading by its maker."""
    makers = _makers(judgement)
    furthest = _furthest(judgement)
    for measure, (sample, holding) in judgement.measures.items():
        ones = [one for one in judgement.readings if one.reading.measure == measure and one.deviation is not None]
        words = paragraph([measure], 0, 0, NAMES - 4, _HEAD)
        words += paragraph([measure_told(sample, holding)], 0, words.box.bottom, NAMES - 4, _WORDS)
        yield words + Drawing(tuple(_strip(ones, makers, furthest, unit)))


def _makers(judgement: Judgement) -> list[str]:
    return list(dict.fromkeys(one.sheet.maker for one in judgement.readings))


def _furthest(judgement: Judgement) -> float:
    """How far the strips reach either side of what is asked, mm: a reading beyond stands at their end."""
    tolerances = [max(one.target.minus, one.target.plus) for one in judgement.readings if one.target]
    return 2.5 * max(tolerances, default=1.0)


def _strip(ones: Sequence[Judged], makers: Sequence[str], furthest: float, unit: str) -> Iterator[Mark]:
    half = LONG / 2 - 6
    middle, high = NAMES + LONG / 2, LEVEL * (len(makers) + 1)
    per_mm = half / furthest
    if ones:
        targets = [one.target for one in ones if one.target]
        left = middle - min(target.minus for target in targets) * per_mm
        right = middle + min(target.plus for target in targets) * per_mm
        yield line([(left, 0), (right, 0), (right, -high), (left, -high)], Role.SHADE, closed=True)
        yield line([(left, 0), (left, -high)], Role.RULE)
        yield line([(right, 0), (right, -high)], Role.RULE)
    yield line([(middle - half, -high), (middle + half, -high)], Role.RULE)
    yield line([(middle, 0), (middle, -high)], Role.MIRROR_LINE)
    for one in ones:
        assert one.deviation is not None
        number = makers.index(one.sheet.maker)
        at = float(np.clip(one.deviation, -furthest, furthest)) * per_mm
        yield from _symbol(number, middle + at, -LEVEL * (number + 1))
    base = -high - 0.6 - ASCENT * SMALL
    for way, sign, align in ((-1, "−", Align.LEFT), (1, "+", Align.RIGHT)):
        text = f"{sign}{show(furthest, unit)} {UNIT_WORDS[unit]}"
        yield Text(text, middle + way * half, base, SMALL, align=align)


def _symbol(number: int, x: float, y: float) -> Iterator[Mark]:
    """The sign of the maker of that number: twelve of them, which come again on a level of their own."""
    kind = number % (2 + len(_SIGNS))
    if kind < 2:
        yield Dot(x, y, Role.PIERCING if kind else Role.GRADE_POINT, _SIGN)
        return
    closed, lines = _SIGNS[kind - 2]
    for points in lines:
        yield line([(x + _SIGN * dx, y + _SIGN * dy) for dx, dy in points], Role.RULE, closed=closed)


def _key(judgement: Judgement) -> Drawing:
    """Whose sign is which, and what band and line are."""
    names = {one.sheet.maker: one.sheet.name or "no name given" for one in reversed(judgement.readings)}
    marks: list[Mark] = []
    x, y = 2.0, 0.0
    for number, maker in enumerate(_makers(judgement)):
        if x + 2.5 + text_width(names[maker], SMALL) > NAMES + LONG and x > 2.0:
            x, y = 2.0, y - 5.0
        text = Text(names[maker], x + 2.5, y - SMALL / 2, SMALL)
        marks += [*_symbol(number, x, y), text]
        x = text.box.right + 6
    told = "Grey: within the tolerance, the narrowest where sizes differ. Line: as asked. Left of it short, right long."
    low = y - 3.0
    return Drawing(tuple(marks)) + paragraph([told], 0, low, NAMES + LONG, _WORDS)
