"""What is measured on a hand: how the tape lies, and what grows with what."""

from __future__ import annotations

__all__ = ["HOW_TO_MEASURE", "ROUND", "SMALLER"]

#: How each measurement is taken, in the order in which a maker takes them.
HOW_TO_MEASURE = {
    "fist girth": "Round the fist: tape over the knuckles, thumb held away, not under the tape; snug, not tight.",
    "hand girth": "Round the knuckles of the open hand, fingers together, thumb left out.",
    "entry girth": "Round the widest part with the thumb tucked into the palm, as the hand goes through a bangle.",
    "hand breadth": "Flat hand on paper: straight across the knuckles, thumb left out.",
    "hand length": "From the wrist crease to the tip of the middle finger, hand flat.",
    "palm length": "From the wrist crease up to the crease at the root of the middle finger.",
    "thumb girth": "Round the knuckle of the thumb.",
    "web to knuckle": "From the web between thumb and index finger to the thumb's knuckle, where its girth is taken.",
    "web to tip": "From the web between thumb and index finger to the tip of the thumb, thumb held away.",
    "thumb root length": "From the web down to where the thumb's ball ends above the wrist.",
    "thumb root breadth": "Across the ball of the thumb, at its widest part.",
    "web depth": "From the height of the crease at the root of the middle finger straight down to the web.",
    "index-middle gap": "From the index side of the palm to the gap between index and middle finger.",
    "wrist girth": "Round the wrist at the crease.",
}

#: What grows with how stout a hand is; the others grow with how long it is.
ROUND = frozenset(
    {
        "fist girth",
        "hand girth",
        "entry girth",
        "hand breadth",
        "thumb girth",
        "thumb root breadth",
        "index-middle gap",
        "wrist girth",
    }
)

#: Of each pair the first is smaller on every hand.
SMALLER = (
    ("thumb girth", "fist girth"),
    ("thumb girth", "hand girth"),
    ("palm length", "hand length"),
    ("thumb root length", "palm length"),
    ("hand breadth", "hand girth"),
    ("web depth", "palm length"),
    ("web to knuckle", "web to tip"),
)
