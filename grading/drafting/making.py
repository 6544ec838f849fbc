"""How a mitten is made where several parts come together, and what whoever sews it is told.

Only what the style itself asks for stands here: needle, thread and terms of work are each workshop's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from grading.drafting.parts.part import ENDS_LAST, SIDE_THEN, TRANK, Part, mirrored_seam
from grading.drafting.parts.sewn import BOUND, HEMMED, INSIDE
from grading.model.block import Block, Piece
from grading.model.making import Instruction, Step

__all__ = ["closing", "steps", "work"]


def steps(brought: Iterable[tuple[int, Step]]) -> tuple[Step, ...]:
    """The steps that parts bring, each with its place in the order, numbered in the order in which they are made."""
    ordered = sorted(brought, key=lambda step: step[0])
    return tuple(replace(step, name=str(number)) for number, (_, step) in enumerate(ordered, 1))


def closing(fingers: Part, cuff: Part, others: Sequence[Part], pieces: Iterable[Piece]) -> Part:
    """The side is closed from end to end in one go; then all that is turned is turned."""
    turned = [part for part in (fingers, cuff) if part.folds]
    crosses = f"; at {'each' if len(turned) > 1 else 'the'} cross take the needle to the other face" if turned else ""
    note = {
        0: "",
        1: "So the turned side is closed too, and shows the other face.",
        2: "So the turned sides are closed too, and show the other face.",
    }[len(turned)]
    seams = (mirrored_seam("side seam", TRANK, "side"),)
    own = (seam for seam in (*fingers.seams, *seams, *cuff.seams) if {seam.side_a.piece, seam.side_b.piece} == {TRANK})
    sewn = "; ".join(seam.name for seam in own)
    side = Step(
        "", f"Oversew from {fingers.raw} to {cuff.raw} in one go{crosses}.", "oversewing", note=note, shows=sewn
    )
    folds = {where: line for part in (fingers, cuff, *others) for where, line in part.folds.items()}
    if not folds:
        return Part(seams=seams, steps=((SIDE_THEN, side),))
    places = list(folds)
    listed = " and ".join(filter(None, (", ".join(places[:-1]), places[-1])))
    fold_backs = f"the fold-backs at {listed}" if len(folds) > 1 else f"the fold-back at the {listed}"
    turning = Step(
        "",
        f"Turn {fold_backs} to the outside and catch {'them' if len(folds) > 1 else 'it'} down at the seam.",
        "two hidden stitches",
        note="The turned part's pile runs the other way: that is right." if any(piece.pile for piece in pieces) else "",
        shows="; ".join(folds.values()),
    )
    return Part(seams=seams, steps=((SIDE_THEN, side), (ENDS_LAST, turning)))


def work(block: Block, offers: Sequence[str]) -> Iterator[Instruction]:
    """What follows from the style, all of it common practice. Topics left blank are for the maker to fill in.

    ``offers`` are the seam types that edges left raw may be given instead.
    """
    pile = any(piece.pile for piece in block.pieces)
    inside = any(edge.seam_type == INSIDE for edge in block.edges)
    folded = any(mark.kind == "change-over" for mark in block.marks)
    strokes = {seam.strokes for seam in block.seams if seam.matching}
    if pile:
        yield Instruction(
            "Cutting",
            "With a blade from the leather side, through the skin and not the pile"
            + ("; shear the pile in the allowances of hole and foot." if inside else "."),
        )
    if strokes:
        yield Instruction("Letters", "T on the thumb comes to T on the hole, H to H: begin at T and meet at H.")
        which = "; one tick lies on the palm side, two on the index side." if len(strokes) > 1 else "."
        yield Instruction("Ticks", f"Tick meets tick{which}")
    if folded:
        yield Instruction(
            "Change-over",
            "The mark at each end of a fold: there the seam goes over to the skin's other face, as it turns.",
        )
    turned_too = " On turned parts it then runs the other way, rightly." if folded else ""
    if pile:
        yield Instruction("Pile", f"The pile runs along the arrow.{turned_too}")
        yield Instruction(
            "Hairs", "Comb the pile back from the edges before every seam; draw caught hairs out with the needle."
        )
    yield Instruction("Stitches in 3 cm", "")
    running = "; running stitch on the sew line, 2 mm from the edge" if inside else ""
    yield Instruction("Bite", f"Oversewing 2 mm from the edge{running}.")
    yield Instruction(
        "Start and finish", "Start 1 cm in, sew back to the end and over it; finish alike. Ends lie between the layers."
    )
    if offers:
        yield Instruction(
            "Plain edges",
            f"Left raw as drafted. To bind one or to hem it, give it the seam type '{BOUND}' or '{HEMMED}' on the "
            "sheet Edges: a binding strip is 0.97 times as long as its edge, a hem takes stay tape.",
        )
    yield Instruction(
        "Finished widths",
        f"Flat, {'fold-backs down, ' if folded else ''}{'pile combed back, ' if pile else ''}not stretched, from the "
        "side fold to the seam. Oversewing takes about 1 mm.",
    )
    yield Instruction("Reference", "")
    yield Instruction("Spoiled piece", "")
    yield Instruction("Send back", "")
