"""The units in which a figure was probably meant that lies outside what it can be."""

from __future__ import annotations

__all__ = ["MISTAKEN", "likely_unit", "unit_beside"]

#: What lies no further beyond a bound than this many times is hardly beyond it.
HARDLY = 1.1
#: What a figure must be multiplied by, the smallest correction first, and what was then meant.
MISTAKEN = {
    2.54: "inches typed as centimetres",
    1 / 2.54: "centimetres typed as inches",
    10: "centimetres typed as millimetres",
    0.1: "millimetres typed as centimetres",
    25.4: "inches typed as millimetres",
    1 / 25.4: "millimetres typed as inches",
}


def likely_unit(figure: float, least: float, most: float) -> str:
    """The smallest mistake of units that puts a figure back within bounds, in words to end a sentence; or nothing.

    What is hardly beyond a bound is no mistake of units.

    >>> likely_unit(240, 14.5, 50), likely_unit(61, 14.5, 50), likely_unit(52, 40, 50)
    (': perhaps millimetres typed as centimetres', ': perhaps centimetres typed as inches', '')
    """
    if least / HARDLY <= figure <= most * HARDLY:
        return ""
    return next((f": perhaps {meant}" for factor, meant in MISTAKEN.items() if least <= figure * factor <= most), "")


def unit_beside(figure: float, usual: float) -> str:
    """What was probably meant by a figure of which only a usual one is known, in words; or nothing.

    >>> unit_beside(7.1, 180), unit_beside(150, 180)
    ('inches typed as millimetres', '')
    """
    return next((meant for factor, meant in MISTAKEN.items() if 0.6 < figure * factor / usual < 1.6), "")
