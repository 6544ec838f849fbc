"""The command 'grading draft'."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

import click

from grading.asked import saved_as
from grading.cli.measured import measured_hands
from grading.cli.options import PAIRS, PATH, on_paper
from grading.cli.telling import columns, end, lines_of, say, stop, suggest, tell_findings
from grading.codes import Code
from grading.drafting.base import Drafted, allowances_from_words, style_meant
from grading.drafting.style import PARTS, STANDARD, spelled, style_of
from grading.drafting.working import figure
from grading.drawing.paper import PAPERS, Printing
from grading.findings import Finding, Findings, Place, has_errors
from grading.jobs.draft import BlockTitle, draft_of_hand, draft_of_points, put_in_use, write_block
from grading.jobs.measured import Words, hands_given, nothing_measured, style_given
from grading.jobs.tables import unit_of_tables
from grading.jobs.told import in_unit
from grading.units import UNIT_WORDS

__all__ = ["command"]

#: Every part with its choices, as it is typed.
CHOICES_IN_WORDS = " ".join(
    f"{part}: {' · '.join(repr(choice) if ' ' in choice else choice for choice in choices)}."
    for part, choices in PARTS.items()
)

#: What is written where nothing else is said, and the tables among which a block is used.
_OUT, _SIZES = Path("drafted-block.xlsx"), Path("tables/sizes.xlsx")


@click.command("draft")
@measured_hands
@click.option(
    "--allowance",
    "allowances",
    **PAIRS,
    metavar="NAME FIGURE",
    help="An allowance to draft with instead of the usual one, as --allowance 'hand ease' '26 mm'.",
)
@click.option(
    "--style",
    "choices",
    **PAIRS,
    metavar="PART CHOICE",
    help="Another choice for a part of the mitten than the standard one, as --style cuff plain. " + CHOICES_IN_WORDS,
)
@click.option(
    "--from-points",
    "points",
    multiple=True,
    type=PATH,
    help="Points of your own tuned pattern, read off grid paper (workbook or CSV) or drawn (.svg, .dxf): they are kept "
    "as they are. May be given for each piece's file.",
)
@click.option("--name", default="Mitten", help="What the style is called.")
@click.option(
    "--group",
    "groups",
    multiple=True,
    metavar="NAME",
    help="A size group that the block is for; may be given more than once. Without it, all.",
)
@click.option("--date", default="", show_default=False, help="The date of this version of the block.")
@on_paper("The paper of the construction sheet; on 'sheet' it is as large as the pattern.")
@click.option(
    "--out",
    type=PATH,
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
    unit: str | None,
    allowances: Words,
    choices: Words,
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
    grading draft --measured hands.xlsx --allowance "hand ease" "26 mm"
    grading draft --measured hands.xlsx --style fingers plain --style cuff plain
    grading draft --measured hands.xlsx --from-points points.csv
    grading draft --measured hands.xlsx --group Women --use
    """
    if use and out is not None:
        raise click.UsageError("Give either --out or --use: with --use the block goes into the folder tables.")
    out = _OUT if out is None else out
    if out.suffix.lower() != ".xlsx":
        stop([_no_workbook(out)])
    typed = unit or "mm"
    unit = unit or unit_of_tables(saved_as(_SIZES))
    hands, of_hands, _ = hands_given(sheet, left, right, typed)
    findings = Findings(of_hands)
    style = findings.gather(style_given(sheet, choices))
    style, allowances_left, more = style_meant(style, allowances, typed)
    findings += more
    figures = findings.gather(allowances_from_words(allowances_left, typed, style))
    if not (points or hands.left or hands.right or has_errors(findings)):
        findings.append(nothing_measured())
    if has_errors(findings):
        stop(findings)
    title = BlockTitle(name, groups, date)
    drafted = findings.gather(
        draft_of_points(points, hands, figures, title, typed) if points else draft_of_hand(hands, figures, title, style)
    )
    findings = Findings(in_unit(findings, unit))
    if drafted is None or has_errors(findings):
        stop(findings)
    printing = Printing(PAPERS[paper])
    write, place = (put_in_use, saved_as(_SIZES)) if use else (write_block, out)
    written = write(drafted, place, printing, unit, traced=bool(points))
    findings += written.findings
    if has_errors(findings):
        stop(findings)
    say(_working_told(drafted, unit))
    tell_findings(findings)
    say("\n".join(f"wrote {path}" for path in written.files))
    for old, new in written.kept.items():
        say(f"kept what was {old} as {new}")
    say("Grade your sizes from it:")
    of_groups = [word for group in groups for word in ("--group", group)]
    suggest("run", *of_groups, *(() if use else ("--block", str(out), "--out", "own")))
    end(findings)


def _no_workbook(out: Path) -> Finding:
    found = f"--out {out} is not the name of a workbook."
    expected = "A name that ends in .xlsx: the construction sheet takes the same one with .pdf."
    action = f"Give one, as --out {out.with_suffix('.xlsx') if out.name else 'drafted-block.xlsx'}."
    return Finding.error(Code.NOT_A_WORKBOOK, Place(), found, expected, action)


def _working_told(drafted: Drafted, unit: str) -> str:
    """The hand that was taken, and the working step by step, as plain text."""
    taken = f"For the {drafted.hand.hand} hand, figures in {UNIT_WORDS[unit]}."
    if drafted.hand.ease_lost:
        lost = f"{figure(drafted.hand.ease_lost, unit)} {UNIT_WORDS[unit]}"
        taken += f" It is the larger: drafted for the other one, it would lose {lost} of its ease round the knuckles."
    style = style_of(drafted.block)
    if style != STANDARD:
        taken += f" Its style: {spelled(style)}."
    lines = lines_of(taken)
    for step, sums in groupby(drafted.sums, lambda one: one.step):
        rows = [[one.what, figure(one.mm, unit), "=", one.made_of(unit)] for one in sums]
        lines += ["", step, _ruled(rows)]
    return "\n".join(lines) + "\n"


def _ruled(rows: list[list[str]]) -> str:
    """Rows as columns of plain text; the last column is to the left, and is wrapped where it is long."""
    head = columns(["", "", ""], [row[:3] for row in rows]).splitlines()[1:]
    starts = [f"  {line}  " for line in head]
    return "\n".join(
        "\n".join(lines_of(row[3], first=start, indent=" " * len(start)))
        for start, row in zip(starts, rows, strict=True)
    )
