"""How the standard mitten is sewn, marked, measured and held to account: the rest of its block, as data.

Only what the style itself asks for stands here: needle, thread and terms of work are each workshop's own.
"""

from __future__ import annotations

from grading.drafting.mitten import THUMB, TRANK, TURN_ROOM
from grading.findings import Severity
from grading.model.block import (
    LEATHER,
    MATERIAL,
    Amount,
    Instruction,
    Limit,
    Mark,
    Measure,
    Piece,
    Seam,
    SeamType,
    Side,
    Step,
)

__all__ = ["LIMITS", "MAKING", "MARKS", "MEASURES", "PIECES", "SEAMS", "SEAM_TYPES", "WORK"]

PIECES = (
    Piece(
        TRANK,
        True,
        1,
        1,
        "leather, pile inside",
        "cuff to fingers",
        "across",
        "",
        "back and palm in one, round the hand",
    ),
    Piece(THUMB, True, 1, 1, "leather, pile inside", "foot to tip", "across", "web centre", "folds on its mirror line"),
)

SEAM_TYPES = (
    SeamType("raw edge", 0.0, "none", "left as cut"),
    SeamType("oversewn", 0.0, "oversewing, from the leather side", "edge to edge, no allowance"),
    SeamType("inside seam", 2.0, "running stitch, pile shorn in the seam", "leather sides together"),
)

#: Seam ease of the thumb in its hole, about 5 to 8 % of the hole where it lies. Common practice.
_LEAST, _MOST, _TARGET = Amount(part=0.03), Amount(part=0.08), Amount(part=0.055)
_NONE = Amount()
#: Marks at a quarter, a half and three quarters of each half of the hole: one stroke on the palm side, two on the
#: index side. Ease belongs round the belly, so the first quarter from T takes none.
_MATCHING, _MATCHING_DOUBLE = (3, 1, 0.25), (3, 2, 0.25)

SEAMS = (
    Seam(
        "thumb in hole, palm half",
        Side(THUMB, ("foot",)),
        Side(TRANK, ("hole palm half",)),
        _LEAST,
        _MOST,
        _TARGET,
        "foot fullness",
        *_MATCHING,
    ),
    Seam(
        "thumb in hole, index half",
        Side(THUMB, ("foot'",)),
        Side(TRANK, ("hole index half",)),
        _LEAST,
        _MOST,
        _TARGET,
        "foot fullness",
        *_MATCHING_DOUBLE,
    ),
    Seam("thumb seam", Side(THUMB, ("stem side",)), Side(THUMB, ("stem side'",)), _NONE, _NONE, _NONE),
    Seam("side seam", Side(TRANK, ("side",)), Side(TRANK, ("side'",)), _NONE, _NONE, _NONE),
    *(
        Seam(name, Side(piece, (edge,)), Side(piece, (f"{edge}'",)), _NONE, _NONE, _NONE)
        for name, piece, edge in (
            ("turned part at the fingers", TRANK, "finger turned side"),
            ("turned part at the cuff", TRANK, "cuff turned side"),
            ("turned part of the thumb", THUMB, "turned side"),
        )
    ),
)

MARKS = (
    Mark(TRANK, "finger fold line", "fold line", "finger fold', finger fold"),
    Mark(TRANK, "cuff fold line", "fold line", "cuff fold', cuff fold"),
    Mark(THUMB, "thumb fold line", "fold line", "turn fold', turn fold"),
    Mark(TRANK, "T", "label", "T"),
    Mark(TRANK, "H", "label", "H"),
    Mark(THUMB, "T", "label", "T, T'"),
    Mark(THUMB, "H", "label", "H"),
    *(
        Mark(piece, name, "change-over", f"{point}', {point}", "from here on the turned part shows its other face")
        for piece, name, point in (
            (TRANK, "finger change-over", "finger fold"),
            (TRANK, "cuff change-over", "cuff fold"),
            (THUMB, "thumb change-over", "turn fold"),
        )
    ),
)


def _measure(
    name: str,
    piece: str,
    how: str,
    ends: tuple[str, str],
    tolerance: float | None,
    how_to_measure: str,
    *,
    times: float = 1.0,
    tells_size: bool = False,
    follows: str = "",
    share: float = 1.0,
) -> Measure:
    """A measure with the same tolerance either way; ``follows`` names the body value it grows with, by a share."""
    start, end = ends
    return Measure(
        name, piece, how, start, end, times, tolerance, tolerance, tells_size, follows, share, how_to_measure
    )


#: What oversewing with a bite of 2 mm takes of a width laid flat. Common practice.
_STITCH_TAKES = "Sewn, it is about 1 mm less: the stitch takes that."


