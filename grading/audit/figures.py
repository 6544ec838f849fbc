"""How the audit writes figures: as fine as they have to be told apart, and never a nought below zero."""

from __future__ import annotations

from grading.units import MM_PER

__all__ = ["apart", "in_unit", "shown"]

#: Beyond so many decimals two figures are told apart by no ruler and no rule.
FINEST = 9


def shown(figure: float, decimals: int = 2, sign: str = "") -> str:
    """A figure with so many decimals; ``sign`` is "+" where it is written in front of positive ones too.

    >>> shown(-0.001), shown(-0.4, 0), shown(1.5, sign="+")
    ('0.00', '0', '+1.50')
    """
    return f"{round(float(figure), decimals) + 0.0:{sign}.{decimals}f}"


def apart(one: float, other: float) -> tuple[str, str]:
    """Two figures with as many decimals, two at least, as show which is the larger.

    >>> apart(10, 14.4513), apart(0.27996, 0.28)
    (('10.00', '14.45'), ('0.27996', '0.28000'))
    """
    texts = shown(one), shown(other)
    for decimals in range(3, FINEST + 1):
        if texts[0] != texts[1]:
            break
        texts = shown(one, decimals), shown(other, decimals)
    return texts


def in_unit(mm: float, unit: str) -> str:
    """A length in the unit of its row, as it would be typed there.

    >>> in_unit(204, "cm"), in_unit(222.25, "in"), in_unit(8.03149, "mm")
    ('20.4 cm', '8.75 in', '8.031 mm')
    """
    return f"{round(float(mm) / float(MM_PER[unit]), 3):g} {unit}"
