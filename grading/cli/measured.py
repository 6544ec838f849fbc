"""Options by which a person's measurements are given."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from grading.cli.options import PAIRS, PATH, UNITS, one_of

__all__ = ["measured_hands"]


def measured_hands(command: Callable[..., Any]) -> Callable[..., Any]:
    """The measurements of a person: a sheet, single figures of either hand, and the unit of figures without one."""
    return _SHEET(_LEFT(_RIGHT(_UNIT(command))))


_FIGURES: dict[str, Any] = {"metavar": "NAME FIGURE", **PAIRS}
_SHEET = click.option(
    "--measured",
    "sheet",
    type=PATH,
    help="A workbook or CSV file of measurements, with columns Measurement, Unit, Left, Right.",
)
_LEFT = click.option("--left", help="A measurement of the left hand, as --left 'fist girth' '20.1 cm'.", **_FIGURES)
_RIGHT = click.option("--right", help="The same for the right hand.", **_FIGURES)
_UNIT = click.option(
    "--units",
    "unit",
    type=one_of(*UNITS),
    show_default="mm for figures that name none, and as the size tables have them for those shown",
    help="The unit of figures that name none, and of those shown.",
)
