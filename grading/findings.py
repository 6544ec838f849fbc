"""Findings, which all checks and readers yield: what is the matter, where, why it matters and what to do."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from enum import Enum
from fractions import Fraction
from itertools import count, product
from typing import TypeVar

from grading.codes import Code

__all__ = [
    "Finding",
    "Findings",
    "GradingError",
    "Place",
    "Severity",
    "StoppedError",
    "amount",
    "column_letters",
    "column_number",
    "counted",
    "folded",
    "harmless",
    "has_errors",
    "tally",
    "worst_first",
]

Thing = TypeVar("Thing")

#: Characters that a terminal obeys instead of showing (ISO 6429: C0, DEL, C1), that turn the order of what is read
#: (Unicode bidirectional controls), and halves of characters that no file can hold.
_OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
#: A figure that stands by itself in a sentence, as a decimal or a mixed fraction.
_FIGURE = re.compile(
    r"(?<![\w.,/])[+−-]?(?:(?:[0-9]+ )?[0-9]+/[0-9]+|(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?)"
    r"(?![\w/]|[.,][0-9])"
)
#: A sum or a count beyond this is not told to the last figure.
_BEYOND = 10**12
#: What stands between the names of things that a finding is told of together.
_TOGETHER = "; "
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
            value if name == "workbook" else f"{name}{'s' if _several(name, value) else ''} {value}"
            for name, value in named
            if value
        )


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found by a reader or a check.

    ``code`` is stable (tests and scripts may rely on it); ``found``, ``expected`` and ``action`` are short
    sentences for a maker, in that order: what is there, what should be there and why, what to do. ``cause`` names
    a slip that may be behind several findings of a sheet, such as a wrong unit: those are told as one.

    >>> print(Finding.error("size-not-number", Place("sizes.xlsx", "Women", "D5"),
    ...                     "'abc' where a measurement belongs.", "A number in mm.", "Type the figure."))
    error size-not-number: sizes.xlsx, sheet Women, cell D5: 'abc' where a measurement belongs. \
A number in mm. Type the figure.
    """

    code: Code
    severity: Severity
    place: Place
    found: str
    expected: str
    action: str
    cause: str = ""

    @classmethod
    def error(cls, code: Code, place: Place, found: str, expected: str, action: str, cause: str = "") -> Finding:
        """A finding that stops the run."""
        return cls(code, Severity.ERROR, place, found, expected, action, cause)

    @classmethod
    def warning(cls, code: Code, place: Place, found: str, expected: str, action: str, cause: str = "") -> Finding:
        """A finding of what is most likely wrong."""
        return cls(code, Severity.WARNING, place, found, expected, action, cause)

    @classmethod
    def note(cls, code: Code, place: Place, found: str, expected: str, action: str, cause: str = "") -> Finding:
        """A finding of what is worth knowing."""
        return cls(code, Severity.NOTE, place, found, expected, action, cause)

    def __str__(self) -> str:
        parts = [f"{self.severity} {self.code}", str(self.place)]
        parts.append(" ".join(part for part in (self.found, self.expected, self.action) if part))
        return ": ".join(part for part in parts if part)


class Findings(list[Finding]):
    """A list of findings that grows as tables are read and checked."""

    def gather(self, read: tuple[Thing, Iterable[Finding]]) -> Thing:
        """Add the findings that came with what was read; returns what was read.

        >>> findings = Findings()
        >>> findings.gather((42, [Finding.note("no-rows", Place(group="Women"), "There is no row.", "", "")]))
        42
        >>> findings[0].code
        'no-rows'
        """
        thing, more = read
        self += more
        return thing


class GradingError(Exception):
    """Tables or sheets that cannot be worked with. ``findings`` is everything that was found in them, errors first.

    >>> raise GradingError([Finding.error("no-rows", Place(group="Women"), "There is no row.", "", "")])
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


class StoppedError(Exception):
    """Something cannot go on; ``finding`` says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(str(finding))
        self.finding = finding


def amount(figure: float) -> str:
    """A sum or a count as people write it: thousands parted, no more than two decimals.

    >>> amount(16.0), amount(2500.5), amount(1e6), amount(0.004), amount(1e300)
    ('16', '2,500.5', '1,000,000', '0.004', 'over 1,000,000,000,000')
    """
    if figure > _BEYOND:
        return f"over {_BEYOND:,}"
    return f"{figure:,.2f}".rstrip("0").rstrip(".") if abs(figure) >= 0.01 else f"{figure:g}"


def counted(count: int, thing: str) -> str:
    """
    >>> counted(1, "pair"), counted(6, "pair")
    ('1 pair', '6 pairs')
    """
    return f"{count} {thing}{'' if count == 1 else 's'}"


def tally(findings: Iterable[Finding]) -> str:
    """How many findings there are of each severity, in words; blank where there is none."""
    counts = Counter(finding.severity for finding in findings)
    return ", ".join(counted(counts[severity], severity.value) for severity in Severity if counts[severity])


def has_errors(findings: Iterable[Finding]) -> bool:
    """Whether any finding is an error."""
    return any(finding.severity is Severity.ERROR for finding in findings)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """The findings with errors first, then warnings, then notes; otherwise in the order they came."""
    order = list(Severity)
    return sorted(findings, key=lambda finding: order.index(finding.severity))


