"""What the sheet of one size says, whoever writes it: points of measure in a drawing, and parts of rows below it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import count
from string import ascii_uppercase

from grading.drawing.marks import Drawing
from grading.engine.run import SizeRun
from grading.model.block import Block, Measure
from grading.outputs.sketch import sketch
from grading.outputs.wording import hands_told
from grading.readings.targets import Target, targets
from grading.units import MM_PER

__all__ = ["PICTURE", "Part", "Row", "SizeSheet", "letters", "size_sheets"]

#: Width and height of a sheet's drawing, mm on A4.
PICTURE = (186.0, 78.0)


@dataclass(frozen=True, slots=True)
class Row:
    """A line of a part: a letter or number, what it is about, up to three figures, and words.

    Whole numbers are counts; others are in the unit shown.
    """

    mark: str
    name: str
    figures: tuple[float | int | None, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of one kind under six headings: those of the mark, the name, three figures and the words."""

    headings: tuple[str, str, str, str, str, str]
    rows: tuple[Row, ...]
    name: str = ""


@dataclass(frozen=True, eq=False)
class SizeSheet:
    """The sheet of one size; ``in_words`` stands for its drawing to those who cannot see it."""

    size: str
    title: str
    facts: str
    drawing: Drawing
    in_words: str
    parts: tuple[Part, ...]


def letters(block: Block, measures: Sequence[Measure]) -> tuple[str, ...]:
    """A letter for each measure, none of them a point's, so that 'A' is either a place to sew by or a measure."""
    taken = {point.name.casefold() for point in block.points}
    every = (f"{letter}{again or ''}" for again in count() for letter in ascii_uppercase)
    free = (letter for letter in every if letter.casefold() not in taken)
    return tuple(letter for _, letter in zip(measures, free, strict=False))


@lru_cache(maxsize=1)  # a run's workbook and its cards are made one after the other
def size_sheets(run: SizeRun, *, run_id: str, unit: str, date: str) -> tuple[SizeSheet, ...]:
    """The sheet of every size, figures in ``unit``."""
    return tuple(_size_sheets(run, run_id, unit, date))


def _size_sheets(run: SizeRun, run_id: str, unit: str, date: str) -> Iterator[SizeSheet]:
    block = run.block
    for size, asked in enumerate(targets(run, unit)):
        named = letters(block, [target.measure for target in asked])
        lettered = [(letter, target.measure) for letter, target in zip(named, asked, strict=True)]
        name = run.sizes[size]
        sizes = f"size {name} of {', '.join(run.sizes)}" if len(run.sizes) > 1 else hands_told(block)
        facts = f"{sizes} · figures in {unit} · run {run_id}"
        yield SizeSheet(
            name,
            f"{block.name} · {run.group} · size {name}",
            f"{facts} · {date}" if date else facts,
            sketch(run, size, lettered, *PICTURE),
            _in_words(run, name, named, asked, unit),
            (_measures(named, asked, unit), _cut_list(block), _allowances(block, unit), *_making(block), _work(block)),
        )


def _measures(named: Sequence[str], asked: Sequence[Target], unit: str) -> Part:
    rows = [
        Row(letter, target.measure.name, target.shown, target.measure.how_to_measure)
        for letter, target in zip(named, asked, strict=True)
    ]
    headings = ("Letter", "Finished measure", unit, "−", "+", "How to measure: it passes from − to +, both included")
    return Part(headings, tuple(rows), "Measures")


def _cut_list(block: Block) -> Part:
    rows = []
    for piece in block.pieces:
        pile = f"pile {piece.pile_arrow}" if piece.pile_arrow else ""
        text = "; ".join(part for part in (piece.material, pile, piece.note) if part)
        rows.append(Row("", piece.name, (piece.cut_left, piece.cut_right), text))
    mirrored = ", left mirrors right" if len(block.hands) > 1 else ""
    headings = ("", f"Cut for {hands_told(block)}", "left", "right", "", f"From what: single layer{mirrored}")
    return Part(headings, tuple(rows))


def _allowances(block: Block, unit: str) -> Part:
    """A row for every seam type of a piece, with its edges."""
    edges: dict[tuple[str, str], list[str]] = {}
    for edge in block.edges:
        edges.setdefault((edge.piece, edge.seam_type), []).append(edge.name)
    rows = []
    for (piece, name), named in edges.items():
        seam_type = block.seam_type(name)
        sewn = "; ".join(part for part in (seam_type.stitch, seam_type.note, seam_type.needle) if part)
        rows.append(
            Row("", f"{piece}, {name}", (seam_type.allowance / float(MM_PER[unit]),), f"{', '.join(named)}: {sewn}")
        )
    return Part(("", "Seam allowance", unit, "", "", "On which edges, and the stitch"), tuple(rows))


def _making(block: Block) -> Iterator[Part]:
    if not block.making:
        return
    alike = len({(step.needle, step.thread) for step in block.making}) == 1
    rows = []
    for step in block.making:
        tools = () if alike else (step.needle, step.thread)
        rows.append(Row(step.name, step.stitch, (), " ".join(_sentences(step.what_to_do, step.note, *tools))))
    yield Part(("Step", "Making", "", "", "", "What to do, in this order"), tuple(rows))


def _work(block: Block) -> Part:
    """What to work with, as the steps name it, and then everything the block says besides."""
    tools = {
        "Material": (piece.material for piece in block.pieces),
        "Needle": (step.needle for step in block.making),
        "Thread": (step.thread for step in block.making),
    }
    named = ((topic, "; ".join(dict.fromkeys(text for text in texts if text))) for topic, texts in tools.items())
    said = [*named, *((instruction.topic, instruction.text) for instruction in block.work)]
    rows = tuple(Row("", topic, (), text) for topic, text in said if text)
    return Part(("", "Also", "", "", "", "What holds"), rows)


def _sentences(*texts: str) -> list[str]:
    return [text if text.endswith((".", "!", "?")) else f"{text}." for text in texts if text]


def _in_words(run: SizeRun, size: str, named: Sequence[str], asked: Sequence[Target], unit: str) -> str:
    """The drawing in words: each piece, and what is measured where."""
    told = []
    for piece in run.pieces:
        measures = [
            f"{letter} {target.measure.name} {target.shown[0]:g}"
            for letter, target in zip(named, asked, strict=True)
            if target.measure.piece == piece
        ]
        told.append(f"{piece} with {', '.join(measures) or 'no points of measure'}")
    return f"Outlines of size {size}, not to scale, with arrows at the points of measure in {unit}: {'; '.join(told)}."
