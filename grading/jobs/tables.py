"""What every job begins with: tables read and checked, a block for each group, all graded, balanced and audited."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from grading.asked import blocks_beside
from grading.audit import audit_block, audit_fit, audit_run, audit_table, without_what_follows
from grading.audit.blocks import missing_rows
from grading.codes import Code
from grading.engine.balance import balanced
from grading.engine.graded import GradedGroup, Input, run_id
from grading.engine.run import grade
from grading.findings import Finding, Findings, GradingError, Place, Severity, has_errors, tally
from grading.jobs.told import in_unit
from grading.model.block import Block
from grading.model.names import Names, nearest
from grading.model.sizes import SizeTable, common_unit
from grading.publish.beside import beside
from grading.publish.disk import sum_on_disk
from grading.readings.cut_lines import cut_line_findings, cut_lines
from grading.sheets.block import read_block
from grading.sheets.opening import Opened, open_tables
from grading.sheets.sizes import read_sizes, rows_named, unit_named

__all__ = ["FilePath", "Job", "check_job", "read_job", "several_paths", "unit_of_tables"]


#: A file, as a person names it.
FilePath = str | os.PathLike[str]
#: A block and the file that it was read from.
BlockRead = tuple[Block, Input]


@dataclass(frozen=True, eq=False)
class Job:
    """All that was read and graded. ``groups`` is empty where ``findings`` hold an error of the tables.

    ``named`` are all the size groups of the tables, asked for or not, and ``unit`` the one that their rows have in
    common, in which a maker thinks; figures are in mm whatever it is. ``job["Women"]`` is a graded group.
    """

    groups: tuple[GradedGroup, ...]
    findings: tuple[Finding, ...]
    named: tuple[str, ...] = ()
    unit: str = "mm"

    def __repr__(self) -> str:
        return f"<Job: {', '.join(self) or 'nothing graded'}; {tally(self.all_findings) or 'no findings'}>"

    def __getitem__(self, group: str) -> GradedGroup:
        """The graded group of that name. Raises UnknownNameError."""
        return self.groups[list(self).index(Names(self).settled(group))]

    def __iter__(self) -> Iterator[str]:
        """The names of the graded groups."""
        return (group.run.group for group in self.groups)

    def told_in(self, unit: str = "") -> Job:
        """The same job, the lengths in its findings told in a unit, or in that of its tables."""
        unit = unit or self.unit
        groups = tuple(
            replace(
                group, findings=tuple(in_unit(group.findings, unit)), of_tables=tuple(in_unit(group.of_tables, unit))
            )
            for group in self.groups
        )
        return replace(self, groups=groups, findings=tuple(in_unit(self.findings, unit)))

    @property
    def all_findings(self) -> tuple[Finding, ...]:
        """What was found in the tables, then in each group."""
        return (*self.findings, *(one for group in self.groups for one in group.findings))


def read_job(sizes: FilePath, blocks: FilePath | Iterable[FilePath] = (), groups: str | Iterable[str] = ()) -> Job:
    """Read a workbook of size tables and one or more of blocks, and grade the groups named, or all of them.

    Without ``blocks`` they are those beside the tables, as `blocks_beside` says, and every group needs one. Blocks
    that are given are meant: without ``groups`` the groups that they name are graded and the others left out, and a
    single one stands for a group that is asked for by name even if it names another.

    Raises GradingError where the tables or the audit have errors, with everything that was found; warnings and notes
    are among the job's findings. `check_job` gives errors as findings too.

    >>> import tempfile
    >>> from grading.outputs.starter import write_missing_tables
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     _ = write_missing_tables(Path(folder))
    ...     job = read_job(f"{folder}/sizes.xlsx", f"{folder}/block.xlsx", "Women")
    >>> job
    <Job: Women; no findings>
    >>> round(job["Women"].run["Trank"].cut_polygon("W3").area / 100)  # cm²
    575
    """
    job = check_job(sizes, blocks, groups)
    if has_errors(job.all_findings):
        raise GradingError(job.all_findings)
    return job


def check_job(sizes: FilePath, blocks: FilePath | Iterable[FilePath] = (), groups: str | Iterable[str] = ()) -> Job:
    """As `read_job`, but never raises for what the files hold: everything wrong in them is among the findings."""
    sizes = Path(sizes)
    blocks = several_paths(blocks)
    groups = (groups,) if isinstance(groups, str) else tuple(groups)
    findings = Findings()
    opened, tables = findings.gather(_read_sizes(sizes))
    of_sizes = (opened.path.name, opened.digest)
    drafted: list[BlockRead] = []
    beside = () if blocks else blocks_beside(sizes)
    if beside and not any(path.exists() for path in beside):
        findings.append(_no_block(sizes, beside))
        beside = ()
    for path in blocks or beside:
        block, of_block, more = _read_block(path)
        if blocks or block is None or _concerns(block, groups):
            findings += more
        if block is not None:
            drafted.append((block, of_block))
    named, unit = tuple(table.group for table in tables), common_unit(tables) if tables else unit_named(opened)
    tables, unknown = _chosen(tables, groups, sizes)
    # A group that is not there because its sheet or the whole file has errors has been told of already.
    told = Names(one.place.sheet for one in findings if one.severity is Severity.ERROR)
    if tables or not has_errors(findings):
        findings += [one for one in unknown if one.place.group not in told]
    pairs = []
    if has_errors(findings):
        findings += _rows_missing(opened, drafted, groups)
    else:
        for table, (block, of_block) in findings.gather(
            _paired(tables, drafted, given=bool(blocks), asked=bool(groups))
        ):
            table = table.spelled_as(value.name for value in block.values)
            block = block.with_limits_spelled_as(table.measurements)
            pairs.append((table, block, (of_sizes, of_block)))
            findings += audit_fit(block, table)
    if has_errors(findings):
        return Job((), tuple(findings), named, unit)
    graded = []
    for table, block, inputs in pairs:
        group = _graded(table, block, inputs)
        kept = without_what_follows((*findings, *group.findings), group.run.body)
        graded.append(replace(group, findings=tuple(one for one in group.findings if one in kept)))
        findings = Findings(one for one in findings if one in kept)
    groups_graded = tuple(replace(group, of_tables=tuple(_concerning(group, findings))) for group in graded)
    return Job(groups_graded, tuple(findings), named, unit)


def unit_of_tables(sizes: Path) -> str:
    """The unit that size tables have in common, mm where there are none to be read."""
    return common_unit(_read_sizes(sizes)[0][1]) if sizes.is_file() else "mm"


def several_paths(named: FilePath | Iterable[FilePath]) -> tuple[Path, ...]:
    """One file or several, however they are named."""
    return (Path(named),) if isinstance(named, (str, os.PathLike)) else tuple(map(Path, named))


def _concerning(group: GradedGroup, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings that concern a group: of its sheet of sizes, of its block, or of whole files."""
    sizes, *others = (name for name, _ in group.inputs)
    for one in findings:
        own = Names(["", group.run.group])
        of_sheet, of_group = one.place.sheet in own, one.place.group in own
        if of_group and (one.place.workbook in (*others, "") or (one.place.workbook == sizes and of_sheet)):
            yield one


