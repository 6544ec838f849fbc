"""Attacks on every reader and every command, by number: each is made anew from its class and its number.

A workshop holds small tables, a hand's measurements, points, drawings, a stock table, a filled check sheet and a run.
An attack spoils one of its files, or types odd options, and lets the program take what it is given. Held is, whatever
comes: it ends with files or with a finding, in time, without a traceback, and no file but its own is touched.
"""

from __future__ import annotations

import random
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import click
import openpyxl
from click.testing import CliRunner, Result
from spoilt_files import spoilt
from spoilt_tables import NAMES

from grading.cli import main
from grading.drafting.scenario import demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.outputs.cutting.dxf import pattern_data
from grading.outputs.cutting.layers import cutting_files
from grading.outputs.cutting.svg import svg_file
from grading.outputs.starter import starter_files
from grading.readings.cut_lines import cut_lines

#: Seconds of processor time for one attack.
SLOWEST = 20.0
GROUP = ("--group", "Women")
OUT = ("--out", "out")


@dataclass(frozen=True)
class Reader:
    """The files of the workshop that one reader is given spoilt, and the command that reads them."""

    files: tuple[str, ...]
    words: Callable[[str], tuple[str, ...]]


READERS = {
    "size tables": Reader(
        ("tables/sizes.xlsx", "chart.csv", "chart.xlsx"),
        lambda name: ("audit", name) if name.startswith("chart") else ("check", *GROUP),
    ),
    "blocks": Reader(("tables/block.xlsx",), lambda _: ("check", *GROUP)),
    "measurements": Reader(
        ("hands.xlsx", "hands.csv"), lambda name: ("draft", "--measured", name, "--out", "out/own.xlsx")
    ),
    "a customer's measurements": Reader(
        ("hands.xlsx", "hands.csv"), lambda name: ("hand", *GROUP, "--measured", name, "--name", "Order", *OUT)
    ),
    "points": Reader(
        ("points.csv",),
        lambda name: ("draft", "--measured", "hands.xlsx", "--from-points", name, "--out", "out/o.xlsx"),
    ),
    "drawings": Reader(
        ("drawn.svg", "drawn.dxf"),
        lambda name: ("draft", "--measured", "hands.xlsx", "--from-points", name, "--out", "out/own.xlsx"),
    ),
    "stock": Reader(("tables/stock.xlsx",), lambda _: ("stock", *GROUP, "--pairs", "4", "--at-least", "0", *OUT)),
    "check sheets": Reader(("back.xlsx", "back.csv"), lambda name: ("returns", name, *GROUP, *OUT)),
    "records": Reader(("output/Women/run.json",), lambda _: ("verify", "output")),
    "records at a run": Reader(("output/Women/run.json",), lambda _: ("run", *GROUP, "--only", "nest")),
    "charts to compare with": Reader(
        ("chart.xlsx", "output/Women/run.json"),
        lambda name: ("audit", *GROUP, "--against", name if name.startswith("chart") else "output"),
    ),
}
OPTIONS = "options"
CLASSES = (*READERS, OPTIONS)

_FIGURES = (
    "0",
    "-1",
    "1",
    "1.5",
    "6,5",
    "1e308",
    "nan",
    "inf",
    "-inf",
    "1/0",
    "98.6",
    "98.6x99.1",
    "x",
    "20.4 cm",
    "8in",
)
_WORDS = (*(name for name in NAMES if "\0" not in name and "\ud800" not in name), "Women", "WOMEN", "men", "mm", "W3")
_PATHS = (
    "tables/sizes.xlsx",
    "tables/block.xlsx",
    "hands.xlsx",
    "drawn.svg",
    "chart.csv",
    "nowhere.xlsx",
    "tables",
    "",
)
#: Where odd options may lead the program to write: into the workshop, whatever they are.
_PLACES = (
    "out",
    "out/ü b",
    "",
    ".",
    "out/" + "x" * 300,
    "hands.xlsx",
    "out/foo.pdf",
    "tables/sizes.xlsx",
    "out//../out",
)
#: Waits for somebody; the rest of a command line is tried with all that there is.
_UNTRIED = ("--watch", "--help")


@dataclass(frozen=True)
class Ended:
    """What became of one attack: the words typed, how it ended, and what is wrong about that, if anything."""

    words: tuple[str, ...]
    status: int
    seconds: float
    wrong: str