def _width(name: str, at: str, help_: str) -> Measure:
    """Half of the round at a point of the trank: the width of the closed mitten, laid flat."""
    return _measure(
        name,
        TRANK,
        "across",
        (at, ""),
        2.0,
        f"{help_} {_STITCH_TAKES}",
        times=0.5,
        tells_size=True,
        follows="fist girth",
        share=0.5,
    )


MEASURES = (
    _width(
        "palm width",
        "knuckle",
        "Flat, fold-backs down, side fold to seam at the knuckles, pile combed back, not stretched.",
    ),
    _width(
        "waist width", "waist", "Flat, at the narrowest, just below the wrist line, side fold to seam, not stretched."
    ),
    _width("finger opening", "finger fold", "Flat, along the folded finger edge, side fold to seam, fold-back down."),
    _width("cuff opening", "cuff fold", "Flat, along the folded cuff edge, side fold to seam, fold-back down."),
    _measure(
        "finished length",
        TRANK,
        "height",
        ("finger fold", "cuff fold"),
        3.0,
        "Flat, from the folded finger edge to the folded cuff edge, along the index side.",
        follows="palm length",
    ),
    _measure(
        "finger fold-back depth",
        TRANK,
        "height",
        ("finger fold", "finger edge"),
        2.0,
        "From the fold to the raw edge of the turned part, pile combed back.",
    ),
    _measure(
        "cuff fold-back depth",
        TRANK,
        "height",
        ("cuff fold", "cuff edge"),
        2.0,
        "From the fold to the raw edge of the turned part, pile combed back.",
    ),
    _measure(
        "side seam length",
        TRANK,
        "along",
        ("finger fold", "cuff fold"),
        3.0,
        "Along the side seam, from fold to fold, laid straight, not stretched.",
    ),
    _measure(
        "thumb hole height",
        TRANK,
        "straight",
        ("T", "H"),
        1.5,
        "Before the thumb is set: from T to H on the sew line.",
        follows="thumb root length",
    ),
    _measure(
        "thumb hole round",
        TRANK,
        "perimeter",
        ("thumb hole", ""),
        2.0,
        "Before the thumb is set: once round the sew line with the edge of the tape.",
    ),
    _measure(
        "thumb width",
        THUMB,
        "across",
        ("knuckle", ""),
        1.5,
        f"Flat, at the knuckle line of the thumb, fold to seam. {_STITCH_TAKES}",
        times=0.5,
        follows="thumb girth",
        share=0.5,
    ),
    _measure(
        "thumb length",
        THUMB,
        "height",
        ("turn fold", "T"),
        2.0,
        "From the folded tip edge down the seam to T at the web.",
        follows="web to knuckle",
    ),
    _measure(
        "thumb rim round",
        THUMB,
        "along",
        ("T", "T'"),
        2.0,
        "Before the thumb is set: along the foot's sew line from T by H to T.",
    ),
    _measure("hole, palm half", TRANK, "along", ("T", "H"), None, "From T down the palm side to H."),
    _measure("hole, index half", TRANK, "along", ("H", "T"), None, "From H up the index side to T."),
    _measure(
        "hole below the finger line",
        TRANK,
        "height",
        ("knuckle", "T"),
        None,
        "From the finger line down to T.",
        follows="web depth",
    ),
    _measure(
        "foot of the hole below the finger line", TRANK, "height", ("knuckle", "H"), None, "From the finger line to H."
    ),
    _measure(
        "thumb line",
        TRANK,
        "sideways",
        ("finger centre", "T"),
        None,
        "From the mirror line across to T.",
        follows="index-middle gap",
    ),
    _measure("hole to mirror line", TRANK, "clearance", ("thumb hole", "mirror line"), None, "Nearest the fold."),
    _measure("hole to cut edge", TRANK, "clearance", ("thumb hole", "boundary"), None, "Nearest the outline."),
    _measure("hole's tightest bend", TRANK, "radius", ("thumb hole", ""), None, "The smallest radius round the hole."),
    _measure("rim at T", THUMB, "angle", ("T", ""), None, "Between tube and rim, inside; closed, it is twice that."),
    _measure("narrowest of the tube", THUMB, "narrowest", ("turn fold", "T"), None, "Round the closed tube."),
    _measure("narrowest of the trank", TRANK, "narrowest", ("knuckle", "cuff fold"), None, "Round the closed mitten."),
    _measure("waist below the finger line", TRANK, "height", ("knuckle", "waist"), None, "From the finger line down."),
)


def _limit(
    name: str,
    what: str,
    least: float | str | None,
    most: float | str | None,
    severity: Severity,
    why: str,
    *,
    times: float = 1.0,
    less: str | None = None,
    less_times: float = 1.0,
    divided_by: float | str = 1.0,
) -> Limit:
    return Limit(name, what, times, less, less_times, divided_by, least, most, severity, why)


