"""The cutting patterns: the pieces of one pair in one size, at true scale, on as few sheets as they take."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from grading.drawing.composing import on_few_sheets
from grading.drawing.laying import Thing
from grading.drawing.marks import Drawing, Role
from grading.drawing.pages import TitleBlock, numbered
from grading.drawing.paper import Printing
from grading.drawing.pdf import About, pdf_bytes
from grading.engine.cut_lines import CutLoop
from grading.engine.run import SizeRun
from grading.model.mark_kinds import MARK_KINDS
from grading.outputs import key
from grading.outputs.pieces import HandPiece, PatternKind, PieceDrawings
from grading.outputs.wording import CAUTIONS_AT_WORK, hands_told
from grading.publish.names import file_name
from grading.readings.marks import fold_lines, slits

__all__ = ["patterns"]


def patterns(
    run: SizeRun, loops: Sequence[CutLoop], printing: Printing, kind: PatternKind
) -> Iterator[tuple[str, bytes]]:
    """A PDF file for every size, by the name of its file without ending: cutting patterns, or net templates."""
    drawings = PieceDrawings(run, loops, kind)
    names: list[str] = []
    for size, named in enumerate(run.sizes):
        names.append(file_name(named, names, "size"))
        if pieces := drawings.of_size(size):
            yield names[-1], _file(run, named, pieces, printing, kind)


def _file(run: SizeRun, size: str, pieces: Sequence[HandPiece], printing: Printing, kind: PatternKind) -> bytes:
    document = "net template" if kind.net else "pattern"
    title = TitleBlock(
        document, run.block.name, run.group, size=size, face=run.block.marked_on, date=run.block.date, run=kind.run_id
    )
    things = [replace(Thing.piece(one.name, one.lines), finish=one.finished) for one in pieces]
    things += [Thing("", forms) for forms in _notes(run, pieces, size, kind)]
    contents = on_few_sheets(things, printing, _on_sheet(title, [one.name for one in pieces], pieces))
    # Each sheet says which pieces are on it: those that a reader lists it by.
    named = [_on_sheet(title, [one.title for one in content.bookmarks], pieces) for content in contents]
    contents = [replace(one, frame=one.frame.entitled(own)) for one, own in zip(contents, named, strict=True)]
    about = About(
        f"{run.block.name} · {run.group} · size {size} · {document}",
        subject=f"{document.capitalize()} of {hands_told(run.block)}, run {kind.run_id}",
        keywords=("mitten", "pattern", run.group, size, kind.run_id),
    )
    return pdf_bytes(numbered(contents), about)


def _on_sheet(title: TitleBlock, names: Sequence[str], pieces: Sequence[HandPiece]) -> TitleBlock:
    """The title block of a sheet, by the pieces that are on it."""
    here = [one for one in pieces if one.name in names]
    hands = list(dict.fromkeys(one.hand for one in here))
    hand = f"{hands[0]} hand" if len(hands) == 1 else "both hands" if hands else ""
    return replace(title, piece=", ".join(dict.fromkeys(one.piece.name for one in here)), hand=hand)


def _notes(run: SizeRun, pieces: Sequence[HandPiece], size: str, kind: PatternKind) -> Iterator[tuple[Drawing, ...]]:
    """The key, and a label for the back of every piece that serves the other hand when it is turned over."""
    told = [
        "Turned over, a card serves the other hand: pierce every circle through."
        if any(one.other for one in pieces)
        else "",
        *dict.fromkeys(f"{mark.name}: {mark.note}" for mark in run.block.marks if mark.kind == "notch" and mark.note),
        CAUTIONS_AT_WORK,
    ]
    yield key.key(list(_entries(run, pieces, kind)), [text for text in told if text])
    for one in pieces:
        if one.other:
            letters = [mark.name for mark in run.block.marks if mark.piece == one.piece.name and mark.kind == "label"
                       for _ in mark.points]  # fmt: skip
            facts = (f"run {kind.run_id}",)
            yield key.back_label(f"{one.piece.name} {size}", one.other, facts, letters)


def _entries(run: SizeRun, pieces: Sequence[HandPiece], kind: PatternKind) -> Iterator[key.Entry]:
    """Every kind of line and mark that is on any of the pieces, with what it means."""
    roles = {mark.role for one in pieces for mark in one.lines.marks}
    if kind.net:
        yield key.sample(Role.CUT_LINE), "sew line, no allowance: draw round it"
    else:
        yield key.sample(Role.CUT_LINE), "cut line"
        yield key.sample(Role.SEW_LINE), "sew line; without one: sewn as cut"
    if any(slits(run.block, one.piece.name) for one in pieces):
        yield key.sample(Role.CUT_LINE), "slit: cut from end to end, nothing is taken out"
    if Role.MIRROR_LINE in roles:
        yield key.mirror_sample(), "mirror line: fold here, never cut"
    folds = [MARK_KINDS[mark.kind] for one in pieces for mark, _, _ in fold_lines(run.block, one.piece.name)]
    if any(not kind.doubles for kind in folds):
        yield key.sample(Role.FOLD_LINE), "fold line of a turn, to the outside"
    if any(kind.doubles for kind in folds):
        yield key.sample(Role.FOLD_LINE), "fold line of what lies double"
    if Role.PLACEMENT_LINE in roles:
        yield key.sample(Role.PLACEMENT_LINE), "placement line"
    if Role.PIERCING in roles:
        yield key.tick_sample(), "ticks: one meets one, two meet two"
    if any(mark.kind == "change-over" for mark in run.block.marks):
        yield key.change_over_sample(), "the needle goes to the other face"
    ways = {one.piece.pile for one in pieces}
    if 1 in ways:
        yield key.arrow_sample(Role.PILE), "pile arrow: the hand goes in this way"
    if -1 in ways:
        yield key.arrow_sample(Role.PILE), "pile arrow: against the hand"
    if any(one.piece.stretch for one in pieces):
        yield key.arrow_sample(Role.STRETCH, both=True), "stretch of the leather"
    yield key.arrow_sample(Role.REGISTRATION), "sheets join: tip on tip, then glue"