def folded(findings: Iterable[Finding]) -> list[Finding]:
    """The findings, each set of like ones put together as one.

    Alike are findings of one group in the same words, whatever their figures: the one names all their sizes, pieces,
    seams and measures. Alike are, too, findings of one sheet, code and cause: the one names all their cells.

    >>> wrong = [Finding.error("too-large", Place("sizes.xlsx", "Women", cell), f"{cell} is 1880 mm.", "", "",
    ...                        "unit cm") for cell in ("C2", "D2", "C3", "D3", "F9")]
    >>> (one,) = folded(wrong)
    >>> print(one)
    error too-large: sizes.xlsx, sheet Women, cells C2:D3, F9: C2 is 1880 mm. And 4 cells more are alike.
    >>> tight = [Finding.warning("seam-tight", Place(group="Women", size=size, seam="thumb in hole"),
    ...                          f"Ease {ease} mm.", "", "") for size, ease in (("W1", 2.5), ("W2", 2.9), ("W3", 2.7))]
    >>> print(*folded(tight))
    warning seam-tight: group Women, sizes W1; W2; W3, seam thumb in hole: Ease 2.5 to 2.9 mm.
    """
    groups: dict[object, list[Finding]] = {}
    for number, one in enumerate(findings):
        sheet = (one.place.workbook, one.place.sheet) if one.place.cell else ()
        alike: object = number
        if one.cause and sheet:
            alike = (one.code, one.severity, one.cause, sheet)
        elif one.place.group and not sheet:
            alike = (one.code, one.severity, one.place.group, *map(_without_figures, _sentences(one)))
        groups.setdefault(alike, []).append(one)
    return [
        alike[0] if len(alike) == 1 else (_of_cells if alike[0].place.cell else _of_places)(alike)
        for alike in groups.values()
    ]


def _sentences(one: Finding) -> tuple[str, str, str]:
    return one.found, one.expected, one.action


def _without_figures(sentence: str) -> tuple[str, ...]:
    """A sentence without its figures."""
    return tuple(_FIGURE.split(sentence))


def _of_places(alike: Sequence[Finding]) -> Finding:
    """One finding for several of a group that differ in figures only; it names all their sizes, pieces and so on."""
    named = ([getattr(one.place, field.name) for one in alike] for field in fields(Place))
    place = Place(*(_TOGETHER.join(dict.fromkeys(filter(None, values))) for values in named))
    found, expected, action = (_as_one_sentence(said) for said in zip(*map(_sentences, alike), strict=True))
    return replace(alike[0], place=place, found=found, expected=expected, action=action)


def _as_one_sentence(sentences: Sequence[str]) -> str:
    """One sentence for several of the same words, with each figure as the range of all: '2.5 to 2.9'."""
    words = _without_figures(sentences[0])
    runs = [""] * len(words)
    for at, figures in enumerate(zip(*map(_FIGURE.findall, sentences), strict=True)):
        least, most = (end(figures, key=_as_number) for end in (min, max))
        runs[at] = least if least == most else f"{least} to {most}"
    return "".join(part for pair in zip(words, runs, strict=True) for part in pair)


def _as_number(figure: str) -> Fraction:
    """
    >>> [float(_as_number(figure)) for figure in ("−2.5", "+4", "7 1/4", "3/8", "1,200")]
    [-2.5, 4.0, 7.25, 0.375, 1200.0]
    """
    sign = -1 if figure[0] in "−-" else 1
    return sign * sum(map(Fraction, figure.lstrip("+−-").replace(",", "").split()), Fraction(0))


def harmless(text: str) -> str:
    r"""Text whose control characters are spelled out, so that whatever shows it obeys none of them.

    >>> print(harmless("fist\x1b[31m girth\u202e"))
    fist\x1b[31m girth\u202e
    """
    return _OBEYED.sub(lambda sign: ascii(sign[0])[1:-1], text)


def _of_cells(alike: Sequence[Finding]) -> Finding:
    """One finding for several of one cause; it names all their cells."""
    first = alike[0]
    told = list(dict.fromkeys(one.found for one in alike))
    if len(told) > _TOLD_IN_FULL:
        told = [told[0], f"And {len(alike) - 1} cells more are alike."]
    place = replace(first.place, cell=_ranges([one.place.cell for one in alike]), size="", measure="")
    expected = first.expected if len({one.expected for one in alike}) == 1 else ""
    return replace(first, place=place, found=" ".join(told), expected=expected)


def _several(name: str, value: str) -> bool:
    return _TOGETHER in value or (name == "cell" and (":" in value or "," in value))


def _ranges(cells: Iterable[str]) -> str:
    """Cells such as D5 as ranges, one for rows below one another that are filled alike; other texts as they are."""
    names = {name: re.fullmatch(r"([A-Z]{1,3})(\d+)", name) for name in cells}
    places = {(int(at[2]), column_number(at[1])) for at in names.values() if at}
    named, left = [], set(places)
    for top, first in sorted(places):
        if (top, first) not in left:
            continue
        last = next(column for column in count(first) if (top, column + 1) not in places)

        def run(row: int, first: int = first, last: int = last) -> list[bool]:
            return [(row, column) in places for column in range(first - 1, last + 2)]

        bottom = next(row for row in count(top) if run(row + 1) != run(top))
        left -= set(product(range(top, bottom + 1), range(first, last + 1)))
        corners = dict.fromkeys([f"{column_letters(first)}{top}", f"{column_letters(last)}{bottom}"])
        named.append(":".join(corners))
    named += [name for name, at in names.items() if not at]
    rest = len(named) - _RANGES_NAMED
    return ", ".join([*named[:_RANGES_NAMED], *([f"and {rest} ranges more"] if rest > 0 else [])])


def column_letters(column: int) -> str:
    """What a spreadsheet calls a column counted from 1.

    >>> column_letters(26), column_letters(27), column_letters(703)
    ('Z', 'AA', 'AAA')
    """
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """A column's number by its letters, whatever their case.

    >>> column_number("Z"), column_number("aa")
    (26, 27)
    """
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number
