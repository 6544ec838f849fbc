"""Options that several commands share."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from grading.asked import saved_as
from grading.drawing.paper import PAPERS

__all__ = [
    "FOLDER",
    "PATH",
    "UNITS",
    "Count",
    "PrintedBar",
    "Sum",
    "for_hands",
    "in_tables",
    "in_units",
    "on_a_printer",
    "on_paper",
    "one_of",
    "replacing",
]

Command = TypeVar("Command", bound=Callable[..., Any])

if TYPE_CHECKING:
    _Converts = click.ParamType[tuple[float, float]]
    _ConvertsSum = click.ParamType[float]
    _ConvertsCount = click.ParamType[int]
else:  # before click 8.4 it took no argument
    _Converts = _ConvertsSum = _ConvertsCount = click.ParamType

UNITS = ("mm", "cm", "in")
PATH = click.Path(path_type=Path)


class Folder(click.Path):
    """A folder to write into; a blank name, as of a variable that was never set, is none."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not str(value).strip():
            self.fail("The name is blank: nothing is written into a folder that was not named.", param, ctx)
        return super().convert(value, param, ctx)


FOLDER = Folder(path_type=Path)


def one_of(*words: str) -> click.Choice[str]:
    """One of some words, in any case."""
    return click.Choice(words, case_sensitive=False)


class PrintedBar(_Converts):
    """What was measured on the 100 mm check bar of a print, as (short, long) in mm: one figure, or two with an x.

    Converts to what lengths must be multiplied by, along the paper's short and long side.
    """

    name = "printed bar"
    WANTED = 100
    LEAST, MOST = 80, 125

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        from grading.units import UnreadableError, measurement

        figures = re.split(r"\s*[x×*]\s*", str(value).strip().lower())
        if len(figures) > 2:
            self.fail(f"'{value}' has {len(figures)} figures; give one, or two as in 98.6x99.1.", param, ctx)
        try:
            bars = [measurement(figure, "mm") for figure in figures]
        except UnreadableError as wrong:
            self.fail(f"{wrong} Give the bar's length in mm, as in 98.6, or two as in 98.6x99.1.", param, ctx)
        if not all(self.LEAST <= bar <= self.MOST for bar in bars):
            self.fail(
                f"'{value}': a bar of 100 mm comes out between {self.LEAST} and {self.MOST} mm of any printer that "
                "can be corrected. Measure the bar marked 100 mm, in mm.",
                param,
                ctx,
            )
        return float(self.WANTED / bars[0]), float(self.WANTED / bars[-1])


class Sum(_ConvertsSum):
    """A sum of money of zero or more, with a point or a comma for its decimals."""

    name = "sum"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        from grading.units import UnreadableError, number

        try:
            figure = number(value)
        except UnreadableError as wrong:
            self.fail(f"{wrong} Give a sum, as 850 or 849.50.", param, ctx)
        if figure < 0:
            self.fail(f"'{value}' is below zero. Give a sum of zero or more.", param, ctx)
        return float(figure)


class Count(_ConvertsCount):
    """A whole number of things, no fewer than some and, where that is said, no more than others."""

    name = "number"

    def __init__(self, least: int, most: int | None = None) -> None:
        self.least, self.most = least, most

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        wanted = f"from {self.least} to {self.most}" if self.most is not None else f"of {self.least} or more"
        try:
            count = int(str(value))
        except ValueError:
            self.fail(f"'{value}' is no whole number. Give one {wanted}.", param, ctx)
        if count < self.least or (self.most is not None and count > self.most):
            self.fail(f"Give a whole number {wanted}, not {count}.", param, ctx)
        return count


def in_tables(command: Command) -> Command:
    """The workbooks to read and the groups to take from them."""
    return _SIZES(_BLOCK(_GROUP(command)))


_SIZES = click.option(
    "--sizes",
    type=PATH,
    default=lambda: saved_as(Path("tables/sizes.xlsx")),
    show_default="tables/sizes.xlsx, or .ods",
    help="The workbook of size tables, or a CSV file with one group. A size chart as it is printed will do.",
)
_BLOCK = click.option(
    "--block",
    "blocks",
    multiple=True,
    type=PATH,
    show_default="block*.xlsx or .ods beside the size tables, all there are",
    help="A base block; may be given more than once: a group takes the one that names it. Only groups that one "
    "of those given names are taken, or the group that --group names.",
)
_GROUP = click.option(
    "--group",
    "groups",
    multiple=True,
    metavar="NAME",
    help="A size group to take, as its sheet is named; may be given more than once. Without it, all.",
)

#: The unit of figures that are shown.
in_units = click.option(
    "--units",
    "unit",
    type=one_of(*UNITS),
    show_default="as the tables have them, mm where they differ",
    help="The unit of the figures shown.",
)

#: Whether a pair has one set of patterns or two.
for_hands = click.option(
    "--hands",
    type=one_of("one", "both"),
    default="one",
    help="Patterns of a pair: 'one' prints one hand, whose cards are turned over for the other and get a label "
    "for their backs; 'both' prints each hand.",
)

#: Whether files that somebody has changed may be moved aside.
replacing = click.option(
    "--replace", is_flag=True, help="Replace files that somebody has changed; the old ones are kept aside."
)

#: What a printer makes of 100 mm.
on_a_printer = click.option(
    "--printed-bar",
    type=PrintedBar(),
    default="100",
    show_default=False,
    metavar="MM[xMM]",
    help="What the 100 mm check bar measures on your own print made without this option, as 98.6: the sheets are "
    "laid out anew to come out right. As 98.6x99.1 if it differs: along the paper's short side first, then its "
    "long one.",
)

on_paper = click.option(
    "--paper",
    type=one_of(*(name for name, paper in PAPERS.items() if not paper.to_fit)),
    default="a4",
    help="The paper of printed sheets.",
)
