"""The working of a drafted block: every figure and the sum it came from, to be checked with a ruler and a pencil."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from grading import units
from grading.drafting.mitten import FLARE, FOOT, FULLNESS, HOLE, SIDE, TAPERED, THUMB, TRANK, TURN_ROOM
from grading.engine.run import grade
from grading.model.block import Block, Kind
from grading.model.sizes import SizeTable
from grading.readings.seams import walked_seams

__all__ = ["Sum", "figure", "own_table", "working"]


@dataclass(frozen=True)
class Sum:
    """One line of the working: its step, what it gives in mm, and the sum, its names in braces with their figures."""

    step: str
    what: str
    mm: float
    names: str
    figures: Mapping[str, float]

    def made_of(self, unit: str) -> str:
        """The sum in words, a figure in that unit behind each name.

        >>> Sum("1.", "a side", 120.0, "{round} ÷ 2", {"round": 240.0}).made_of("cm")
        'round 24 ÷ 2'
        """
        return re.sub(r"\{(.+?)\}", lambda name: f"{name[1]} {figure(self.figures[name[1]], unit)}", self.names)


#: Where a line's figure is read off: a piece, a point, and 0 for across or 1 for up; None where it is no point's.
_Source = tuple[str, str, int] | None
_Line = tuple[str, _Source, str]


def _across(piece: str, point: str, sum_: str, what: str = "") -> _Line:
    return what or f"{point}, across", (piece, point, 0), sum_


def _up(piece: str, point: str, sum_: str, what: str = "") -> _Line:
    return what or f"{point}, up", (piece, point, 1), sum_


def _turned(point: str, body: str, fold: str, room: float) -> tuple[_Line, _Line]:
    """A point of a turned part: the mirror image of one of the body in the fold, and some of the room further out."""
    return (
        _across(TRANK, point, f"{{{body}, across}} + {_times(room, TURN_ROOM)}"),
        _up(TRANK, point, f"2 × {{{fold}}} − {{{body}, up}}"),
    )


def _times(factor: float, name: str) -> str:
    return f"{{{name}}}" if factor == 1 else f"{factor:g} × {{{name}}}"


def _of_side(name: str) -> tuple[_Line, _Line]:
    up, waist, flare = SIDE[name]
    wider = f" + {_times(flare, 'cuff flare')}" if flare else ""
    return (
        _across(TRANK, name, f"{{a side}} − {_times(waist, 'waist shaping')}{wider}"),
        _up(TRANK, name, f"{up:g} × {{palm length}}" if up > 0 else f"−{-up:g} × {{cuff fold-back}}"),
    )


def _of_hole(part: str) -> Iterator[_Line]:
    down, out = HOLE[part]
    yield _up(TRANK, f"palm {part}", f"{{T of the hole}} − {down:g} × {{thumb root length}}", f"hole {part}, up")
    for half, sign in (("palm", "+"), ("index", "−")):
        yield _across(TRANK, f"{half} {part}", f"{{thumb line}} {sign} {out:g} × {{thumb root breadth}} ÷ 2")


def _of_flare(point: str) -> tuple[_Line, _Line]:
    down, up, out = FLARE[point]
    return (
        _across(THUMB, point, f"{{a side of the thumb}} + {out:g} × {{thumb flare}}"),
        _up(THUMB, point, f"{_times(down, 'T of the thumb')} + {up:g} × {{thumb flare}}"),
    )


def _of_foot(point: str) -> tuple[_Line, _Line]:
    (across, by_width, by_depth), (out, sink) = FOOT[point], FULLNESS[point]
    wider = f" + {_times(out, 'fullness')}" if out else ""
    below = f" − {_times(by_width, 'half across at T')}" if by_width else ""
    return (
        _across(THUMB, point, f"{_times(across, 'half across at T')}{wider}"),
        _up(
            THUMB,
            point,
            f"{{T of the thumb}}{below} − {_times(by_depth, 'depth of the foot')} − {_times(-sink, 'fullness')}",
        ),
    )


#: The lines of each step, in the trade's order; a name in braces is a measurement, an allowance or a line above.
_STEPS: Mapping[str, tuple[_Line, ...]] = {
    "1. Half the round belongs to each side of the mirror line": (
        ("round the mitten", None, "{fist girth} + {hand ease}"),
        _across(TRANK, "knuckle", "{round the mitten} ÷ 2", "a side"),
        ("to add beside the flat hand", None, "{a side} − {hand breadth}"),
    ),
    "2. Lines across the trank, up from the wrist line": (
        _up(TRANK, "knuckle", "{palm length}", "finger line"),
        _up(TRANK, "finger fold", "{finger line} + {finger fold-back} ÷ 2", "finger fold"),
        _up(TRANK, "finger edge", "{finger line} + {finger fold-back}", "finger raw edge"),
        _up(TRANK, "cuff fold", "−{cuff fold-back} ÷ 2", "cuff fold"),
        _up(TRANK, "cuff edge", "−{cuff fold-back}", "cuff raw edge"),
    ),
    "3. The side of the trank": (
        _across(TRANK, "finger fold", "{a side} − {finger taper}"),
        _across(TRANK, "finger body", f"{{a side}} − {TAPERED:g} × {{finger taper}}"),
        _up(TRANK, "finger body", "({finger line} + {finger fold}) ÷ 2"),
        *_turned("finger turn", "finger body", "finger fold", 0.5),
        _across(TRANK, "finger edge", f"{{a side}} + {{{TURN_ROOM}}}"),
        *(line for name in SIDE for line in _of_side(name)),
        _across(TRANK, "cuff fold", "{a side} + {cuff flare}"),
        *_turned("cuff turn", "cuff body", "cuff fold", 0.5),
        *_turned("cuff waist", "waist", "cuff fold", 0.9),
        _across(TRANK, "cuff edge", f"{{wrist, across}} + {{{TURN_ROOM}}}"),
    ),
    "4. The thumb hole, a drop hung from T on the thumb line": (
        _across(TRANK, "T", "{index-middle gap} + {thumb forward}", "thumb line"),
        ("T below the finger line", None, "{web depth}"),
        _up(TRANK, "T", "{finger line} − {web depth}", "T of the hole"),
        _up(TRANK, "H", "{T of the hole} − {thumb root length}", "H of the hole"),
        *(line for part in HOLE for line in _of_hole(part)),
    ),
    "5. The thumb, down from its knuckle line": (
        ("round the thumb", None, "{thumb girth} + {thumb ease}"),
        _across(THUMB, "knuckle", "{round the thumb} ÷ 2", "a side of the thumb"),
        _up(THUMB, "turn fold", "{thumb turn} ÷ 2", "thumb fold"),
        _up(THUMB, "turn edge", "{thumb turn}", "thumb raw edge"),
        _up(THUMB, "T", "−{web to knuckle} − {web lowering}", "T of the thumb"),
        _across(THUMB, "T", "{a side of the thumb} + {thumb flare}", "half across at T"),
        _across(THUMB, "stem", "{a side of the thumb} − {stem waist}"),
        _up(THUMB, "stem", "0.5 × {T of the thumb}"),
        *(line for point in FLARE for line in _of_flare(point)),
        _across(THUMB, "turn edge", f"{{a side of the thumb}} + {{{TURN_ROOM}}}"),
        ("depth of the foot", None, "{thumb root length} + {foot depth}"),
        ("fullness", None, "found by trying, until the thumb is as much longer than its hole as it should be"),
        *(line for point in FOOT for line in _of_foot(point)),
        _up(THUMB, "H", "{T of the thumb} − {depth of the foot} − {fullness}", "H of the thumb"),
    ),
    "6. The thumb against its hole, on sew lines": (
        ("rim of the thumb", None, "both halves of the foot, T by H to T"),
        ("round the hole", None, "both halves of the hole, T by H to T"),
        ("thumb longer by", None, "{rim of the thumb} − {round the hole}"),
    ),
}


def figure(mm: float, unit: str) -> str:
    """A drafted length as it is read off grid paper: to a hundredth of a millimetre, or a sixteenth of an inch.

    >>> figure(114.5, "cm"), figure(114.5, "mm"), figure(-80.0, "cm"), figure(35.56, "mm")
    ('11.45', '114.5', '-8', '35.56')
    """
    if unit == "in":
        return units.show(mm, unit)
    text = f"{mm / float(units.MM_PER[unit]):.{3 if unit == 'cm' else 2}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def own_table(body: Mapping[str, float]) -> SizeTable:
    """The size table of the one hand that a block is drafted for."""
    values = np.array([[mm] for mm in body.values()], dtype=float)
    blank = ("",) * len(body)
    return SizeTable("", ("drafted",), tuple(body), values, ("mm",) * len(body), blank, blank)


def working(block: Block, body: Mapping[str, float]) -> Iterator[Sum]:
    """The working of a block that ``draft`` made for this hand, line by line in the order in which it is drawn.

    Figures are the block's own, not worked anew; the sums say where each came from. ``body`` in mm may have more
    than the construction needs: with a 'hand breadth' it says what is added beside the flat hand.
    """
    at = {(point.piece, point.name): (point.x, point.y) for point in block.points}
    known = {value.name: value.now for value in block.values if value.kind is Kind.ALLOWANCE} | dict(body)
    known |= _no_points(block, body, at)
    for step, lines in _STEPS.items():
        for what, source, template in lines:
            if "{hand breadth}" in template and "hand breadth" not in body:
                continue
            if source is not None:
                piece, point, axis = source
                known[what] = at[piece, point][axis]
            used = {name: known[name] for name in re.findall(r"\{(.+?)\}", template)}
            yield Sum(step, what, known[what], template, used)


def _no_points(
    block: Block, body: Mapping[str, float], at: Mapping[tuple[str, str], tuple[float, float]]
) -> dict[str, float]:
    """The figures of those lines that are no point's coordinate, read off the drafted points."""
    side, thumb_side = at[TRANK, "knuckle"][0], at[THUMB, "knuckle"][0]
    deep = body["thumb root length"] + next(value.now for value in block.values if value.name == "foot depth")
    halves = [seam for seam in walked_seams(grade(block, own_table(body))) if seam.seam.balance]
    rim, hole = (
        sum(float(length[0]) for length in lengths)
        for lengths in zip(*((half.side_a, half.side_b) for half in halves), strict=True)
    )
    return {
        "round the mitten": 2 * side,
        "to add beside the flat hand": side - body.get("hand breadth", side),
        "T below the finger line": at[TRANK, "knuckle"][1] - at[TRANK, "T"][1],
        "round the thumb": 2 * thumb_side,
        "depth of the foot": deep,
        "fullness": at[THUMB, "T"][1] - at[THUMB, "H"][1] - deep,
        "rim of the thumb": rim,
        "round the hole": hole,
        "thumb longer by": rim - hole,
    }
