"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

__all__ = ["in_tables", "in_units"]

Command = TypeVar("Command", bound=Callable[..., Any])

UNITS = ("mm", "cm", "in")


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
            default=(Path("tables/block.xlsx"),),
            show_default="tables/block.xlsx",
            help="A base block; may be given more than once, for groups that have their own.",
        ),
        click.option(
            "--sizes",
            type=click.Path(path_type=Path),
            default=Path("tables/sizes.xlsx"),
            show_default=True,
            help="The workbook of size tables, or a CSV file with one group.",
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
        default="mm",
        show_default=True,
        help="The unit of the figures shown.",
    )
    return option(command)
