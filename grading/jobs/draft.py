"""The job of 'grading draft': a base block of a measured hand or of a pattern's points, written, or put in use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from grading.drafting.base import Drafted, draft_base
from grading.drafting.drawn import DRAWINGS, read_drawing, strayed
from grading.drafting.style import STANDARD, Style
from grading.drafting.trace import trace
from grading.drafting.using import place_among
from grading.drawing.paper import Printing
from grading.findings import Finding, Findings, has_errors
from grading.model.measured import Hands, TracedPoint
from grading.outputs.construction import construction_sheet, traced_sheet
from grading.outputs.printable import unprintable_block
from grading.publish.fresh import write_fresh
from grading.publish.keeping import put_in_place
from grading.sheets.drawn import DrawnPattern
from grading.sheets.opening import open_tables
from grading.sheets.traced import read_traced
from grading.sheets.writing import block_workbook

__all__ = ["BlockTitle", "WrittenBlock", "draft_of_hand", "draft_of_points", "put_in_use", "write_block"]


@dataclass(frozen=True)
class BlockTitle:
    """What a drafted block says of itself: its name, the size groups that it is for, its date."""

    name: str
    groups: tuple[str, ...] = ()
    date: str = ""


@dataclass(frozen=True)
class WrittenBlock:
    """The files that were written, where each file that they replaced is ``kept``, and findings.

    If a finding is an error nothing was written.
    """

    files: tuple[Path, ...]
    findings: tuple[Finding, ...]
    kept: Mapping[Path, Path] = field(default_factory=dict)


def draft_of_hand(
    hands: Hands, allowances: Mapping[str, float], title: BlockTitle, style: Style = STANDARD
) -> tuple[Drafted | None, list[Finding]]:
    """The block for the larger of two hands, or None with the errors that stand in its way; ``allowances`` in mm."""
    return draft_base(hands, allowances, name=title.name, groups=title.groups, date=title.date, style=style)


def draft_of_points(
    paths: Sequence[Path], hands: Hands, allowances: Mapping[str, float], title: BlockTitle, unit: str
) -> tuple[Drafted | None, list[Finding]]:
    """As `draft_of_hand`, of the points in files: sheets, whose figures without a unit are in ``unit``, or drawings."""
    drawn: list[tuple[DrawnPattern, Path]] = []
    traced: list[TracedPoint] = []
    findings = Findings()
    for path in paths:
        if path.suffix.lower() in DRAWINGS:
            drawing, points, more = read_drawing(path)
            drawn.append((drawing, path))
            findings += more
        else:
            points = findings.gather(read_traced(findings.gather(open_tables(path)), unit))
        traced += points
    if has_errors(findings):
        return None, findings
    drafted = findings.gather(
        trace(tuple(traced), hands, name=title.name, groups=title.groups, date=title.date, layer=allowances)
    )
    if drafted is not None:
        findings += (finding for drawing, path in drawn for finding in strayed(drafted, drawing, path))
    return drafted, findings


def write_block(drafted: Drafted, out: Path, printing: Printing, unit: str, *, traced: bool) -> WrittenBlock:
    """Write the block as the workbook ``out``, and beside it the sheet that shows how it was drafted or ``traced``.

    Nothing is written over what is there, nor where the sheet lacks characters of a name.
    """
    if lacking := tuple(unprintable_block(drafted.block)):
        return WrittenBlock((), lacking)
    files = _files(drafted, out, printing, unit, traced)
    return WrittenBlock(tuple(files), tuple(write_fresh(files)))


def put_in_use(drafted: Drafted, sizes: Path, printing: Printing, unit: str, *, traced: bool) -> WrittenBlock:
    """Write the block beside the size tables, in place of the one that its groups have, which is kept beside it."""
    findings = Findings()
    place = findings.gather(place_among(sizes, drafted.block.groups))
    findings += unprintable_block(drafted.block)
    if place is None or has_errors(findings):
        return WrittenBlock((), tuple(findings))
    files = _files(drafted, place.path, printing, unit, traced)
    needless = [path for path in (*place.needless, place.path.with_suffix(".pdf")) if path not in files]
    kept = findings.gather(put_in_place(files, needless))
    return WrittenBlock(tuple(files), tuple(findings), kept)


def _files(drafted: Drafted, path: Path, printing: Printing, unit: str, traced: bool) -> dict[Path, bytes]:
    sheet_of = traced_sheet if traced else construction_sheet
    return {path: block_workbook(drafted.block), path.with_suffix(".pdf"): sheet_of(drafted, printing, unit=unit)}
