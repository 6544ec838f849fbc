"""The thumb piece, from the end of its tube to its foot, and how it is set in its hole."""

from __future__ import annotations

from grading.codes import Code
from grading.drafting.parts.part import (
    MATERIAL_FIRST,
    SHORTER,
    STITCH_TAKES,
    THUMB,
    THUMB_FIRST,
    TRANK,
    Allowance,
    Apart,
    At,
    Choice,
    Least,
    Lined,
    Part,
    Shares,
    Style,
    Sum,
    bounds,
    limit,
    measure,
    mirrored_seam,
    move,
    no_part,
    times,
)
from grading.drafting.parts.read_off import ReadOff, read_across, read_up
from grading.drafting.parts.sewn import INSIDE, OVERSEWN, PLAIN_EDGES, RAW
from grading.drafting.parts.tip import Reach, rounded
from grading.drafting.parts.trunk import leather
from grading.drafting.parts.turned import FOLD_BACK, TURN_ROOM, TURNING, TURNING_ROOM, WIDER, fold_marks
from grading.findings import Severity
from grading.model.block import MATERIAL, Amount, Edge, Kind, Mark, Move, Piece, Seam, Side, Value
from grading.model.making import Step

__all__ = ["CHOICES"]

THUMB_STAGE = "The thumb, down from its knuckle line"
FIT = "The thumb against its hole, on sew lines"
#: The balance value that fits the thumb to its hole, and its bounds, mm: beyond, the foot is another shape.
FULLNESS = "foot fullness"
FULLNESS_BOUNDS = (-5.0, 5.0)

#: The tube's flare: how far down from the knuckle to T, and from there how far up and how far out, both in times the
#: thumb flare. Near T it is shaped by that allowance alone, so that it meets T in the same direction in every size.
FLARE = {"flare": (0.8, 0.71, 0.03), "lip": (1.0, 0.45, 0.5)}

#: The foot's rim between T and H: how far out of the mirror line (of the half-width at T), and how far down from T (of
#: that half-width, and of the foot's depth). Near T width counts and not depth, so that the rim leaves it square to the
#: tube whether a hand's thumb is long or stout.
FOOT = {"foot shoulder": (0.85, 0.18, 0.06), "foot belly": (0.37, 0.1, 0.72), "foot heel": (0.19, 0.0, 0.96)}

#: Which way and how far each point of the rim goes for one unit of foot fullness; T, stem and knuckle stay, and the
#: shoulder moves so little that the rim leaves T as before.
FULLER = {"foot shoulder": (0.0, -0.05), "foot belly": (0.58, -0.62), "foot heel": (0.49, -1.0), "H": (0.0, -1.0)}

#: Seam ease of the thumb in its hole: the least, the most and the target, as parts of the hole; about 5 to 8 % of it
#: where the ease lies. Common practice.
_EASE = (Amount(part=0.03), Amount(part=0.08), Amount(part=0.055))
#: Marks at a quarter, a half and three quarters of each half of the hole. Ease belongs round the belly, so the first
#: quarter from T takes none.
_MATCHING, _WITHOUT_EASE = 3, 0.25


def _stem(part: float, out: Shares) -> Shares:
    """A point part of the way from the knuckle down to T."""
    return {"web to knuckle": (0.0, -part), "web lowering": (0.0, -part), **out}


def _flare(point: str) -> tuple[Sum, Sum]:
    down, up, out = FLARE[point]
    return (
        Sum(THUMB_STAGE, f"{point}, across", f"{{a side of the thumb}} + {out:g} × {{thumb flare}}"),
        Sum(THUMB_STAGE, f"{point}, up", f"{times(down, 'T of the thumb')} + {up:g} × {{thumb flare}}"),
    )


def _foot(point: str) -> tuple[Sum, Sum]:
    (across, by_width, by_depth), (out, sink) = FOOT[point], FULLER[point]
    wider = f" + {times(out, FULLNESS)}" if out else ""
    below = f" − {times(by_width, 'half across at T')}" if by_width else ""
    sum_ = f"{{T of the thumb}}{below} − {times(by_depth, 'depth of the foot')} − {times(-sink, FULLNESS)}"
    return (
        Sum(THUMB_STAGE, f"{point}, across", f"{times(across, 'half across at T')}{wider}"),
        Sum(THUMB_STAGE, f"{point}, up", sum_),
    )


