"""Options that several commands share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import wraps
from pathlib import Path
from typing import Any

import click

from grading.asked import Tables, saved_as
from grading.drawing.paper import PAPERS

__all__ = [
    "FOLDER",
    "PAIRS",
    "PATH",
    "SHEETS_OF_PAPER",
    "UNITS",
    "count",
    "for_hands",
    "in_stock_table",
    "in_tables",
    "in_units",
    "money",
    "on_a_printer",
    "on_paper",
    "one_of",
    "replacing",
]

UNITS = ("mm", "cm", "in")
PATH = click.Path(path_type=Path)
#: What a bar of 100 mm comes out as, mm, on a print that can be corrected.
_BAR, _SHORTEST_BAR, _LONGEST_BAR = 100, 80, 125


class Folder(click.Path):
    """A folder to write into. A blank name, as of a variable that was never set, is refused."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not str(value).strip():
            self.fail("The name is blank: nothing is written into a folder that was not named.", param, ctx)
        return super().convert(value, param, ctx)


FOLDER = Folder(path_type=Path)


def one_of(*words: str) -> click.Choice[str]:
    """One of some words, in any case."""
    return click.Choice(words, case_sensitive=False)


def printed_bar(typed: str) -> tuple[float, float]:
    """The factors of lengths along the paper's short and long side, from what the 100 mm check bar measures on a print.

    That is one figure in mm, or two with an x between them, the short side's first. Raises BadParameter.
    """
    from grading.units import UnreadableError, measurement

    figures = re.split(r"\s*[x×*]\s*", typed.strip().lower())
    if len(figures) > 2:
        raise click.BadParameter(f"'{typed}' has {len(figures)} figures; give one, or two as in 98.6x99.1.")
    try:
        bars = [measurement(figure, "mm") for figure in figures]
    except UnreadableError as wrong:
        raise click.BadParameter(f"{wrong} Give the bar's length in mm, as in 98.6, or two as in 98.6x99.1.") from wrong
    if not all(_SHORTEST_BAR <= bar <= _LONGEST_BAR for bar in bars):
        raise click.BadParameter(
            f"'{typed}': a bar of 100 mm comes out between {_SHORTEST_BAR} and {_LONGEST_BAR} mm of any printer that "
            "can be corrected. Measure the bar marked 100 mm, in mm."
        )
    return float(_BAR / bars[0]), float(_BAR / bars[-1])


def money(typed: str) -> float:
    """A sum of money of zero or more, with a point or a comma for its decimals. Raises BadParameter."""
    from grading.units import UnreadableError, number

    try:
        figure = number(typed)
    except UnreadableError as wrong:
        raise click.BadParameter(f"{wrong} Give a sum, as 850 or 849.50.") from wrong
    if figure < 0:
        raise click.BadParameter(f"'{typed}' is below zero. Give a sum of zero or more.")
    return float(figure)


def count(least: int, most: int | None = None) -> Callable[[str], int]:
    """A type of option: a whole number of at least ``least`` and, if that is given, at most ``most``."""
    wanted = f"of {least} or more" if most is None else f"from {least} to {most}"

    def number(typed: str) -> int:
        try:
            whole = int(typed)
        except ValueError:
            raise click.BadParameter(f"'{typed}' is no whole number. Give one {wanted}.") from None
        if whole < least or (most is not None and whole > most):
            raise click.BadParameter(f"Give a whole number {wanted}, not {whole}.")
        return whole

    return number


def in_tables(command: Callable[..., Any]) -> Callable[..., Any]:
    """Options for the workbooks to read and the groups to take, handed to the command as one argument ``tables``."""

    @wraps(command)
    def with_tables(sizes: Path, blocks: tuple[Path, ...], groups: tuple[str, ...], **others: Any) -> Any:
        return command(tables=Tables(sizes, blocks, groups), **others)

    return _SIZES(_BLOCK(_GROUP(with_tables)))


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


def in_stock_table(help_: str) -> Callable[..., Any]:
    """The option for the stock table."""
    default = Path("tables/stock.xlsx")
    shown = "tables/stock.xlsx, or .ods"
    return click.option("--stock", type=PATH, default=lambda: saved_as(default), show_default=shown, help=help_)


#: What an option takes that is a name and a figure or a word, and may be given more than once.
PAIRS: dict[str, Any] = {"multiple": True, "type": (str, str)}
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
    type=printed_bar,
    default="100",
    show_default=False,
    metavar="MM[xMM]",
    help="What the 100 mm check bar measures on your own print made without this option, as 98.6: the sheets are "
    "laid out anew to come out right. As 98.6x99.1 if it differs: along the paper's short side first, then its "
    "long one.",
)

#: The sheets of paper that a printer takes: not the one that is as large as it needs to be.
SHEETS_OF_PAPER = tuple(name for name, paper in PAPERS.items() if not paper.to_fit)


def on_paper(help_: str = "The paper of printed sheets.", papers: Iterable[str] = PAPERS) -> Callable[..., Any]:
    """The option for the paper, which is one of ``papers``."""
    return click.option("--paper", type=one_of(*papers), default="a4", help=help_)