#: π − 2: the depth of the hand from flat measures is (open girth − 2 × breadth) / (π − 2). Common practice.
_DEPTH = 1.1416

_MATERIAL_FIRST = "The pile and the leather take that much of the round before there is any room to move"


def _bounds(name: str, least: float | str | None, most: float | None, why: str) -> Limit:
    """What an allowance, or a seam type's, is held to."""
    return _limit(name, name, least, most, Severity.WARNING, why)


#: The bounds are common practice, wide enough for any hand: what passes them is more often another unit or a digit
#: too many. A maker who means it changes the row.
LIMITS = (
    _limit(
        "room at the waist",
        "narrowest of the trank",
        MATERIAL,
        None,
        Severity.ERROR,
        "The whole hand, thumb tucked in, has to pass the waist, and the material takes its part of the round.",
        less="entry girth",
    ),
    _limit(
        "ease at the waist",
        "narrowest of the trank",
        f"{MATERIAL} + 12",
        None,
        Severity.WARNING,
        "With less than 12 mm to spare the hand goes through the waist only with a pull.",
        less="entry girth",
    ),
    _limit(
        "waist at the wrist",
        "waist below the finger line",
        0.0,
        10.0,
        Severity.WARNING,
        "The waist lies at the wrist or up to 10 mm below it: higher up it presses on the ball of the thumb.",
        less="palm length",
    ),
    _limit(
        "room in the thumb",
        "narrowest of the tube",
        f"{MATERIAL} + 4",
        None,
        Severity.WARNING,
        "The thumb has to pass its tube with 4 mm to spare, and the material takes its part of the round.",
        less="thumb girth",
    ),
    _limit(
        "rim square to the tube",
        "rim at T",
        88.0,
        92.0,
        Severity.NOTE,
        "Only square the closed rim runs smooth at T. Read off to a sixteenth of an inch it may stray a little.",
    ),
    _limit(
        "rim without a peak",
        "rim at T",
        80.0,
        100.0,
        Severity.WARNING,
        "Else the closed rim has a peak or a notch at T, where leather puckers or tears.",
    ),
    _limit(
        "hole round enough",
        "hole's tightest bend",
        6.0,
        None,
        Severity.WARNING,
        "In a tighter bend an allowance cannot turn, and leather tears there first.",
    ),
    _limit(
        TURN_ROOM,
        TURN_ROOM,
        0.9,
        1.1,
        Severity.WARNING,
        "A turned part goes round the outside, and so is wider by what the leather takes.",
        divided_by=LEATHER,
    ),
    _limit(
        "room at the cuff",
        "cuff opening",
        MATERIAL,
        None,
        Severity.ERROR,
        "The whole hand, thumb tucked in, has to pass the cuff, and the material takes its part of the round.",
        times=2.0,
        less="entry girth",
    ),
    _bounds("hand ease", MATERIAL, 45.0, f"{_MATERIAL_FIRST}; with more than 45 mm it turns on the hand."),
    _bounds("thumb ease", MATERIAL, 36.0, f"{_MATERIAL_FIRST}; with more than 36 mm it turns on the thumb."),
    _limit(
        "finger fold-back",
        "finger fold-back",
        0.0,
        1.3,
        Severity.WARNING,
        "Half of it lies on the body under it: it ends well before the wrist.",
        divided_by="palm length",
    ),
    _limit(
        "cuff fold-back",
        "cuff fold-back",
        0.0,
        2.3,
        Severity.WARNING,
        "Half of it shows; a cuff longer than a palm is hardly turned.",
        divided_by="palm length",
    ),
    _bounds("finger taper", -2.0, 7.0, "More a side is another shape at the fingers."),
    _bounds("waist shaping", -2.0, 5.0, "More a side leaves the hand no room to pass."),
    _bounds("cuff flare", -5.0, 28.0, "More a side than this no longer turns flat onto the body."),
    _bounds("thumb forward", -4.0, 20.0, "Further than this the thumb sits in the palm, or beside the hand."),
    _bounds("web lowering", -2.0, 20.0, "A thumb longer than this in the stem sags at the web."),
    _bounds("thumb turn", 0.0, 60.0, "Half of it shows, and ends before the web."),
    _bounds("stem waist", -2.0, 2.0, "More a side leaves the thumb no room to pass."),
    _bounds("thumb flare", 3.0, 8.0, "Less leaves no way from tube to palm; more stands off the web."),
    _bounds("foot depth", -2.0, 3.7, "A foot deeper than this stands off the palm in a pouch."),
    _bounds("raw edge", 0.0, 1.0, "What is left raw is cut where it ends."),
    _bounds("oversewn", 0.0, 1.0, "Sewn edge to edge, over both: there is nothing beyond the sew line."),
    _bounds("inside seam", 1.5, 12.0, "With less the stitches tear out; more lies in a ridge."),
    _limit(
        "hole at the web",
        "hole below the finger line",
        -8.0,
        8.0,
        Severity.WARNING,
        "T lies at the web: or the thumb pulls, or sags.",
        less="web depth",
    ),
    _limit(
        "hole at the thumb",
        "thumb line",
        -4.0,
        20.0,
        Severity.WARNING,
        "T lies on the gap of index and middle finger, or somewhat before it.",
        less="index-middle gap",
    ),
    _limit(
        "hole above the wrist",
        "palm length",
        3.0,
        None,
        Severity.WARNING,
        "The hole ends above the wrist line, or the wrist shows in it.",
        less="foot of the hole below the finger line",
    ),
    _limit(
        "thumb to fist",
        "thumb girth",
        0.28,
        0.42,
        Severity.WARNING,
        "A thumb is about a third of the fist round.",
        divided_by="fist girth",
    ),
    _limit(
        "palm to hand",
        "palm length",
        0.50,
        0.64,
        Severity.WARNING,
        "A palm is a little over half of the hand long.",
        divided_by="hand length",
    ),
    _limit(
        "depth of the hand",
        "hand girth",
        12.0,
        38.0,
        Severity.WARNING,
        "Girth and flat breadth have to leave the hand a depth.",
        less="hand breadth",
        less_times=2.0,
        divided_by=_DEPTH,
    ),
    _limit(
        "hole clear of the mirror line",
        "hole to mirror line",
        1.0,
        None,
        Severity.ERROR,
        "The hole lies in the palm half, clear of the mirror line, which is not cut.",
    ),
    _limit(
        "hole clear of cut edges",
        "hole to cut edge",
        15.0,
        None,
        Severity.WARNING,
        "Less leather than this between hole and edge tears.",
    ),
    _limit(
        "halves of the hole",
        "hole, palm half",
        -0.5,
        0.5,
        Severity.WARNING,
        "The halves are equally long: or the thumb is set twisted.",
        less="hole, index half",
    ),
)

