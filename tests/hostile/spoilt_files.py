"""Files with some of their bytes, of the parts of their archive or of their cells spoilt, by a chance's number."""

from __future__ import annotations

import io
import random
import re
import zipfile

import openpyxl
from openpyxl.cell.cell import MergedCell
from spoilt_tables import FIGURES, NAMES

_NOT_IN_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def bytes_spoilt(chance: random.Random, data: bytes) -> bytes:
    spoilt = bytearray(data)
    match chance.randrange(5):
        case 0:
            for _ in range(chance.choice([1, 5, 50])):
                spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        case 1:
            del spoilt[chance.randrange(len(spoilt)) :]
        case 2:
            at = chance.randrange(len(spoilt))
            del spoilt[at : at + chance.choice([1, 10, 100])]
        case 3:
            at = chance.randrange(len(spoilt))
            spoilt[at:at] = chance.choice([b"\0", b'"', b"\xff\xfe", b"<", b"&x;", b"\x1b[2J", b"1e999", b";" * 500])
        case _:
            one, other = sorted(chance.randrange(len(spoilt)) for _ in range(2))
            spoilt[one:one] = spoilt[other : other + 200]
    return bytes(spoilt)


def part_spoilt(chance: random.Random, data: bytes) -> bytes:
    """The workbook with one part of its archive spoilt, nested deeply, or with odd figures in its cells."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        chosen = chance.choice([name for name in old.namelist() if "theme" not in name])
        if chance.random() < 0.4:
            chosen = "xl/worksheets/sheet1.xml"
        for name in old.namelist():
            content = old.read(name)
            if name == chosen:
                match chance.randrange(4):
                    case 0:
                        content = content.replace(b"<v>", chance.choice([b"<v>-", b"<v>1e", b"<v>nan", b"<v>9e9"]))
                    case 1:
                        depth = chance.choice([100, 20_000])
                        content = content.replace(b"</sheetData>", b"<a>" * depth + b"</a>" * depth + b"</sheetData>")
                    case _:
                        content = bytes_spoilt(chance, content)
            new.writestr(name, content)
    return stream.getvalue()


def cells_spoilt(chance: random.Random, data: bytes) -> bytes:
    """The workbook with odd names and figures typed into some of its cells, whatever its cells accept."""
    book = openpyxl.load_workbook(io.BytesIO(data))
    for _ in range(chance.choice([1, 1, 3, 10])):
        sheet = chance.choice(book.worksheets)
        row, column = (1 + chance.randrange(most or 1) for most in (sheet.max_row, sheet.max_column))
        cell = sheet.cell(row, column)
        value = chance.choice(NAMES if chance.random() < 0.4 else FIGURES)
        if not isinstance(cell, MergedCell):
            cell.value = _NOT_IN_XML.sub("?", value) if isinstance(value, str) else value
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def lines_spoilt(chance: random.Random, data: bytes) -> bytes:
    """A text of words and figures with some of them lost, exchanged, or odd: what a byte seldom hits."""
    words = data.split(b" ") if data.count(b" ") > data.count(b"\n") else data.split(b"\n")
    for _ in range(chance.choice([1, 1, 3, 10])):
        at, other = chance.randrange(len(words)), chance.randrange(len(words))
        match chance.randrange(5):
            case 0:
                words[at] = str(chance.choice(FIGURES)).encode("utf-8", "replace")
            case 1:
                words[at] = chance.choice(NAMES).encode("utf-8", "replace")
            case 2:
                words[at], words[other] = words[other], words[at]
            case 3:
                words[at] = b""
            case _:
                words[at:at] = [words[other]] * chance.choice([1, 2, 300])
    return (b" " if data.count(b" ") > data.count(b"\n") else b"\n").join(words)


def spoilt(chance: random.Random, data: bytes) -> bytes:
    """A file spoilt in one of the ways that its kind has."""
    if data[:2] == b"PK":
        return chance.choice([bytes_spoilt, part_spoilt, part_spoilt, cells_spoilt, cells_spoilt])(chance, data)
    return chance.choice([bytes_spoilt, lines_spoilt, lines_spoilt])(chance, data)
