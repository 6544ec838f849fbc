"""The guide's table of where a thing lives is the house as its imports draw it: every room, and no arrow back."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

HERE = Path(__file__).parents[1]
PACKAGE = HERE / "grading"
FRONT_DOOR = "__init__"


def room(module: str) -> str:
    """The folder, or the file at the top, that a module stands in."""
    _, *parts = module.split(".")
    return parts[0] if parts else FRONT_DOOR


def modules() -> dict[str, Path]:
    files = {".".join(file.relative_to(HERE).with_suffix("").parts): file for file in PACKAGE.rglob("*.py")}
    return {name.removesuffix(f".{FRONT_DOOR}"): file for name, file in files.items()}


MODULES = modules()


def imported(file: Path) -> Iterator[str]:
    """Every module of ours that a file names in an import: within functions and for types too."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names if room_of_ours(one.name))
        elif isinstance(node, ast.ImportFrom) and room_of_ours(node.module or ""):
            for one in node.names:
                whole = f"{node.module}.{one.name}"
                yield whole if whole in MODULES else str(node.module)


def room_of_ours(module: str) -> bool:
    return module.split(".")[0] == "grading"


@cache
def arrows() -> set[tuple[str, str]]:
    """Each module with each room that it imports from."""
    return {(name, room(other)) for name, file in MODULES.items() for other in imported(file)}


def table() -> list[tuple[list[str], str]]:
    """The rooms of each row, and what the row says that they may import."""
    text = (HERE / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Where a thing lives")[1].split("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in text.splitlines() if line.startswith("| `")]
    return [(re.findall(r"`(\w+)(?:/|\.py)`", cells[0]), cells[-1]) for cells in rows]


@cache
def allowed() -> dict[str, set[str]]:
    """What each room may import, with what those rooms may; a module that may more stands by its own name."""
    may: dict[str, set[str]] = {}
    for names, words in table():
        above = set(may)
        usual, *more = words.split(";")
        rooms = above if "all above" in usual else {word for word in re.findall(r"\w+", usual) if word in above}
        for clause in more:
            module, also = re.fullmatch(r" `(\w+)` also (\w+)", clause).groups()
            assert also in above, f"{also} stands below {names}"
            may[f"grading.{names[0]}.{module}"] = {also} | may[also]
        nothing = usual == "nothing of ours"
        assert rooms or nothing, f"{names} may import '{usual}', of which nothing stands above it"
        unknown = set(re.findall(r"\w+", usual)) - rooms - {"nothing", "of", "ours", "all", "above"}
        assert not unknown, f"{names} may import {unknown}, which stands nowhere above it"
        for name in names:
            may[name] = rooms.union(*(may[other] for other in rooms))
    return may


MAY = allowed()


def test_every_room_has_a_row_and_every_row_a_room():
    named = [name for names, _ in table() for name in names]
    assert sorted(named) == sorted({room(name) for name in MODULES})


@pytest.mark.parametrize("name", [name for names, _ in table() for name in names])
def test_a_room_imports_only_what_its_row_says(name):
    """A row names only rooms above it, so that no arrow runs back and there is no circle."""
    beyond = {
        f"{module} → {other}"
        for module, other in arrows()
        if room(module) == name and other not in {name, *MAY[name], *MAY.get(module, ())}
    }
    assert beyond == set()


def test_a_name_stands_for_one_class():
    trees = (ast.parse(file.read_text(encoding="utf-8")) for file in MODULES.values())
    names = Counter(node.name for tree in trees for node in tree.body if isinstance(node, ast.ClassDef))
    assert [name for name, times in names.items() if times > 1] == []


def test_an_arrow_is_found_wherever_it_is_written(tmp_path):
    file = tmp_path / "module.py"
    file.write_text("def late():\n    from grading.cli import run\n    import grading.units\n")
    assert list(imported(file)) == ["grading.cli.run", "grading.units"]