MAKING = (
    Step(
        "1",
        "Close the thumb from the raw tip edge to T; at the cross take the needle to the other face.",
        "oversewing",
        shows="thumb seam; turned part of the thumb",
    ),
    Step(
        "2",
        "Set the thumb in its hole from T each way to H, easing the foot round the belly.",
        "running stitch",
        note="Ticks meet ticks; no ease at the web.",
        shows="thumb in hole, palm half; thumb in hole, index half",
    ),
    Step(
        "3",
        "Oversew from raw finger edge to raw cuff edge in one go; at each cross take the needle to the other face.",
        "oversewing",
        note="So the turned sides are closed too, and show the other face.",
        shows="turned part at the fingers; side seam; turned part at the cuff",
    ),
    Step(
        "4",
        "Turn the fold-backs at fingers, cuff and thumb to the outside and catch them down at the seam.",
        "two hidden stitches",
        note="The turned part's pile runs the other way: that is right.",
        shows="finger fold line; cuff fold line; thumb fold line",
    ),
)

#: What follows from the style, all of it common practice. Topics left blank are for the maker to fill in.
WORK = (
    Instruction(
        "Cutting",
        "With a blade from the leather side, through the skin and not the pile; shear the pile in the allowances of "
        "hole and foot.",
    ),
    Instruction("Letters", "T on the thumb comes to T on the hole, H to H: begin at T and meet at H."),
    Instruction("Ticks", "Tick meets tick; one tick lies on the palm side, two on the index side."),
    Instruction(
        "Change-over", "The mark at each end of a fold: there the seam goes over to the skin's other face, as it turns."
    ),
    Instruction("Pile", "The pile runs along the arrow. On turned parts it then runs the other way, rightly."),
    Instruction("Hairs", "Comb the pile back from the edges before every seam; draw caught hairs out with the needle."),
    Instruction("Stitches in 3 cm", ""),
    Instruction("Bite", "Oversewing 2 mm from the edge; running stitch on the sew line, 2 mm from the edge."),
    Instruction(
        "Start and finish", "Start 1 cm in, sew back to the end and over it; finish alike. Ends lie between the layers."
    ),
    Instruction(
        "Finished widths",
        "Flat, fold-backs down, pile combed back, not stretched, from the side fold to the seam. Oversewing takes "
        "about 1 mm.",
    ),
    Instruction("Reference", ""),
    Instruction("Spoiled piece", ""),
    Instruction("Send back", ""),
)
