"""The end of the trank at the fingers, and its side down to the palm."""

from __future__ import annotations

from grading.codes import Code
from grading.drafting.parts.part import (
    SHORTER,
    TRANK,
    Allowance,
    At,
    Choice,
    Least,
    Lined,
    Part,
    Style,
    Sum,
    bounds,
    measure,
    mirrored_seam,
    move,
    together,
    width,
)
from grading.drafting.parts.read_off import read_across, read_up
from grading.drafting.parts.sewn import OVERSEWN, PLAIN_EDGES, RAW
from grading.drafting.parts.tip import Reach, rounded
from grading.drafting.parts.trunk import (
    ACROSS,
    DEPTH,
    SHORT,
    SIDE,
    TOP,
    combed,
    end_above,
    has_hole,
    line_below,
    widest,
)
from grading.drafting.parts.turned import FOLD_BACK, TURN_ROOM, TURNING, TURNING_ROOM, WIDER, fold_marks, turned
from grading.model.block import Edge, Mark

__all__ = ["CHOICES"]

#: How much of the finger taper a side has half-way to the fold: it leaves the knuckles upright.
TAPERED = 0.2


def _taper(where: str) -> Allowance:
    return Allowance(
        "finger taper",
        6.0,
        5.0,
        f"how much narrower a side is at the finger {where} than at the knuckles",
        bounds("finger taper", -2.0, 7.0, "More a side is another shape at the fingers."),
        read_off=(
            read_across("knuckle less finger fold", TRANK, "knuckle", "finger fold"),
            read_across("widest less finger edge", TRANK, "widest", "finger edge"),
        ),
    )


#: The side half-way down the palm: how far up (of the finger line), and how much of the waist shaping it has there.
_UP, _SHAPING = 0.65, 0.2
_PALM = Part(
    sums=(
        Sum(SIDE, "palm, across", f"{{a side}} − {_SHAPING:g} × {{waist shaping}}"),
        Sum(SIDE, "palm, up", f"{_UP:g} × {{palm length}}"),
    ),
    moves=(move("palm", {"palm length": (0.0, _UP), "waist shaping": (-_SHAPING, 0.0)}),),
    points=(At(TRANK, "palm", "palm, across", "palm, up", ("side", "palm")),),
    edges=(Edge(TRANK, "side", "boundary", ("palm",), OVERSEWN),),
)


def _turned(style: Style) -> Part:
    shares, sum_ = line_below(style, "finger fold-back")
    at_line = widest(style)

    def above(share: float) -> dict[str, tuple[float, float]]:
        """So much of the fold-back above the finger line."""
        back = shares.get("finger fold-back", (0.0, 0.0))[1] + share
        return {**shares, "finger fold-back": (0.0, back)}

    # fmt: off
    end = Part(
        end="finger fold",
        ends="folded finger edge",
        side="finger fold",
        follows="palm length",
        raw="raw finger edge",
        folds={"fingers": "finger fold line"},
        allowances=(
            Allowance("finger fold-back", 60.0, 36.0, "the whole allowance at the fingers; half of it shows, turned",
                bounds("finger fold-back", 0.0, 1.3,
                    "Half of it lies on the body under it: it ends well before the wrist.", divided_by="palm length"),
                FOLD_BACK, read_off=(read_up("finger edge above palm length", TRANK, "finger edge", "palm length"),)),
            _taper("fold"),
            TURNING_ROOM,
        ),
        sums=(
            Sum(ACROSS, "finger line", sum_, guide="Finger line"),
            Sum(ACROSS, "finger fold", "{finger line} + {finger fold-back} ÷ 2", guide="Finger fold"),
            Sum(ACROSS, "finger raw edge", "{finger line} + {finger fold-back}", guide="Finger raw edge"),
            Sum(SIDE, "finger fold, across", "{a side} − {finger taper}"),
            Sum(SIDE, "finger body, across", f"{{a side}} − {TAPERED:g} × {{finger taper}}"),
            Sum(SIDE, "finger body, up", "({finger line} + {finger fold}) ÷ 2"),
            *turned(SIDE, "finger turn", "finger body", "finger fold", 0.5),
            Sum(SIDE, "finger edge, across", f"{{a side}} + {{{TURN_ROOM}}}"),
        ),
        moves=(
            WIDER,
            move("finger line", shares),
            move("finger edge", above(1.0)),
            move("finger turn", {**above(0.75), "finger taper": (-TAPERED, 0.0), TURN_ROOM: (0.5, 0.0)}),
            move("finger fold", {**above(0.5), "finger taper": (-1.0, 0.0)}),
            move("finger body", {**above(0.25), "finger taper": (-TAPERED, 0.0)}),
        ),
        points=(
            At(TRANK, "finger centre", None, "finger raw edge", ("finger edge",)),
            At(TRANK, "finger edge", "finger edge, across", "finger raw edge", ("side", "turned", "finger edge"),
                turn=True),
            At(TRANK, "finger turn", "finger turn, across", "finger turn, up", ("side", "finger turn")),
            At(TRANK, "finger fold", "finger fold, across", "finger fold", ("side", "finger fold"), turn=True),
            At(TRANK, "finger body", "finger body, across", "finger body, up", ("side", "finger body")),
            At(TRANK, at_line, "a side", "finger line", ("side", "finger line")),
        ),
        edges=(
            Edge(TRANK, "finger raw edge", "boundary", ("finger centre", "finger edge"), RAW),
            Edge(TRANK, "finger turned side", "boundary", ("finger edge", "finger turn", "finger fold"), OVERSEWN),
            Edge(TRANK, "side", "boundary", ("finger fold", "finger body", at_line), OVERSEWN),
        ),
        seams=(mirrored_seam("turned part at the fingers", TRANK, "finger turned side"),),
        marks=fold_marks(TRANK, "finger", "finger fold"),
        widths=(
            width("finger opening", "finger fold",
                "Flat, along the folded finger edge, side fold to seam, fold-back down."),
        ),
        depths=(
            measure("finger fold-back depth", TRANK, "height", ("finger fold", "finger edge"), 2.0,
                f"From the fold to the raw edge of the turned part{combed(style)}."),
        ),
        limits=(TURNING,),
    )
    # fmt: on
    # A trank that ends below the web is too short to be shaped half-way down the palm.
    return together([end, _PALM]) if has_hole(style) else end


