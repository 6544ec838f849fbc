"""The words of a size chart as people print it: units in headings, names of sizes, ranges, signs of footnotes."""

from __future__ import annotations

import re
from fractions import Fraction

from grading import units
from grading.codes import Code
from grading.sheets.cells import as_text, unread_as_length
from grading.sheets.grids import CellValue
from grading.units import UnreadableError

__all__ = [
    "is_end_of_range",
    "is_figure",
    "is_unit",
    "like_a_size",
    "middle",
    "units_said",
    "without_footnote",
    "without_unit",
]

#: A range whose ends are further apart than this names no one figure.
_WIDEST_RANGE = Fraction(3, 2)

_UNITS = r"mm|cm|millimet(?:re|er)s?|centimet(?:re|er)s?|inch(?:es)?"
#: A unit at the end of a heading: in brackets, behind a comma or a stroke, or a word that is nothing else.
_HEADED = re.compile(
    rf"(?P<name>.*?)[ ,]*(?:[(\[/,] *(?:in )?(?P<marked>{_UNITS}|in|\"|'') *[)\]]?"
    rf"|(?:^|(?<=[ ,]))(?:in )?(?P<bare>{_UNITS}))\.?",
    re.IGNORECASE,
)
_SAID = re.compile(rf"(?<!\w)(?:{_UNITS})(?!\w)|(?<=[(\[])in\.?(?=[)\]])", re.IGNORECASE)
_SIZE = re.compile(
    r"(?:size )?(?:[0-9]{0,2}x{0,5}[sml]|x+-?(?:small|large)|(?:extra )*(?:small|medium|large)|one size"
    r"|[a-z]{0,2} ?[0-9]{1,3}(?:[.,][0-9]|½| ?1/2)?|[0-9]{1,3} ?(?:-|–|/|to) ?[0-9]{1,3})\+?"
    r"(?: ?(?:years?|yrs?|y|months?|mo?))?",
    re.IGNORECASE,
)
_FIGURE = r"[0-9½¼¾.,][0-9½¼¾.,/ ]*?"
_RANGE = re.compile(
    rf"(?P<least>{_FIGURE}) ?(?P<unit>{_UNITS}|\")? ?(?:[-–—−]| to |\.\.\.?|…) ?"
    rf"(?P<most>{_FIGURE}) ?(?P<word>{_UNITS}|in|\")?\.?",
    re.IGNORECASE,
)
_IN_BRACKETS = re.compile(r"\s*\([^()]*\)$")
_END_OF_RANGE = re.compile(r"(?:from|to|min(?:imum)?|max(?:imum)?|least|most)\.?", re.IGNORECASE)
#: What says of a figure that it is but roughly so.
_ABOUT = re.compile(r"^(?:ca\.?|circa|about|approx\.?|[~≈]) ?", re.IGNORECASE)
_FOOTNOTE = re.compile(r"(?<=[^\s*†‡]) ?(?:[*†‡]+|[¹²³])\)?$")


def without_footnote(text: str) -> str:
    """A text without the sign that leads to a footnote.

    >>> without_footnote("palm girth *"), without_footnote("21,5†"), without_footnote("*")
    ('palm girth', '21,5', '*')
    """
    return _FOOTNOTE.sub("", text)


def without_unit(heading: str) -> tuple[str, str]:
    """A heading's name and the unit that it names, '' for none.

    >>> without_unit("palm girth (cm)"), without_unit("Size / inches"), without_unit("all in cm"), without_unit("cm")
    (('palm girth', 'cm'), ('Size', 'in'), ('all', 'cm'), ('', 'cm'))
    >>> without_unit("palm, where it folds in"), without_unit('hand length, "')
    (('palm, where it folds in', ''), ('hand length', 'in'))
    """
    match = _HEADED.fullmatch(heading)
    return (match["name"], units.unit_name(match["marked"] or match["bare"])) if match else (heading, "")


def units_said(text: str) -> set[str]:
    """The units that a title or a note speaks of.

    >>> sorted(units_said("Children's mittens, in centimetres (in)")), units_said("fits in a pocket")
    (['cm', 'in'], set())
    """
    return {units.unit_name(match[0]) for match in _SAID.finditer(text)}


def is_unit(text: str) -> bool:
    """Whether a cell holds a unit and nothing else but perhaps the word 'in'.

    >>> is_unit("cm"), is_unit("in inches"), is_unit("size in cm")
    (True, True, False)
    """
    name, unit = without_unit(text)
    return bool(unit) and name in ("", "in")


def like_a_size(name: str) -> bool:
    """Whether a name is of the kind that sizes have: letters, a number or a range of them, perhaps years.

    What stands behind it in brackets is no part of it.

    >>> [like_a_size(name) for name in ("XL", "W3", "8½", "4–6 years", "Medium", "S (7–7½)", "hand length", "thumb")]
    [True, True, True, True, True, True, False, False]
    """
    return _SIZE.fullmatch(_IN_BRACKETS.sub("", name)) is not None


def is_end_of_range(name: str) -> bool:
    """Whether a heading says that the least or the most of a range stands under it.

    >>> [is_end_of_range(name) for name in ("from", "Max.", "to", "palm")]
    [True, True, True, False]
    """
    return _END_OF_RANGE.fullmatch(name) is not None


def is_figure(value: CellValue) -> bool:
    """Whether a cell holds a length or a range of lengths, also with 'about' before it.

    A date counts too: the spreadsheet made it of a fraction or a range.
    """
    if not isinstance(value, str):
        return value is not None and not isinstance(value, bool)
    text = _ABOUT.sub("", without_footnote(as_text(value)))
    return bool(middle(text)) or unread_as_length(text) in (None, Code.AMBIGUOUS_NUMBER)


def middle(text: str) -> str:
    """The figure in the middle of a range, with the range's unit; '' where the text is no range, or too wide a one.

    >>> middle("17–18"), middle("17,5 to 18 cm"), middle('6 1/2" - 7"'), middle("8-3/4"), middle("17–42")
    ('17.5', '17.75 cm', '6.75 "', '', '')
    """
    match = _RANGE.fullmatch(" ".join(text.split()))
    if match is None or unread_as_length(text) is None:
        return ""
    try:
        least, most = (units.number(match[end].strip()) for end in ("least", "most"))
    except UnreadableError:
        return ""
    unit = match["word"] or match["unit"] or ""
    other = match["unit"] or unit
    if not 0 < least < most <= least * _WIDEST_RANGE or (other and units.unit_name(other) != units.unit_name(unit)):
        return ""
    return f"{float((least + most) / 2):g} {unit}".strip()
