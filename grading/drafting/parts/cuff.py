"""The end of the trank at the cuff, and its side from the wrist down."""

from __future__ import annotations

from collections.abc import Mapping

from grading.codes import Code
from grading.drafting.parts import band
from grading.drafting.parts.part import (
    LONGER,
    TRANK,
    Allowance,
    Apart,
    At,
    Choice,
    Least,
    Lined,
    Part,
    Style,
    Sum,
    bounds,
    limit,
    measure,
    mirrored_seam,
    move,
    times,
    together,
    width,
)
from grading.drafting.parts.read_off import read_across, read_down
from grading.drafting.parts.sewn import OVERSEWN, PLAIN_EDGES, RAW
from grading.drafting.parts.trunk import ACROSS, SIDE, combed
from grading.drafting.parts.turned import FOLD_BACK, TURN_ROOM, TURNING, TURNING_ROOM, WIDER, fold_marks, turned
from grading.findings import Severity
from grading.model.block import MATERIAL, Edge, Limit, Mark, Move

__all__ = ["CHOICES"]

#: The side below the palm, from the wrist to the cuff's end: how far down (of the whole fold-back of a turned cuff, or
#: of twice a plain one), and how much of the waist shaping, and of the cuff's flare, it has there.
BELOW = {"wrist": (0.0, 0.9, 0.0), "waist": (0.05, 1.0, 0.0), "cuff body": (0.25, 0.55, 0.3)}
#: A plain cuff is as long as a turned one is seen to be, with half its fold-back.
TWICE = 2.0

_FLARE = Allowance(
    "cuff flare",
    3.0,
    3.0,
    "how much wider a side is at the cuff fold than at the knuckles: 0 to 3 under a sleeve, 12 or more over one",
    bounds("cuff flare", -5.0, 28.0, "More a side than this no longer turns flat onto the body."),
    read_off=tuple(
        read_across(f"{end} less {widest}", TRANK, end, widest)
        for end in ("cuff fold", "cuff edge")
        for widest in ("knuckle", "widest")
    ),
)
_ROOM: Limit = limit(
    "room at the cuff",
    "cuff opening",
    MATERIAL,
    None,
    Severity.ERROR,
    "The whole hand, thumb tucked in, has to pass the cuff, and the material takes its part of the round.",
    times=2.0,
    less="entry girth",
)


def _below(name: str, length: str, factor: float) -> Part:
    """A point of the side from the wrist down, by so many times the allowance that says how long the cuff is."""
    down, waist, flare = BELOW[name]
    wider = f" + {times(flare, 'cuff flare')}" if flare else ""
    across = Sum(SIDE, f"{name}, across", f"{{a side}} − {times(waist, 'waist shaping')}{wider}")
    up = Sum(SIDE, f"{name}, up", f"−{factor * down:g} × {{{length}}}")
    shares = {length: (0.0, -factor * down), "waist shaping": (-waist, 0.0), "cuff flare": (flare, 0.0)}
    return Part(
        sums=(across, up) if down else (across,),
        moves=(move(name, shares),),
        points=(At(TRANK, name, across.what, up.what if down else None, ("side", name)),),
    )


def _image(name: str, body: str, room: float) -> Move:
    """The mirror image of a point of the side in the cuff fold, wider by some of the room that a turned part needs."""
    down, waist, flare = BELOW[body]
    return move(
        name,
        {
            "cuff fold-back": (0.0, down - 1.0),
            "waist shaping": (-waist, 0.0),
            "cuff flare": (flare, 0.0),
            TURN_ROOM: (room, 0.0),
        },
    )