#: Where the side is widest in a trank with a plain end, and half-way down the palm, of the height of its end.
_WIDEST, _PLAIN_UP = 0.75, 0.45
#: How far beyond the palm a plain end lies.
BEYOND = "finger edge"


def _plain(style: Style) -> Part:
    shares, sum_ = end_above(style, BEYOND)

    def part(of: float) -> dict[str, tuple[float, float]]:
        return {name: (0.0, of * y) for name, (_, y) in shares.items()}

    beyond = Allowance(
        BEYOND,
        30.0,
        18.0,
        "how far beyond the palm the edge at the fingers lies: where the mitten is to end",
        bounds(BEYOND, 0.0, 0.65, "Further than this it covers the finger tips.", divided_by="palm length"),
        read_off=(read_up("finger edge above palm length", TRANK, "finger edge", "palm length"),),
    )
    # fmt: off
    return Part(
        end="finger edge",
        ends="finger edge",
        side="finger edge",
        follows="palm length",
        raw="finger edge",
        allowances=(*([beyond] if has_hole(style) else []), _taper("edge")),
        sums=(
            Sum(ACROSS, "end at the fingers", sum_, guide="Finger edge"),
            Sum(SIDE, "finger edge, across", "{a side} − {finger taper}"),
            Sum(SIDE, "widest, up", f"{_WIDEST:g} × {{end at the fingers}}"),
            Sum(SIDE, "palm, across", f"{{a side}} − {_SHAPING:g} × {{waist shaping}}"),
            Sum(SIDE, "palm, up", f"{_PLAIN_UP:g} × {{end at the fingers}}"),
        ),
        moves=(
            move("finger end", shares),
            move("finger edge", {"finger taper": (-1.0, 0.0)}),
            move("widest", part(_WIDEST)),
            move("palm side", {**part(_PLAIN_UP), "waist shaping": (-_SHAPING, 0.0)}),
        ),
        points=(
            At(TRANK, "finger centre", None, "end at the fingers", ("finger end",)),
            At(TRANK, "finger edge", "finger edge, across", "end at the fingers", ("side", "finger end", "finger edge"),
                turn=True),
            At(TRANK, "widest", "a side", "widest, up", ("side", "widest")),
            At(TRANK, "palm", "palm, across", "palm, up", ("side", "palm side")),
        ),
        offers=PLAIN_EDGES,
        edges=(
            Edge(TRANK, "finger edge", "boundary", ("finger centre", "finger edge"), RAW),
            Edge(TRANK, "side", "boundary", ("finger edge", "widest", "palm"), OVERSEWN),
        ),
        widths=(width("finger opening", "finger edge", "Flat, along the finger edge, side fold to seam."),),
    )
    # fmt: on


