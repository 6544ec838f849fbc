"""Texts and names as the format allows them: its characters, and its measure of length."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["cut", "legal", "sheet_name"]

_ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")  # XML 1.0, production 2


def sheet_name(wanted: str, taken: Iterable[str]) -> str:
    r"""The nearest name to ``wanted`` that a sheet can have and that is not ``taken``, whatever the case.

    A sheet's name holds 1 to 31 UTF-16 units, none of ``/ \ ? * [ ] :``, no apostrophe at either end, and
    is not 'History' (Microsoft, "Rename a worksheet").

    >>> sheet_name("8/9", []), sheet_name("women", ["Women"]), sheet_name("History", []), sheet_name("'", [])
    ('8-9', 'women (2)', 'History (2)', 'Sheet')
    """
    kept = re.sub(r"[/\\?*\[\]:]", "-", legal(wanted))
    stem = " ".join(kept.split()).strip("' ") or "Sheet"
    used = {name.casefold() for name in taken} | {"history"}
    name, number = _shortened(stem, 31), 2
    while name.casefold() in used:
        ending = f" ({number})"
        name, number = _shortened(stem, 31 - len(ending)) + ending, number + 1
    return name


def _shortened(text: str, units: int) -> str:
    return cut(text, units).rstrip("' ")


def cut(text: str, units: int) -> str:
    """The beginning of a text, no longer than ``units`` of UTF-16, by which the format counts."""
    return text.encode("utf-16-le")[: 2 * units].decode("utf-16-le", "ignore")


def legal(text: str) -> str:
    """A text without the characters that no file of the format can hold."""
    return _ILLEGAL.sub("", text)
