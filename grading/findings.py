"""What every judging part of the package yields: a finding that says what, where, why and what to do."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from enum import Enum

__all__ = ["Finding", "GradingError", "Place", "Severity", "folded", "harmless", "has_errors", "worst_first"]

#: Characters that a terminal obeys instead of showing (ISO 6429: C0, DEL, C1), that turn the order of what is read
#: (Unicode bidirectional controls), and halves of characters that no file can hold.
_OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
#: So many findings of one cause are each told in full; of more only the first is.
_TOLD_IN_FULL = 3
#: So many ranges of cells are named where findings are told as one.
_RANGES_NAMED = 6
#: So many errors are told by an exception's text; all of them are among its findings.
_ERRORS_TOLD = 5


class Severity(Enum):
    """How much a finding weighs: an error stops the run before anything is written."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    def __str__(self) -> str:
        return self.value


@dataclass(frozen=True, slots=True)
class Place:
    """Where a finding points: a cell of a workbook, or a piece and size of a run. Give what is known.

    >>> str(Place(workbook="sizes.xlsx", sheet="Women", cell="D5"))
    'sizes.xlsx, sheet Women, cell D5'
    >>> str(Place(group="Women", size="3", piece="Thumb"))
    'group Women, size 3, piece Thumb'
    """

    workbook: str = ""
    sheet: str = ""
    cell: str = ""
    group: str = ""
    size: str = ""
    piece: str = ""
    edge: str = ""
    measure: str = ""
    seam: str = ""

    def __str__(self) -> str:
        named = ((field.name, getattr(self, field.name)) for field in fields(self))
        return ", ".join(
            value if name == "workbook" else f"{'cells' if name == 'cell' and _several(value) else name} {value}"
            for name, value in named
            if value
        )


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found by a reader or a check.

    ``code`` is stable (tests and scripts may rely on it); ``found``, ``expected`` and ``action`` are short
    sentences for a maker, in that order: what is there, what should be there and why, what to do. ``cause`` names
    the one slip that findings of a sheet may come of, such as its unit; blank where each stands for itself.

    >>> print(Finding("size-not-number", Severity.ERROR, Place("sizes.xlsx", "Women", "D5"),
    ...               "'abc' where a measurement belongs.", "A number in mm.", "Type the figure."))
    error size-not-number: sizes.xlsx, sheet Women, cell D5: 'abc' where a measurement belongs. \
A number in mm. Type the figure.
    """

    code: str
    severity: Severity
    place: Place
    found: str
    expected: str
    action: str
    cause: str = ""

    def __str__(self) -> str:
        parts = [f"{self.severity} {self.code}", str(self.place)]
        parts.append(" ".join(part for part in (self.found, self.expected, self.action) if part))
        return ": ".join(part for part in parts if part)


class GradingError(Exception):
    """Tables or sheets that cannot be worked with. ``findings`` is everything that was found in them, errors first.

    >>> raise GradingError([Finding("no-rows", Severity.ERROR, Place(group="Women"), "There is no row.", "", "")])
    Traceback (most recent call last):
    grading.findings.GradingError: error no-rows: group Women: There is no row.
    """

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(worst_first(findings))
        super().__init__(self.findings)

    def __str__(self) -> str:
        errors = [str(one) for one in self.findings if one.severity is Severity.ERROR]
        more = len(errors) - _ERRORS_TOLD
        return "\n".join([*errors[:_ERRORS_TOLD], *([f"and {more} errors more"] if more > 0 else [])])


def has_errors(findings: Iterable[Finding]) -> bool:
    """Whether any finding is an error."""
    return any(finding.severity is Severity.ERROR for finding in findings)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings with errors first, then warnings, then notes; otherwise in the order they came."""
    order = list(Severity)
    return sorted(findings, key=lambda finding: order.index(finding.severity))


def folded(findings: Iterable[Finding]) -> list[Finding]:
    """The findings with those of one sheet, one code and one cause told as one that names all their cells.

    >>> wrong = [Finding("too-large", Severity.ERROR, Place("sizes.xlsx", "Women", cell), f"{cell} is 1880 mm.",
    ...                  "", "", "unit cm") for cell in ("C2", "D2", "C3", "D3", "F9")]
    >>> (one,) = folded(wrong)
    >>> print(one)
    error too-large: sizes.xlsx, sheet Women, cells C2:D3, F9: C2 is 1880 mm. And 4 cells more are alike.
    """
    groups: dict[object, list[Finding]] = {}
    for number, one in enumerate(findings):
        sheet = (one.place.workbook, one.place.sheet) if one.place.cell else ()
        alike = (one.code, one.severity, one.cause, sheet) if one.cause and sheet else number
        groups.setdefault(alike, []).append(one)
    return [_as_one(alike) for alike in groups.values()]


def harmless(text: str) -> str:
    r"""Text whose control characters are spelled out, so that whatever shows it obeys none of them.

    >>> print(harmless("fist\x1b[31m girth\u202e"))
    fist\x1b[31m girth\u202e
    """
    return _OBEYED.sub(lambda found: ascii(found[0])[1:-1], text)


def _as_one(alike: Sequence[Finding]) -> Finding:
    first = alike[0]
    if len(alike) == 1:
        return first
    told = list(dict.fromkeys(one.found for one in alike))
    if len(told) > _TOLD_IN_FULL:
        told = [told[0], f"And {len(alike) - 1} cells more are alike."]
    place = replace(first.place, cell=_ranges([one.place.cell for one in alike]), size="", measure="")
    expected = first.expected if len({one.expected for one in alike}) == 1 else ""
    return replace(first, place=place, found=" ".join(told), expected=expected)


def _several(cells: str) -> bool:
    return ":" in cells or "," in cells


def _ranges(cells: Iterable[str]) -> str:
    """Cells, each as D5, in as few rectangles as reading row by row gives."""
    rows: dict[int, list[int]] = {}
    others: list[str] = []
    for cell in dict.fromkeys(cells):
        if found := re.fullmatch(r"([A-Z]{1,3})([0-9]+)", cell):
            rows.setdefault(int(found[2]), []).append(_column_number(found[1]))
        else:
            others.append(cell)
    rectangles: list[list[int]] = []  # top, bottom, left, right
    for row in sorted(rows):
        for left, right in _runs(sorted(rows[row])):
            above = next((one for one in rectangles if one[1] == row - 1 and one[2:] == [left, right]), None)
            if above:
                above[1] = row
            else:
                rectangles.append([row, row, left, right])
    named = [
        f"{_column_name(left)}{top}" + (f":{_column_name(right)}{bottom}" if (top, left) != (bottom, right) else "")
        for top, bottom, left, right in rectangles
    ] + others
    rest = len(named) - _RANGES_NAMED
    return ", ".join([*named[:_RANGES_NAMED], *([f"and {rest} ranges more"] if rest > 0 else [])])


def _runs(numbers: Sequence[int]) -> list[tuple[int, int]]:
    """The first and last of each run of consecutive numbers."""
    runs: list[tuple[int, int]] = []
    for number in numbers:
        if runs and runs[-1][1] == number - 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    return runs


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def _column_name(number: int) -> str:
    name = ""
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("A") + rest) + name
    return name
