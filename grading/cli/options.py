"""Options that several commands share."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

__all__ = ["PrintedBar", "Sum", "for_hands", "in_tables", "in_units", "on_a_printer", "replacing"]

Command = TypeVar("Command", bound=Callable[..., Any])

if TYPE_CHECKING:
    _Converts = click.ParamType[tuple[float, float]]
    _ConvertsSum = click.ParamType[float]
else:  # before click 8.4 it took no argument
    _Converts = _ConvertsSum = click.ParamType

UNITS = ("mm", "cm", "in")


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


def in_tables(command: Command) -> Command:
    """The workbooks to read and the groups to take from them."""
    for option in (
        click.option(
            "--group",
            "groups",
            multiple=True,
            metavar="NAME",
            help="A size group to take, as its sheet is named; may be given more than once. Without it, all.",
        ),
        click.option(
            "--block",
            "blocks",
            multiple=True,
            type=click.Path(path_type=Path),
            show_default="block*.xlsx beside the size tables, all there are",
            help="A base block; may be given more than once: a group takes the one that names it. Only groups that one "
            "of those given names are taken, or the group that --group names.",
        ),
        click.option(
            "--sizes",
            type=click.Path(path_type=Path),
            default=Path("tables/sizes.xlsx"),
            show_default=True,
            help="The workbook of size tables, or a CSV file with one group. A size chart as it is printed will do.",
        ),
    ):
        command = option(command)
    return command


def in_units(command: Command) -> Command:
    """The unit of figures that are shown."""
    option = click.option(
        "--units",
        "unit",
        type=click.Choice(UNITS, case_sensitive=False),
        show_default="as the tables have them, mm where they differ",
        help="The unit of the figures shown.",
    )
    return option(command)


def for_hands(command: Command) -> Command:
    """Whether a pair has one set of patterns or two."""
    option = click.option(
        "--hands",
        type=click.Choice(["one", "both"], case_sensitive=False),
        default="one",
        show_default=True,
        help="Patterns of a pair: 'one' prints one hand, whose cards are turned over for the other and get a label "
        "for their backs; 'both' prints each hand.",
    )
    return option(command)


def replacing(command: Command) -> Command:
    """Whether files that somebody has changed may be moved aside."""
    option = click.option(
        "--replace", is_flag=True, help="Replace files that somebody has changed; the old ones are kept aside."
    )
    return option(command)


def on_a_printer(command: Command) -> Command:
    """What a printer makes of 100 mm."""
    option = click.option(
        "--printed-bar",
        type=PrintedBar(),
        default="100",
        metavar="MM[xMM]",
        help="What the 100 mm check bar measures on your own print made without this option, as 98.6: the sheets are "
        "laid out anew to come out right. As 98.6x99.1 if it differs: along the paper's short side first, then its "
        "long one.",
    )
    return option(command)
