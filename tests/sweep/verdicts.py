"""What becomes of a changed table: is it told, and if not, how far does anything that is printed move?"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import shapely
from changes import Change, changes

import grading
from grading.findings import Finding, Severity
from grading.geometry.beziers import evaluate
from grading.readings.marks import edge_marks
from grading.sheets.rows import read_rows as _read_rows

__all__ = ["CHOICE", "CRASH", "HARMFUL", "LATENT", "SMALL", "Sweep", "Verdict"]

TABLES = Path(__file__).parents[2] / "tables"
#: The block each group is graded from.
BLOCKS = {"Women": "block.xlsx", "Men": "block-men.xlsx", "Children": "block-children.xlsx"}
#: The group by whose table a change to its block is judged.
GROUP = "Women"
#: Places on each segment at which two lines are compared.
STEPS = np.linspace(0, 1, 17)
#: The module in which tables are opened and graded.
JOB = sys.modules[grading.check_job.__module__]
ROWS = _read_rows.__module__

#: What a change that is not told may be: nothing that is printed moves by more than a mitten's tolerance; it is for
#: the maker to say; nothing moves until an allowance is changed, and then by more; or leather is spoiled by it.
SMALL, CHOICE, LATENT, HARMFUL = "within tolerance", "maker's choice", "latent", "harmful"
#: What is told where the program itself fails.
CRASH = "crash"
#: By how much all allowances are changed to see whether something is latent, mm: each by a little more.
OTHER, MORE = 5.0, 0.3
#: What only a maker can say: how closely to check, what to ask of whoever sews, how many marks to make.
CHOICES = {
    ("Limits", ""),
    ("Making", ""),
    ("Work", ""),
    ("Block", "Marked on"),
    ("Block", "Groups"),
    ("Base values", "Least"),
    ("Base values", "Most"),
    ("Measures", "Tolerance −"),
    ("Measures", "Tolerance +"),
    ("Measures", "Tells the size"),
    ("Seams", "Least ease"),
    ("Seams", "Most ease"),
    ("Seams", "Matching marks"),
    ("Seams", "Strokes"),
    ("Marks", ""),
}
#: An allowance or an ease that is changed by no more than this much is as good a choice as the demo's.
CHOSEN = ("×0.9", "×1.1", "+3", "-3")


@dataclass(frozen=True)
class Verdict:
    """``told`` is the worst severity of what is newly found, or None; ``codes`` what it is.

    For what is not told: ``lines``, ``marks`` and ``measures`` are how far the farthest of them moved, mm, over all
    pieces and sizes; ``facts`` what else is printed and became another; ``latent`` how far lines would move once
    allowances are changed; ``kind`` is one of those above.
    """

    change: Change
    told: str | None
    codes: tuple[str, ...] = ()
    lines: float = 0.0
    marks: float = 0.0
    measures: float = 0.0
    facts: str = ""
    latent: float = 0.0
    kind: str = ""

    @property
    def moved(self) -> float:
        return max(self.lines, self.marks, self.measures)

    def __str__(self) -> str:
        figures = (
            ("lines", self.lines),
            ("marks", self.marks),
            ("measures", self.measures),
            ("with other allowances", self.latent),
        )
        moved = ", ".join(f"{name} {figure:.1f}" for name, figure in figures if figure > 0.05)
        return f"{self.change}: {', '.join(part for part in (moved, self.facts) if part) or 'nothing moves'}"


class Sweep:
    """The demo's tables, opened once, and every change to them; ``verdict`` makes one and judges it."""

    def __init__(self, tables: Path = TABLES) -> None:
        self._tables = tables
        self._opened = {name: JOB.open_tables(tables / name)[0] for name in ("sizes.xlsx", *BLOCKS.values())}
        self._untouched: dict[str, _Judged] = {}
        self._rows: dict[tuple[int, str, str], Any] = {}

    @cached_property
    def changes(self) -> list[Change]:
        made = changes(self._opened["block.xlsx"])
        return made + changes(self._opened["sizes.xlsx"], tuple(BLOCKS), first=len(made) + 1)

    def verdict(self, change: Change) -> Verdict:
        """What is told of a change, and if nothing is, what moves."""
        try:
            return self._verdict(change)
        except Exception as fault:  # whatever it is, it is a verdict on the program
            return Verdict(change, CRASH, (f"{type(fault).__name__}: {fault}",))

    def _verdict(self, change: Change) -> Verdict:
        group = change.sheet if change.workbook == "sizes.xlsx" else GROUP
        if group not in self._untouched:
            self._untouched[group] = self._judged(group)
        before = self._untouched[group]
        # Laying allowances on takes the longest and finds the least: what is told without it need not be cut.
        with _cut_like(before.job, otherwise=_uncut) as runs:
            judged = self._judged(group, change)
        new = judged.findings - (before.uncut if runs else before.findings)
        if runs and not new:
            with _cut_like(before.job, otherwise=JOB.cut_lines):
                judged = self._judged(group, change)
            new = judged.findings - before.findings
        if new:
            worst = min((finding.severity for finding in new), key=list(Severity).index)
            return Verdict(change, str(worst), tuple(sorted({finding.code for finding in new})))
        return _silent(change, before.printed, _Printed(judged.job.groups[0], before.printed.allowances))

    def _judged(self, group: str, change: Change | None = None) -> _Judged:
        """The findings on a group of the tables, and its job."""
        opened = {name: self._opened[name] for name in ("sizes.xlsx", BLOCKS[group])}
        if change is not None:
            opened[change.workbook] = change.of(opened[change.workbook])
        sizes = opened["sizes.xlsx"]
        opened["sizes.xlsx"] = replace(sizes, grids=tuple(grid for grid in sizes.grids if grid.sheet == group))

        def read() -> Any:
            with (
                patch.object(JOB, "open_tables", lambda path, *_: (opened[Path(path).name], [])),
                # Not by the files' sums, which stay the same.
                patch.object(JOB, "_sizes_of", JOB._sizes_of.__wrapped__),
                patch.object(JOB, "_block_of", JOB._block_of.__wrapped__),
                patch.object(JOB, "_group_of", JOB._group_of.__wrapped__),
                self._rows_read_once(),
            ):
                return grading.check_job(self._tables / "sizes.xlsx", [self._tables / BLOCKS[group]], [group])

        job = read()
        if change is not None:
            return _Judged(job, _findings(job))
        with patch.object(JOB, "cut_lines", _uncut):
            return _Judged(job, _findings(job), _findings(read()))

    @contextmanager
    def _rows_read_once(self) -> Iterator[None]:
        """Reads the rows of a sheet that is as it was no second time."""
        unchanged = {id(grid) for opened in self._opened.values() for grid in opened.grids}

        def once(read_rows: Any) -> Any:
            def read(grid: Any, sheet: Any, unit: str) -> Any:
                if id(grid) not in unchanged:
                    return read_rows(grid, sheet, unit)
                key = id(grid), sheet.name, unit
                if key not in self._rows:
                    self._rows[key] = read_rows(grid, sheet, unit)
                table, findings = self._rows[key]
                return table, list(findings)

            return read

        with ExitStack() as patches:
            for name, module in list(sys.modules.items()):
                if name.startswith("grading.") and name != ROWS and hasattr(module, "read_rows"):
                    patches.enter_context(patch.object(module, "read_rows", once(module.read_rows)))
            yield


