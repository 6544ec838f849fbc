"""What a cell shows of its figure under its number format, where that is not simply the figure.

The format codes are those of ISO/IEC 29500-1, 18.8.31: sections parted by semicolons (above zero, below, zero, text),
places for digits, a comma behind them for thousands left out, % for hundreds, and words in quotation marks or behind
a backslash.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from operator import eq, ge, gt, le, lt, ne

__all__ = ["BUILT_IN", "Shown", "is_date", "is_duration", "shown_as"]

#: The codes that a number stands for (ISO/IEC 29500-1, 18.8.30); those of money without its sign, which is each
#: country's own.
BUILT_IN = {
    "1": "0", "2": "0.00", "3": "#,##0", "4": "#,##0.00", "5": "#,##0 ;(#,##0)", "6": "#,##0 ;(#,##0)",
    "7": "#,##0.00;(#,##0.00)", "8": "#,##0.00;(#,##0.00)", "9": "0%", "10": "0.00%", "11": "0.00E+00", "12": "# ?/?",
    "13": "# ??/??", "14": "mm-dd-yy", "15": "d-mmm-yy", "16": "d-mmm", "17": "mmm-yy", "18": "h:mm AM/PM",
    "19": "h:mm:ss AM/PM", "20": "h:mm", "21": "h:mm:ss", "22": "m/d/yy h:mm", "37": "#,##0 ;(#,##0)",
    "38": "#,##0 ;[Red](#,##0)", "39": "#,##0.00;(#,##0.00)", "40": "#,##0.00;[Red](#,##0.00)", "41": "#,##0 ;(#,##0)",
    "42": "#,##0 ;(#,##0)", "43": "#,##0.00;(#,##0.00)", "44": "#,##0.00;(#,##0.00)", "45": "mm:ss", "46": "[h]:mm:ss",
    "47": "mmss.0", "48": "##0.0E+0", "49": "@",
}  # fmt: skip

_PART = re.compile(
    r'"(?P<quoted>[^"]*)"?|\\(?P<escaped>.)|(?P<skipped>[_*].)|\[(?P<bracket>[^\]]*)\]|'
    r"(?P<general>General)|(?P<digits>[0#?][0#?,]*(?:\.[0#?]*)?(?:[Ee][+-][0#?]+)?,*|\.[0#?]+,*)|(?P<other>.)",
    re.IGNORECASE | re.DOTALL,
)
_FRACTION = re.compile(r"(?:[0#?]+ +)?([0#?]+) ?/ ?([0#?]+|[0-9]+)")
_CONDITION = re.compile(r"(<=|>=|<>|<|>|=)(-?[0-9.]+)")
_COMPARED = {"<": lt, "<=": le, ">": gt, ">=": ge, "=": eq, "<>": ne}
_MOST_DIGITS = 30
_ELAPSED = re.compile(r"h+|m+|s+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Shown:
    """A figure as shown: the words before it, the figure that the digits stand for before they are rounded, the words
    behind it, and how many decimals are shown. ``figure`` is None where no digit is shown.
    """

    before: str
    figure: Decimal | None
    after: str
    decimals: int

    @property
    def typed(self) -> str:
        """What one would type to have it shown so, but for rounding."""
        return f"{self.before}{'' if self.figure is None else f'{self.figure:f}'}{self.after}".strip()

    @property
    def rounded(self) -> Decimal | None:
        """The figure to the decimals that are shown; halves are rounded away from zero."""
        if self.figure is None or self.decimals < 0:
            return self.figure
        return self.figure.quantize(Decimal(1).scaleb(-self.decimals), ROUND_HALF_UP)

    def __str__(self) -> str:
        figure = self.rounded
        return f"{self.before}{'' if figure is None else f'{figure:f}'}{self.after}".strip()


def shown_as(value: int | float, number_format: str) -> Shown | None:
    """What a figure is shown as, None where a plain figure is shown, and not rounded.

    >>> str(shown_as(18.8, '0.0" cm"')), str(shown_as(188000, "#,##0,")), str(shown_as(0.06, "0%"))
    ('18.8 cm', '188', '6%')
    >>> str(shown_as(3, '"W"0')), str(shown_as(-5, "0;0")), str(shown_as(7, "000"))
    ('W3', '5', '007')
    >>> shown_as(188, "0.00_ ;[Red]-0.00"), shown_as(7.25, "# ?/?"), str(shown_as(18.8, "0"))
    (None, None, '19')
    """
    if not number_format or number_format.casefold() in ("general", "@"):
        return None
    exact = Decimal(repr(value))
    if not exact.is_finite() or abs(exact.adjusted()) > _MOST_DIGITS:
        return None
    section, signed = _section(exact, number_format)
    shown = _section_filled(exact, section, signed)
    plain = not shown.before and not shown.after and shown.figure == exact == shown.rounded
    return None if plain else shown


@lru_cache(maxsize=1_000)
def is_date(number_format: str) -> bool:
    """Whether a format shows a count of days as a date, a time of day or a duration.

    >>> [is_date(code) for code in ("mm-dd-yy", "[h]:mm", "General", '0.0" days"', "[Red]0.00")]
    [True, True, False, False, False]
    """
    signs = ((part["other"] or "").casefold() for part in _PART.finditer(_sections(number_format)[0]))
    return is_duration(number_format) or any(sign and sign in "dmyhs" for sign in signs)


def is_duration(number_format: str) -> bool:
    """Whether a format goes on counting hours, minutes or seconds beyond a day."""
    brackets = (part["bracket"] or "" for part in _PART.finditer(_sections(number_format)[0]))
    return any(_ELAPSED.fullmatch(bracket) for bracket in brackets)


def _section(value: Decimal, number_format: str) -> tuple[str, bool]:
    """The section of a format that a figure is shown by, and whether a minus is added before it."""
    sections = _sections(number_format)
    conditions = [_condition(section) for section in sections]
    if any(conditions):
        for section, condition in zip(sections, conditions, strict=True):
            if condition is None or _COMPARED[condition[0]](value, condition[1]):
                return section, value < 0
        return "General", value < 0
    if value < 0 and len(sections) > 1:
        return sections[1], False
    if value == 0 and len(sections) > 2:
        return sections[2], False
    return sections[0], value < 0


def _sections(number_format: str) -> list[str]:
    sections, start = [], 0
    for part in _PART.finditer(number_format):
        if part["other"] == ";":
            sections.append(number_format[start : part.start()])
            start = part.end()
    return [*sections, number_format[start:]]


def _condition(section: str) -> tuple[str, Decimal] | None:
    for part in _PART.finditer(section):
        if part["bracket"] and (condition := _CONDITION.fullmatch(part["bracket"])):
            return condition[1], Decimal(condition[2])
    return None


def _is_fraction(section: str) -> bool:
    """Whether a section of a format shows decimals as a fraction."""
    kept = (part for part in _PART.finditer(section) if part["digits"] or part["other"] in (" ", "/"))
    return _FRACTION.search("".join(part[0] for part in kept)) is not None


def _section_filled(value: Decimal, section: str, signed: bool) -> Shown:
    """A section of a format filled in with a figure."""
    fraction = _is_fraction(section)
    before, after, places = "", "", ""
    shifted, in_places = 0, False
    for part in _PART.finditer(section):
        if part["digits"] or part["general"]:
            in_places = True
            places += part[0]
            continue
        word = part["quoted"] or part["escaped"] or _currency(part["bracket"]) or ""
        if part["skipped"] or (fraction and part["other"] in ("/", " ")):
            word = ""
        elif part["other"]:
            word = part["other"]
            shifted += 2 * (word == "%")
        if in_places:
            after += word
        else:
            before += word
    if not in_places:
        return Shown(before, None, after, 0)
    thousands = len(places) - len(places.rstrip(","))
    figure = abs(value).scaleb(shifted - 3 * thousands)
    digits = places.rstrip(",").partition(".")
    # An exponent, and the E of General.
    decimals = -1 if fraction or "e" in places.casefold() else len(digits[2].strip())
    # Noughts that are always shown make names of figures: 007.
    leading = digits[0].replace(",", "").lstrip("#?").count("0") - len(str(int(figure)))
    if "-" in before.replace(" ", "") and not signed and value < 0:
        before, signed = before.replace("-", "", 1), True
    if value < 0 and not signed and before.rstrip().endswith("(") and after.lstrip().startswith(")"):
        before, after, signed = before.rstrip()[:-1], after.lstrip()[1:], True
    if decimals >= 0 and leading > 0:
        before += "0" * leading
    return Shown(before.lstrip() if not before.strip() else before, -figure if signed else figure, after, decimals)


def _currency(bracket: str | None) -> str:
    """The sign in a bracket such as [$€-407]; colours and conditions show nothing."""
    return bracket[1:].partition("-")[0] if bracket and bracket.startswith("$") else ""
