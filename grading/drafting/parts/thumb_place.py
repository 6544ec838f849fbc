"""Where the thumb comes out of the trank: its hole, a drop hung from T at the web."""

from __future__ import annotations

from dataclasses import dataclass

from grading.drafting.parts.part import (
    TRANK,
    Allowance,
    At,
    Choice,
    Part,
    Shares,
    Style,
    Sum,
    bounds,
    limit,
    measure,
    move,
    together,
)
from grading.drafting.parts.read_off import ReadOff
from grading.drafting.parts.sewn import INSIDE, PLAIN_EDGES, RAW
from grading.drafting.parts.trunk import finger_point, has_hole
from grading.findings import Severity
from grading.model.block import MATERIAL, Edge, Mark

__all__ = ["CHOICES"]

HOLE_STAGE = "The thumb hole, a drop hung from T"

#: The thumb hole, a rounded drop: how far down from T (of the root length) and out (of half the root breadth).
HOLE = {"shoulder": (0.14, 0.66), "side": (0.57, 1.0), "heel": (0.9, 0.74)}


@dataclass(frozen=True)
class _Half:
    """A half of the hole: what its points, their moves and its edge are called, and which way it lies of the middle.

    One that lies to the palm's side, 1, is drawn from T down to H; one on the other side, -1, from H up to T.
    """

    points: str
    moves: str
    edge: str
    way: int

    def drawn(self) -> tuple[At, ...]:
        """Its points in the order in which it is drawn."""
        names = {part: f"{self.points} {part}" for part in (HOLE if self.way > 0 else reversed(HOLE))}
        return tuple(
            At(TRANK, name, f"{name}, across", f"hole {part}, up", ("hole place", f"{self.moves} {part}"))
            for part, name in names.items()
        )


def _forward(style: Style) -> Part:
    if not has_hole(style):
        return Part()
    palm = _Half("palm", "hole palm", "hole palm half", 1)
    index = _Half("index", "hole index", "hole index half", -1)
    # fmt: off
    return together([
        Part(
            allowances=(
                Allowance("thumb forward", 8.0, 6.0,
                    "how far the thumb line lies in front of the gap of index and middle finger",
                    bounds("thumb forward", -4.0, 20.0,
                        "Further than this the thumb sits in the palm, or beside the hand."),
                        read_off=(ReadOff("T less index-middle gap",
                            (((TRANK, "T", 0), 1.0), ("index-middle gap", -1.0))),)),
            ),
            sums=(Sum(HOLE_STAGE, "thumb line", "{index-middle gap} + {thumb forward}", guide="thumb line"),),
            checks=(
                measure("hole, palm half", TRANK, "along", ("T", "H"), None, "From T down the palm side to H."),
                measure("hole, index half", TRANK, "along", ("H", "T"), None, "From H up the index side to T."),
            ),
        ),
        _hole(style, "thumb line", {"index-middle gap": (1.0, 0.0), "thumb forward": (1.0, 0.0)}, palm, index),
        Part(
            checks=(
                measure("thumb line", TRANK, "sideways", ("finger centre", "T"), None,
                    "From the mirror line across to T.", follows="index-middle gap"),
                measure("hole to mirror line", TRANK, "clearance", ("thumb hole", "mirror line"), None,
                    "Nearest the fold."),
            ),
            limits=(
                limit("hole at the thumb", "thumb line", -4.0, 20.0, Severity.WARNING,
                    "T lies on the gap of index and middle finger, or somewhat before it.", less="index-middle gap"),
                limit("hole clear of the mirror line", "hole to mirror line", 1.0, None, Severity.ERROR,
                    "The hole lies in the palm half, clear of the mirror line, which is not cut."),
                limit("halves of the hole", "hole, palm half", -0.5, 0.5, Severity.WARNING,
                    "The halves are equally long: or the thumb is set twisted.", less="hole, index half"),
            ),
        ),
    ])
    # fmt: on


def _at_the_side(style: Style) -> Part:
    """The hole's middle on the mirror line, half of it drawn: the trank is its own mirror image."""
    return _hole(style, None, {}, _Half("hole", "hole rim", "hole half", 1))


