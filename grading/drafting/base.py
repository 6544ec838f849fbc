"""From two measured hands and the allowances to a base block: the larger hand's, audited against that hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from grading import units
from grading.audit import audit_block, audit_run
from grading.codes import Code
from grading.drafting.draft import draft, own_table
from grading.drafting.hands import LargerHand, check_hands, larger_hand, missing_figures
from grading.drafting.parts.part import LINING_THICKNESS
from grading.drafting.style import PARTS, STANDARD, Mitten, Style, mitten, senseless
from grading.drafting.working import WorkedSum, working
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import Finding, Place, has_errors
from grading.model.block import LEATHER, LINING, MATERIAL, Block
from grading.model.measured import Hands
from grading.model.names import Names, UnknownNameError

__all__ = ["Drafted", "allowances_from_words", "audit_base", "draft_base", "style_meant"]

#: How much longer the thumb's rim is than its hole; where it is not given, the standard mitten's share of the hole.
_THUMB_LONGER_BY = "thumb longer by"


@dataclass(frozen=True, eq=False)
class Drafted:
    """A base block, the hand that it was drafted for, and the working: where each figure came from."""

    block: Block
    hand: LargerHand
    sums: tuple[WorkedSum, ...]


def style_meant(
    style: Style, pairs: Iterable[tuple[str, str]], unit: str
) -> tuple[Style, list[tuple[str, str]], list[Finding]]:
    """The style with every allowance of 0 taken as the choice that it means, such as a plain edge for a fold-back.

    Also the other allowances, each with what was typed, and findings: a note of each choice that was made so, and an
    error where it makes no mitten with another.
    """
    by_zero = {
        name: (part, other) for part, choice in style.items() for name, other in PARTS[part][choice].zero_is.items()
    }
    known, meant, others, findings = Names(by_zero), dict(style), [], []
    for word, typed in pairs:
        name = known.settled_or_not(word)
        if name not in by_zero or not _is_zero(typed, unit):
            others.append((word, typed))
            continue
        part, choice = by_zero[name]
        before = mitten(meant).usual()
        meant[part] = choice
        added = [own for own in mitten(meant).usual() if own not in before]
        ends = f"Where it is to end is the allowance '{added[0]}'." if added else "Nothing else is to be given for it."
        findings.append(
            Finding.note(
                Code.ZERO_IS_A_CHOICE,
                Place(measure=name),
                f"{name} is 0: taken as {part} '{choice}'.",
                "A turned part shows half of its allowance: of 0 there is nothing to turn.",
                ends,
            )
        )
    return meant, others, [*findings, *(one for one in senseless(meant) if one not in [*senseless(style)])]


def _is_zero(typed: str, unit: str) -> bool:
    try:
        return units.length(typed, unit) == 0
    except units.UnreadableError:
        return False


def allowances_from_words(
    pairs: Iterable[tuple[str, str]], unit: str, style: Style = STANDARD
) -> tuple[dict[str, float], list[Finding]]:
    """The usual allowances of a style, mm, but for those named with another figure.

    ``unit`` holds for figures that name none.
    """
    made = mitten(style)
    allowances = {**made.usual(), **made.layer}
    findings = []
    known = [*(one.name for one in made.allowances), *made.layer, *([_THUMB_LONGER_BY] if made.balances else [])]
    names = Names(known)
    for word, typed in pairs:
        place = Place(measure=word)
        try:
            figure = float(units.length(typed, unit))
        except units.UnreadableError as wrong:
            expected = f"A length of zero or more, in {unit} unless it names another unit."
            findings.append(Finding.error(wrong.code, place, str(wrong), expected, "Type it again."))
            continue
        try:
            allowances[names.settled(word)] = figure
        except UnknownNameError as unknown:
            expected = f"Perhaps '{unknown.near}' is meant." if unknown.near else f"One of {', '.join(names)}."
            found = f"'{word}' is no allowance of {'the standard mitten' if style == STANDARD else 'this style'}."
            findings.append(Finding.error(Code.UNKNOWN_ALLOWANCE, place, found, expected, "Correct the name."))
    return allowances, findings


def draft_base(
    hands: Hands,
    allowances: Mapping[str, float],
    *,
    name: str,
    groups: tuple[str, ...] = (),
    date: str = "",
    style: Style = STANDARD,
) -> tuple[Drafted | None, list[Finding]]:
    """The base block of a style for the larger of two hands, or None with the errors that stand in its way.

    ``allowances`` in mm as ``allowances_from_words`` gives them.
    """
    findings = list(check_hands(hands))
    larger = larger_hand(hands)
    made = mitten(style)
    findings += missing_figures(larger.figures, made.body, made.needed_by)
    findings += _too_small_to_draw(made, allowances)
    if has_errors(findings):
        return None, findings
    block = draft(
        name,
        groups,
        larger.figures,
        allowances,
        compressed_pile=allowances["compressed pile"],
        leather=allowances["leather thickness"],
        lining=allowances.get(LINING_THICKNESS, 0.0),
        date=date,
        notes=f"Drafted for a {larger.hand} hand.",
        thumb_longer_by=allowances.get(_THUMB_LONGER_BY),
        style=style,
    )
    findings += audit_base(block, larger.figures)
    return Drafted(block, larger, tuple(working(block, larger.figures))), findings


def _too_small_to_draw(made: Mitten, allowances: Mapping[str, float]) -> Iterator[Finding]:
    """An error for every allowance with which there is nothing to draw: points would lie in one place."""
    for one in made.allowances:
        if one.least is not None and allowances[one.name] < one.least.mm:
            yield Finding.error(
                one.least.code,
                Place(measure=one.name),
                f"{one.name} is {allowances[one.name]:g} mm.",
                f"At least {one.least.mm:g} mm{one.least.why}.",
                "Give more, or leave it out for the usual figure.",
            )


def audit_base(block: Block, figures: Mapping[str, float]) -> Iterator[Finding]:
    """What the audit finds of a block on the one hand that it was made for.

    Limits that name a measurement which was not taken are left for the run, whose table has it.
    """
    yield from audit_block(block)
    known = set(figures) | {MATERIAL, LEATHER, LINING}
    known |= {value.name for value in block.values}
    known |= {measure.name for measure in block.measures}
    limits = tuple(limit for limit in block.limits if limit.names <= known)
    yield from audit_run(balanced(grade(replace(block, limits=limits), own_table(figures))))
