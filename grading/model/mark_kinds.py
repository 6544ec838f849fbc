"""The kinds of mark, each whole in one entry: its word, its help, how it is drawn, and at how many points."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from itertools import groupby

__all__ = ["MARK_KINDS", "Drawn", "MarkKind", "help_of_kinds"]


class Drawn(Enum):
    """How a mark is drawn, on paper and in a cutting file."""

    STROKE = "a stroke across an edge"
    CROSS = "a small cross at an edge"
    WORDS = "words beside a point"
    FOLD_LINE = "a fold line from point to point"
    PLACEMENT_LINE = "a placement line from point to point"
    SLIT = "a cut between two points"

    @property
    def is_line(self) -> bool:
        return self in (Drawn.FOLD_LINE, Drawn.PLACEMENT_LINE)

    @property
    def on_edge(self) -> bool:
        """Whether it stands on the sew line, and so must be at a point of a loop."""
        return self in (Drawn.STROKE, Drawn.CROSS)


@dataclass(frozen=True, slots=True)
class MarkKind:
    """A kind of mark; a stroke that is ``cut`` becomes a notch where the allowance has room for one.

    ``least`` and ``most`` are at how many points it may be; None where there is no bound. One that is ``paired`` runs
    from the first of each two of its points to the second, and so is at an even number of them. At a fold line that
    ``doubles`` the piece lies double, and nothing is turned to the outside.
    """

    help: str
    drawn: Drawn
    least: int = 1
    most: int | None = None
    cut: bool = False
    paired: bool = False
    doubles: bool = False


#: The kinds of mark, by the word that a block uses for each.
MARK_KINDS: dict[str, MarkKind] = {
    "notch": MarkKind("cut into the allowance, or a tick where that has no room", Drawn.STROKE, cut=True),
    "tick": MarkKind("inside the sew line", Drawn.STROKE),
    "change-over": MarkKind("a small cross where the seam goes on from the other face", Drawn.CROSS),
    "label": MarkKind("the words, on the body beside a point", Drawn.WORDS),
    "fold line": MarkKind("drawn from point to point", Drawn.FOLD_LINE, least=2, most=2),
    "placement line": MarkKind("drawn from point to point", Drawn.PLACEMENT_LINE, least=2),
    "double fold": MarkKind(
        "a fold line along which a piece lies double, both its edges sewn to one other",
        Drawn.FOLD_LINE,
        least=2,
        most=2,
        doubles=True,
    ),
    "slit": MarkKind(
        "an opening of no width, cut from one point to another, and from a third to a fourth",
        Drawn.SLIT,
        least=2,
        cut=True,
        paired=True,
    ),
}


def help_of_kinds() -> str:
    """What the sheet says of every kind; neighbours of which the same is said are named together."""
    told = groupby(MARK_KINDS.items(), key=lambda entry: entry[1].help)
    return "; ".join(f"{' and '.join(word for word, _ in kinds)}: {words}" for words, kinds in told) + "."
