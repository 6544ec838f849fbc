"""The sheets of work: how the pieces are put together, what it takes, and what the words mean."""

from __future__ import annotations

from grading.engine.run import SizeRun
from grading.model.block import Kind
from grading.outputs.spec.figures import length_cell, length_column
from grading.outputs.wording import GLOSSARY, hands_told
from grading.units import UNIT_WORDS, said_in
from grading.workbooks.book import Book, Content, Heading

__all__ = ["glossary", "materials", "order_of_making"]


def order_of_making(book: Book, run: SizeRun, unit: str) -> None:
    """The block's steps, and what else it tells whoever sews."""
    sheet = book.sheet("Order of making", landscape=True)
    sheet.title("Order of making")
    sheet.note("In this order, the same in every size. The sheet of each size repeats it beside that size's measures.")
    headings = [("Step", 18), ("What to do", 60), ("Stitch", 22), ("Needle", 22), ("Thread", 22), ("Note", 38)]
    texts = ([s.name, s.what_to_do, s.stitch, s.needle, s.thread, s.note] for s in run.block.making)
    rows = [[said_in(unit, text) for text in step] for step in texts]
    sheet.table([Heading(heading, width=width) for heading, width in headings], rows, name="Making")
    told = [[said_in(unit, one.topic), said_in(unit, one.text)] for one in run.block.house_rules]
    if told:
        sheet.gap()
        sheet.table([Heading("Topic"), Heading("What holds", span=len(headings) - 1)], told)


def materials(book: Book, run: SizeRun, unit: str) -> None:
    """What pieces are cut from and sewn with, and the allowances that are the same in all sizes."""
    sheet = book.sheet("Materials")
    sheet.title("Materials and allowances")
    sheet.note("What to have at hand. For how many pieces a number of pairs takes, see the sheet Cut list.")
    block = run.block
    needed = [
        *(
            ("cut from", one.material, f"{one.name}, {one.cut_left + one.cut_right} for {hands_told(block)}")
            for one in block.pieces
        ),
        *(("needle", step.needle, f"step {step.name}") for step in block.making),
        *(("needle", seam_type.needle, seam_type.name) for seam_type in block.seam_types),
        *(("thread", step.thread, f"step {step.name}") for step in block.making),
    ]
    where: dict[tuple[str, str], list[str]] = {}
    for kind, what, used in needed:
        if what:
            where.setdefault((kind, what), []).append(used)
    rows = [[kind, said_in(unit, what), "; ".join(used)] for (kind, what), used in where.items()]
    columns = [Heading("For", width=22), Heading("What", width=56), Heading("Where", width=20)]
    sheet.table(columns, rows, name="Materials")
    allowances: list[list[Content]] = [
        [value.name, value.note, length_cell(run.drivers[value.name][0], unit)]
        for value in block.values
        if value.kind is Kind.ALLOWANCE
    ]
    if allowances:
        sheet.gap()
        headings = [Heading("Allowance used"), Heading("The same in all sizes"), length_column(UNIT_WORDS[unit], unit)]
        sheet.table(headings, allowances, name="Allowances")


def glossary(book: Book) -> None:
    """The trade's words that stand on the other sheets."""
    sheet = book.sheet("Glossary", landscape=True)
    sheet.title("Glossary")
    sheet.table([Heading("Word"), Heading("What it means", width=100)], GLOSSARY, name="Glossary")
