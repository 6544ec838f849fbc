"""Counts what the files of a run hold: pages, path operators, texts and cells, as a recipe to write as much again.

A recipe has no coordinates and no words, only shapes and numbers of them; it is plain data, to be kept as JSON.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import openpyxl
import pypdf
from PIL import Image
from pypdf.generic import ContentStream

__all__ = ["Recipe", "recipe_of", "totals"]

Recipe = dict[str, dict[str, Any]]

_PAINTED = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"}
_DRAWN = {"m", "l", "c", "v", "y", "h", "re"}
#: What sets how things are drawn: line width, dashes, colours, the place, and keeping and restoring all that.
_STATE = {"w", "d", "RG", "rg", "cm", "q"}


def recipe_of(folder: Path) -> Recipe:
    """What every file under a folder holds, by its name there."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): _counted(path) for path in files if not path.name.startswith(".")}


def totals(recipe: Recipe) -> dict[str, int]:
    """How much of everything there is in all."""
    found: Counter[str] = Counter(files=len(recipe))
    for file in recipe.values():
        found["bytes"] += file["bytes"]
        for stream in (*file.get("pages", ()), *file.get("forms", ())):
            found["path operators"] += sum(len(shape) * count for shape, count in stream["paths"])
            found["texts"] += len(stream["texts"])
            found["state operators"] += sum(count for _, count in stream["state"])
        found["pages"] += len(file.get("pages", ()))
        found["bookmarks"] += file.get("bookmarks", 0)
        found["forms"] += len(file.get("forms", ()))
        for sheet in file.get("sheets", ()):
            found["sheets"] += 1
            found["pictures"] += len(sheet["pictures"])
            found["cells"] += sum(count for _, _, _, count in sheet["cells"])
    return dict(sorted(found.items()))


def _counted(path: Path) -> dict[str, Any]:
    content = path.read_bytes()
    if path.suffix == ".pdf":
        return {"bytes": len(content), **_pdf(content)}
    if path.suffix == ".xlsx":
        return {"bytes": len(content), **_workbook(content)}
    return {"bytes": len(content)}


def _pdf(content: bytes) -> dict[str, Any]:
    """Each page and each form, a form drawn on many pages once: its paths, texts and the forms it calls."""
    reader = pypdf.PdfReader(BytesIO(content))
    numbers: dict[Any, int] = {}
    forms: list[dict[str, Any]] = []

    def stream(operations: Iterable[tuple[Any, bytes]], resources: Any) -> dict[str, Any]:
        called = {}
        for name, reference in ((resources or {}).get("/XObject") or {}).items():
            item = reference.get_object()
            if item.get("/Subtype") != "/Form":
                continue
            if reference.idnum not in numbers:
                numbers[reference.idnum] = len(forms)
                forms.append({})
                inner = ContentStream(item, reader).operations
                forms[numbers[reference.idnum]] = stream(inner, item.get("/Resources"))
            called[name] = numbers[reference.idnum]
        return _operations(operations, called)

    pages = []
    for page in reader.pages:
        contents = page.get_contents()
        found = stream(contents.operations if contents is not None else (), page.get("/Resources"))
        pages.append({"size": [float(page.mediabox.width), float(page.mediabox.height)], **found})
    return {"pages": pages, "forms": forms, "bookmarks": _count(reader.outline)}


def _operations(operations: Iterable[tuple[Any, bytes]], called: dict[str, int]) -> dict[str, Any]:
    paths: Counter[str] = Counter()
    state: Counter[str] = Counter()
    texts, forms, shape = [], [], ""
    for operands, operator in operations:
        word = operator.decode()
        if word in _DRAWN:
            shape += {"re": "r", "v": "c", "y": "c"}.get(word, word)
        elif word in _PAINTED:
            if shape:
                paths[shape] += 1
            shape = ""
        elif word in _STATE:
            state[word] += 1
        elif word in ("Tj", "TJ", "'"):
            texts.append(sum(len(text) for text in operands if isinstance(text, str | bytes)))
        elif word == "Do" and operands[0] in called:
            forms.append(called[operands[0]])
    return {"paths": sorted(paths.items()), "state": sorted(state.items()), "texts": texts, "calls": forms}


def _count(outline: list[Any]) -> int:
    return sum(_count(entry) if isinstance(entry, list) else 1 for entry in outline)


def _workbook(content: bytes) -> dict[str, Any]:
    """For each sheet how many cells there are of a kind, a style and a length of text, and what else it has."""
    book = openpyxl.load_workbook(BytesIO(content))
    sheets = []
    for sheet in book.worksheets:
        cells = Counter((_kind(cell), cell._style.xfId * 1000 + cell.style_id, _length(cell)) for cell in _cells(sheet))
        sheets.append(
            {
                "columns": max(sheet.max_column, 1),
                "pictures": [image.path.rpartition("/")[2] for image in sheet._images],
                "widths": len(sheet.column_dimensions),
                "heights": sum(row.height is not None for row in sheet.row_dimensions.values()),
                "merges": len(sheet.merged_cells.ranges),
                "tables": len(sheet.tables),
                "lists": len(sheet.data_validations.dataValidation),
                "flags": len(sheet.conditional_formatting),
                "cells": [[*key, count] for key, count in sorted(cells.items())],
            }
        )
    with ZipFile(BytesIO(content)) as archive:
        names = [name for name in archive.namelist() if name.startswith("xl/media/")]
        media = {name.rpartition("/")[2]: _picture(archive.read(name)) for name in names}
    return {"sheets": sheets, "media": media}


def _picture(content: bytes) -> dict[str, Any]:
    """How many dots a picture is wide and high, and how many of them are not white."""
    image = Image.open(BytesIO(content))
    return {"size": image.size, "dark": image.width * image.height - image.convert("L").histogram()[255]}


def _cells(sheet: Any) -> Iterator[Any]:
    """The cells that the file holds, blank ones with a style among them."""
    return (cell for cell in sheet._cells.values() if type(cell).__name__ == "Cell")


def _kind(cell: Any) -> str:
    return "blank" if cell.value is None else {"f": "formula", "n": "number"}.get(cell.data_type, "text")


def _length(cell: Any) -> int:
    return len(cell.value) if isinstance(cell.value, str) else 0