def _rows_missing(opened: Opened, drafted: Sequence[BlockRead], groups: Iterable[str]) -> Iterator[Finding]:
    """Errors of rows that sheets lack for their blocks, where other errors keep them from being graded."""
    asked = Names(groups)
    for group, rows, sheet in rows_named(opened):
        fitting = _fitting(group, drafted)
        if len(fitting) == 1 and rows and (group in asked or not [*asked]):
            yield from missing_rows(fitting[0][0], group, rows, sheet)


# While tables are watched most of them stay the same: those are not read and graded again.


@dataclass(frozen=True)
class _Keyed:
    """Something to work on, equal to others of the same key."""

    key: tuple[object, ...]
    thing: Any = field(compare=False)


def _file(path: Path) -> tuple[_Keyed, str | None]:
    """A file by its name, its bytes and what lies beside it; and the sum of its bytes, None for one not to be read."""
    try:
        digest = sum_on_disk(path) if path.is_file() else None
    except OSError:
        digest = None  # told by whoever opens it
    return _Keyed((path.name, digest, beside(path)), path), digest


def _read_sizes(path: Path) -> tuple[tuple[Opened, tuple[SizeTable, ...]], Sequence[Finding]]:
    file, digest = _file(path)
    opened, tables, findings = _sizes_of(file)
    if opened.digest != digest:  # saved meanwhile, or no file to be read
        _sizes_of.cache_clear()
    return (opened, tables), findings


@lru_cache(maxsize=4)
def _sizes_of(file: _Keyed) -> tuple[Opened, tuple[SizeTable, ...], tuple[Finding, ...]]:
    findings = Findings()
    opened = findings.gather(open_tables(file.thing))
    tables = findings.gather(read_sizes(opened))
    return opened, tables, tuple(findings)


def _read_block(path: Path) -> tuple[Block | None, Input, Sequence[Finding]]:
    file, digest = _file(path)
    block, of_block, findings = _block_of(file)
    if of_block[1] != digest:  # saved meanwhile, or no file to be read
        _block_of.cache_clear()
    return block, of_block, findings


@lru_cache(maxsize=16)
def _block_of(file: _Keyed) -> tuple[Block | None, Input, tuple[Finding, ...]]:
    findings = Findings()
    opened = findings.gather(open_tables(file.thing))
    block = findings.gather(read_block(opened))
    checked = audit_block(block) if block is not None else ()
    return block, (opened.path.name, opened.digest), (*findings, *checked)


def _graded(table: SizeTable, block: Block, inputs: tuple[Input, Input]) -> GradedGroup:
    return replace(_group_of(_Keyed((table.contents, inputs[1]), (table, block))), inputs=inputs)


