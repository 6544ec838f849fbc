"""The cover: which run this is, what it was made from, what to beware of, and where to find what."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from grading.engine.run import SizeRun
from grading.findings import Finding, tally
from grading.outputs.wording import CAUTIONS
from grading.units import UNIT_WORDS, with_decimal
from grading.workbooks.book import BookSheet, Heading, Link, Look

__all__ = ["fill_cover", "made_from", "write_cover"]

_UNITS = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}

#: What each sheet is for, by its name.
_PURPOSES = {
    "Body sizes": "The hands that the sizes are made for, and how to measure one.",
    "Finished measures": "What the finished mitten measures, and how far it may be off.",
    "Grade increments": "How much each measure grows from size to size.",
    "Grade audit": "Where the grade is uneven, and where tolerances meet.",
    "Seams": "How long both sides of every seam are, and how much is eased in.",
    "Cut list": "How many of which piece to cut, and the allowance of each edge.",
    "Glove sizes": "The nearest published glove size beside each size.",
    "Order of making": "The steps, and what else to know before the first of them.",
    "Cut pieces": "How long and wide each piece is on its cut line and its sew line.",
    "Materials": "What to have at hand, and ease, fold-backs and other allowances.",
    "Glossary": "What the words of the trade mean.",
    "Findings": "What was noticed, and what to do about it.",
}


#: What the sheet of a size is for.
_SIZE = "All that this size takes, on two pages to hand out."


def write_cover(
    sheet: BookSheet,
    run: SizeRun,
    *,
    run_id: str,
    inputs: Collection[str],
    findings: Iterable[Finding],
    unit: str,
    listed: Sequence[str],
) -> None:
    """Fill the sheet; ``listed`` are the names of the sheets that follow."""
    block = run.block
    sheet.title(f"{block.name}, {run.group}")
    sheet.note("Spec sheets of one size run. Every sheet and every printed pattern of this run carries its number.")
    lining = f"lining {_length(block.lining, unit)}, " if block.lining else ""
    facts = {
        "Style": block.name,
        "Size group": run.group,
        "Sizes": ", ".join(run.sizes),
        "Base size": "none of these: the block was drafted for another hand"
        if run.base is None
        else run.sizes[run.base],
        "Run": run_id,
        "Made from": made_from(inputs),
        "Date": block.date,
        "Drawn from, marked on": f"block drawn from the {block.drawn_from}; skins marked on the {block.marked_on}",
        "Drawings show": str(block.shown),
        "Material": f"compressed pile {_length(block.compressed_pile, unit)}, leather {_length(block.leather, unit)}, "
        f"{lining}which take up {_length(block.material_takes, unit)} of the round",
        "Shown in": _UNITS[unit],
        "Findings": tally(findings) or "none",
        "Notes": block.notes,
    }
    purposes = {name: _PURPOSES.get(name, _SIZE) for name in listed}
    fill_cover(sheet, "This run", facts, purposes, widths=(26, 73))


def fill_cover(
    sheet: BookSheet, this: str, facts: Mapping[str, str], purposes: Mapping[str, str], widths: tuple[float, float]
) -> None:
    """What is known of ``this`` run or batch, what each of the other sheets is for, and every caution.

    Facts that are blank are left out; ``widths`` (characters) are those of both columns.
    """
    what, told = widths
    known = [[name, text] for name, text in facts.items() if text]
    sheet.table([Heading(this, width=what), Heading("", width=told)], known)
    sheet.gap()
    sheet.table(
        [Heading("Sheet"), Heading("What it is for")], [[Link(name, name), use] for name, use in purposes.items()]
    )
    sheet.gap()
    sheet.line(["Cautions", ""], Look.HEADING)
    for caution in CAUTIONS:
        sheet.note(caution)


def made_from(inputs: Collection[str]) -> str:
    """What a run or a batch was made from, by the names of its tables."""
    return f"{', '.join(inputs)}; the sums of these files stand in run.json" if inputs else ""


def _length(mm: float, unit: str) -> str:
    return f"{with_decimal(mm, unit)} {UNIT_WORDS[unit]}"
