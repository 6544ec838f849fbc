"""Which hand a pattern is for, and which face of the skin is up: the one rule that every output goes by."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["EITHER", "HANDS", "INSIDE", "LEFT", "OUTSIDE", "RIGHT", "View", "drawn_hand", "is_reversed"]

INSIDE, OUTSIDE = "inside", "outside"
RIGHT, LEFT = "right", "left"
#: What stands in the place of a hand for a piece that is its own mirror image and serves both.
EITHER = "either"
#: The order in which the two are cut and printed.
HANDS = (RIGHT, LEFT)


@dataclass(frozen=True, slots=True)
class View:
    """How a pattern lies before whoever looks at it: the hand it is for and the face of the skin that is up.

    ``reversed`` if it is the mirror image of the block as drawn, palm half on +x.
    """

    hand: str
    face: str
    reversed: bool

    @property
    def palm(self) -> str:
        """The side on which the palm half lies, fingers up: 'right' or 'left'."""
        return LEFT if self.reversed else RIGHT

    def __str__(self) -> str:
        return f"{self.face} up: {self.hand} hand"


def drawn_hand(face: str) -> str:
    """The hand of a piece that is seen from a face, fingers up, its palm half on the viewer's right.

    >>> drawn_hand("inside"), drawn_hand("outside")
    ('right', 'left')
    """
    return RIGHT if face == INSIDE else LEFT


def is_reversed(hand: str, drawn_from: str, marked_on: str) -> bool:
    """Whether the pattern of a hand is the mirror image of the block as drawn, palm half on +x.

    It is reversed for the other hand than the one drawn, and reversed (again) where the other face is marked.

    >>> is_reversed("right", "inside", "outside"), is_reversed("left", "inside", "outside")
    (True, False)
    """
    return (hand != drawn_hand(drawn_from)) != (marked_on != drawn_from)