def _hole(style: Style, middle: str | None, across: Shares, *halves: _Half) -> Part:
    """A hole of those halves, hung from T: on the line ``middle``, with that line's shares, or on the mirror line."""
    bare = style["thumb"] == "none, with a hole"
    fingers, (first, *second) = finger_point(style), halves
    # A bare thumb's hole is left as it is; else the thumb is sewn into it.
    sewn, before = (RAW, "") if bare else (INSIDE, "Before the thumb is set: ")
    # fmt: off
    return Part(
        sums=(
            Sum(HOLE_STAGE, "T below the finger line", "{web depth}"),
            Sum(HOLE_STAGE, "T of the hole", "{palm length} − {web depth}", guide="T of the hole"),
            Sum(HOLE_STAGE, "H of the hole", "{T of the hole} − {thumb root length}", guide="H of the hole"),
            *(one for part, (down, out) in HOLE.items() for one in (
                Sum(HOLE_STAGE, f"hole {part}, up", f"{{T of the hole}} − {down:g} × {{thumb root length}}"),
                *(Sum(HOLE_STAGE, f"{half.points} {part}, across", f"{_from(middle, half.way)}{out:g} × "
                    "{thumb root breadth} ÷ 2") for half in halves),
            )),
        ),
        moves=(
            move("hole place", {**across, "palm length": (0.0, 1.0), "web depth": (0.0, -1.0)}),
            move("hole heel", {"thumb root length": (0.0, -1.0)}),
            *(move(f"{half.moves} {part}",
                {"thumb root breadth": (half.way * out / 2, 0.0), "thumb root length": (0.0, -down)})
                for half in halves for part, (down, out) in HOLE.items()),
        ),
        points=(
            At(TRANK, "T", middle, "T of the hole", ("hole place",)),
            *first.drawn(),
            At(TRANK, "H", middle, "H of the hole", ("hole place", "hole heel")),
            *(at for half in second for at in half.drawn()),
        ),
        edges=tuple(
            Edge(TRANK, half.edge, "thumb hole", (start, *(at.name for at in half.drawn()), end), sewn)
            for half, (start, end) in zip(halves, (("T", "H"), ("H", "T")), strict=False)),
        offers=PLAIN_EDGES if bare else (),
        marks=(Mark(TRANK, "T", "label", "T"), Mark(TRANK, "H", "label", "H")),
        measures=(
            measure("thumb hole height", TRANK, "straight", ("T", "H"), 1.5,
                _sentence(f"{before}from T to H on the sew line."), follows="thumb root length"),
            measure("thumb hole round", TRANK, "perimeter", ("thumb hole", ""), 2.0,
                _sentence(f"{before}once round the sew line with the edge of the tape.")),
        ),
        checks=(
            measure("hole below the finger line", TRANK, "height", (fingers, "T"), None,
                "From the finger line down to T.", follows="web depth"),
            measure("foot of the hole below the finger line", TRANK, "height", (fingers, "H"), None,
                "From the finger line to H."),
            measure("hole to cut edge", TRANK, "clearance", ("thumb hole", "boundary"), None, "Nearest the outline."),
            measure("hole's tightest bend", TRANK, "radius", ("thumb hole", ""), None,
                "The smallest radius round the hole."),
        ),
        limits=(
            *([limit("hole for the thumb", "thumb hole height", f"{MATERIAL} + 10", None, Severity.WARNING,
                "The bare thumb has to pass the hole, and the material takes its part of the round.", times=2.0,
                less="thumb girth")] if bare else []),
            limit("hole round enough", "hole's tightest bend", 6.0, None, Severity.WARNING,
                "In a tighter bend an allowance cannot turn, and leather tears there first."),
            limit("hole at the web", "hole below the finger line", -8.0, 8.0, Severity.WARNING,
                "T lies at the web: or the thumb pulls, or sags.", less="web depth"),
            limit("hole above the wrist", "palm length", 3.0, None, Severity.WARNING,
                "The hole ends above the wrist line, or the wrist shows in it.",
                less="foot of the hole below the finger line"),
            limit("hole clear of cut edges", "hole to cut edge", 15.0, None, Severity.WARNING,
                "Less leather than this between hole and edge tears."),
        ),
    )
    # fmt: on


def _from(middle: str | None, way: int) -> str:
    """The beginning of a sum that goes on to one side of the middle."""
    return f"{{{middle}}} {'+' if way > 0 else '−'} " if middle else ""


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


CHOICES = {
    "forward": Choice("before the gap of index and middle finger, in the palm half", _forward),
    "at the side": Choice("on the mirror line: the trank serves either hand", _at_the_side),
}