@dataclass(frozen=True)
class _Judged:
    """A job, all its findings, and those that are found without laying allowances on."""

    job: Any
    findings: frozenset[Finding]
    uncut: frozenset[Finding] = frozenset()

    @cached_property
    def printed(self) -> _Printed:
        group = self.job.groups[0]
        allowances = {
            value.name: value.drafted + OTHER + MORE * at
            for at, value in enumerate(group.run.block.values)
            if value.kind.value == "allowance"
        }
        return _Printed(group, allowances)


def _findings(job: Any) -> frozenset[Finding]:
    return frozenset([*job.findings, *(finding for group in job.groups for finding in group.findings)])


def _uncut(run: Any) -> tuple[Any, ...]:
    return ()


@contextmanager
def _cut_like(job: Any, otherwise: Callable[[Any], tuple[Any, ...]]) -> Iterator[list[Any]]:
    """Takes the cut lines of a run that is drawn like the job's own from there, and gives those that are not so."""
    known, others = job.groups[0], []
    drawn = _as_cut(known.run)

    def cut_lines(run: Any) -> tuple[Any, ...]:
        if _as_cut(run) == drawn:
            return known.cut_lines
        others.append(run)
        return otherwise(run)

    with patch.object(JOB, "cut_lines", cut_lines):
        yield others


def _as_cut(run: Any) -> list[tuple[object, ...]]:
    """All that the cut lines of a run follow from."""
    return [
        (
            name,
            loop,
            beziers.shape,
            beziers.tobytes(),
            [(edge, *stretch.segments.tolist()) for edge, stretch in piece.shape.edges.items()],
            piece.shape.allowances,
        )
        for name, piece in run.pieces.items()
        for loop, beziers in piece.beziers.items()
    ]


# What moves


def _silent(change: Change, was: _Printed, now: _Printed) -> Verdict:
    before, after = was.group.run, now.group.run
    of_block = _block_is_another(before.block, after.block)
    if not of_block and np.array_equal(before.table.values, after.table.values):
        verdict = Verdict(change, None)
        return replace(verdict, kind=_why_silent(verdict, before))
    verdict = Verdict(
        change,
        None,
        lines=max(_apart(was.sew_lines, now.sew_lines), _apart(was.cut_lines, now.cut_lines)),
        marks=_apart(was.marks, now.marks),
        measures=_measures_apart(before, after),
        facts=_other_facts(before, after),
        latent=_apart(was.otherwise, now.otherwise) if of_block else 0.0,
    )
    return replace(verdict, kind=_why_silent(verdict, before))


