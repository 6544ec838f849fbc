"""What every trank has, whatever its ends are like: half the round beside the mirror line, its widths and its waist."""

from __future__ import annotations

from grading.drafting.parts.part import (
    MATERIAL_FIRST,
    TRANK,
    Allowance,
    At,
    Part,
    Shares,
    Style,
    Sum,
    bounds,
    limit,
    measure,
    move,
    width,
)
from grading.drafting.parts.read_off import ReadOff, read_across, read_down
from grading.findings import Severity
from grading.model.block import MATERIAL, Measure, Piece

__all__ = [
    "ACROSS",
    "DEPTH",
    "HALF",
    "SHORT",
    "SIDE",
    "TOP",
    "beside_the_ball",
    "brings",
    "combed",
    "end_above",
    "finger_point",
    "finished_length",
    "has_hole",
    "leather",
    "line_below",
    "narrowest",
    "side_length",
    "widest",
]

#: The stages of drafting the trank.
HALF = "Half the round belongs to each side of the mirror line"
ACROSS = "Lines across the trank, up from the wrist line"
TOP = "The top, rounded over the finger tips"
SIDE = "The side of the trank"

#: How far below the roots of the fingers, and so below the web, a trank without a thumb hole ends.
SHORT = "below the finger roots"

#: π − 2: the depth of the hand from flat measures is (open girth − 2 × breadth) / (π − 2). Common practice.
DEPTH = 1.1416


def leather(style: Style, pile: str) -> tuple[str, str]:
    """What outer pieces are cut from, and which way its pile runs: what is lined has none."""
    return ("leather", "") if style["lining"] == "lined" else ("leather, pile inside", pile)


def combed(style: Style) -> str:
    """What is to be done with the pile where a width or a depth is measured: what is lined has none."""
    return "" if style["lining"] == "lined" else ", pile combed back"


def has_hole(style: Style) -> bool:
    """Whether the thumb comes out of the trank through a hole."""
    return style["thumb"] != "none"


def end_above(style: Style, beyond: str) -> tuple[Shares, str]:
    """The line where the fingers end: so far beyond the palm, or short of the web where there is no thumb hole.

    Its shares, and its sum.
    """
    if has_hole(style):
        return {"palm length": (0.0, 1.0), beyond: (0.0, 1.0)}, f"{{palm length}} + {{{beyond}}}"
    return _SHORT_OF_WEB, _SHORT_SUM


def line_below(style: Style, fold_back: str) -> tuple[Shares, str]:
    """The line that the raw edge of a part turned at the fingers comes to lie on: its shares, and its sum."""
    if has_hole(style):
        return {"palm length": (0.0, 1.0)}, "{palm length}"
    return {**_SHORT_OF_WEB, fold_back: (0.0, -0.5)}, f"{_SHORT_SUM} − {{{fold_back}}} ÷ 2"


#: How far up the side beside the ball of the thumb is: of the palm; or where the trank ends below the web and is turned
#: there, of what lies below the turned part, so that it keeps its shape where that is short.
_OF_PALM, _OF_TRANK = 0.12, 0.375


def beside_the_ball(style: Style) -> tuple[Shares, str]:
    """How far up the side is beside the ball of the thumb: its shares, and its sum."""
    if has_hole(style) or style["fingers"] != "turned":
        return {"palm length": (0.0, _OF_PALM)}, f"{_OF_PALM:g} × {{palm length}}"
    shares, sum_ = line_below(style, "finger fold-back")
    return {name: (0.0, _OF_TRANK * y) for name, (_, y) in shares.items()}, f"{_OF_TRANK:g} × ({sum_})"


_SHORT_OF_WEB: Shares = {"palm length": (0.0, 1.0), SHORT: (0.0, -1.0)}
_SHORT_SUM = f"{{palm length}} − {{{SHORT}}}"


def finger_point(style: Style) -> str:
    """The point that lies on the line of the fingers' roots."""
    return "knuckle" if widest(style) == "knuckle" else "finger line"


def widest(style: Style) -> str:
    """The point where half the round is measured."""
    return "knuckle" if style["fingers"] != "plain" and has_hole(style) else "widest"