class Workshop:
    """A folder with one file of every kind, in which attacks are made, and which is put right after each."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        for name, content in _files():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        self._type("run", *GROUP, "--only", "nest", "--only", "spec", "--quiet")
        _fill(folder / "output/Women/check-sheets/W3.xlsx", folder)
        self._good = {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}

    def tried(self, kind: str, number: int) -> Ended:
        """Make one attack of a class, which its number determines."""
        chance = random.Random(f"{kind} {number}")
        if kind == OPTIONS:
            return self._ended(_options(chance))
        reader = READERS[kind]
        name = chance.choice(reader.files)
        path = self.folder / name
        path.write_bytes(spoilt(chance, self._good[Path(name)]))
        try:
            return self._ended(reader.words(name), Path(name))
        finally:
            path.write_bytes(self._good[Path(name)])

    def _type(self, *words: str) -> Result:
        return CliRunner().invoke(main, list(words))

    def _ended(self, words: tuple[str, ...], given: Path | None = None) -> Ended:
        before = (self.folder / given).read_bytes() if given else b""
        start = time.process_time()
        result = self._type(*words)
        seconds = time.process_time() - start
        wrong = list(_wrong(result, seconds))
        if given and given.name != "run.json" and (self.folder / given).read_bytes() != before:
            wrong.append(f"{given} was changed")
        wrong += self._put_right(given)
        return Ended(words, result.exit_code, seconds, "; ".join(wrong))

    def _put_right(self, given: Path | None) -> Iterator[str]:
        """Take away what was made, and say what was touched that a command must leave alone."""
        shutil.rmtree(self.folder / "out", ignore_errors=True)
        for path in sorted(self.folder.rglob("*"), reverse=True):
            name = path.relative_to(self.folder)
            if path.is_dir() or name == given or name.parts[0] == "output":
                continue
            if name not in self._good:
                path.unlink()
            elif path.read_bytes() != self._good[name]:
                yield f"{name} was changed"
                path.write_bytes(self._good[name])
        for name, content in self._good.items():
            path = self.folder / name
            if not path.exists():
                if name.parts[0] != "output" and name != given:
                    yield f"{name} was lost"
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(content)
            elif name.parts[0] == "output" and path.read_bytes() != content:
                path.write_bytes(content)


def _wrong(result: Result, seconds: float) -> Iterator[str]:
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        yield f"a fault that nothing caught: {result.exception!r}"
    if result.exit_code not in (0, 1, 2):
        yield f"a fault of the program, status {result.exit_code}: {result.stderr[-300:]}"
    if "Traceback" in result.output:
        yield "a traceback"
    if result.exit_code == 1 and "error" not in result.stderr:
        yield "ended with 1 without a word"
    if any(ord(sign) < 32 and sign not in "\n\t\r" for sign in result.output) or "\u202e" in result.output:
        yield "signs that steer a terminal"
    if seconds > SLOWEST:
        yield f"{seconds:.0f} s"


def _options(chance: random.Random) -> tuple[str, ...]:
    """A command with up to four of its options and arguments, figures and names odd or not."""
    context = click.Context(main)
    name = chance.choice([word for word in main.list_commands(context) if word != "start"])
    command = main.get_command(context, name)
    words = [name]
    for parameter in chance.sample(command.params, min(len(command.params), chance.choice([1, 2, 3, 4]))):
        if isinstance(parameter, click.Argument):
            words.append(chance.choice(_PATHS))
        elif parameter.opts[0] not in _UNTRIED:
            words += [parameter.opts[0], *(_value(chance, parameter) for _ in range(_count(parameter)))]
    if name == "stock" and "--group" not in words:
        words += GROUP
    if "--out" not in words and any(parameter.name == "out" for parameter in command.params):
        words += ["--out", "out/own.xlsx" if name == "draft" else "out"]
    if chance.random() < 0.1:
        words.append(chance.choice(("--", "-x", "--no-such", "", "run", "-")))
    return tuple(words)


def _count(parameter: click.Parameter) -> int:
    return 0 if isinstance(parameter, click.Option) and parameter.is_flag else parameter.nargs


def _value(chance: random.Random, parameter: click.Parameter) -> str:
    if parameter.name == "out":
        return chance.choice(_PLACES)
    kinds = [_FIGURES, _WORDS, _PATHS]
    if isinstance(parameter.type, click.Choice):
        kinds += [tuple(parameter.type.choices)] * 4
    return chance.choice(chance.choice(kinds))


def _files() -> Iterator[tuple[str, bytes]]:
    """The workshop's tables and all else that a reader reads, but what a run writes."""
    starter = starter_files()
    yield from starter.items()
    yield "chart.xlsx", starter["tables/sizes.xlsx"]
    women = next(table for table in demo_sizes() if table.group == "Women")
    heads = ["Measurement", "Unit", *women.sizes]
    rows = [
        [name, "mm", *(f"{figure:g}" for figure in figures)]
        for name, figures in zip(women.measurements, women.values, strict=True)
    ]
    yield "chart.csv", "\n".join(";".join(row) for row in [heads, *rows]).encode()
    hand = [["Measurement", "Unit", "Left", "Right"], *([row[0], row[1], row[4], row[4]] for row in rows)]
    yield "hands.csv", "\n".join(",".join(row) for row in hand).encode()
    run = balanced(grade(demo_block("Women"), women))
    file = cutting_files(run.only(2), cut_lines(run.only(2)), "0")[0]
    yield "drawn.svg", svg_file(file)
    yield "drawn.dxf", pattern_data(file, "Fair mitten", "", file.size)


def _fill(sheet: Path, folder: Path) -> None:
    """A check sheet with every box filled in, as a workbook and as text."""
    book = openpyxl.load_workbook(sheet)
    page = book.active
    page["B8"] = "Ann"
    row = next(cell.row for cell in page["A"] if cell.value == "Letter") + 1
    while page.cell(row, 2).value:
        for column in range(10):
            page.cell(row, 6 + column).value = round(page.cell(row, 3).value + (column - 4.5) / 10, 2)
        row += 1
    book.save(folder / "back.xlsx")
    lines = (";".join("" if value is None else str(value) for value in line) for line in page.values)
    (folder / "back.csv").write_text("\n".join(lines), encoding="utf-8")