def _block_is_another(one: Any, other: Any) -> bool:
    """Whether two blocks differ in more than what they are checked by and what is written on them."""
    same = {"limits": (), "making": (), "work": (), "notes": "", "date": "", "name": ""}
    return bool(replace(one, **same) != replace(other, **same))


def _why_silent(verdict: Verdict, run: Any) -> str:
    change = verdict.change
    if (change.sheet, change.column) in CHOICES or (change.sheet, "") in CHOICES:
        return CHOICE
    if verdict.moved <= _tightest(run) and not verdict.facts:
        return LATENT if verdict.latent > _tightest(run) else SMALL
    allowance = change.sheet == "Base values" and any(
        value.name == change.row and value.kind.value == "allowance" for value in run.block.values
    )
    amount = (change.sheet, change.column) in (("Seams", "Target ease"), ("Seam types", "Allowance"))
    if change.kind in CHOSEN and (allowance or amount):
        return CHOICE
    if change.kind == "row deleted" and change.sheet == "Measures":
        return CHOICE
    return HARMFUL


def _tightest(run: Any) -> float:
    """The tightest tolerance of any finished measure, mm."""
    both = [t for m in run.block.measures for t in (m.tolerance_minus, m.tolerance_plus) if t is not None]
    return float(min(both))


Lines = Mapping[tuple[str, ...], Sequence[Any]]


@dataclass(frozen=True)
class _Printed:
    """What of a graded group is printed, as shapes: a size each, by piece and loop."""

    group: Any
    allowances: Mapping[str, float]

    @cached_property
    def otherwise(self) -> Lines:
        """The sew lines with other allowances."""
        return _otherwise(self.group.run, self.allowances)

    @cached_property
    def sew_lines(self) -> Lines:
        return _lines(self.group.run)

    @cached_property
    def cut_lines(self) -> Lines:
        return {
            (loop.piece, loop.loop): [
                shapely.linearrings(line.polygon) if len(line.polygon) > 2 else shapely.LinearRing()
                for line in loop.lines
            ]
            for loop in self.group.cut_lines
        }

    @cached_property
    def marks(self) -> Lines:
        return _marks(self.group.run)


def _lines(run: Any) -> Lines:
    return {
        (name, loop): shapely.linestrings(evaluate(beziers, STEPS).reshape(len(beziers), -1, 2))
        for name, piece in run.pieces.items()
        for loop, beziers in piece.beziers.items()
    }


def _marks(run: Any) -> Lines:
    """All places of marks on a piece, one set a size, by piece."""
    places: dict[tuple[str, ...], list[Any]] = {}
    for mark in edge_marks(run):
        places.setdefault((mark.piece,), []).append(mark.places)
    for row in run.block.marks:
        for point in row.points:
            places.setdefault((row.piece,), []).append(run.pieces[row.piece].point(point))
    return {piece: shapely.multipoints(np.swapaxes(np.array(found), 0, 1)) for piece, found in places.items()}


def _apart(before: Lines, after: Lines) -> float:
    """How far apart what has the same name is at the most, in any size; without end if it is not there any more."""
    if before.keys() != after.keys():
        return np.inf
    far = [0.0]
    for name, was in before.items():
        if len(was) != len(after[name]):
            return np.inf
        moved = [
            at for at, (one, other) in enumerate(zip(was, after[name], strict=True)) if not one.equals_exact(other)
        ]
        if moved:
            apart = shapely.hausdorff_distance(np.array(was)[moved], np.array(after[name])[moved])
            far.extend(np.nan_to_num(apart, nan=np.inf))
    return float(max(far))


def _otherwise(run: Any, chosen: Mapping[str, float]) -> Lines:
    """The sew lines of a run with other allowances."""
    values = tuple(replace(value, now=chosen.get(value.name, value.now)) for value in run.block.values)
    return _lines(grading.grade(replace(run.block, values=values), run.table))


def _measures_apart(before: Any, after: Any) -> float:
    was, now = grading.measured(before), grading.measured(after)
    if before.sizes != after.sizes:
        return np.inf
    shared = [measure.name for measure in was.measures if measure.name in now]
    differences = [np.abs(was[name] - now[name]) for name in shared]
    return float(np.nan_to_num(differences, nan=np.inf).max(initial=0.0))


def _other_facts(before: Any, after: Any) -> str:
    """What is cut, how often, from which face and which way of the pile, where that has become another."""
    was, now = _facts(before.block), _facts(after.block)
    return "; ".join(
        f"{name} {was.get(name)} → {now.get(name)}" for name in was | now if was.get(name) != now.get(name)
    )


def _facts(block: Any) -> dict[str, str]:
    facts = {"drawn from": block.drawn_from, "marked on": block.marked_on}
    for piece in block.pieces:
        facts[f"{piece.name}: cut left, right"] = f"{piece.cut_left}, {piece.cut_right}"
        facts[f"{piece.name}: pile arrow"] = piece.pile_arrow
    return facts
