"""Text to exact millimetres and back: what a maker types, read by fractions, never by floats."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from datetime import date, time
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from grading.codes import Code

__all__ = [
    "DECIMALS",
    "MM2_PER",
    "MM_PER",
    "UNIT_WORDS",
    "UnreadableError",
    "as_shown",
    "length",
    "lengths_in",
    "measurement",
    "number",
    "percent",
    "rounded",
    "said_in",
    "show",
    "show_row",
    "signed",
    "signed_length",
    "typed",
    "unit_name",
    "with_decimal",
]

#: Millimetres in one of each unit. 1 in = 25.4 mm exactly (NIST SP 811, appendix B).
MM_PER = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10)}

#: A unit as it stands in a sentence.
UNIT_WORDS = {"mm": "mm", "cm": "cm", "in": "inches"}

#: Square millimetres in one of each measure that skins are sold by. 1 ft² = 929.0304 cm² (NIST SP 811, appendix B).
MM2_PER = {"sq ft": Fraction(9_290_304, 100), "sq m": Fraction(1_000_000), "sq dm": Fraction(10_000)}

#: How many decimals show half a millimetre in each unit.
DECIMALS = {"mm": 1, "cm": 2, "in": 2}

#: In how many steps each unit is shown: tenths of a millimetre, sixteenths of an inch.
_STEPS = {"mm": 10, "cm": 100, "in": 16}
#: Decimals beyond which a figure that was worked out is noise: what is half-way but for it counts as half-way.
_NOISE = 6

#: No length on a mitten comes near this; what does is a slip of the keyboard.
_LONGEST_MM = Fraction(10_000)
_LARGEST_NUMBER = Fraction(1_000_000)
_LONGEST_TEXT = 60

_SPELLINGS = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "in": ("in", "inch", "inches", '"', "''"),
}
_UNIT_OF = {spelling: unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}

_LOOKALIKES = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\ufe63\uff0d", "-"),
        **dict.fromkeys("\u2044\u2215", "/"),
        **dict.fromkeys("\u2033\u201c\u201d\u201e\uff02", '"'),
        **dict.fromkeys("\u2032\u2018\u2019", "'"),
        **dict.fromkeys("\u200b\u2060\ufeff", " "),
    }
)

_FIGURE = re.compile(
    r"(?P<sign>[+-]?) ?"
    r"(?:(?:(?P<whole>[0-9]+)(?: |- ?| - ))?(?P<over>[0-9]+) ?/ ?(?P<under>[0-9]+)"
    r"|(?P<decimal>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+))"
    r" ?(?P<word>[^0-9.,/+-][^0-9]*)?"
)
# '1,234' is one and a bit in one country and a thousand in the next; '1.234,5' is a thousand, or a slip.
_TWO_READINGS = re.compile(r"[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+(?![0-9])|.*[0-9](,[0-9]+\.|\.[0-9]+,|\.[0-9]+\.)")

_ONE = r"[+−-]?[0-9]+(?:[.,][0-9]+)?"
#: A length in a sentence, or several with the unit behind the last; and what is quoted from a table.
_LENGTHS = re.compile(
    r"(?P<quoted>(?<!\w)'[^']*'(?!\w))|(?<![\w.,/])"
    rf"(?P<figures>{_ONE}(?:(?: to | or | and | × |, then |, y | ± ){_ONE})*) (?P<unit>mm|cm)(?![\w²³/])"
)


class UnreadableError(ValueError):
    """What was typed is no figure of the kind wanted; ``code`` is stable, the message says why."""

    def __init__(self, code: Code, reason: str) -> None:
        super().__init__(reason)
        self.code = code


def unit_name(text: object) -> str:
    """The unit a maker's word stands for: 'mm', 'cm' or 'in'. Raises UnreadableError.

    >>> unit_name(" Inches "), unit_name('"'), unit_name("CM.")
    ('in', 'in', 'cm')
    """
    word = _in_plain_signs(str(text)).lower().rstrip(".")
    if word not in _UNIT_OF:
        raise UnreadableError(Code.UNKNOWN_UNIT, f"{text!r} is not a unit read here, which are mm, cm and in.")
    return _UNIT_OF[word]


def signed_length(value: object, unit: str) -> Fraction:
    """A length in exact millimetres, of either sign; ``unit`` holds where the text names none.

    Takes decimals with a point or a comma, fractions and mixed figures, a unit behind them, and whatever
    numbers a spreadsheet holds (a float counts as the decimal it prints). Raises UnreadableError.

    >>> [float(signed_length(typed, "cm")) for typed in (21.5, "21,5", "215 mm", "8 3/4 in", '−8¾"')]
    [215.0, 215.0, 215.0, 222.25, -222.25]
    """
    figure, word = _figure_and_word(value)
    if word == "%":
        raise UnreadableError(Code.NOT_A_LENGTH, f"{_quoted(value)} is a percentage where a length belongs.")
    mm = figure * MM_PER[unit_name(word or unit)]
    if abs(mm) > _LONGEST_MM:
        raise UnreadableError(Code.TOO_LARGE, f"{_quoted(value)} is over {_LONGEST_MM / 1000} metres.")
    return mm


def length(value: object, unit: str) -> Fraction:
    """A length of zero or more, in exact millimetres; as ``signed_length`` otherwise."""
    mm = signed_length(value, unit)
    if mm < 0:
        raise UnreadableError(Code.BELOW_ZERO, f"{_quoted(value)} is below zero.")
    return mm


def measurement(value: object, unit: str) -> Fraction:
    """A length above zero, as of something measured, in exact millimetres; as ``signed_length`` otherwise."""
    mm = length(value, unit)
    if mm == 0:
        raise UnreadableError(Code.NOT_ABOVE_ZERO, f"{_quoted(value)} is zero, and nothing measured is.")
    return mm


def number(value: object) -> Fraction:
    """A plain number, exactly; a percentage counts as its share of one. Raises UnreadableError.

    >>> number("1/2"), number(0.1), number("-2,5"), number("50 %")
    (Fraction(1, 2), Fraction(1, 10), Fraction(-5, 2), Fraction(1, 2))
    """
    figure, word = _figure_and_word(value)
    if word not in ("", "%"):
        raise UnreadableError(Code.NOT_A_NUMBER, f"{_quoted(value)} has {word!r} behind a plain number.")
    return figure / 100 if word else figure


def percent(value: object) -> Fraction:
    """The share of one that a percentage stands for. Raises UnreadableError where there is no % sign.

    >>> percent("6 %")
    Fraction(3, 50)
    """
    figure, word = _figure_and_word(value)
    if word != "%":
        raise UnreadableError(Code.NOT_A_PERCENTAGE, f"{_quoted(value)} has no % behind it.")
    return figure / 100


def show(mm: Fraction | float, unit: str) -> str:
    """A length as a maker reads it, without its unit: what prints is what a tape shows.

    Centimetres have one decimal always and a second where it is not nought; millimetres one where it is not nought;
    inches go to the nearest sixteenth, as a mixed fraction in lowest terms. Halves round away from zero.

    >>> show(215, "cm"), show(215.04, "mm"), show(215.25, "cm"), show(222.25, "in"), show(-12.7, "in")
    ('21.5', '215', '21.53', '8 3/4', '-1/2')
    """
    steps = _steps(mm, unit)
    sign = "-" if steps < 0 else ""
    whole, rest = divmod(abs(steps), _STEPS[unit])
    if unit == "in":
        return sign + (" ".join(str(part) for part in (whole, Fraction(rest, _STEPS[unit])) if part) or "0")
    if unit == "mm":
        return f"{sign}{whole}.{rest}" if rest else f"{sign}{whole}"
    return f"{sign}{whole}.{rest:02}".removesuffix("0")


def signed(mm: Fraction | float, unit: str) -> str:
    """A difference as `show` has it, with its sign.

    >>> signed(6, "in"), signed(-6, "in"), signed(0.1, "in")
    ('+1/4', '-1/4', '0')
    """
    return f"+{show(mm, unit)}" if _steps(mm, unit) > 0 else show(mm, unit)


def lengths_in(text: str, unit: str) -> str:
    """A sentence written in mm with its lengths in another unit. Figures in quotation marks and without a unit stay.

    >>> lengths_in("palm width runs from 96 to 120.5 mm; the cell says '18 mm' in size 3.", "cm")
    "palm width runs from 9.6 to 12.05 cm; the cell says '18 mm' in size 3."
    >>> lengths_in("Near x 12, y −34 mm, within 0.5 mm, ± 3 mm.", "in")
    'Near x 1/2, y −1 5/16 in, within 0.02 in, ± 1/8 in.'
    """
    if unit == "mm":
        return text
    return _restated(text, ("mm",), lambda parts, mm: f"{_woven(parts, [_fine(one, unit) for one in mm])} {unit}")


def _fine(mm: Fraction, unit: str) -> str:
    """A length in a sentence: as `show`, with decimals where it is under a sixteenth of an inch."""
    if unit == "in" and 0 < mm < MM_PER["in"] / 16:
        return f"{float(mm / MM_PER['in']):.2f}"
    return show(mm, unit)


def show_row(lengths: Iterable[Fraction | float], unit: str) -> list[str]:
    """Lengths that stand side by side, each as `show`, but all with as many decimals as the one that has most.

    >>> show_row([80.5, 86, 91.5], "mm"), show_row([80, 86], "mm"), show_row([114.3, 120], "in")
    (['80.5', '86.0', '91.5'], ['80', '86'], ['4 1/2', '4 3/4'])
    >>> show_row([100, 100.8], "cm")
    ['10.00', '10.08']
    """
    shown = [show(mm, unit) for mm in lengths]
    if unit == "in":
        return shown
    parts = [figure.partition(".") for figure in shown]
    places = max((len(decimals) for *_, decimals in parts), default=0)
    return [f"{whole}.{decimals:0<{places}}" if places else whole for whole, _, decimals in parts]


def with_decimal(mm: Fraction | float, unit: str) -> str:
    """A length on paper: as `show`; inches are followed by their decimal in brackets.

    >>> with_decimal(114, "mm"), with_decimal(114, "in"), with_decimal(0.4, "in")
    ('114', '4 1/2 (4.49)', '0.016')
    """
    if unit != "in":
        return show(mm, unit)
    inches = float(Fraction(mm) / MM_PER["in"])
    if mm and not _steps(mm, unit):
        return f"{inches:.2g}"
    return f"{show(mm, unit)} ({rounded(inches, 2):.2f})"


def said_in(unit: str, text: str) -> str:
    """A text that stands beside figures in ``unit``: beside inches its metric lengths are put into inches.

    >>> said_in("in", "Oversewing 2 mm from the edge, 10 to 12 stitches in 3 cm; 3 to 5 mm of pile.")
    'Oversewing 1/16" (0.08) from the edge, 10 to 12 stitches in 1 3/16" (1.18); 1/8 to 3/16" (0.12 to 0.20) of pile.'
    """
    return _restated(text, ("mm", "cm"), _in_inches) if unit == "in" else text


def _in_inches(parts: Sequence[str], mm: Iterable[Fraction]) -> str:
    told = [with_decimal(one, "in").rstrip(")").partition(" (") for one in mm]
    decimals = parts[1].join(decimal for *_, decimal in told if decimal)
    return f'{_woven(parts, [tape for tape, *_ in told])}"' + (f" ({decimals})" if decimals else "")


def _restated(text: str, units: Sequence[str], tell: Callable[[Sequence[str], Sequence[Fraction]], str]) -> str:
    """A sentence with its lengths in some units replaced by what ``tell`` makes of each.

    It is given the texts around and between the figures of a length, and the figures in mm.
    """

    def restated(match: re.Match[str]) -> str:
        if match["unit"] not in units:  # or quoted
            return match[0]
        parts = re.split(r"([0-9]+(?:[.,][0-9]+)?)", match["figures"])
        return tell(parts[::2], [Fraction(one.replace(",", ".")) * MM_PER[match["unit"]] for one in parts[1::2]])

    return _LENGTHS.sub(restated, text)


def _woven(parts: Sequence[str], figures: Sequence[str]) -> str:
    return "".join(part for pair in zip(parts, [*figures, ""], strict=True) for part in pair)


def typed(figure: float, per: Fraction) -> float:
    """A figure in mm or mm² as it was typed in a unit that is ``per`` of those: the nearest of 15 digits.

    >>> typed(222.25, MM_PER["in"]), typed(185.0, MM_PER["cm"])
    (8.75, 18.5)
    """
    exact = Fraction(repr(float(figure))) / per
    return float(f"{Decimal(exact.numerator) / Decimal(exact.denominator):.15g}")


def as_shown(mm: Fraction | float, unit: str) -> Fraction:
    """The length in mm that `show` prints, so that what is worked out from it agrees with what stands on paper.

    >>> float(as_shown(215.04, "mm")), float(as_shown(222.3, "in"))
    (215.0, 222.25)
    """
    return Fraction(_steps(mm, unit), _STEPS[unit]) * MM_PER[unit]


def _steps(mm: Fraction | float, unit: str) -> int:
    """A length as a number of the steps in which its unit is shown, halves away from zero."""
    exact = Fraction(mm) if isinstance(mm, (Fraction, int)) else Fraction(repr(round(float(mm), _NOISE)))
    steps = math.floor(abs(exact) / MM_PER[unit] * _STEPS[unit] + Fraction(1, 2))
    return -steps if exact < 0 else steps


def rounded(figure: float, decimals: int) -> float:
    """A figure to so many decimals; what is half-way as it is written goes away from zero, as in spreadsheet programs.

    >>> rounded(0.125, 2), rounded(-2.5, 0), rounded(4.515, 2)
    (0.13, -3.0, 4.52)
    """
    written = Decimal(repr(round(float(figure), _NOISE)))
    return float(written.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP))


def _figure_and_word(value: object) -> tuple[Fraction, str]:
    """The figure in a cell, and the word behind it: a unit, '%' or nothing."""
    if value is None or (isinstance(value, str) and not _in_plain_signs(value)):
        raise UnreadableError(Code.BLANK_CELL, "The cell is blank.")
    if isinstance(value, bool):
        raise UnreadableError(Code.NOT_A_NUMBER, f"{str(value).upper()} is no figure.")
    if isinstance(value, (date, time)):
        raise UnreadableError(
            Code.DATE_FOR_NUMBER,
            f"{value} is a date: the spreadsheet made one of what was typed, as it does of 3/4; type 0 3/4.",
        )
    if isinstance(value, (int, float, Fraction)):
        return _from_machine(value), ""
    if isinstance(value, str):
        return _from_text(value)
    raise UnreadableError(Code.NOT_A_NUMBER, f"{_quoted(value)} is no figure.")


def _from_machine(value: int | float | Fraction) -> Fraction:
    if isinstance(value, float) and not math.isfinite(value):
        raise UnreadableError(Code.NOT_A_NUMBER, f"{value} is no figure.")
    # The decimal a float prints is what was typed; its binary value is not.
    exact = Fraction(repr(float(value))) if isinstance(value, float) else Fraction(value)
    return _within_reason(exact, value)


def _from_text(typed: str) -> tuple[Fraction, str]:
    text = _in_plain_signs(typed)
    if len(text) > _LONGEST_TEXT:
        raise UnreadableError(Code.NOT_A_NUMBER, f"{_quoted(typed)} is far longer than any figure.")
    if _TWO_READINGS.match(text):
        raise UnreadableError(
            Code.AMBIGUOUS_NUMBER,
            f"{_quoted(typed)} can be read in two ways; use one point or comma, for the decimals only.",
        )
    match = _FIGURE.fullmatch(text)
    if match is None:
        raise UnreadableError(Code.NOT_A_NUMBER, f"{_quoted(typed)} is no figure.")
    figure = _magnitude(match, typed)
    word = (match["word"] or "").strip()
    return _within_reason(-figure if match["sign"] == "-" else figure, typed), word


def _magnitude(match: re.Match[str], typed: str) -> Fraction:
    if match["decimal"] is not None:
        return Fraction(match["decimal"].replace(",", "."))
    over, under, whole = int(match["over"]), int(match["under"]), match["whole"]
    if under == 0:
        raise UnreadableError(Code.NOT_A_NUMBER, f"{_quoted(typed)} divides by zero.")
    if whole is not None and over >= under:
        raise UnreadableError(Code.NOT_A_NUMBER, f"{_quoted(typed)} has a fraction that is not below one.")
    return int(whole or 0) + Fraction(over, under)


def _within_reason(figure: Fraction, typed: object) -> Fraction:
    if abs(figure) > _LARGEST_NUMBER:
        raise UnreadableError(Code.TOO_LARGE, f"{_quoted(typed)} is far larger than any figure here.")
    return figure


def _in_plain_signs(text: str) -> str:
    """Text with single plain spaces, hyphens, slashes and quotes, and with ¾ written out as ' 3/4'."""
    # Superscripts and the like are left alone, to be refused: 8³ is not 83.
    spelled = "".join(
        f" {unicodedata.normalize('NFKC', sign)}" if unicodedata.decomposition(sign).startswith("<fraction>") else sign
        for sign in text
    )
    return " ".join(spelled.translate(_LOOKALIKES).split())


def _quoted(value: object) -> str:
    try:
        text = str(value)
    except ValueError:  # Python does not print integers of thousands of digits
        return "A figure of thousands of digits"
    return repr(text if len(text) <= 40 else text[:37] + "…")
