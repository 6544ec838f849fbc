"""What the sheet of one size says, whoever writes it: drawings, and parts of rows below them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import count
from string import ascii_uppercase
from typing import Any

from grading.drawing.marks import Drawing
from grading.engine.run import SizeRun
from grading.model.block import Block, Measure
from grading.model.hands import EITHER
from grading.model.making import Step
from grading.model.names import name_key
from grading.outputs.finished import fitting
from grading.outputs.sketch import sketch
from grading.outputs.steps import step_drawings
from grading.outputs.wording import hands_told
from grading.readings.targets import Target, targets
from grading.units import DECIMALS, MM_PER, UNIT_WORDS, as_shown, said_in, show

__all__ = ["LOWER", "PICTURE", "Section", "SizeRow", "SizeSheet", "decimals", "letters", "shown_figure", "size_sheets"]

#: Width and height of a sheet's picture, mm on A4, and how much of its width is the finished piece's.
PICTURE, FINISHED = (194.0, 71.0), 44.0
#: The heights that are tried where there is less room, and the one on a sheet of a workbook in inches.
LESS_HIGH, LOWER = (68.0, 65.0, 62.0, 59.0, 56.0, 53.0), 56.0
#: Letters that are taken for figures or for one another.
_UNCLEAR = "IOQ"


@dataclass(frozen=True, slots=True)
class SizeRow:
    """A line of a part: a letter or number, what it is about, up to three figures, and words.

    Whole numbers are counts; others are in the unit shown, inches to sixteenths. ``below`` stands in small letters
    below each of them.
    """

    mark: str
    name: str
    figures: tuple[float | int | None, ...]
    text: str
    below: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """Rows of one kind under six headings: those of the mark, the name, three figures and the words."""

    headings: tuple[str, str, str, str, str, str]
    rows: tuple[SizeRow, ...]
    name: str = ""


@dataclass(frozen=True, eq=False)
class SizeSheet:
    """The sheet of one size; ``in_words`` stands for its picture to those who cannot see it.

    ``picture`` draws it in a frame of ``PICTURE``'s width and of a height, mm. ``steps`` are those of making, each
    with its drawing, if it has one.
    """

    size: str
    title: str
    facts: str
    picture: Callable[[float], Drawing]
    in_words: str
    measures: Section
    cut: Section
    allowances: Section
    materials: Section
    making: Section
    work: Section
    steps: tuple[tuple[Step, Drawing | None], ...] = ()

    @property
    def parts(self) -> tuple[Section, ...]:
        """The parts that have something to say, in order."""
        every = (self.measures, self.cut, self.allowances, self.materials, self.making, self.work)
        return tuple(part for part in every if part.rows)


def shown_figure(value: float | int, unit: str) -> str:
    """A figure of a row as it is printed: a count, or in ``unit`` with the decimals of that unit."""
    if isinstance(value, int):
        return str(value)
    return show(value * float(MM_PER[unit]), unit) if unit == "in" else f"{value:.{DECIMALS[unit]}f}"


def decimals(asked: Iterable[Target], unit: str) -> str:
    """What stands before the words of a measure that is shown in inches: its figures as decimals."""
    return f"({', '.join(f'{target.drawn / float(MM_PER[unit]):.2f}' for target in asked)}) " if unit == "in" else ""


def letters(block: Block, measures: Sequence[Measure]) -> tuple[str, ...]:
    """A letter for each measure, none of them a point's, so that 'A' is either a place to sew by or a measure.

    One of a lining has none: its pieces are not drawn, since it is measured like what it lies in.
    """
    inside = {piece.name for piece in block.pieces if piece.lining}
    taken = {name_key(name) for name in (*(point.name for point in block.points), *_UNCLEAR)}
    every = (f"{letter}{again or ''}" for again in count() for letter in ascii_uppercase)
    free = (letter for letter in every if name_key(letter[0]) not in taken)
    return tuple("" if measure.piece in inside else next(free) for measure in measures)


@lru_cache(maxsize=1)  # a run's workbook and its cards are made one after the other
def size_sheets(run: SizeRun, *, run_id: str, unit: str) -> tuple[SizeSheet, ...]:
    """The sheet of every size, figures in ``unit``."""
    block = run.block
    # What is cut and how it is sewn is the same in every size.
    same = (_cut_list(block), _allowances(block, unit), _materials(block), _making(block), _work(block))
    cut, allowances, materials, making, work = (_said_in(unit, section) for section in same)
    told = (_step_said_in(unit, step) for step in block.making)
    steps = tuple(zip(told, step_drawings(run, len(run.sizes) // 2), strict=True))
    sheets = []
    for size, (name, asked) in enumerate(zip(run.sizes, targets(run, unit), strict=True)):
        named = letters(block, [target.measure for target in asked])
        lettered = [(f"{letter} {target.figure}", target.measure) for letter, target in zip(named, asked, strict=True)]
        sizes = hands_told(block) if len(run.sizes) == 1 else f"size {name} of {', '.join(run.sizes)}"
        facts = (sizes, f"figures in {UNIT_WORDS[unit]}", f"run {run_id}", block.date)
        sheet = SizeSheet(
            size=name,
            title=_title(run, name),
            facts=" · ".join(fact for fact in facts if fact),
            picture=lru_cache(partial(_picture, run, size, tuple(lettered))),
            in_words=_in_words(run, name, named, asked, unit),
            measures=_said_in(unit, _measures(named, asked, unit)),
            cut=cut,
            allowances=allowances,
            materials=materials,
            making=making,
            work=work,
            steps=steps,
        )
        sheets.append(sheet)
    return tuple(sheets)


def _title(run: SizeRun, size: str) -> str:
    """What the sheet is of; made for one hand it is that hand's, and of no size."""
    block = run.block
    if len(run.sizes) > 1:
        return f"{block.name} · {run.group} · size {size}"
    hand = hands_told(block).removeprefix("the ")
    return " · ".join([block.name, *([run.group] if run.group.endswith(hand) else [run.group, hand])])