def _turned(style: Style) -> Part:
    side = together(_below(name, "cuff fold-back", 1.0) for name in BELOW)
    # fmt: off
    return Part(
        end="cuff fold",
        ends="folded cuff edge",
        raw="raw cuff edge",
        folds={"cuff": "cuff fold line"},
        allowances=(
            Allowance("cuff fold-back", 100.0, 60.0, "the whole allowance at the cuff; half of it shows, turned",
                bounds("cuff fold-back", 0.0, 2.3, "Half of it shows; a cuff longer than a palm is hardly turned.",
                    divided_by="palm length"), FOLD_BACK,
                    read_off=(read_down("cuff edge below the wrist line", TRANK, "cuff edge"),)),
            _FLARE,
            TURNING_ROOM,
        ),
        sums=(
            Sum(ACROSS, "cuff fold", "−{cuff fold-back} ÷ 2", guide="Cuff fold"),
            Sum(ACROSS, "cuff raw edge", "−{cuff fold-back}", guide="Cuff raw edge"),
            *side.sums,
            Sum(SIDE, "cuff fold, across", "{a side} + {cuff flare}"),
            *turned(SIDE, "cuff turn", "cuff body", "cuff fold", 0.5),
            *turned(SIDE, "cuff waist", "waist", "cuff fold", 0.9),
            Sum(SIDE, "cuff edge, across", f"{{wrist, across}} + {{{TURN_ROOM}}}"),
        ),
        moves=(
            WIDER,
            *side.moves,
            move("cuff fold", {"cuff fold-back": (0.0, -0.5), "cuff flare": (1.0, 0.0)}),
            _image("cuff turn", "cuff body", 0.5),
            _image("cuff waist", "waist", 0.9),
            _image("cuff edge", "wrist", 1.0),
            move("cuff end", {"cuff fold-back": (0.0, -1.0)}),
        ),
        points=(
            *side.points,
            At(TRANK, "cuff fold", "cuff fold, across", "cuff fold", ("side", "cuff fold"), turn=True),
            At(TRANK, "cuff turn", "cuff turn, across", "cuff turn, up", ("side", "cuff turn")),
            At(TRANK, "cuff waist", "cuff waist, across", "cuff waist, up", ("side", "cuff waist")),
            At(TRANK, "cuff edge", "cuff edge, across", "cuff raw edge", ("side", "cuff edge"), turn=True),
            At(TRANK, "cuff centre", None, "cuff raw edge", ("cuff end",)),
        ),
        edges=(
            Edge(TRANK, "side", "boundary", (*BELOW, "cuff fold"), OVERSEWN),
            Edge(TRANK, "cuff turned side", "boundary", ("cuff fold", "cuff turn", "cuff waist", "cuff edge"),
                OVERSEWN),
            Edge(TRANK, "cuff raw edge", "boundary", ("cuff edge", "cuff centre"), RAW),
        ),
        seams=(mirrored_seam("turned part at the cuff", TRANK, "cuff turned side"),),
        marks=fold_marks(TRANK, "cuff", "cuff fold"),
        widths=(
            width("cuff opening", "cuff fold", "Flat, along the folded cuff edge, side fold to seam, fold-back down."),
        ),
        depths=(
            measure("cuff fold-back depth", TRANK, "height", ("cuff fold", "cuff edge"), 2.0,
                f"From the fold to the raw edge of the turned part{combed(style)}."),
        ),
        limits=(TURNING, _ROOM),
    )
    # fmt: on


def _plain(style: Style) -> Part:
    side = together(_below(name, "cuff length", TWICE) for name in BELOW)
    # fmt: off
    return Part(
        end="cuff edge",
        ends="cuff edge",
        raw="cuff edge",
        allowances=(
            Allowance("cuff length", 50.0, 30.0, "how far below the wrist line the cuff ends",
                bounds("cuff length", 0.0, 1.15, "A cuff longer than a palm is another kind of glove.",
                    divided_by="palm length"),
                Least(10.0, Code.NOTHING_TO_DRAW, ": the waist lies between the wrist line and the edge"),
                read_off=(read_down("cuff edge below the wrist line", TRANK, "cuff edge"),)),
            _FLARE,
        ),
        sums=(
            Sum(ACROSS, "cuff edge", "−{cuff length}", guide="Cuff edge"),
            *side.sums,
            Sum(SIDE, "cuff edge, across", "{a side} + {cuff flare}"),
        ),
        moves=(
            *side.moves,
            move("cuff edge", {"cuff flare": (1.0, 0.0)}),
            move("cuff end", {"cuff length": (0.0, -1.0)}),
        ),
        points=(
            *side.points,
            At(TRANK, "cuff edge", "cuff edge, across", "cuff edge", ("side", "cuff edge", "cuff end"), turn=True),
            At(TRANK, "cuff centre", None, "cuff edge", ("cuff end",)),
        ),
        offers=PLAIN_EDGES,
        edges=(
            Edge(TRANK, "side", "boundary", (*BELOW, "cuff edge"), OVERSEWN),
            Edge(TRANK, "cuff edge", "boundary", ("cuff edge", "cuff centre"), RAW),
        ),
        marks=(Mark(TRANK, "wrist", "tick", "wrist', wrist", "where the two sides of the seam meet at the wrist"),),
        widths=(width("cuff opening", "cuff edge", "Flat, along the cuff edge, side fold to seam."),),
        limits=(_ROOM,),
    )
    # fmt: on


def _lined(seen: Mapping[str, float]) -> Lined:
    """The lining of a cuff of which so much is seen: somewhat longer, so that it does not pull."""
    return Lined("plain", {"cuff length": {**seen, LONGER: 1.0}})


#: The lining ends at a band, as wide as the waist is without one.
_AT_THE_BAND = Lined(
    "plain", {"cuff length": {band.BELOW_WRIST: 1.0, LONGER: 1.0}, "cuff flare": {"waist shaping": -1.0}}
)

CHOICES = {
    "turned": Choice("turned to the outside", _turned, {"cuff fold-back": "plain"}, _lined({"cuff fold-back": 0.5})),
    "plain": Choice("ending in a plain edge", _plain, lined=_lined({"cuff length": 1.0})),
    "band": Choice("a knitted band of its own, sewn on at the wrist", band.rib, lined=_AT_THE_BAND),
    "leather band": Choice(
        "a leather band of its own, laced over a slit in the side seam",
        band.leather,
        lined=_AT_THE_BAND,
        apart=(
            Apart(
                "thumb",
                "none",
                "A trank that ends below the web has no height left for the slit that a leather band needs.",
                "Choose the cuff 'band', or the thumb 'none, with a hole'.",
            ),
        ),
    ),
}