def _foot_moves() -> tuple[Move, ...]:
    return tuple(
        move(
            f"to {point}",
            {
                "thumb girth": (across / 2, -by_width / 2),
                "thumb ease": (across / 2, -by_width / 2),
                "thumb flare": (across, -by_width),
                "thumb root length": (0.0, -by_depth),
                "foot depth": (0.0, -by_depth),
                FULLNESS: FULLER[point],
            },
        )
        for point, (across, by_width, by_depth) in {**FOOT, "H": (0.0, 0.0, 1.0)}.items()
    )


def _seams(style: Style) -> tuple[Seam, ...]:
    """Each half of the foot in its half of the hole; no half differs from the other where the thumb is at the side.

    Else there is one stroke on the palm side, two on the index side.
    """
    either = style["thumb place"] == "at the side"
    return tuple(
        Seam(
            f"thumb in hole, {half} half",
            Side(THUMB, (edge,)),
            Side(TRANK, (f"hole half{stroke}" if either else f"hole {half} half",)),
            *_EASE,
            FULLNESS,
            _MATCHING,
            1 if either else strokes,
            _WITHOUT_EASE,
        )
        for half, edge, stroke, strokes in (
            ("one" if either else "palm", "foot", "", 1),
            ("other" if either else "index", "foot'", "'", 2),
        )
    )