def _picture(run: SizeRun, size: int, lettered: Sequence[tuple[str, Measure]], height: float) -> Drawing:
    """The flat pieces with their measures, and beside them the finished piece of the same hand."""
    width, _ = PICTURE
    flat = sketch(run, size, lettered, width - FINISHED - 4, height)
    whole = fitting(run, size, run.block.shown.hand, FINISHED, height - 1)
    return flat + whole.moved(width - FINISHED / 2 - whole.box.centre[0], height - 0.4 - whole.box.top)


def _said_in(unit: str, section: Section) -> Section:
    rows = tuple(replace(row, name=said_in(unit, row.name), text=said_in(unit, row.text)) for row in section.rows)
    return replace(section, rows=rows)


def _step_said_in(unit: str, step: Step) -> Step:
    fields = ("what_to_do", "stitch", "needle", "thread", "note")
    texts: dict[str, Any] = {name: said_in(unit, getattr(step, name)) for name in fields}
    return replace(step, **texts)


def _measures(named: Sequence[str], asked: Sequence[Target], unit: str) -> Section:
    rows = []
    for letter, target in zip(named, asked, strict=True):
        words = decimals([target], unit) + target.measure.how_to_measure
        rows.append(SizeRow(letter, target.measure.name, target.bounds, words))
    words = f"How to measure; figures in {UNIT_WORDS[unit]}. It passes from least to most, both included."
    headings = ("Letter", "Finished measure", "least", "right", "most", words)
    return Section(headings, tuple(rows), "Measures")


def _cut_list(block: Block) -> Section:
    rows = []
    for piece in block.pieces:
        pile = f"pile {piece.pile_arrow}" if piece.pile_arrow else ""
        (hand, count), *_ = block.cut_for(piece) or (("", 0),)
        either = f"cut {count}, either hand" if hand == EITHER else ""
        text = "; ".join(part for part in (either, piece.material, pile, piece.note) if part)
        rows.append(SizeRow("", piece.name, () if either else (piece.cut_left, piece.cut_right), text))
    apart = block.shown.hand != EITHER
    mirrored = ", left mirrors right" if len(block.hands) > 1 and apart else ""
    left, right = ("left", "right") if apart else ("", "")
    headings = ("", f"Cut for {hands_told(block)}", left, right, "", f"From what: single layer{mirrored}")
    return Section(headings, tuple(rows))


def _allowances(block: Block, unit: str) -> Section:
    """A row for every seam type, with the edges of each piece that are sewn so."""
    edges: dict[str, dict[str, list[str]]] = {}
    for edge in block.edges:
        edges.setdefault(edge.seam_type, {}).setdefault(edge.piece, []).append(edge.name)
    rows = []
    for name, named in edges.items():
        seam_type = block.seam_type(name)
        stitch = "" if name_key(seam_type.stitch) == "none" else seam_type.stitch
        sewn = "; ".join(part for part in (stitch, seam_type.note, seam_type.needle) if part)
        allowed = seam_type.allowance
        allowance = (float(as_shown(allowed, unit) / MM_PER[unit]),) if allowed else ()
        where = "; ".join(f"{piece} {', '.join(names)}" for piece, names in named.items())
        rows.append(
            SizeRow("", name, allowance, f"{'' if allowance else 'none, as cut: '}{where}{' · ' if sewn else ''}{sewn}")
        )
    return Section(("", "Seam allowance", UNIT_WORDS[unit], "", "", "On which edges, and the stitch"), tuple(rows))


def _materials(block: Block) -> Section:
    """What to work with, as pieces and steps name it."""
    named = {
        "Material": (piece.material for piece in block.pieces),
        "Needle": (step.needle for step in block.making),
        "Thread": (step.thread for step in block.making),
    }
    told = [(topic, "; ".join(dict.fromkeys(text for text in texts if text))) for topic, texts in named.items()]
    rows = tuple(SizeRow("", topic, (), text) for topic, text in told if text)
    return Section(("", "Work with", "", "", "", "What"), rows)


def _making(block: Block) -> Section:
    alike = len({(step.needle, step.thread) for step in block.making}) == 1
    rows = []
    for step in block.making:
        tools = () if alike else (step.needle, step.thread)
        rows.append(SizeRow(step.name, step.stitch, (), " ".join(_sentences(step.what_to_do, step.note, *tools))))
    return Section(("Step", "Making", "", "", "", "What to do, in this order"), tuple(rows))


def _work(block: Block) -> Section:
    """Everything that the block says besides."""
    rows = tuple(SizeRow("", one.topic, (), one.text) for one in block.house_rules)
    return Section(("", "House rules", "", "", "", "What holds"), rows)


def _sentences(*texts: str) -> list[str]:
    return [text if text.endswith((".", "!", "?")) else f"{text}." for text in texts if text]


def _in_words(run: SizeRun, size: str, named: Sequence[str], asked: Sequence[Target], unit: str) -> str:
    """The drawing in words: each piece, and what is measured where."""
    told = []
    for piece in run.pieces:
        measures = [
            f"{letter} {target.measure.name} {target.figure}"
            for letter, target in zip(named, asked, strict=True)
            if target.measure.piece == piece
        ]
        told.append(f"{piece} with {', '.join(measures) or 'no points of measure'}")
    what = f"Outlines of size {size}, not to scale, with arrows at the points of measure in {UNIT_WORDS[unit]}"
    return f"{what}: {'; '.join(told)}."
