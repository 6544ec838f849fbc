"""A cuff that is a band: a strip of its own, folded double and sewn to the wrist edge; of rib, or of leather."""

from __future__ import annotations

import math
from dataclasses import replace

from grading.codes import Code
from grading.drafting.parts import trunk
from grading.drafting.parts.part import (
    ENDS_LAST,
    TRANK,
    Allowance,
    At,
    Least,
    Part,
    Shares,
    Style,
    Sum,
    bounds,
    limit,
    measure,
    mirrored_seam,
    move,
    together,
)
from grading.drafting.parts.read_off import ReadOff, read_across, read_down, read_up
from grading.drafting.parts.sewn import BANDED, INSIDE, OVERSEWN, PLAIN_EDGES, RAW
from grading.drafting.parts.trunk import ACROSS, SIDE
from grading.findings import Severity
from grading.model.block import MATERIAL, Amount, Edge, Mark, Piece, Seam, Side
from grading.model.making import Step

__all__ = ["BELOW_WRIST", "SHARE", "SPARE", "STRETCH", "leather", "rib"]

#: The piece of the band, and the stage of drafting it.
BAND, BAND_STAGE = "Band", "The band, up and down from its fold"
#: How far below the wrist line the band begins, and how far it is seen from there.
BELOW_WRIST, _SEEN = "band below the wrist", "band height"
#: How long a knitted band is, relaxed, of the edge that it is sewn to; how long it has to be of the wrist; and how far
#: a rib stretches. Common practice: 0.70 to 0.85 of the edge, and 0.9 of the wrist. Leather is as long as its edge.
SHARE, LEAST_SHARE, MOST_SHARE, OF_WRIST, STRETCH = 0.75, 0.70, 0.85, 0.9, 1.4
#: How much of the waist shaping the side has beside the ball of the thumb.
_BALL = 0.7
#: How much more than the hand, its thumb tucked in, the round is where a slit ends: where nobody asks for another
#: figure, what the layers take, and so much to spare, mm. Common practice.
SLIT_ROOM, SPARE = "slit room", 12.0
#: How far the side is narrower at a leather band than where its slit ends, and how far up that is.
_SLIT_SHAPING, _SLIT_HEIGHT = "slit shaping", "slit height"
#: How far out on a leather band the slits for its lace are (of its half), and how far up their ends (of its height).
_LACE_ACROSS, _SLIT_ENDS = 0.9, {"upper end": 0.65, "lower end": 0.35}
#: They go through both layers, so that each has its image below the fold.
_SLITS = {"lace slit": 1.0, "lace slit inside": -1.0}


def slit_room(compressed_pile: float, leather: float, lining: float) -> float:
    """How much more than the entry girth, mm, the round is where a slit ends: what the layers take, and some to spare.

    >>> slit_room(1.8, 1.0, 0)
    26.46
    """
    # Rounded up: so much is to be there.
    return math.ceil(100 * (math.pi * (2 * compressed_pile + leather + 2 * lining) + SPARE)) / 100


