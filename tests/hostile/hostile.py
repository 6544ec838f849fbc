"""Files made to fill the memory or take for ever, each of at most 10 MB."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable

SHEET = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{}</worksheet>'
_RELATIONS = '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">{}</Relationships>'
_KINDS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def workbook(sheet: str, shared: str = "", parts: dict[str, str] | None = None, sheets: int = 1) -> bytes:
    """A workbook whose sheets are all the one part given."""
    names = "".join(f'<sheet name="S{i}" sheetId="{i + 1}" r:id="s"/>' for i in range(sheets))
    related = f'<Relationship Id="s" Type="{_KINDS}/worksheet" Target="worksheets/sheet1.xml"/>'
    related += f'<Relationship Id="t" Type="{_KINDS}/sharedStrings" Target="sharedStrings.xml"/>' if shared else ""
    main = f'<Relationship Id="w" Type="{_KINDS}/officeDocument" Target="xl/workbook.xml"/>'
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in {
            "[Content_Types].xml": "<Types/>",
            "_rels/.rels": _RELATIONS.format(main),
            "xl/workbook.xml": f'<workbook xmlns:r="{_KINDS}"><sheets>{names}</sheets></workbook>',
            "xl/_rels/workbook.xml.rels": _RELATIONS.format(related),
            "xl/worksheets/sheet1.xml": SHEET.format(sheet),
            **({"xl/sharedStrings.xml": f"<sst>{shared}</sst>"} if shared else {}),
            **(parts or {}),
        }.items():
            archive.writestr(name, content)
    return stream.getvalue()


def rows(cell: str, count: int, across: int = 50) -> str:
    """So many cells alike, in rows of ``across``."""
    return f"<sheetData>{('<row>' + cell * across + '</row>') * (count // across)}</sheetData>"


def _false_size() -> bytes:
    """A part of 160 MB that says of itself, in both places, that it has 1,000 bytes."""
    data = bytearray(workbook(" " * 160_000_000))
    at = data.find(b"xl/worksheets/sheet1.xml")
    struct.pack_into("<I", data, at - 30 + 22, 1_000)
    struct.pack_into("<I", data, data.rfind(b"xl/worksheets/sheet1.xml") - 46 + 24, 1_000)
    return bytes(data)


def _many_parts() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for number in range(90_000):
            archive.writestr(f"{number}", "")
    return stream.getvalue()


_TABLE_HEAD = "".join(f'<c t="inlineStr"><is><t>{word}</t></is></c>' for word in ("Measurement", "Unit", "S", "M"))
_WORDS = '<c t="inlineStr"><is><t>a1</t></is></c>'

#: Each attack by its name, and the code of the finding that refuses it (blank: it is read, and quickly).
ATTACKS: dict[str, tuple[Callable[[], bytes], str]] = {
    "a false declared size": (_false_size, "workbook-broken"),
    "one part listed as 3,000 sheets": (
        lambda: workbook(rows("<c><v>1</v></c>", 20_000), sheets=3_000),
        "too-many-cells",
    ),
    "one part listed as 400 sheets": (lambda: workbook(rows("<c><v>1</v></c>", 5_000), sheets=400), "too-many-cells"),
    "a text of 54 MB": (
        lambda: workbook(rows('<c t="s"><v>0</v></c>', 50), f"<si><t>{'x' * 54_000_000}</t></si>"),
        "text-too-long",
    ),
    "a long text in many cells": (
        lambda: workbook(rows('<c t="s"><v>0</v></c>', 100_000), f"<si><t>{'x y' * 10_000}</t></si>"),
        "text-too-long",
    ),
    "many runs of one text": (
        lambda: workbook(rows('<c t="s"><v>0</v></c>', 50), f"<si>{'<r><t>xxxxxxxxxx</t></r>' * 300_000}</si>"),
        "text-too-long",
    ),
    "an attribute of 54 MB": (lambda: workbook("<sheetData a='" + "x" * 54_000_000 + "'/>"), "text-too-long"),
    "a remark of 54 MB": (lambda: workbook(f"<!--{'x' * 54_000_000}--><sheetData/>"), "text-too-long"),
    "a name of 900 kB for every cell": (
        lambda: workbook(f"<sheetData>{('<' + 'x' * 900_000 + '/>') * 60}</sheetData>"),
        "",
    ),
    "a million cells": (lambda: workbook(rows("<c><v>1</v></c>", 900_000, 180)), "too-many-cells"),
    "cells in cells": (lambda: workbook("<c>" * 700_000), "workbook-broken"),
    "90,000 parts": (_many_parts, "unpacks-too-large"),
    "250,000 cells of nonsense": (
        lambda: workbook(f"<sheetData><row>{_TABLE_HEAD}</row>{rows(_WORDS, 240_000)[11:]}"),
        "",
    ),
    "merged cells all over": (
        lambda: workbook(
            rows(_WORDS, 100_000) + "<mergeCells>" + '<mergeCell ref="A1:GR5000"/>' * 1_000 + "</mergeCells>"
        ),
        "",
    ),
    "a wide table of few rows": (lambda: workbook(rows(_WORDS, 4_000, 200)), ""),
    "a number of a million digits": (lambda: workbook(rows(f"<c><v>{'1' * 30_000}</v></c>", 50)), "workbook-broken"),
}

#: Those that take over a second to make or to read.
SLOW = (
    "a wide table of few rows",
    "an attribute of 54 MB",
    "a remark of 54 MB",
    "a false declared size",
    "a name of 900 kB for every cell",
    "250,000 cells of nonsense",
    "merged cells all over",
    "90,000 parts",
    "one part listed as 400 sheets",
    "many runs of one text",
)
