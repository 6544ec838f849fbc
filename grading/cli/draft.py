"""The command 'grading draft'."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from textwrap import wrap

import click

from grading.cli.measured import Words, hands_given, measured_hands
from grading.cli.telling import columns, end, line_width, say, stop, suggest, tell_findings
from grading.drafting.base import Drafted, allowances_from_words, draft_base
from grading.drafting.drawn import DRAWINGS, read_drawing, strayed
from grading.drafting.trace import trace
from grading.drafting.using import InUse, place_among
from grading.drafting.working import figure
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Finding, Place, Severity, has_errors
from grading.outputs.construction import construction_sheet, traced_sheet
from grading.publish.fresh import write_fresh
from grading.publish.keeping import put_in_place
from grading.sheets.drawn import Drawn
from grading.sheets.hands import Hands
from grading.sheets.opening import open_tables
from grading.sheets.traced import TracedPoint, read_traced
from grading.sheets.writing import block_workbook

__all__ = ["command"]

#: What is written where nothing else is said, and the tables among which a block is used.
_OUT, _SIZES = Path("drafted-block.xlsx"), Path("tables/sizes.xlsx")


@click.command("draft")
@measured_hands
@click.option(
    "--allowance",
    "allowances",
    multiple=True,
    type=(str, str),
    metavar="NAME FIGURE",
    help="An allowance to draft with instead of the usual one, as --allowance 'hand ease' '26 mm'.",
)
@click.option(
    "--from-points",
    "points",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Points of your own tuned pattern, read off grid paper (workbook or CSV) or drawn (.svg, .dxf): they are kept "
    "as they are. May be given for each piece's file.",
)
@click.option("--name", default="Mitten", show_default=True, help="What the style is called.")
@click.option(
    "--group",
    "groups",
    multiple=True,
    metavar="NAME",
    help="A size group that the block is for; may be given more than once. Without it, all.",
)
@click.option("--date", default="", help="The date of this version of the block.")
@click.option(
    "--paper",
    type=click.Choice(list(PAPERS), case_sensitive=False),
    default="a4",
    show_default=True,
    help="The paper of the construction sheet; on 'sheet' it is as large as the pattern.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    show_default=str(_OUT),
    help="The workbook to write; the construction sheet goes beside it, as a PDF file of that name.",
)
@click.option(
    "--use",
    is_flag=True,
    help="Put it into the folder tables, in place of the block that its groups have; that is kept beside it with its "
    "date. Needs --group.",
)
def command(
    sheet: Path | None,
    left: Words,
    right: Words,
    unit: str,
    allowances: Words,
    points: tuple[Path, ...],
    name: str,
    groups: tuple[str, ...],
    date: str,
    paper: str,
    out: Path | None,
    use: bool,
) -> None:
    """Draft a base block for one measured person, or take up the points of your own pattern.

    Measure both hands: the block is drafted for the larger. The working is printed line by line, to be checked
    with a ruler, and drawn on a construction sheet over a centimetre grid. Tune the block by editing its points,
    then type 'grading run --block' and its name; or have it used from now on, with --use. What is there already is
    never written over: a block whose place another takes is kept beside it.

    \b
    grading draft --measured hands.xlsx
    grading draft --measured hands.xlsx --right "fist girth" "20.4 cm" --allowance "hand ease" "26 mm"
    grading draft --measured hands.xlsx --from-points points.csv
    grading draft --measured hands.xlsx --group Women --use
    """
    if use and out is not None:
        raise click.UsageError("Give either --out or --use: with --use the block goes into the folder tables.")
    out = _OUT if out is None else out
    if out.suffix.lower() != ".xlsx":
        stop([_no_workbook(out)])
    hands, findings, _ = hands_given(sheet, left, right, unit)
    figures, found = allowances_from_words(allowances, unit)
    findings += found
    if has_errors(findings):
        stop(findings)
    if not points:
        drafted, found = draft_base(hands, figures, name=name, groups=groups, date=date)
    else:
        drafted, found = _traced(points, hands, figures, unit, name=name, groups=groups, date=date)
    findings += found
    if drafted is None or has_errors(findings):
        stop(findings)
    place = InUse(out)
    if use:
        used, found = place_among(_SIZES, groups)
        findings += found
        if used is None or has_errors(findings):
            stop(findings)
        place = used
    drawn = place.path.with_suffix(".pdf")
    files = {place.path: block_workbook(drafted.block)}
    sheet_of = traced_sheet if points else construction_sheet
    files[drawn] = sheet_of(drafted, Printing(PAPERS[paper]), unit=unit)
    kept: dict[Path, Path] = {}
    if use:
        kept, found = put_in_place(files, [path for path in (*place.needless, drawn) if path not in files])
        findings += found
    else:
        findings += write_fresh(files)
    if has_errors(findings):
        stop(findings)
    say(_told(drafted, unit))
    tell_findings(findings)
    say("\n".join(f"wrote {path}" for path in files))
    for old, new in kept.items():
        say(f"kept what was {old} as {new}")
    say("Grade your sizes from it:")
    of_groups = [word for group in groups for word in ("--group", group)]
    suggest("run", *of_groups, *(() if use else ("--block", str(out), "--out", "own")))
    end(findings)


def _no_workbook(out: Path) -> Finding:
    found = f"--out {out} is not the name of a workbook."
    expected = "A name that ends in .xlsx: the construction sheet takes the same one with .pdf."
    action = f"Give one, as --out {out.with_suffix('.xlsx') if out.name else 'drafted-block.xlsx'}."
    return Finding("not-a-workbook", Severity.ERROR, Place(), found, expected, action)


def _traced(
    paths: tuple[Path, ...],
    hands: Hands,
    layer: dict[str, float],
    unit: str,
    *,
    name: str,
    groups: tuple[str, ...],
    date: str,
) -> tuple[Drafted | None, list[Finding]]:
    drawn: list[tuple[Drawn, Path]] = []
    traced: tuple[TracedPoint, ...] = ()
    findings: list[Finding] = []
    for path in paths:
        if path.suffix.lower() in DRAWINGS:
            drawing, points, found = read_drawing(path)
            drawn.append((drawing, path))
        else:
            opened, found = open_tables(path)
            points, found_too = read_traced(opened, unit)
            found = [*found, *found_too]
        traced += points
        findings += found
    if has_errors(findings):
        return None, findings
    drafted, found = trace(traced, hands, name=name, groups=groups, date=date, layer=layer)
    findings += found
    if drafted is not None:
        findings += (finding for drawing, path in drawn for finding in strayed(drafted, drawing, path))
    return drafted, findings


def _told(drafted: Drafted, unit: str) -> str:
    """The hand that was taken, and the working step by step, as plain text."""
    taken = f"For the {drafted.hand.hand} hand, figures in {unit}."
    if drafted.hand.ease_lost:
        lost = figure(drafted.hand.ease_lost, unit)
        taken += (
            f" It is the larger: drafted for the other one, it would lose {lost} {unit} of its ease round the knuckles."
        )
    lines = wrap(taken, line_width())
    for step, sums in groupby(drafted.sums, lambda one: one.step):
        rows = [[one.what, figure(one.mm, unit), "=", one.made_of(unit)] for one in sums]
        lines += ["", step, _ruled(rows)]
    return "\n".join(lines) + "\n"


def _ruled(rows: list[list[str]]) -> str:
    """Rows as columns of plain text, the last one to the left too, and gone on with below itself where it is long."""
    head = columns(["", "", ""], [row[:3] for row in rows]).splitlines()[1:]
    starts = [f"  {line}  " for line in head]
    return "\n".join(
        "\n".join(
            wrap(row[3], line_width(), initial_indent=start, subsequent_indent=" " * len(start), break_on_hyphens=False)
        )
        for start, row in zip(starts, rows, strict=True)
    )
