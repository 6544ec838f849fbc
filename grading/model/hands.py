"""Which hand a pattern is for: by the face it is drawn from and the face of the skin that is marked."""

from __future__ import annotations

__all__ = ["HANDS", "INSIDE", "LEFT", "OUTSIDE", "RIGHT", "drawn_hand", "is_reversed"]

INSIDE, OUTSIDE = "inside", "outside"
RIGHT, LEFT = "right", "left"
#: The order in which the two are cut and printed.
HANDS = (RIGHT, LEFT)


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
