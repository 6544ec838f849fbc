"""A style: one choice for each part of the mitten, and the block without its coordinates that they compose."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from grading.codes import Code
from grading.drafting import making
from grading.drafting.measuring import HOW_TO_MEASURE
from grading.drafting.parts import cuff, fingers, lining, thumb, thumb_place, trunk
from grading.drafting.parts.part import LAYER, Allowance, At, Choice, Part, Style, Sum, together
from grading.drafting.parts.sewn import RAW, SEWN
from grading.findings import Finding, Place
from grading.model.block import Block, Edge, Value
from grading.model.measured import Chosen
from grading.model.names import Names, UnknownNameError

__all__ = [
    "PARTS",
    "STANDARD",
    "Mitten",
    "Style",
    "choices_in_words",
    "mitten",
    "senseless",
    "spelled",
    "style_from_words",
    "style_of",
]

#: The choices for each part, in the order in which an outline runs through the parts; the first of each is standard.
PARTS: dict[str, dict[str, Choice]] = {
    "fingers": fingers.CHOICES,
    "cuff": cuff.CHOICES,
    "thumb place": thumb_place.CHOICES,
    "thumb": thumb.CHOICES,
    "lining": lining.CHOICES,
}

#: The standard mitten.
STANDARD: Style = {part: next(iter(choices)) for part, choices in PARTS.items()}


@dataclass(frozen=True)
class Mitten:
    """A style as data: its block, but for values, points and what a maker says of it, and how it is drafted.

    The ``sums`` are worked out for a hand and the ``allowances``, and give the ``points``. ``layer`` is what the layers
    of material usually measure, mm.
    """

    style: Style
    block: Block
    sums: tuple[Sum, ...]
    points: tuple[At, ...]
    allowances: tuple[Allowance, ...]
    balances: tuple[Value, ...]
    layer: Mapping[str, float]

    @property
    def body(self) -> tuple[str, ...]:
        """The measurements that move its points, in the order in which they are taken."""
        shares = {share.value for move in self.block.moves for share in move.shares}
        return tuple(name for name in HOW_TO_MEASURE if name in shares)

    @property
    def needed_by(self) -> dict[str, str]:
        """The choices, as 'cuff 'band'', by the measurements that the standard choice in their place does without."""
        needed = {}
        for part, choice in self.style.items():
            without = mitten({**self.style, part: next(iter(PARTS[part]))}).body
            needed.update({name: f"{part} '{choice}'" for name in self.body if name not in without})
        return needed

    def usual(self, *, small: bool = False) -> dict[str, float]:
        """The usual allowances in mm, adults' or those of the small, but for what is worked out of the layers."""
        figures = ((one.name, one.children if small else one.adults) for one in self.allowances)
        return {name: figure for name, figure in figures if figure is not None}

    def at(self, piece: str, point: str) -> At:
        """The point of that name. Raises StopIteration if there is none."""
        return next(at for at in self.points if (at.piece, at.name) == (piece, point))


def mitten(style: Style) -> Mitten:
    """The mitten of a style. Raises KeyError for a part or a choice that there is not."""
    return _composed(tuple(style[part] for part in PARTS))


@cache
def _composed(chosen: tuple[str, ...]) -> Mitten:
    style = dict(zip(PARTS, chosen, strict=True))
    brought = {part: PARTS[part][choice].brings(style) for part, choice in style.items()}
    upper, lower, *others = brought.values()
    parts = [trunk.brings(style), *brought.values()]
    whole = together([*parts, making.closing(upper, lower, others, together(parts).pieces)])
    edges = tuple(_run_on(whole.edges))
    allowances = tuple(dict.fromkeys(whole.allowances))
    offers = tuple(_offered(parts, edges))
    sewn = [SEWN[name] for name in SEWN if name in {*offers, *(edge.seam_type for edge in edges)}]
    block = Block(
        name="",
        groups=(),
        drawn_from="inside",
        marked_on="outside",
        compressed_pile=0.0,
        leather=0.0,
        date="",
        notes="",
        values=(),
        pieces=whole.pieces,
        moves=tuple(dict.fromkeys(whole.moves)),
        points=(),
        edges=edges,
        seam_types=tuple(kind for kind, _ in sewn),
        # Those that are balanced stand first: a maker looks for their ease.
        seams=tuple(sorted(whole.seams, key=lambda seam: not seam.balance)),
        marks=whole.marks,
        measures=(
            *whole.widths,
            trunk.finished_length(upper, lower),
            *whole.depths,
            trunk.side_length(upper, lower),
            *whole.measures,
            *whole.checks,
            trunk.narrowest(style, lower),
        ),
        limits=(
            *dict.fromkeys(whole.limits),
            *(allowance.limit for allowance in allowances if allowance.limit is not None),
            *(limit for _, limit in sewn),
        ),
        making=making.steps(whole.steps),
        style=spelled(style),
    )
    return Mitten(
        style,
        replace(block, work=tuple(making.work(block, offers))),
        tuple(_in_stages(whole.sums)),
        whole.points,
        allowances,
        whole.balances,
        next((part.layer for part in parts if part.layer), LAYER),
    )


