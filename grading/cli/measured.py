"""Options by which a person's measurements are given."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from grading.cli.options import UNITS

__all__ = ["Words", "measured_hands"]

Command = TypeVar("Command", bound=Callable[..., Any])
#: Pairs of a name and a figure, as typed.
Words = tuple[tuple[str, str], ...]


def measured_hands(command: Command) -> Command:
    """The measurements of a person: a sheet, single figures of either hand, and the unit of figures without one."""
    for option in (
        click.option(
            "--units",
            "unit",
            type=click.Choice(UNITS, case_sensitive=False),
            show_default="mm for figures that name none, and as the size tables have them for those shown",
            help="The unit of figures that name none, and of those shown.",
        ),
        click.option("--right", "right", help="The same for the right hand.", **_FIGURES),
        click.option(
            "--left", "left", help="A measurement of the left hand, as --left 'fist girth' '20.1 cm'.", **_FIGURES
        ),
        click.option(
            "--measured",
            "sheet",
            type=click.Path(path_type=Path),
            help="A workbook or CSV file of measurements, with columns Measurement, Unit, Left, Right.",
        ),
    ):
        command = option(command)
    return command


_FIGURES: dict[str, Any] = {"multiple": True, "type": (str, str), "metavar": "NAME FIGURE"}
