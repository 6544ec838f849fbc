"""Where the thumb comes out of the trank: its hole, a drop hung from T at the web."""

from __future__ import annotations

from grading.drafting.parts.part import (
    TAKES,
    TRANK,
    Allowance,
    At,
    Choice,
    Line,
    Part,
    Style,
    bounds,
    limit,
    measure,
    move,
)
from grading.drafting.parts.read_off import ReadOff
from grading.drafting.parts.sewn import INSIDE, PLAIN_EDGES, RAW
from grading.drafting.parts.trunk import finger_point, has_hole
from grading.findings import Severity
from grading.model.block import Edge, Limit, Mark, Measure

__all__ = ["CHOICES", "HOLE_STAGE"]

HOLE_STAGE = "The thumb hole, a drop hung from T"

#: The thumb hole, a rounded drop: how far down from T (of the root length) and out (of half the root breadth).
HOLE = {"shoulder": (0.14, 0.66), "side": (0.57, 1.0), "heel": (0.9, 0.74)}


def _rim(style: Style) -> str:
    """The seam type of the hole's edges: a thumb is sewn in, or they are left as they are."""
    return RAW if style["thumb"] == "none, with a hole" else INSIDE


def _forward(style: Style) -> Part:
    if not has_hole(style):
        return Part()
    rim = _rim(style)
    # fmt: off
    return Part(
        allowances=(
            Allowance("thumb forward", 8.0, 6.0,
                "how far the thumb line lies in front of the gap of index and middle finger",
                bounds("thumb forward", -4.0, 20.0,
                    "Further than this the thumb sits in the palm, or beside the hand."),
                    read_off=(ReadOff("T less index-middle gap",
                        (((TRANK, "T", 0), 1.0), ("index-middle gap", -1.0))),)),
        ),
        lines=(
            Line(HOLE_STAGE, "thumb line", "{index-middle gap} + {thumb forward}", guide="thumb line"),
            *_T_AND_H,
            *(line for part in HOLE for line in (_down(part), _out("palm", part, "+"), _out("index", part, "−"))),
        ),
        moves=(
            move("hole place",
                {"index-middle gap": (1.0, 0.0), "thumb forward": (1.0, 0.0), "palm length": (0.0, 1.0),
                    "web depth": (0.0, -1.0)}),
            move("hole heel", {"thumb root length": (0.0, -1.0)}),
            *(
                move(
                    f"hole {side} {part}",
                    {"thumb root breadth": (sign * out / 2, 0.0), "thumb root length": (0.0, -down)},
                )
                for side, sign in (("palm", 1), ("index", -1))
                for part, (down, out) in HOLE.items()
            ),
        ),
        points=(
            At(TRANK, "T", "thumb line", "T of the hole", ("hole place",)),
            *(_at("palm", part) for part in HOLE),
            At(TRANK, "H", "thumb line", "H of the hole", ("hole place", "hole heel")),
            *(_at("index", part) for part in reversed(HOLE)),
        ),
        edges=(
            Edge(TRANK, "hole palm half", "thumb hole", ("T", *(f"palm {part}" for part in HOLE), "H"), rim),
            Edge(TRANK, "hole index half", "thumb hole", ("H", *(f"index {p}" for p in reversed(HOLE)), "T"), rim),
        ),
        offers=PLAIN_EDGES if rim == RAW else (),
        marks=_LETTERS,
        measures=_measures(style),
        checks=(
            measure("hole, palm half", TRANK, "along", ("T", "H"), None, "From T down the palm side to H."),
            measure("hole, index half", TRANK, "along", ("H", "T"), None, "From H up the index side to T."),
            *_checks(style),
            measure("thumb line", TRANK, "sideways", ("finger centre", "T"), None, "From the mirror line across to T.",
                follows="index-middle gap"),
            measure("hole to mirror line", TRANK, "clearance", ("thumb hole", "mirror line"), None,
                "Nearest the fold."),
        ),
        limits=(
            *_limits(style),
            limit("hole at the thumb", "thumb line", -4.0, 20.0, Severity.WARNING,
                "T lies on the gap of index and middle finger, or somewhat before it.", less="index-middle gap"),
            limit("hole clear of the mirror line", "hole to mirror line", 1.0, None, Severity.ERROR,
                "The hole lies in the palm half, clear of the mirror line, which is not cut."),
            limit("halves of the hole", "hole, palm half", -0.5, 0.5, Severity.WARNING,
                "The halves are equally long: or the thumb is set twisted.", less="hole, index half"),
        ),
    )
    # fmt: on