def _run_on(edges: Iterable[Edge]) -> list[Edge]:
    """The edges, with those of one piece and name made one: through the points of each in turn, sewn as the last."""
    joined: dict[tuple[str, str], Edge] = {}
    for edge in edges:
        before = joined.get((edge.piece, edge.name))
        points = edge.points if before is None else (*before.points, *edge.points)
        joined[edge.piece, edge.name] = replace(edge, points=points)
    return list(joined.values())


def _offered(parts: Sequence[Part], edges: Iterable[Edge]) -> Iterable[str]:
    """The seam types that are offered by parts of which an edge is left raw, whatever the other parts bring."""
    raw = {(edge.piece, edge.name) for edge in edges if edge.seam_type == RAW}
    offering = [part for part in parts if raw & {(edge.piece, edge.name) for edge in part.edges}]
    return dict.fromkeys(offer for part in offering for offer in part.offers)


def _in_stages(sums: Sequence[Sum]) -> list[Sum]:
    """The sums stage by stage, as each stage first comes, and numbered."""
    stages = list(dict.fromkeys(one.stage for one in sums))
    ordered = sorted(sums, key=lambda one: stages.index(one.stage))
    return [replace(one, stage=f"{stages.index(one.stage) + 1}. {one.stage}") for one in ordered]


def spelled(style: Style) -> str:
    """A style in words, as a block says it.

    >>> spelled(STANDARD)
    'fingers: turned; cuff: turned; thumb place: forward; thumb: turned; lining: none'
    """
    return "; ".join(f"{part}: {choice}" for part, choice in style.items())


def style_of(block: Block) -> Style:
    """The style that a block says it is of, with the standard choice for every part of which it says nothing known."""
    said = dict(words.strip().split(": ", 1) for words in block.style.split(";") if ": " in words)
    return {part: said[part] if said.get(part) in PARTS[part] else usual for part, usual in STANDARD.items()}


def style_from_words(chosen: Iterable[Chosen]) -> tuple[Style, list[Finding]]:
    """The style of the choices made, and the standard choice for every other part; the last choice for a part counts.

    Findings are errors: words that are none, and choices that do not go together.
    """
    style, findings = dict(STANDARD), []
    for one in chosen:
        part = Names(PARTS).settled_or_not(one.part)
        known = PARTS.get(part, PARTS)
        found = f"'{one.choice}' is no choice for {part}."
        if part not in PARTS:
            found = f"'{one.part}' is no part of a mitten."
        try:
            part = Names(PARTS).settled(one.part)
            style[part] = Names(known).settled(one.choice)
        except UnknownNameError as unknown:
            expected = f"Perhaps '{unknown.near}' is meant." if unknown.near else f"One of: {' · '.join(known)}."
            findings.append(Finding.error(Code.UNKNOWN_CHOICE, one.place, found, expected, "Correct the word."))
    return style, [*findings, *senseless(style)]


def choices_in_words() -> dict[str, dict[str, str]]:
    """What each choice is, by part and choice."""
    return {part: {name: choice.words for name, choice in choices.items()} for part, choices in PARTS.items()}


def senseless(style: Style) -> Iterator[Finding]:
    """An error for every two choices that make no mitten together."""
    for part, choice in style.items():
        for other in PARTS[part][choice].apart:
            if style[other.part] == other.choice:
                found = f"{part} '{choice}' with {other.part} '{other.choice}' makes no mitten."
                yield Finding.error(Code.CHOICES_APART, Place(measure=part), found, other.why, other.action)