def rib(style: Style) -> Part:
    """A knitted band, as long as is usual of the edge that it is stretched to."""
    round_ = {"fist girth": 0.5, "hand ease": 0.5, "waist shaping": -1.0}
    shares, sum_ = trunk.beside_the_ball(style)
    # As parts of the band: the edge is 1 ÷ 0.85 to 1 ÷ 0.70 times as long, and stretches it so far.
    least, most, target = (Amount(part=1 / share - 1) for share in (MOST_SHARE, LEAST_SHARE, SHARE))
    end = Edge(BAND, "end", "boundary", ("outer corner", "fold end", "inner corner"), BANDED)
    closed = mirrored_seam("band closed", BAND, end.name)
    # fmt: off
    return together([
        Part(
            end="waist",
            ends="seam of the band",
            raw="wrist edge",
            pieces=(
                Piece(BAND, True, 1, 1, "knitted rib", "", "across", note="folded double, its stretch round the wrist",
                    of_skin=False),
            ),
            sums=(
                Sum(SIDE, "waist, across", "{a side} − {waist shaping}"),
                Sum(SIDE, "ball, across", f"{{a side}} − {_BALL:g} × {{waist shaping}}"),
                Sum(SIDE, "ball, up", sum_),
                Sum(BAND_STAGE, "half the band", f"{SHARE:g} × {{waist, across}}", guide="end"),
            ),
            moves=(
                move("ball", {**shares, "waist shaping": (-_BALL, 0.0)}),
                move("waist", {"waist shaping": (-1.0, 0.0)}),
            ),
            points=(
                At(TRANK, "ball", "ball, across", "ball, up", ("side", "ball")),
                At(TRANK, "waist", "waist, across", "wrist edge", ("side", "waist", "cuff end"), turn=True),
            ),
            edges=(Edge(TRANK, "side", "boundary", ("ball", "waist"), OVERSEWN),),
            seams=(closed,),
            measures=(
                measure("band width", BAND, "across", ("fold end", ""), 2.0,
                    "Before it is sewn on: flat, along the fold, relaxed.", times=0.5, follows="fist girth",
                    share=SHARE / 2),
            ),
        ),
        _strip((60.0, 45.0), {name: (SHARE * share, 0.0) for name, share in round_.items()}, BANDED, (end,),
            (least, most, target)),
        Part(
            limits=(
                limit("band at the wrist", "band width", OF_WRIST, None, Severity.WARNING,
                    "A band much shorter than the wrist is round presses.", times=2.0, divided_by="wrist girth"),
                limit("band over the hand", "band width", 0.0, None, Severity.WARNING,
                    f"Stretched {STRETCH:g} times as long, the band has to let the hand pass, thumb tucked in.",
                    times=2 * STRETCH, less="entry girth"),
            ),
            steps=(
                (ENDS_LAST,
                    Step("", "Close the band, and fold it double, seam inside.", "stretch stitch", shows=closed.name)),
                (ENDS_LAST,
                    Step("", "Sew the band to the wrist edge, both its edges together, stretched until ticks meet "
                        "ticks.", "stretch stitch", note="Its seam comes to the side seam.", shows=_SEWN_ON)),
            ),
        ),
    ])
    # fmt: on