def _tube(style: Style, tip: Part) -> Part:
    """A thumb of a style with that tip: its length is measured from the tip's ``end``, its stem begins at ``side``."""
    seams = _seams(style)
    closed = mirrored_seam("thumb seam", THUMB, "stem side")
    crosses = "; at the cross take the needle to the other face" if tip.folds else ""
    # fmt: off
    return Part(
        folds=tip.folds,
        pieces=(
            Piece(THUMB, True, 1, 1, *leather(style, "foot to tip"), "across", "web centre",
                "folds on its mirror line"),
        ),
        allowances=(
            Allowance("thumb ease", 19.0, 19.0,
                "round the thumb: it has to pass its tube, and the material takes the most of it",
                bounds("thumb ease", MATERIAL, 36.0, f"{MATERIAL_FIRST}; with more than 36 mm it turns on the thumb."),
                read_off=(ReadOff("twice a side of the thumb less thumb girth",
                    (((THUMB, "knuckle", 0), 2.0), ("thumb girth", -1.0))),)),
            Allowance("web lowering", 8.0, 6.0,
                "how much longer the thumb's stem is, so that it reaches down to the web",
                bounds("web lowering", -2.0, 20.0, "A thumb longer than this in the stem sags at the web."),
                read_off=(ReadOff("the thumb's T below web to knuckle",
                    (((THUMB, "T", 1), -1.0), ("web to knuckle", -1.0))),)),
            *tip.allowances,
            Allowance("stem waist", 0.0, 0.0, "how far the thumb's stem runs inside the knuckle width",
                bounds("stem waist", -2.0, 2.0, "More a side leaves the thumb no room to pass."),
                read_off=(read_across("the thumb's knuckle less stem", THUMB, "knuckle", "stem"),)),
            Allowance("thumb flare", 7.5, 5.5, "how far the thumb's stem flares at T, from half-way down",
                bounds("thumb flare", 3.0, 8.0, "Less leaves no way from tube to palm; more stands off the web."),
                Least(1.0, Code.NOTHING_TO_FLARE, ", usually 3 to 8: the rim leaves the tube square to it"),
                read_off=(read_across("the thumb's T less knuckle", THUMB, "T", "knuckle"),)),
            Allowance("foot depth", 1.5, 1.0, "how much deeper the foot is than the thumb root is long",
                bounds("foot depth", -2.0, 3.7, "A foot deeper than this stands off the palm in a pouch."),
                read_off=(ReadOff("from T down to H less thumb root length",
                    (((THUMB, "T", 1), 1.0), ((THUMB, "H", 1), -1.0), ("thumb root length", -1.0))),)),
        ),
        balances=(
            Value(FULLNESS, Kind.BALANCE, 0.0, 0.0, *FULLNESS_BOUNDS,
                note="fills or flattens the foot until the thumb fits"),
        ),
        sums=(
            Sum(THUMB_STAGE, "round the thumb", "{thumb girth} + {thumb ease}"),
            Sum(THUMB_STAGE, "a side of the thumb", "{round the thumb} ÷ 2", guide="half the round"),
            *tip.sums,
            Sum(THUMB_STAGE, "T of the thumb", "−{web to knuckle} − {web lowering}", guide="T, lowered"),
            Sum(THUMB_STAGE, "half across at T", "{a side of the thumb} + {thumb flare}"),
            Sum(THUMB_STAGE, "stem, across", "{a side of the thumb} − {stem waist}"),
            Sum(THUMB_STAGE, "stem, up", "0.5 × {T of the thumb}"),
            *(line for point in FLARE for line in _flare(point)),
            Sum(THUMB_STAGE, "depth of the foot", "{thumb root length} + {foot depth}"),
            Sum(THUMB_STAGE, FULLNESS,
                "found by trying, until the thumb is as much longer than its hole as it should be"),
            *(line for point in FOOT for line in _foot(point)),
            Sum(THUMB_STAGE, "H of the thumb", f"{{T of the thumb}} − {{depth of the foot}} − {{{FULLNESS}}}",
                guide="H"),
            Sum(FIT, "rim of the thumb", "both halves of the foot, T by H to T",
                tuple(seam.side_a for seam in seams)),
            Sum(FIT, "round the hole", "both halves of the hole, T by H to T",
                tuple(seam.side_b for seam in seams)),
            Sum(FIT, "thumb longer by", "{rim of the thumb} − {round the hole}"),
        ),
        moves=(
            move("thumb side", {"thumb girth": (0.5, 0.0), "thumb ease": (0.5, 0.0)}),
            *tip.moves,
            move("stem", _stem(0.5, {"stem waist": (-1.0, 0.0)})),
            *(move(name, _stem(down, {"thumb flare": (out, up)})) for name, (down, up, out) in FLARE.items()),
            move("thumb web", _stem(1.0, {"thumb flare": (1.0, 0.0)})),
            move("foot place", _stem(1.0, {})),
            *_foot_moves(),
        ),
        points=(
            *tip.points,
            At(THUMB, "knuckle", "a side of the thumb", None, ("thumb side",)),
            At(THUMB, "stem", "stem, across", "stem, up", ("thumb side", "stem")),
            *(At(THUMB, name, f"{name}, across", f"{name}, up", ("thumb side", name)) for name in FLARE),
            At(THUMB, "T", "half across at T", "T of the thumb", ("thumb side", "thumb web"), turn=True),
            *(At(THUMB, name, f"{name}, across", f"{name}, up", ("foot place", f"to {name}")) for name in FOOT),
            At(THUMB, "H", None, "H of the thumb", ("foot place", "to H")),
            At(THUMB, "web centre", None, "T of the thumb", ("foot place",)),
        ),
        offers=tip.offers,
        edges=(
            *tip.edges,
            Edge(THUMB, "stem side", "boundary", (tip.side, "knuckle", "stem", *FLARE, "T"), OVERSEWN),
            Edge(THUMB, "foot", "boundary", ("T", *FOOT, "H"), INSIDE),
        ),
        seams=(*seams, closed, *tip.seams),
        marks=(Mark(THUMB, "T", "label", "T, T'"), Mark(THUMB, "H", "label", "H"), *tip.marks),
        measures=(
            measure("thumb width", THUMB, "across", ("knuckle", ""), 1.5,
                f"Flat, at the knuckle line of the thumb, fold to seam. {STITCH_TAKES}", times=0.5,
                follows="thumb girth", share=0.5),
            measure("thumb length", THUMB, "height", (tip.end, "T"), 2.0,
                f"From the {tip.ends} down the seam to T at the web.", follows=tip.follows),
            measure("thumb rim round", THUMB, "along", ("T", "T'"), 2.0,
                "Before the thumb is set: along the foot's sew line from T by H to T."),
        ),
        checks=(
            measure("rim at T", THUMB, "angle", ("T", ""), None,
                "Between tube and rim, inside; closed, it is twice that."),
            measure("narrowest of the tube", THUMB, "narrowest", (tip.side, "T"), None, "Round the closed tube."),
        ),
        limits=(
            limit("room in the thumb", "narrowest of the tube", f"{MATERIAL} + 4", None, Severity.WARNING,
                "The thumb has to pass its tube with 4 mm to spare, and the material takes its part of the round.",
                less="thumb girth"),
            limit("rim square to the tube", "rim at T", 88.0, 92.0, Severity.NOTE,
                "Only square the closed rim runs smooth at T. Read off to a sixteenth of an inch it may stray a "
                "little."),
            limit("rim without a peak", "rim at T", 80.0, 100.0, Severity.WARNING,
                "Else the closed rim has a peak or a notch at T, where leather puckers or tears."),
            *tip.limits,
            limit("thumb to fist", "thumb girth", 0.28, 0.42, Severity.WARNING,
                "A thumb is about a third of the fist round.", divided_by="fist girth"),
        ),
        steps=(
            (THUMB_FIRST, Step("", f"Close the thumb from {tip.raw} to T{crosses}.", "oversewing",
                shows="; ".join(seam.name for seam in (closed, *tip.seams)))),
            (THUMB_FIRST, Step("", "Set the thumb in its hole from T each way to H, easing the foot round the belly.",
                "running stitch", note="Ticks meet ticks; no ease at the web.",
                shows="; ".join(seam.name for seam in seams))),
        ),
    )
    # fmt: on


