"""Judge one person's measurements, and take the larger hand: a mitten drafted for the smaller one is too tight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from grading.audit.mistaken import MISTAKEN
from grading.audit.relations import PLAUSIBLE
from grading.codes import Code
from grading.drafting.measuring import HOW_TO_MEASURE, SMALLER
from grading.findings import Finding, Place
from grading.model.hands import LEFT, RIGHT
from grading.model.measured import Hands

__all__ = ["APART", "LargerHand", "check_hands", "larger_hand", "missing_figures"]

#: Two hands of one person differ by less than this part of the larger: 99 of 100 people in the survey of 236
#: students that Venables and Ripley print (R package MASS, 'survey': spans of the writing and the other hand).
APART = 0.12


@dataclass(frozen=True)
class LargerHand:
    """The hand to draft for: ``figures`` in mm, each with the hand it was ``taken_from``.

    ``ease_lost`` is by how much less round the hand, mm, a mitten drafted for the other one would have.
    """

    hand: str
    figures: Mapping[str, float]
    taken_from: Mapping[str, str]
    ease_lost: float | None


def larger_hand(hands: Hands) -> LargerHand:
    """The hand with the larger fist girth, and its figures; one that only the other hand has is taken from there."""
    left, right = (hands.of(hand).get("fist girth") for hand in (LEFT, RIGHT))
    if left is None or right is None:
        hand = RIGHT if left is None and (right is not None or hands.right) else LEFT
        lost = None
    else:
        hand, lost = (LEFT if left > right else RIGHT), abs(left - right)
    other = RIGHT if hand == LEFT else LEFT
    taken = {**dict.fromkeys(hands.of(other), other), **dict.fromkeys(hands.of(hand), hand)}
    order = [*(name for name in HOW_TO_MEASURE if name in taken), *(name for name in taken if name not in PLAUSIBLE)]
    return LargerHand(
        hand, {name: hands.of(taken[name])[name] for name in order}, {name: taken[name] for name in order}, lost
    )


def check_hands(hands: Hands) -> Iterator[Finding]:
    """What cannot be right in the measurements of one person, each with the likely cause."""
    for hand in (LEFT, RIGHT):
        swapped = _wrong_way_round(hands.of(hand))
        for small, large in swapped:
            yield Finding.error(
                Code.FIGURES_WRONG_WAY_ROUND,
                hands.place(hand, small),
                f"The {small} of the {hand} hand, {hands.of(hand)[small]:g} mm, is no less than its {large}, "
                f"{hands.of(hand)[large]:g} mm.",
                f"On every hand the {small} is the smaller.",
                "Most likely the two figures were swapped, or one of them was typed in another unit.",
            )
        yield from _out_of_range(hands, hand, {name for pair in swapped for name in pair})
    yield from _apart(hands)
    if bool(hands.left) != bool(hands.right):
        only, other = (LEFT, RIGHT) if hands.left else (RIGHT, LEFT)
        yield Finding.note(
            Code.ONE_HAND_MEASURED,
            Place(measure=f"{only} hand"),
            f"Only the {only} hand was measured.",
            "Both: hands differ by 2.3 % on average (MASS, 'survey'), and it is the larger that has to get in.",
            f"Measure the {other} hand too; at the least its fist girth.",
        )


def missing_figures(
    figures: Mapping[str, float], wanted: Iterable[str], needed_by: Mapping[str, str] | None = None
) -> Iterator[Finding]:
    """A finding for every measurement wanted that was not taken, with the choice that it is ``needed_by``, if one."""
    for name in wanted:
        if name not in figures:
            yield Finding.error(
                Code.MEASUREMENT_MISSING,
                Place(measure=name),
                f"It was not given, and {(needed_by or {}).get(name, 'the pattern')} is drawn by it.",
                f"How to measure: {HOW_TO_MEASURE[name]}",
                f'Add it to the sheet, or type --right "{name}" and the figure.',
            )


def _wrong_way_round(figures: Mapping[str, float]) -> list[tuple[str, str]]:
    """Pairs of which the wrong one is the larger, where a slip of unit in one of them does not explain it."""
    return [
        (small, large)
        for small, large in SMALLER
        if small in figures
        and large in figures
        and figures[small] >= figures[large]
        and _fits(small, figures[small]) == _fits(large, figures[large])
    ]


def _out_of_range(hands: Hands, hand: str, explained_already: set[str]) -> Iterator[Finding]:
    """Figures that no hand has: all that the same slip of unit explains in one finding."""
    figures = hands.of(hand)
    names = [name for name in figures if name in PLAUSIBLE and name not in explained_already]
    outside = [name for name in names if not _fits(name, figures[name])]
    while outside:
        explained = {
            meant: [name for name in outside if _fits(name, figures[name] * factor)]
            for factor, meant in MISTAKEN.items()
        }
        meant = max(explained, key=lambda cause: len(explained[cause]))
        names = explained[meant] or outside[:1]
        least, most = PLAUSIBLE[names[0]]
        cause = f"Most likely {meant}." if explained[meant] else "Most likely a slip of the pen."
        yield Finding.error(
            Code.FIGURE_OUT_OF_RANGE,
            hands.place(hand, names[0]),
            f"No {hand} hand has {', '.join(f'{name} {figures[name]:g} mm' for name in names)}.",
            f"A {names[0]} lies between {least:g} and {most:g} mm.",
            f"{cause} Check the figures, and name their unit.",
        )
        outside = [name for name in outside if name not in names]


def _fits(name: str, figure: float) -> bool:
    least, most = PLAUSIBLE[name]
    return least <= figure <= most


def _apart(hands: Hands) -> Iterator[Finding]:
    for name in hands.left:
        if name not in hands.right:
            continue
        small, large = sorted((LEFT, RIGHT), key=lambda hand: hands.of(hand)[name])
        low, high = hands.of(small)[name], hands.of(large)[name]
        if (high - low) / high <= APART:
            continue
        unit = next((meant for factor, meant in MISTAKEN.items() if abs(low * factor / high - 1) < APART), "")
        cause = (
            f"the {small} one looks like {unit}"
            if unit
            else "a mistyped digit, or the tape lay in two different places"
        )
        yield Finding.warning(
            Code.HANDS_FAR_APART,
            hands.place(small, name),
            f"{name}: the {small} hand has {low:g} mm, the {large} {high:g} mm; they are "
            f"{100 * (high - low) / high:.0f} % apart.",
            f"Within {100 * APART:.0f} %, as 99 people of 100 are.",
            f"Most likely {cause}. Measure both again.",
        )