def leather(style: Style) -> Part:
    """A leather band: it does not stretch, so the side seam ends above it, in a slit that lets the hand pass."""
    at_slit: Shares = {"entry girth": (0.5, 0.0), SLIT_ROOM: (0.5, 0.0)}
    at_band: Shares = {**at_slit, _SLIT_SHAPING: (-1.0, 0.0)}
    none = Amount()
    outer = Edge(BAND, "outer end", "boundary", ("outer corner", "fold end"), INSIDE)
    inner = Edge(BAND, "inner end", "boundary", ("fold end", "inner corner"), INSIDE)
    ends = Seam("band end", Side(BAND, ("outer end",)), Side(BAND, ("inner end",)), none, none, none)
    image = replace(
        ends, name="band end, other", side_a=Side(BAND, ("outer end'",)), side_b=Side(BAND, ("inner end'",))
    )
    material, pile = trunk.leather(style, "cuff to fingers")
    gusset = " The lining stands across the slit as a gusset." if style["lining"] == "lined" else ""
    # fmt: off
    return together([
        Part(
            end="waist",
            closes="slit end",
            ends="seam of the band",
            raw="the upper end of the slit",
            pieces=(
                Piece(BAND, True, 1, 1, material, pile, "across", note="folded double, its ends laced at the slit"),
            ),
            sums=(
                Sum(SIDE, "slit end, across", f"({{entry girth}} + {{{SLIT_ROOM}}}) ÷ 2"),
                Sum(SIDE, "slit end, up", f"{{{_SLIT_HEIGHT}}}"),
                Sum(SIDE, "waist, across", f"{{slit end, across}} − {{{_SLIT_SHAPING}}}"),
                Sum(BAND_STAGE, "half the band", "{waist, across}", guide="end"),
            ),
            moves=(move("slit end", {**at_slit, _SLIT_HEIGHT: (0.0, 1.0)}), move("waist", at_band)),
            points=(
                At(TRANK, "slit end", "slit end, across", "slit end, up", ("slit end",)),
                At(TRANK, "waist", "waist, across", "wrist edge", ("waist", "cuff end"), turn=True),
            ),
            edges=(
                Edge(TRANK, "side", "boundary", ("slit end",), OVERSEWN),
                Edge(TRANK, "slit edge", "boundary", ("slit end", "waist"), RAW),
            ),
            seams=(ends, image),
            measures=(
                measure("band width", BAND, "across", ("fold end", ""), 2.0, "Flat, along the fold.", times=0.5,
                    follows="entry girth", share=0.5),
            ),
        ),
        _strip((40.0, 30.0), at_band, INSIDE, (outer, inner), (none, none, none)),
        Part(
            allowances=(
                Allowance(SLIT_ROOM, None, None,
                    "how much more than the entry girth the round is where the slit in the side seam ends",
                    bounds(SLIT_ROOM, MATERIAL, 60.0,
                        "The slit ends where the round lets the hand pass, and no higher."),
                    read_off=(ReadOff("twice the slit end less entry girth",
                        (((TRANK, "slit end", 0), 2.0), ("entry girth", -1.0))),), of_layers=slit_room),
                Allowance(_SLIT_HEIGHT, 28.0, 18.0, "how far above the wrist line the slit ends",
                    bounds(_SLIT_HEIGHT, 0.0, 0.5, "A higher slit bares the palm.", divided_by="palm length"),
                    read_off=(read_up("slit end above the wrist line", TRANK, "slit end"),)),
                Allowance(_SLIT_SHAPING, 14.0, 9.0, "how much narrower a side is at the band than where the slit ends",
                    bounds(_SLIT_SHAPING, 0.0, 25.0, "More a side does not lie flat."),
                    read_off=(read_across("slit end less waist", TRANK, "slit end", "waist"),)),
            ),
            sums=(
                Sum(BAND_STAGE, "lace slit, across", f"{_LACE_ACROSS:g} × {{half the band}}"),
                *(Sum(BAND_STAGE, f"lace slit {end}", f"{up:g} × {{{_SEEN}}}") for end, up in _SLIT_ENDS.items()),
                *(Sum(BAND_STAGE, f"lace slit inside {end}", f"−{{lace slit {end}}}") for end in _SLIT_ENDS),
            ),
            moves=(
                move("lace", {name: (_LACE_ACROSS * x, 0.0) for name, (x, _) in at_band.items()}),
                *(move(f"{slit} {end}", {_SEEN: (0.0, way * up)}) for slit, way in _SLITS.items() for end,
                    up in _SLIT_ENDS.items()),
            ),
            points=tuple(
                At(BAND, f"{slit} {end}", "lace slit, across", f"{slit} {end}", ("lace", f"{slit} {end}"))
                for slit in _SLITS for end in _SLIT_ENDS),
            offers=PLAIN_EDGES,
            marks=tuple(
                Mark(BAND, slit, "slit", ", ".join(f"{slit} {end}{half}" for half in ("", "'") for end in _SLIT_ENDS))
                for slit in _SLITS),
            limits=(
                limit("band round the wrist", "band width", MATERIAL, None, Severity.WARNING,
                    "Leather does not stretch: a band shorter than the wrist and the material are round does not "
                    "close.", times=2.0, less="wrist girth"),
            ),
            steps=(
                (ENDS_LAST,
                    Step("", "Fold the band double, leather sides together, sew its ends and turn it.",
                        "running stitch", shows=f"{ends.name}; {image.name}")),
                (ENDS_LAST,
                    Step("", "Sew the band to the wrist edge, both its edges together, from one edge of the slit round "
                        "to the other.", "running stitch", note=f"Ticks meet ticks.{gusset}", shows=_SEWN_ON)),
                (ENDS_LAST,
                    Step("", "Draw a lace through the slits at both ends of the band.", "no stitch",
                        note="Cords on what small children wear have rules of their own.", shows="; ".join(_SLITS))),
            ),
        ),
    ])
    # fmt: on


