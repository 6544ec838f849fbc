"""How an allowance is read off a pattern that was drafted with it: from where its points lie and what the hand has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Coordinates", "ReadOff", "read_across", "read_down", "read_up"]

#: Where points lie, mm, by piece and role.
Coordinates = Mapping[tuple[str, str], tuple[float, float]]

#: How many decimals of a millimetre a figure read off has.
_DECIMALS = 3


@dataclass(frozen=True)
class ReadOff:
    """How an allowance is read off a pattern: in words, and as a sum of so many times each of its ``terms``.

    A term is a measurement, by name, or a coordinate of a point: piece, role, and 0 for across or 1 for up. ``only``
    are points, by piece and role, that a pattern has to have besides for it to be read so.
    """

    words: str
    terms: tuple[tuple[tuple[str, str, int] | str, float], ...]
    only: tuple[tuple[str, str], ...] = ()

    @property
    def points(self) -> set[tuple[str, str]]:
        """The points that it asks of a pattern, by piece and role."""
        return {source[:2] for source, _ in self.terms if not isinstance(source, str)} | set(self.only)

    def of(self, at: Coordinates, body: Mapping[str, float]) -> float:
        """The allowance in mm.

        >>> round_ = ReadOff("twice a side less fist girth", ((("Trank", "knuckle", 0), 2.0), ("fist girth", -1.0)))
        >>> round_.of({("Trank", "knuckle"): (114.0, 99.0)}, {"fist girth": 204.0})
        24.0
        """
        total = sum(
            share * (body[source] if isinstance(source, str) else at[source[:2]][source[2]])
            for source, share in self.terms
        )
        return round(total, _DECIMALS)


def read_across(words: str, piece: str, first: str, second: str) -> ReadOff:
    """How much further across one point lies than another."""
    return ReadOff(words, (((piece, first, 0), 1.0), ((piece, second, 0), -1.0)))


def read_up(words: str, piece: str, point: str, *less: str) -> ReadOff:
    """How far up a point lies, less some measurements."""
    return ReadOff(words, (((piece, point, 1), 1.0), *((name, -1.0) for name in less)))


def read_down(words: str, piece: str, point: str, *more: str) -> ReadOff:
    """How far down a point lies, with some measurements more."""
    return ReadOff(words, (((piece, point, 1), -1.0), *((name, 1.0) for name in more)))
