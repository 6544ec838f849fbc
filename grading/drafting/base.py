"""From two measured hands and the allowances to a base block: the larger hand's, audited against that hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from grading import units
from grading.audit import audit_block, audit_run
from grading.drafting import mitten
from grading.drafting.draft import draft
from grading.drafting.hands import LargerHand, check_hands, larger_hand, missing_figures
from grading.drafting.working import Sum, own_table, working
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import Finding, Place, Severity, has_errors
from grading.model.block import LEATHER, MATERIAL, Block, Limit, name_and_more
from grading.model.measured import Hands
from grading.model.names import Names, UnknownNameError

__all__ = ["LAYER", "THUMB_LONGER_BY", "Drafted", "allowances_from_words", "audit_base", "draft_base"]

#: What the layer of material is called among the allowances, and its usual figures, mm: invented for the demo.
LAYER = {"compressed pile": 1.8, "leather thickness": 1.0}
#: How much longer the thumb's rim is than its hole; where it is not given, the standard mitten's share of the hole.
THUMB_LONGER_BY = "thumb longer by"


#: The least fold-back that leaves a part to turn, mm: 2 mm of it would show.
LEAST_TURNED = 4.0
#: The least flare that the thumb's tube is drawn with, mm: with less there is no room for its curve.
LEAST_FLARE = 1.0


@dataclass(frozen=True, eq=False)
class Drafted:
    """A base block, the hand that it was drafted for, and the working: where each figure came from."""

    block: Block
    hand: LargerHand
    sums: tuple[Sum, ...]


def allowances_from_words(pairs: Iterable[tuple[str, str]], unit: str) -> tuple[dict[str, float], list[Finding]]:
    """The usual allowances of the standard mitten, mm, but for those named with another figure.

    ``unit`` holds for figures that name none.
    """
    allowances = {name: adult for name, (adult, _, _) in mitten.ALLOWANCES.items()} | LAYER
    findings = []
    names = Names((*allowances, mitten.TURN_ROOM, THUMB_LONGER_BY))
    for word, typed in pairs:
        place = Place(measure=word)
        try:
            figure = float(units.length(typed, unit))
        except units.UnreadableError as wrong:
            expected = f"A length of zero or more, in {unit} unless it names another unit."
            findings.append(Finding(wrong.code, Severity.ERROR, place, str(wrong), expected, "Type it again."))
            continue
        try:
            allowances[names.settled(word)] = figure
        except UnknownNameError as unknown:
            expected = f"Perhaps '{unknown.near}' is meant." if unknown.near else f"One of {', '.join(names)}."
            found = f"'{word}' is no allowance of the standard mitten."
            findings.append(Finding("unknown-allowance", Severity.ERROR, place, found, expected, "Correct the name."))
    return allowances, findings


def draft_base(
    hands: Hands,
    allowances: Mapping[str, float],
    *,
    name: str,
    groups: tuple[str, ...] = (),
    date: str = "",
) -> tuple[Drafted | None, list[Finding]]:
    """The base block for the larger of two hands, or None with the errors that stand in its way.

    ``allowances`` in mm as ``allowances_from_words`` gives them.
    """
    findings = list(check_hands(hands))
    larger = larger_hand(hands)
    findings += missing_figures(larger.figures, mitten.BODY)
    findings += _without_turned_parts(allowances)
    findings += _without_flare(allowances)
    if has_errors(findings):
        return None, findings
    block = draft(
        name,
        groups,
        larger.figures,
        allowances,
        compressed_pile=allowances["compressed pile"],
        leather=allowances["leather thickness"],
        date=date,
        notes=f"Drafted for a {larger.hand} hand.",
        thumb_longer_by=allowances.get(THUMB_LONGER_BY),
    )
    findings += audit_base(block, larger.figures)
    return Drafted(block, larger, tuple(working(block, larger.figures))), findings


def _without_turned_parts(allowances: Mapping[str, float]) -> Iterator[Finding]:
    """An error for every fold-back that leaves nothing to turn: its fold and its raw edge would be one line."""
    for name in mitten.TURNED:
        if allowances[name] < LEAST_TURNED:
            yield Finding(
                "nothing-to-turn",
                Severity.ERROR,
                Place(measure=name),
                f"{name} is {allowances[name]:g} mm.",
                f"At least {LEAST_TURNED:g} mm: the standard mitten is turned there, and half of the allowance shows.",
                "Give more, or leave it out for the usual figure.",
            )


def _without_flare(allowances: Mapping[str, float]) -> Iterator[Finding]:
    """An error for a tube that hardly flares: its last points and T would be one."""
    if allowances["thumb flare"] < LEAST_FLARE:
        yield Finding(
            "nothing-to-flare",
            Severity.ERROR,
            Place(measure="thumb flare"),
            f"thumb flare is {allowances['thumb flare']:g} mm.",
            f"At least {LEAST_FLARE:g} mm, usually 3 to 8: the rim leaves the tube square to it.",
            "Give more, or leave it out for the usual figure.",
        )


def audit_base(block: Block, figures: Mapping[str, float]) -> Iterator[Finding]:
    """What the audit finds of a block on the one hand that it was made for.

    Limits that name a measurement which was not taken are left for the run, whose table has it.
    """
    yield from audit_block(block)
    known = set(figures) | {MATERIAL, LEATHER}
    known |= {value.name for value in block.values}
    known |= {measure.name for measure in block.measures}
    limits = tuple(limit for limit in block.limits if _named(limit) <= known)
    yield from audit_run(balanced(grade(replace(block, limits=limits), own_table(figures))))


def _named(limit: Limit) -> set[str]:
    """The names that a limit is made of."""
    parts = (limit.what, limit.less, limit.divided_by, limit.least, limit.most)
    return {name_and_more(part)[0] for part in parts if isinstance(part, str)}
