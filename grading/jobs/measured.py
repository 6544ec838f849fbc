"""What was measured of one person: on a sheet of both hands, and in single figures, which go before the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from grading.codes import Code
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drafting.style import Style, style_from_words
from grading.engine.graded import Input
from grading.findings import Finding, Findings, Place
from grading.model.measured import Chosen, Hands
from grading.sheets.hands import hands_from_words, read_hands, read_style
from grading.sheets.opening import open_tables

__all__ = ["Words", "hands_given", "nothing_measured", "style_given"]

#: Pairs of a name and a figure, as typed.
Words = Sequence[tuple[str, str]]


def hands_given(sheet: Path | None, left: Words, right: Words, unit: str) -> tuple[Hands, list[Finding], list[Input]]:
    """The hands of a sheet and of single figures, which count where both are given; findings; and the files read.

    ``unit`` holds for figures that name none.
    """
    findings = Findings()
    hands = findings.gather(hands_from_words(left, right, HOW_TO_MEASURE, unit))
    if sheet is None:
        return hands, findings, []
    opened = findings.gather(open_tables(sheet))
    of_sheet = findings.gather(read_hands(opened, HOW_TO_MEASURE, unit))
    return of_sheet | hands, findings, [(opened.path.name, opened.digest)]


def nothing_measured() -> Finding:
    """The error where no measurement of a hand was given; it says how to give some."""
    found, expected = "No measurement of a hand was given.", "A sheet of both hands, or single figures."
    action = "Type --measured hands.xlsx" if Path("hands.xlsx").exists() else 'Type --right "fist girth" and the figure'
    return Finding.error(Code.MEASUREMENT_MISSING, Place(), found, expected, f"{action}; --help tells all ways.")


def style_given(sheet: Path | None, choices: Words) -> tuple[Style, list[Finding]]:
    """The style chosen on a workbook's sheet Style, if it has one, and in words; where both choose, the words count."""
    findings = Findings()
    chosen = () if sheet is None else findings.gather(read_style(open_tables(sheet)[0]))
    typed = (Chosen(part, choice, Place(measure=part)) for part, choice in choices)
    return findings.gather(style_from_words([*chosen, *typed])), findings
