"""Reads one person's measurements, left and right, from a sheet or from words typed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from grading import units
from grading.codes import Code
from grading.findings import Finding, Findings, Place
from grading.model.hands import LEFT, RIGHT
from grading.model.measured import Chosen, Hands, Taken
from grading.model.names import Names, UnknownNameError, name_key
from grading.sheets.declared import HAND, STYLE
from grading.sheets.grids import Opened
from grading.sheets.kinds import HANDS, mistaken
from grading.sheets.rows import find_headed, read_rows, read_sheet
from grading.sheets.values import value_of

__all__ = ["hands_from_words", "read_hands", "read_style", "taken"]


def read_hands(opened: Opened, known: Iterable[str], unit: str) -> tuple[Hands, list[Finding]]:
    """The hands of an opened workbook or CSV file: its first sheet headed 'Measurement'.

    ``known`` are the measurements there are; ``unit`` holds where the sheet names none.
    """
    if wrong := mistaken(opened, HANDS):
        return Hands(), wrong
    findings = Findings()
    grid = findings.gather(find_headed(opened, HAND, "Measurement, Unit, Left and Right"))
    if grid is None:
        return Hands(), findings
    table = findings.gather(read_rows(grid, HAND, unit))
    figures: dict[str, dict[str, float]] = {LEFT: {}, RIGHT: {}}
    places = {}
    for row in table.rows:
        if not row["Measurement"]:
            continue
        name = findings.gather(_known(row["Measurement"], known, row.place("Measurement")))
        one: Taken = value_of(HAND, row)
        for hand, figure in ((LEFT, one.left), (RIGHT, one.right)):
            if figure is not None:
                figures[hand][name] = figure
                places[hand, name] = row.place(hand.capitalize())
    return Hands(figures[LEFT], figures[RIGHT], places), findings


def read_style(opened: Opened) -> tuple[tuple[Chosen, ...], list[Finding]]:
    """The choices on a workbook's sheet Style; blank ones, and those of a workbook without it, are none."""
    rows, findings = read_sheet(opened, STYLE, "mm")
    chosen = tuple(value_of(STYLE, row) for row in rows if row["Part"])
    return tuple(one for one in chosen if one.choice), findings


def taken(hands: Hands, how_to_measure: Mapping[str, str]) -> Iterator[Taken]:
    """The rows of a sheet of hands: one for each measurement that there is a way to take."""
    return (Taken(name, hands.left.get(name), hands.right.get(name), how) for name, how in how_to_measure.items())


def hands_from_words(
    left: Iterable[tuple[str, str]], right: Iterable[tuple[str, str]], known: Iterable[str], unit: str
) -> tuple[Hands, list[Finding]]:
    """The hands of pairs of words, a measurement and its figure; ``unit`` holds for figures that name none."""
    known = tuple(known)
    taken: dict[str, dict[str, float]] = {LEFT: {}, RIGHT: {}}
    findings = Findings()
    for hand, pairs in ((LEFT, left), (RIGHT, right)):
        for word, figure in pairs:
            place = Place(measure=f"{word}, {hand} hand")
            name = findings.gather(_known(word, known, place))
            try:
                taken[hand][name] = float(units.measurement(figure, unit))
            except units.UnreadableError as wrong:
                expected = f"A length above zero, in {unit} unless it names another unit."
                findings.append(Finding.error(wrong.code, place, str(wrong), expected, "Type it again."))
    return Hands(taken[LEFT], taken[RIGHT]), findings


def _known(word: str, known: Iterable[str], place: Place) -> tuple[str, list[Finding]]:
    """The name of the measurement that was typed; the word itself, and an error, where there is none of that name."""
    names = {name_key(name).replace("-", ""): name for name in known}
    try:
        return names[Names(names).settled(name_key(word).replace("-", ""))], []
    except UnknownNameError as unknown:
        expected = (
            f"Perhaps '{names[unknown.near]}' is meant." if unknown.near else f"One of {', '.join(names.values())}."
        )
        found, action = f"'{word}' is no measurement known here.", "Correct the name, or begin its row with #."
        return word, [Finding.error(Code.UNKNOWN_MEASUREMENT, place, found, expected, action)]
