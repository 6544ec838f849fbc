"""Save an openpyxl workbook with computed values and alternate texts, to the same bytes for the same content.

Every part is first brought into a form that is the same whichever XML library wrote it and that has one spelling
only, so that plain patterns are enough to mend it: canonical XML (W3C Canonical XML 2.0) for the small parts. In
sheets, which are nearly all of a file, the libraries differ in how they spell an empty element and a tab, no more.
"""

from __future__ import annotations

import datetime as dt
import os
import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from io import BytesIO
from xml.etree.ElementTree import canonicalize
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.writer.excel import ExcelWriter

__all__ = ["Value", "save"]

Value = float | int | str | bool

_DECLARATION = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_FORMULA_CELL = re.compile(r'<c r="([A-Z]+[0-9]+)"((?: s="[0-9]+")?)>(<f>[^<]*</f>)<v></v></c>')
_DRAWN_OBJECT = re.compile(r'<cNvPr(?: descr="[^"]*")? id="([0-9]+)"')
_SHEETS = "xl/worksheets/sheet"
#: An element without content, as `<v/>` or `<v />`: neither library leaves a > unescaped in an attribute.
_EMPTY = re.compile(r"<([^<>/ ]+)([^<>]*?) ?/>")
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time stamp a zip archive can hold


def save(
    workbook: Workbook,
    day: dt.date | None,
    computed: Sequence[Mapping[str, Value]],
    alternate_texts: Sequence[Sequence[str]],
) -> bytes:
    """The workbook as a file, with every formula's value filled in, and nothing in it from the clock.

    ``day`` goes into the document's properties; without one it is that of the environment's
    ``SOURCE_DATE_EPOCH`` (reproducible-builds.org) or 1 January 1980. ``computed`` holds for each sheet, in
    order, what its formula cells come to, by cell name. ``alternate_texts`` holds for each sheet that has
    charts or pictures the texts that stand for them, charts first.
    """
    workbook.properties.created = workbook.properties.modified = _moment(day)
    saved = BytesIO()
    with ZipFile(saved, "w") as archive:
        # Workbook.save() would put the clock's time into the properties; its writer alone does not.
        ExcelWriter(workbook, archive).save()
    parts: dict[str, bytes] = {}
    with ZipFile(saved) as archive:
        for name in archive.namelist():
            part = archive.read(name)
            if name.endswith((".xml", ".rels")):
                spelled = _spelled_alike(part) if name.startswith(_SHEETS) else _canonical(part)
                part = _mended(name, spelled, computed, alternate_texts).encode()
            parts[name] = part
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        # Readers that sniff the kind of file expect the list of content types to come first.
        for name in sorted(parts, key=lambda name: (name != "[Content_Types].xml", name)):
            entry = ZipInfo(name, _EPOCH)
            entry.create_system = 3  # else the archive would tell which system it was made on
            entry.compress_type = ZIP_DEFLATED
            archive.writestr(entry, parts[name])
    return out.getvalue()


@lru_cache(maxsize=64)
def _canonical(part: bytes) -> str:
    # The books of a run have their theme, their styles and most lists of relations in common.
    return canonicalize(part.decode())


def _spelled_alike(sheet: bytes) -> str:
    return _EMPTY.sub(r"<\1\2></\1>", sheet.decode()).replace("&#09;", "&#9;")


def _moment(day: dt.date | None) -> dt.datetime:
    if day is not None:
        return dt.datetime(day.year, day.month, day.day)
    try:
        return dt.datetime.fromtimestamp(int(os.environ.get("SOURCE_DATE_EPOCH", "")), dt.UTC).replace(tzinfo=None)
    except (ValueError, OverflowError, OSError):  # none, no number, or beyond what a calendar has
        return dt.datetime(*_EPOCH)


def _mended(
    name: str, xml: str, computed: Sequence[Mapping[str, Value]], alternate_texts: Sequence[Sequence[str]]
) -> str:
    if match := re.fullmatch(r"xl/worksheets/sheet([0-9]+)\.xml", name):
        xml = _with_values(xml, computed[int(match[1]) - 1])
    elif match := re.fullmatch(r"xl/drawings/drawing([0-9]+)\.xml", name):
        xml = _with_alternate_texts(xml, alternate_texts[int(match[1]) - 1])
    elif name == "docProps/app.xml":
        # openpyxl signs with the name of a program that never saw the file.
        xml = re.sub(r"<Application>[^<]*<", "<Application>grading<", xml)
    return _DECLARATION + xml


def _with_values(xml: str, values: Mapping[str, Value]) -> str:
    def filled(match: re.Match[str]) -> str:
        cell, style, formula = match.groups()
        value = values[cell]
        if isinstance(value, bool):
            kind, shown = ' t="b"', str(int(value))
        elif isinstance(value, str):
            kind, shown = ' t="str"', escape(value)
        else:
            kind, shown = "", repr(value)
        return f'<c r="{cell}"{style}{kind}>{formula}<v>{shown}</v></c>'

    return _FORMULA_CELL.sub(filled, xml)


def _with_alternate_texts(xml: str, texts: Sequence[str]) -> str:
    def described(match: re.Match[str]) -> str:
        text = escape(texts[int(match[1]) - 1], {'"': "&quot;", "\n": "&#xA;"})
        return f'<cNvPr descr="{text}" id="{match[1]}"'

    return _DRAWN_OBJECT.sub(described, xml)