def _turned(style: Style) -> Part:
    # fmt: off
    tip = Part(
        end="turn fold",
        ends="folded tip edge",
        side="turn fold",
        follows="web to knuckle",
        raw="the raw tip edge",
        folds={"thumb": "thumb fold line"},
        allowances=(
            Allowance("thumb turn", 24.0, 16.0, "beyond the thumb's knuckle line; half of it shows, turned",
                bounds("thumb turn", 0.0, 60.0, "Half of it shows, and ends before the web."), FOLD_BACK,
                read_off=(read_up("turn edge above the knuckle line", THUMB, "turn edge"),)),
            TURNING_ROOM,
        ),
        sums=(
            Sum(THUMB_STAGE, "thumb fold", "{thumb turn} ÷ 2", guide="Fold"),
            Sum(THUMB_STAGE, "thumb raw edge", "{thumb turn}", guide="Raw edge"),
            Sum(THUMB_STAGE, "turn edge, across", f"{{a side of the thumb}} + {{{TURN_ROOM}}}"),
        ),
        moves=(WIDER, move("thumb edge", {"thumb turn": (0.0, 1.0)}), move("thumb fold", {"thumb turn": (0.0, 0.5)})),
        points=(
            At(THUMB, "turn centre", None, "thumb raw edge", ("thumb edge",)),
            At(THUMB, "turn edge", "turn edge, across", "thumb raw edge", ("thumb side", "turned", "thumb edge"), True),
            At(THUMB, "turn fold", "a side of the thumb", "thumb fold", ("thumb side", "thumb fold"), True),
        ),
        edges=(
            Edge(THUMB, "turn raw edge", "boundary", ("turn centre", "turn edge"), RAW),
            Edge(THUMB, "turned side", "boundary", ("turn edge", "turn fold"), OVERSEWN),
        ),
        seams=(mirrored_seam("turned part of the thumb", THUMB, "turned side"),),
        marks=fold_marks(THUMB, "thumb", "turn fold"),
        limits=(TURNING,),
    )
    # fmt: on
    return _tube(style, tip)


def _plain(style: Style) -> Part:
    tip = Part(
        end="end edge",
        ends="tip edge",
        side="end edge",
        follows="web to knuckle",
        raw="the tip edge",
        allowances=(
            Allowance(
                "thumb end",
                12.0,
                8.0,
                "how far beyond its knuckle line the thumb ends, open",
                bounds("thumb end", 4.0, 30.0, "Further than this it covers the thumb's tip."),
                Least(4.0, Code.NOTHING_TO_DRAW, " beyond the knuckle, where its girth is taken"),
                read_off=(read_up("end edge above the knuckle line", THUMB, "end edge"),),
            ),
        ),
        sums=(Sum(THUMB_STAGE, "end of the thumb", "{thumb end}", guide="Edge"),),
        moves=(move("thumb end", {"thumb end": (0.0, 1.0)}),),
        points=(
            At(THUMB, "end centre", None, "end of the thumb", ("thumb end",)),
            At(THUMB, "end edge", "a side of the thumb", "end of the thumb", ("thumb side", "thumb end"), True),
        ),
        edges=(Edge(THUMB, "thumb edge", "boundary", ("end centre", "end edge"), RAW),),
        offers=PLAIN_EDGES,
    )
    return _tube(style, tip)


