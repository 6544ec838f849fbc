"""The job of 'grading hand': one customer's pair from what was measured, into a folder of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from grading.asked import Tables
from grading.codes import Code
from grading.drafting.one_hand import OneHand, one_pair, stock_group
from grading.engine.balance import balanced
from grading.engine.graded import GradedGroup, Input, run_id
from grading.engine.run import grade
from grading.findings import Finding, Findings, Place, has_errors
from grading.jobs.tables import check_job
from grading.jobs.told import in_unit
from grading.model.measured import Hands
from grading.outputs.files import USUAL, Choices, folder_names, group_files, record
from grading.outputs.one_hand import NEAREST, nearest_sheet
from grading.outputs.pair_card import PAIR_CARD, pair_card
from grading.outputs.printable import unprintable
from grading.publish import MADE_FOR, Published, occupied, publish, read_record

__all__ = ["UNNAMED", "PreparedPair", "prepared_pair"]

#: The kinds of file that each hand has where the two differ: a nest of one size says nothing, and one card is of both.
OF_EACH = tuple(kind for kind in USUAL if kind not in ("nest", "cards"))
#: What a pair is called that nobody named.
UNNAMED = "One pair"


@dataclass(frozen=True, eq=False)
class PreparedPair:
    """A pair that is to be written into its folder.

    ``hands`` is one for both where they are alike, else left and right; ``whole`` the pair as a run, in which hands
    are sizes; ``stock`` the group of sizes that it was made from. Figures are shown in ``unit``.
    """

    name: str
    hands: tuple[OneHand, ...]
    whole: GradedGroup
    stock: GradedGroup
    folder: Path
    unit: str

    def publish(self, choices: Choices, *, replace: bool = False) -> Published:
        """Make the pair's files, whichever kinds are chosen, and put them into its folder; ``replace`` those that
        somebody has changed.
        """
        files = self._each_and_their_card(choices) if len(self.hands) > 1 else self._one_for_both(choices)
        files[NEAREST] = nearest_sheet(self.hands, self.name, self.stock, choices.printing, choices.unit)
        told = record(self.whole) | {MADE_FOR: _made_for(self.name)}
        return publish(self.folder, files, told, replace=replace)

    def _one_for_both(self, choices: Choices) -> dict[str, bytes]:
        (both,) = self.hands
        return dict(group_files(both.graded, replace(choices, only=(*OF_EACH, "cards"))))

    def _each_and_their_card(self, choices: Choices) -> dict[str, bytes]:
        """The files of each hand under its name, and one card for the two."""
        of_each = replace(choices, only=OF_EACH)
        made = ((one.hand, group_files(one.graded, of_each)) for one in self.hands)
        files = {f"{hand}/{name}": content for hand, made_for in made for name, content in made_for}
        left, right = (one.graded.run for one in self.hands)
        run = self.whole.run_id
        return files | {PAIR_CARD: pair_card(left, right, self.name, choices.printing, run_id=run, unit=choices.unit)}


def prepared_pair(
    measured: Hands,
    tables: Tables,
    out: Path,
    *,
    name: str | None = None,
    inputs: Sequence[Input] = (),
    earlier: Sequence[Finding] = (),
    unit: str | None = None,
    same_length: bool = False,
) -> tuple[PreparedPair | None, list[Finding]]:
    """A group's block graded to the hands that were measured, or None where an error stands in the way; and findings.

    Nothing is written yet. Without a ``unit`` it is that of the tables. ``inputs`` are the files that the measurements
    came from, ``earlier`` the findings in those; without a ``name`` the pair is called `UNNAMED`. With ``same_length``
    both are as long as the longer.
    """
    job = check_job(*tables)
    unit = unit or job.unit
    called = UNNAMED if name is None else " ".join(name.split())
    folder = out / folder_names([called])[called]
    findings = Findings([*earlier, *job.findings])
    stock = None if has_errors(findings) else findings.gather(stock_group(job.groups))
    if stock is None:
        return None, in_unit(findings, unit)
    hands = findings.gather(one_pair(measured, stock, called, inputs, same_length=same_length))
    findings += occupied(folder, _made_for(called))
    for one in hands:
        findings += unprintable(one.graded.run.block, one.graded.run.table)
    if not hands or has_errors(findings):
        return None, in_unit(findings, unit)
    whole = _as_one_run(hands, stock, called)
    if name is None:
        findings += _another_unnamed(folder, whole.run_id)
    if has_errors(findings):
        return None, in_unit(findings, unit)
    of_hands = [finding for one in hands for finding in one.graded.findings]
    of_tables = tuple(in_unit([one for one in findings if one not in of_hands], unit))
    graded = (
        replace(
            one.graded, run_id=whole.run_id, findings=tuple(in_unit(one.graded.findings, unit)), of_tables=of_tables
        )
        for one in hands
    )
    hands = tuple(replace(one, graded=group) for one, group in zip(hands, graded, strict=True))
    return PreparedPair(called, hands, whole, stock, folder, unit), in_unit(findings, unit)


def _as_one_run(hands: Sequence[OneHand], stock: GradedGroup, name: str) -> GradedGroup:
    """The pair as one run in which each hand is a size; the run of the one hand where both are alike."""
    first = hands[0].graded
    if len(hands) == 1:
        return first
    values = np.hstack([one.graded.run.table.values for one in hands])
    table = replace(first.run.table, group=name, sizes=tuple(one.hand for one in hands), values=values)
    run = balanced(grade(stock.run.block, table))
    return GradedGroup(run, run_id(stock.run.block, table), (), (), first.inputs)


def _made_for(name: str) -> str:
    return f"customer's pair {name}"


def _another_unnamed(folder: Path, run: str) -> Iterator[Finding]:
    """An error if another pair without a name is there already."""
    record = read_record(folder)
    if record is not None and record.outputs and record.run != run:
        found = f"There is a pair in {folder} already, which had no name of its own."
        expected = "A name for each pair: the next one would take the place of the first."
        action = "Say whose it is, as --name 'Order 12'."
        yield Finding.error(Code.NAME_NEEDED, Place(), found, expected, action)