#: Twice (π − 2): half the depth of the hand is (open girth − 2 × breadth) / 2(π − 2). Common practice.
_TWO_DEPTHS = 2 * DEPTH
#: How far up the middle finger the rounded end has become the side.
_UPRIGHT = 0.4
#: The top's curve from the summit down to the side. Found by fitting: with these, and the rise from the dart, it is
#: within a degree of level at the summit and of upright at the side, and leaves every finger tip 0.8 to 2.2 times the
#: tip ease in every size of the demo, with finger lengths as published (Chatzıoglou et al. 2024).
_FALL = {"fall": (0.22, 0.062), "slope": (0.44, 0.27), "turn-down": (0.91, 0.81), "upright": (0.998, 0.959)}


def _closed(style: Style) -> Part:
    tip = rounded(
        TOP,
        TRANK,
        "top",
        half=Reach("a side", {"fist girth": 0.5, "hand ease": 0.5}),
        summit=Reach(
            "middle finger, across",
            {"hand girth": 1 / _TWO_DEPTHS, "hand breadth": -2 / _TWO_DEPTHS, "index-middle gap": 1.5},
        ),
        top=Reach("top", {"hand length": 1.0, "tip ease": 1.0}),
        end=Reach("end of the top", {"hand length": _UPRIGHT, "palm length": 1 - _UPRIGHT}),
        fall=_FALL,
        centre="finger centre",
    )
    # fmt: off
    top = Part(
        end=tip.end,
        ends="summit of the top",
        side=tip.side,
        follows="hand length",
        raw="the dart on the index side over the finger tips",
        allowances=(
            Allowance("tip ease", 14.0, 12.0, "how far beyond the longest finger the top is closed",
                bounds("tip ease", 6.0, 30.0, "Less presses on the finger tips; more flaps beyond them."),
                Least(1.0, Code.NOTHING_TO_DRAW, " beyond the longest finger"),
                read_off=(read_up("summit above hand length", TRANK, "top summit", "hand length"),)),
        ),
        sums=(
            Sum(ACROSS, "finger line", "{palm length}", guide="Finger line"),
            Sum(ACROSS, "top", "{hand length} + {tip ease}", guide="Top"),
            Sum(ACROSS, "end of the top", f"{{palm length}} + {_UPRIGHT:g} × ({{hand length}} − {{palm length}})",
                guide="End of the top"),
            Sum(TOP, "middle finger, across",
                f"({{hand girth}} − 2 × {{hand breadth}}) ÷ {_TWO_DEPTHS:g} + 1.5 × {{index-middle gap}}",
                guide="middle finger"),
            *tip.sums,
        ),
        moves=(*tip.moves, move("finger line", {"palm length": (0.0, 1.0)})),
        points=(*tip.points, At(TRANK, "knuckle", "a side", "finger line", ("side", "finger line"))),
        edges=(*tip.edges, Edge(TRANK, "side", "boundary", (tip.side, "knuckle"), OVERSEWN)),
        seams=(mirrored_seam("top seam", TRANK, "top"),),
        marks=(Mark(TRANK, "summit", "tick", "top summit', top summit", "where both sides of the top seam meet"),),
        checks=(
            measure("dart below the top", TRANK, "height", ("top summit", "finger centre"), None,
                "From the summit down to where the mirror line ends."),
        ),
    )
    # fmt: on
    return together([top, _PALM])


# fmt: off
CHOICES = {
    "turned": Choice("open, turned to the outside", _turned, {"finger fold-back": "plain"},
        Lined("plain", {BEYOND: {"finger fold-back": 0.5, SHORTER: -1.0}, SHORT: {SHORT: 1.0, SHORTER: 1.0}})),
    "plain": Choice("open, ending in a plain edge", _plain,
        lined=Lined("plain", {BEYOND: {BEYOND: 1.0, SHORTER: -1.0}, SHORT: {SHORT: 1.0, SHORTER: 1.0}})),
    "closed top": Choice("closed over the finger tips by a rounded seam, with a dart on the index side", _closed,
        lined=Lined("closed top", {"tip ease": {"tip ease": 1.0, SHORTER: -1.0}})),
}
# fmt: on