#: The seam by which a band is sewn on that is shown: its outer edge's.
_SEWN_ON = "band, outer edge, to the wrist"


def _strip(
    height: tuple[float, float], end: Shares, sewn: str, ends: tuple[Edge, ...], ease: tuple[Amount, Amount, Amount]
) -> Part:
    """What every band has: the wrist edge, and the strip, sewn to it with each of its edges.

    ``height`` is usual for adults and for children, mm; its end goes by the shares ``end`` and has the edges ``ends``.
    ``sewn`` is the seam type of its edges, ``ease`` the least, the most and the target of their seams.
    """
    adults, children = height
    # fmt: off
    return Part(
        allowances=(
            Allowance(BELOW_WRIST, 6.0, 6.0, "how far below the wrist line the band is sewn on",
                bounds(BELOW_WRIST, 0.0, 10.0, "Further down it does not hold at the wrist."),
                read_off=(read_down("waist below the wrist line", TRANK, "waist"),)),
            Allowance(_SEEN, adults, children, "how high the band is, folded double",
                bounds(_SEEN, 25.0, 110.0, "A lower band rolls; a higher one creeps together."),
                Least(5.0, Code.NOTHING_TO_DRAW, ": it is folded double"),
                read_off=(read_up("outer corner above the fold", BAND, "outer corner"),)),
        ),
        sums=(
            Sum(ACROSS, "wrist edge", f"−{{{BELOW_WRIST}}}", guide="Wrist edge"),
            Sum(BAND_STAGE, "outer edge of the band", f"{{{_SEEN}}}", guide="Outer edge"),
            Sum(BAND_STAGE, "inner edge of the band", f"−{{{_SEEN}}}", guide="Inner edge"),
        ),
        moves=(
            move("cuff end", {BELOW_WRIST: (0.0, -1.0)}),
            move("band end", end),
            move("band outer edge", {_SEEN: (0.0, 1.0)}),
            move("band inner edge", {_SEEN: (0.0, -1.0)}),
        ),
        points=(
            At(TRANK, "cuff centre", None, "wrist edge", ("cuff end",)),
            At(BAND, "outer centre", None, "outer edge of the band", ("band outer edge",)),
            At(BAND, "outer corner", "half the band", "outer edge of the band", ("band end", "band outer edge"),
                turn=True),
            At(BAND, "fold end", "half the band", None, ("band end",), turn=True),
            At(BAND, "inner corner", "half the band", "inner edge of the band", ("band end", "band inner edge"),
                turn=True),
            At(BAND, "inner centre", None, "inner edge of the band", ("band inner edge",)),
        ),
        edges=(
            Edge(TRANK, "wrist edge", "boundary", ("waist", "cuff centre"), sewn),
            Edge(BAND, "outer edge", "boundary", ("outer centre", "outer corner"), sewn),
            *ends,
            Edge(BAND, "inner edge", "boundary", ("inner corner", "inner centre"), sewn),
        ),
        # Ticks at the quarters of the outer edge.
        seams=tuple(
            Seam(f"band, {edge}, to the wrist", Side(TRANK, ("wrist edge", "wrist edge'")),
                Side(BAND, (edge, f"{edge}'")), *ease, matching=ticks)
            for edge, ticks in (("outer edge", 3), ("inner edge", 0))),
        marks=(Mark(BAND, "band fold line", "double fold", "fold end', fold end"),),
        measures=(
            measure("band height", BAND, "height", ("outer corner", "fold end"), 2.0,
                "From the seam to the fold, not stretched."),
        ),
    )
    # fmt: on