#: The closed tip's curve from the summit down to the side: a quarter of an ellipse, at 30, 60 and 80 degrees of it.
_FALL = {"fall": (0.5, 0.134), "slope": (0.866, 0.5), "upright": (0.985, 0.826)}


def _closed(style: Style) -> Part:
    upright = 0.4
    top = rounded(
        THUMB_STAGE,
        THUMB,
        "tip",
        half=Reach("a side of the thumb", {"thumb girth": 0.5, "thumb ease": 0.5}),
        summit=Reach("half of a side of the thumb", {"thumb girth": 0.25, "thumb ease": 0.25}),
        top=Reach("top of the thumb", {"web to tip": 1.0, "web to knuckle": -1.0, "thumb tip ease": 1.0}),
        end=Reach("end of the thumb's top", {"web to tip": upright, "web to knuckle": -upright}),
        fall=_FALL,
        centre="tip centre",
    )
    # fmt: off
    tip = Part(
        end=top.end,
        ends="summit of the tip",
        side=top.side,
        follows="web to tip",
        raw="the dart at its tip",
        allowances=(
            Allowance("thumb tip ease", 10.0, 8.0, "how far beyond its tip the thumb is closed",
                bounds("thumb tip ease", 5.0, 20.0, "Less presses on the thumb's tip; more flaps beyond it."),
                Least(1.0, Code.NOTHING_TO_DRAW, " beyond the tip"),
                read_off=(ReadOff("summit beyond web to tip",
                    (((THUMB, "tip summit", 1), 1.0), ("web to tip", -1.0), ("web to knuckle", 1.0))),)),
        ),
        sums=(
            Sum(THUMB_STAGE, "half of a side of the thumb", "{a side of the thumb} ÷ 2"),
            Sum(THUMB_STAGE, "top of the thumb", "{web to tip} − {web to knuckle} + {thumb tip ease}", guide="Top"),
            Sum(THUMB_STAGE, "end of the thumb's top", f"{upright:g} × ({{web to tip}} − {{web to knuckle}})",
                guide="End of the top"),
            *top.sums,
        ),
        moves=top.moves,
        points=top.points,
        edges=top.edges,
        seams=(mirrored_seam("thumb's top seam", THUMB, "tip"),),
        marks=(Mark(THUMB, "tip summit", "tick", "tip summit', tip summit", "where both sides of its top meet"),),
    )
    # fmt: on
    return _tube(style, tip)


def _lined(allowance: str, seen: float) -> Lined:
    """The lining of an open thumb, of whose end so much of an allowance is seen beyond the knuckle."""
    return Lined("plain", {"thumb end": {allowance: seen, SHORTER: -1.0}})


# fmt: off
CHOICES = {
    "turned": Choice("a tube, open, turned to the outside", _turned, {"thumb turn": "plain"},
        _lined("thumb turn", 0.5)),
    "plain": Choice("a tube, open, ending in a plain edge", _plain, lined=_lined("thumb end", 1.0)),
    "closed": Choice("a tube closed over the thumb's tip by a rounded seam", _closed,
        lined=Lined("closed", {"thumb tip ease": {"thumb tip ease": 1.0, SHORTER: -1.0}})),
    "none, with a hole": Choice("no thumb piece: the bare thumb comes out of its hole", no_part),
    "none": Choice("no thumb piece and no hole: the trank ends below the web", no_part,
        apart=(
            Apart("thumb place", "at the side",
                "Without a thumb hole the thumb has no place: the trank ends below the web.",
                "Leave out the thumb place, or choose the thumb 'none, with a hole'."),
            Apart("fingers", "closed top", "A closed top shuts the thumb in where there is no hole for it.",
                "Choose the thumb 'none, with a hole', or the fingers 'plain' or 'turned'."))),
}
# fmt: on