def _at_the_side(style: Style) -> Part:
    """The hole's middle on the mirror line, half of it drawn: the trank is its own mirror image."""
    rim = _rim(style)
    return Part(
        lines=(
            *_T_AND_H,
            *(
                line
                for part, (_, out) in HOLE.items()
                for line in (
                    _down(part),
                    Line(HOLE_STAGE, f"hole {part}, across", f"{out:g} × {{thumb root breadth}} ÷ 2"),
                )
            ),
        ),
        moves=(
            move("hole place", {"palm length": (0.0, 1.0), "web depth": (0.0, -1.0)}),
            move("hole heel", {"thumb root length": (0.0, -1.0)}),
            *(
                move(f"hole rim {part}", {"thumb root breadth": (out / 2, 0.0), "thumb root length": (0.0, -down)})
                for part, (down, out) in HOLE.items()
            ),
        ),
        points=(
            At(TRANK, "T", None, "T of the hole", ("hole place",)),
            *(
                At(
                    TRANK,
                    f"hole {part}",
                    f"hole {part}, across",
                    f"hole {part}, up",
                    ("hole place", f"hole rim {part}"),
                )
                for part in HOLE
            ),
            At(TRANK, "H", None, "H of the hole", ("hole place", "hole heel")),
        ),
        edges=(Edge(TRANK, "hole half", "thumb hole", ("T", *(f"hole {part}" for part in HOLE), "H"), rim),),
        offers=PLAIN_EDGES if rim == RAW else (),
        marks=_LETTERS,
        measures=_measures(style),
        checks=_checks(style),
        limits=_limits(style),
    )


#: T and H up the trank.
_T_AND_H = (
    Line(HOLE_STAGE, "T below the finger line", "{web depth}"),
    Line(HOLE_STAGE, "T of the hole", "{palm length} − {web depth}", guide="T of the hole"),
    Line(HOLE_STAGE, "H of the hole", "{T of the hole} − {thumb root length}", guide="H of the hole"),
)
_LETTERS = (Mark(TRANK, "T", "label", "T"), Mark(TRANK, "H", "label", "H"))


def _down(part: str) -> Line:
    down, _ = HOLE[part]
    return Line(HOLE_STAGE, f"hole {part}, up", f"{{T of the hole}} − {down:g} × {{thumb root length}}")


def _out(half: str, part: str, sign: str) -> Line:
    _, out = HOLE[part]
    across = f"{{thumb line}} {sign} {out:g} × {{thumb root breadth}} ÷ 2"
    return Line(HOLE_STAGE, f"{half} {part}, across", across)


def _at(half: str, part: str) -> At:
    name = f"{half} {part}"
    return At(TRANK, name, f"{name}, across", f"hole {part}, up", ("hole place", f"hole {half} {part}"))


def _measures(style: Style) -> tuple[Measure, ...]:
    before = "" if style["thumb"] == "none, with a hole" else "Before the thumb is set: "
    from_t = f"{before}from T to H on the sew line."
    round_ = f"{before}once round the sew line with the edge of the tape."
    return (
        measure(
            "thumb hole height",
            TRANK,
            "straight",
            ("T", "H"),
            1.5,
            from_t[0].upper() + from_t[1:],
            follows="thumb root length",
        ),
        measure("thumb hole round", TRANK, "perimeter", ("thumb hole", ""), 2.0, round_[0].upper() + round_[1:]),
    )


def _checks(style: Style) -> tuple[Measure, ...]:
    fingers = finger_point(style)
    return (
        measure(
            "hole below the finger line",
            TRANK,
            "height",
            (fingers, "T"),
            None,
            "From the finger line down to T.",
            follows="web depth",
        ),
        measure(
            "foot of the hole below the finger line",
            TRANK,
            "height",
            (fingers, "H"),
            None,
            "From the finger line to H.",
        ),
        measure("hole to cut edge", TRANK, "clearance", ("thumb hole", "boundary"), None, "Nearest the outline."),
        measure(
            "hole's tightest bend", TRANK, "radius", ("thumb hole", ""), None, "The smallest radius round the hole."
        ),
    )


def _limits(style: Style) -> tuple[Limit, ...]:
    passes = limit(
        "hole for the thumb",
        "thumb hole height",
        f"{TAKES} + 10",
        None,
        Severity.WARNING,
        "The bare thumb has to pass the hole, and the material takes its part of the round.",
        times=2.0,
        less="thumb girth",
    )
    return (
        *([passes] if style["thumb"] == "none, with a hole" else []),
        limit(
            "hole round enough",
            "hole's tightest bend",
            6.0,
            None,
            Severity.WARNING,
            "In a tighter bend an allowance cannot turn, and leather tears there first.",
        ),
        limit(
            "hole at the web",
            "hole below the finger line",
            -8.0,
            8.0,
            Severity.WARNING,
            "T lies at the web: or the thumb pulls, or sags.",
            less="web depth",
        ),
        limit(
            "hole above the wrist",
            "palm length",
            3.0,
            None,
            Severity.WARNING,
            "The hole ends above the wrist line, or the wrist shows in it.",
            less="foot of the hole below the finger line",
        ),
        limit(
            "hole clear of cut edges",
            "hole to cut edge",
            15.0,
            None,
            Severity.WARNING,
            "Less leather than this between hole and edge tears.",
        ),
    )


CHOICES = {
    "forward": Choice("before the gap of index and middle finger, in the palm half", _forward),
    "at the side": Choice("on the mirror line: the trank serves either hand", _at_the_side),
}
