"""Days as people type them, and the days that a text names."""

from __future__ import annotations

import re
from datetime import date

from grading.codes import Code
from grading.units import UnreadableError

__all__ = ["day_typed", "days_named"]

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = rf"({'|'.join(_MONTHS)})[a-z]*\.?"
#: Each way of writing a day, with the places of its year, month and day.
_WAYS = (
    (re.compile(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})"), (0, 1, 2)),
    (re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})"), (2, 1, 0)),
    (re.compile(rf"(\d{{1,2}})(?:st|nd|rd|th|\.)?\s{_MONTH},?\s(\d{{4}})"), (2, 1, 0)),
    (re.compile(rf"{_MONTH}\s(\d{{1,2}})(?:st|nd|rd|th)?,?\s(\d{{4}})"), (2, 0, 1)),
)
#: Day and month or month and day: nobody can tell, unless one of them is above twelve.
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
_WANTED = "Type it as 2026-11-02 or 2.11.2026."


def day_typed(text: str) -> date:
    """The day that a cell's text says. Raises UnreadableError for one that is no day, or may be either of two.

    >>> {day_typed(text).isoformat() for text in ("2026-11-02", "2.11.2026", "02. 11. 2026", "2 November 2026",
    ...                                           "Nov 2, 2026", "2026-11-02 00:00:00")}
    {'2026-11-02'}
    >>> day_typed("17/11/2026").isoformat(), day_typed("11/17/2026").isoformat()
    ('2026-11-17', '2026-11-17')
    """
    plain = re.sub(r"[T ]0{1,2}:00(:00)?$", "", " ".join(text.split())).lower()
    for way, places in _WAYS:
        if match := way.fullmatch(plain):
            return _day(text, *(match[place + 1] for place in places))
    if match := _SLASHED.fullmatch(plain):
        first, second, year = match.groups()
        if int(first) <= 12 and int(second) <= 12 and first != second:
            raise UnreadableError(Code.NOT_A_DATE, f"'{text}' may be either of two days. {_WANTED}")
        return _day(text, year, *((second, first) if int(first) > 12 else (first, second)))
    raise UnreadableError(Code.NOT_A_DATE, f"'{text}' is not read as a date. {_WANTED}")


def days_named(text: str) -> list[date]:
    """The days that stand somewhere in a text, in no particular order; what is no day is passed over.

    >>> [day.isoformat() for day in days_named("back by 23.11.2026, or Nov 24, 2026")]
    ['2026-11-23', '2026-11-24']
    """
    days = []
    for way in (*(way for way, _ in _WAYS), _SLASHED):
        for match in way.finditer(text.lower()):
            try:
                days.append(day_typed(match[0]))
            except UnreadableError:
                continue
    return days


def _day(text: str, year: str, month: str, day: str) -> date:
    number = int(month) if month.isdigit() else _MONTHS.index(month) + 1
    try:
        return date(int(year), number, int(day))
    except ValueError as wrong:
        raise UnreadableError(Code.NOT_A_DATE, f"'{text}' is no day of any calendar. {_WANTED}") from wrong
