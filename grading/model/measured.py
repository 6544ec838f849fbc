"""What a maker measured, both hands of a person and the points of a pattern, and the style that was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from grading.findings import Place
from grading.model.hands import LEFT

__all__ = ["Chosen", "Hands", "Taken", "TracedPoint"]


@dataclass(frozen=True)
class Hands:
    """The figures in mm that were taken of each hand, by measurement; ``places`` says where each was read."""

    left: Mapping[str, float] = field(default_factory=dict)
    right: Mapping[str, float] = field(default_factory=dict)
    places: Mapping[tuple[str, str], Place] = field(default_factory=dict, repr=False)

    def of(self, hand: str) -> Mapping[str, float]:
        """The figures of the 'left' or the 'right' hand."""
        return self.left if hand == LEFT else self.right

    def place(self, hand: str, measurement: str) -> Place:
        return self.places.get((hand, measurement), Place(measure=f"{measurement}, {hand} hand"))

    def __or__(self, other: Hands) -> Hands:
        """Both together; where both have a figure, the other's counts."""
        return Hands({**self.left, **other.left}, {**self.right, **other.right}, {**self.places, **other.places})


@dataclass(frozen=True, slots=True)
class Taken:
    """One measurement of a person's hands, mm; None where it was not taken."""

    name: str
    left: float | None
    right: float | None
    how_to_measure: str = ""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The choice made for one part of a style; blank for the standard one."""

    part: str
    choice: str
    place: Place = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class TracedPoint:
    """A point as it was read, in mm; ``role`` is the point of the standard mitten that it moves like."""

    piece: str
    name: str
    x: float
    y: float
    turn: bool
    role: str
    place: Place = field(default=Place(), compare=False, repr=False)
