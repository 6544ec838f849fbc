"""The job of 'grading hand': one customer's pair from what was measured, each hand into a folder of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from grading.drafting.one_hand import OneHand, one_pair, stock_group
from grading.engine.graded import GradedGroup, Input
from grading.findings import Finding, Place, Severity, has_errors
from grading.jobs.tables import check_job
from grading.jobs.told import in_unit
from grading.model.hands import LEFT, RIGHT
from grading.model.measured import Hands
from grading.outputs.files import USUAL, Choices, folder_names, group_files, record
from grading.outputs.one_hand import NEAREST, nearest_sheet
from grading.outputs.printable import unprintable
from grading.publish import MADE_FOR, Published, occupied, publish, read_record

__all__ = ["KINDS", "UNNAMED", "PreparedHand", "PreparedPair", "prepared_pair"]

#: The kinds of file that are written: a nest of one size says nothing.
KINDS = tuple(kind for kind in USUAL if kind != "nest")
#: What a pair is called that nobody named.
UNNAMED = "One pair"


@dataclass(frozen=True, eq=False)
class PreparedHand:
    """One hand's pattern that is to be written into its folder, and the group of sizes that it was made from."""

    hand: OneHand
    stock: GradedGroup
    folder: Path

    def publish(self, choices: Choices, *, replace: bool = False) -> Published:
        """Make the hand's files and put them into its folder; ``replace`` those that somebody has changed."""
        graded = self.hand.graded
        files = dict(group_files(graded, choices))
        files[NEAREST] = nearest_sheet(self.hand, self.stock, choices.printing, choices.unit)
        told = record(graded) | {MADE_FOR: _made_for(self.hand)}
        return publish(self.folder, files, told, replace=replace)


@dataclass(frozen=True, eq=False)
class PreparedPair:
    """The hands of a pair, one for both where they are alike, and all that was found; no hands where it is an error.

    ``unit`` is the one that findings are told in and figures are to be shown in.
    """

    hands: tuple[PreparedHand, ...]
    findings: tuple[Finding, ...]
    unit: str


def prepared_pair(
    measured: Hands,
    sizes: Path,
    blocks: Sequence[Path],
    groups: Sequence[str],
    out: Path,
    *,
    name: str | None = None,
    inputs: Sequence[Input] = (),
    unit: str | None = None,
) -> PreparedPair:
    """Grade a group's block to the hands that were measured. Nothing is written yet.

    Without a ``unit`` it is that of the tables.
    ``inputs`` are the files that the measurements came from; without a ``name`` the pair is called `UNNAMED`.
    """
    job = check_job(sizes, blocks, groups)
    unit = unit or job.unit
    findings = [*job.findings]
    if has_errors(findings):
        return _refused(findings, unit)
    stock, found = stock_group(job.groups)
    findings += found
    if stock is None:
        return _refused(findings, unit)
    pair, found = one_pair(measured, stock, UNNAMED if name is None else name, inputs)
    findings += found
    folders = folder_names([one.graded.run.group for one in pair])
    hands = tuple(PreparedHand(one, stock, out / folders[one.graded.run.group]) for one in pair)
    for one in hands:
        run = one.hand.graded.run
        findings += [*unprintable(run.block, run.table), *occupied(one.folder, _made_for(one.hand))]
    if name is None:
        findings += _another_unnamed(out, {one.graded.run_id for one in pair})
    if has_errors(findings):
        return _refused(findings, unit)
    of_pair = [one for hand in pair for one in hand.graded.findings]
    of_tables = tuple(one for one in findings if one not in of_pair)
    told = tuple(_with_findings(one, of_tables, unit) for one in hands)
    return PreparedPair(told, tuple(in_unit(findings, unit)), unit)


def _refused(findings: Sequence[Finding], unit: str) -> PreparedPair:
    return PreparedPair((), tuple(in_unit(findings, unit)), unit)


def _with_findings(prepared: PreparedHand, of_tables: tuple[Finding, ...], unit: str) -> PreparedHand:
    """The hand as it tells, in its own files, what was found in the tables and the measurements."""
    hand, graded = prepared.hand, prepared.hand.graded
    own, tables = (tuple(in_unit(found, unit)) for found in (graded.findings, of_tables))
    return replace(prepared, hand=replace(hand, graded=replace(graded, findings=own, of_tables=tables)))


def _made_for(one: OneHand) -> str:
    return f"customer's pair {one.graded.run.group}"


def _another_unnamed(out: Path, runs: set[str]) -> Iterator[Finding]:
    """A finding if a pair without a name of its own is there already, and is none of these runs'."""
    for folder in (out / UNNAMED, *(out / f"{UNNAMED}, {hand} hand" for hand in (LEFT, RIGHT))):
        record = read_record(folder)
        if record is not None and record.outputs and record.run not in runs:
            found = f"There is a pair in {folder} already, which had no name of its own."
            expected = "A name for each pair: the next one would take the place of the first."
            action = "Say whose it is, as --name 'Order 12'."
            yield Finding("name-needed", Severity.ERROR, Place(), found, expected, action)
            return