def brings(style: Style) -> Part:
    """The round of the hand, and what is measured and held to bounds in every trank."""
    at_knuckles = widest(style) == "knuckle"
    where = "at the knuckles" if at_knuckles else "where it is widest, below the finger edge"
    folded = ", fold-backs down" if "turned" in (style["fingers"], style["cuff"]) else ""
    no_hole = not has_hole(style)
    # fmt: off
    return Part(
        pieces=(
            Piece(TRANK, True, 1, 1, *leather(style, "cuff to fingers"), "across", "",
                "back and palm in one, round the hand"),
        ),
        allowances=(
            Allowance("hand ease", 24.0, 22.0, "round the hand: room to move and the material's own thickness",
                bounds("hand ease", MATERIAL, 45.0, f"{MATERIAL_FIRST}; with more than 45 mm it turns on the hand."),
                read_off=tuple(ReadOff("twice a side less fist girth",
                    (((TRANK, widest, 0), 2.0), ("fist girth", -1.0))) for widest in ("knuckle", "widest"))),
            Allowance("waist shaping", 2.0, 1.0, "how much narrower a side is at the waist than at the knuckles",
                bounds("waist shaping", -2.0, 5.0, "More a side leaves the hand no room to pass."), read_off=(
                    # At a slit the side is narrowed by more than that; half-way down the palm it has a fifth of it.
                    *(ReadOff(f"five times {widest} less palm", (((TRANK, widest, 0), 5.0), ((TRANK, "palm", 0), -5.0)),
                        only=((TRANK, "slit end"),)) for widest in ("knuckle", "widest")),
                    *(read_across(f"{widest} less waist", TRANK, widest, "waist") for widest in ("knuckle", "widest")),
                )),
            *(
                [
                    Allowance(
                        SHORT,
                        40.0,
                        32.0,
                        "how far below the finger roots the trank ends, so that the thumb is free",
                        limit(
                            SHORT,
                            SHORT,
                            8.0,
                            None,
                            Severity.WARNING,
                            "The trank ends 8 mm below the web or more: nearer to it the edge cuts into it.",
                            less="web depth",
                        ), read_off=(read_down("finger edge below palm length", TRANK, "finger edge", "palm length"),),
                    )
                ]
                if no_hole
                else []
            ),
        ),
        sums=(
            Sum(HALF, "round the mitten", "{fist girth} + {hand ease}"),
            Sum(HALF, "a side", "{round the mitten} ÷ 2", guide="half the round"),
            Sum(HALF, "to add beside the flat hand", "{a side} − {hand breadth}"),
            *([] if at_knuckles else [Sum(ACROSS, "palm up to the fingers", "{palm length}")]),
        ),
        moves=(
            move("side", {"fist girth": (0.5, 0.0), "hand ease": (0.5, 0.0)}),
            *([] if at_knuckles else [move("finger roots", {"palm length": (0.0, 1.0)})]),
        ),
        points=() if at_knuckles else (At(TRANK, "finger line", None, "palm up to the fingers", ("finger roots",)),),
        widths=(
            width("palm width", widest(style),
                f"Flat{folded}, side fold to seam {where}{combed(style)}, not stretched."),
            width("waist width", "waist",
                "Flat, at the narrowest, just below the wrist line, side fold to seam, not stretched."),
        ),
        checks=(
            measure("waist below the finger line", TRANK, "height", (finger_point(style), "waist"), None,
                "From the finger line down."),
        ),
        limits=(
            limit("room at the waist", "narrowest of the trank", MATERIAL, None, Severity.ERROR,
                "The whole hand, thumb tucked in, has to pass the waist, and the material takes its part of the round.",
                less="entry girth"),
            limit("ease at the waist", "narrowest of the trank", f"{MATERIAL} + 12", None, Severity.WARNING,
                "With less than 12 mm to spare the hand goes through the waist only with a pull.", less="entry girth"),
            limit("waist at the wrist", "waist below the finger line", 0.0, 10.0, Severity.WARNING,
                "The waist lies at the wrist or up to 10 mm below it: higher up it presses on the ball of the thumb.",
                less="palm length"),
            limit("palm to hand", "palm length", 0.50, 0.64, Severity.WARNING,
                "A palm is a little over half of the hand long.", divided_by="hand length"),
            limit("depth of the hand", "hand girth", 12.0, 38.0, Severity.WARNING,
                "Girth and flat breadth have to leave the hand a depth.", less="hand breadth", less_times=2.0,
                divided_by=DEPTH),
        ),
    )
    # fmt: on


def finished_length(fingers: Part, cuff: Part) -> Measure:
    """From one end of the trank to the other, as it is seen."""
    return measure(
        "finished length",
        TRANK,
        "height",
        (fingers.end, cuff.end),
        3.0,
        f"Flat, from the {fingers.ends} to the {cuff.ends}, along the index side.",
        follows=fingers.follows,
    )


def side_length(fingers: Part, cuff: Part) -> Measure:
    """The side seam, as far as it is seen."""
    folds = [bool(part.folds) for part in (fingers, cuff)]
    both = "from fold to fold" if all(folds) else "from end to end"
    return measure(
        "side seam length",
        TRANK,
        "along",
        (fingers.side, cuff.closes or cuff.end),
        3.0,
        f"Along the side seam, {both}, laid straight, not stretched.",
    )


def narrowest(style: Style, cuff: Part) -> Measure:
    """The least of the round between the palm and the cuff, as far as it is closed."""
    ends = (widest(style), cuff.closes or cuff.end)
    return measure("narrowest of the trank", TRANK, "narrowest", ends, None, "Round the closed mitten.")