@lru_cache(maxsize=16)
def _group_of(wanted: _Keyed) -> GradedGroup:
    table, block = wanted.thing
    run = balanced(grade(block, table))
    loops = cut_lines(run)
    audited = (*audit_table(run.body), *audit_run(run))
    return GradedGroup(run, run_id(block, table), loops, (*audited, *cut_line_findings(run, loops)), ())


def _chosen(
    tables: Sequence[SizeTable], groups: Sequence[str], sizes: Path
) -> tuple[tuple[SizeTable, ...], list[Finding]]:
    """The tables of the groups asked for, all if none is named, and a finding for each that there is not."""
    by_name = {table.group: table for table in tables}
    known = Names(by_name)
    wanted = Names(groups)
    unknown = [_unknown_group(group, list(known), sizes) for group in wanted if group not in known]
    return tuple(by_name[known.settled(group)] for group in (wanted if groups else known) if group in known), unknown


def _unknown_group(group: str, known: Sequence[str], sizes: Path) -> Finding:
    meant = nearest(group, known)
    return Finding.error(
        Code.UNKNOWN_GROUP,
        Place(workbook=sizes.name, group=group),
        f"There is no size group '{group}'{f'; {meant} is perhaps meant' if meant else ''}.",
        f"One of {', '.join(known) or 'the sheets'}.",
        "Name the group as its sheet is named.",
    )


def _paired(
    tables: Sequence[SizeTable], drafted: Sequence[BlockRead], *, given: bool, asked: bool
) -> tuple[list[tuple[SizeTable, BlockRead]], list[Finding]]:
    """Each table with its block; ``given`` are blocks that were named, ``asked`` are groups that were."""
    paired, findings, left = [], [], []
    for table in tables:
        fitting = _fitting(table.group, drafted)
        if not fitting and given and asked and len(drafted) == 1:
            fitting = [*drafted]
            findings.append(_of_another_group(table, drafted[0]))
        if len(fitting) == 1:
            paired.append((table, fitting[0]))
        elif given and not asked and not fitting:
            left.append(table.group)
        else:
            findings.append(_blocks_for_group(table, fitting, drafted))
    if left:
        findings.append(_left_out(left, [name for _, (name, _) in drafted], all_of_them=not paired))
    return paired, findings


def _fitting(group: str, drafted: Iterable[BlockRead]) -> list[BlockRead]:
    """The blocks that name the group, else those that name none."""
    own = [pair for pair in drafted if group in Names(pair[0].groups)]
    return own or [pair for pair in drafted if not pair[0].groups]


def _concerns(block: Block, groups: Sequence[str]) -> bool:
    """Whether a block may be for one of the groups asked for; findings of other blocks are left out."""
    return not groups or not block.groups or any(group in Names(block.groups) for group in groups)


def _no_block(sizes: Path, looked_for: Sequence[Path]) -> Finding:
    return Finding.error(
        Code.FILE_MISSING,
        Place(workbook=looked_for[0].name),
        f"There is no block beside {sizes}: no file whose name begins with 'block' and ends with .xlsx or .ods.",
        "A base block for each group, drawn in one size.",
        "Draft one of a measured hand ('grading draft --help' says how), or name the one you have behind --block.",
    )


def _blocks_for_group(table: SizeTable, fitting: Sequence[BlockRead], drafted: Sequence[BlockRead]) -> Finding:
    if fitting:
        found = f"{len(fitting)} blocks are for group {table.group}: {', '.join(name for _, (name, _) in fitting)}."
        action = f"Let 'Groups' on the sheet Block of only one of them name {table.group}."
    else:
        theirs = ", ".join(f"{name} is for {' and '.join(block.groups)}" for block, (name, _) in drafted)
        found = f"No block is for group {table.group}{f': {theirs}' if theirs else ''}."
        action = (
            f"Write {table.group} behind 'Groups' on the sheet Block of the one that is meant for it, or name both: "
            f"that block behind --block, and {table.group} behind --group."
        )
    return Finding.error(
        Code.BLOCKS_FOR_GROUP,
        Place(group=table.group),
        found,
        "One block for each group: the one that names it, or one that names none.",
        action,
    )


def _of_another_group(table: SizeTable, drafted: BlockRead) -> Finding:
    block, (name, _) = drafted
    return Finding.warning(
        Code.BLOCK_OF_ANOTHER_GROUP,
        Place(workbook=name, group=table.group),
        f"The block is for {', '.join(block.groups)}; it was given, and so {table.group} is graded from it.",
        f"A block whose 'Groups' names {table.group}: its allowances are for the hands of its group.",
        f"Write {table.group} behind 'Groups' on its sheet Block if it is meant for that group.",
    )


def _left_out(groups: Sequence[str], blocks: Sequence[str], *, all_of_them: bool) -> Finding:
    return Finding(
        Code.GROUPS_LEFT_OUT,
        Severity.ERROR if all_of_them else Severity.NOTE,
        Place(workbook=", ".join(blocks)),
        f"Left out, since no block that was given names them: {', '.join(groups)}.",
        "Only the groups that a given block names are graded.",
        "Name a group with --group to have it graded from the block all the same.",
    )
