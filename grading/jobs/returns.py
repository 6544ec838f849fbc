"""The job of 'grading returns': read every check sheet, find the run it belongs to, judge what was measured."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from grading.codes import Code
from grading.drawing.paper import Printing
from grading.engine.run import SizeRun
from grading.findings import Finding, Findings, GradingError, Place, Severity, counted, has_errors
from grading.jobs.tables import FilePath, several_paths
from grading.model.returns import CheckSheet, TargetGiven
from grading.model.stock import StockTable
from grading.outputs.printable import unprintable_makers
from grading.outputs.returns_page import returned_page
from grading.outputs.returns_workbook import returns_workbook
from grading.publish import MADE_FOR, Published, publish
from grading.readings.mistaken import doubled_measures, mistaken_unit, same_readings
from grading.readings.returns import Returned, judge, judged
from grading.readings.targets import targets
from grading.sheets.opening import Opened, open_tables
from grading.sheets.returns import read_check_sheets
from grading.sheets.stock import read_stock
from grading.version import __version__

__all__ = ["check_returns", "pay_table", "read_returns", "write_returns"]

#: A figure of a sheet that differs from the run's by more than this, mm, was altered.
_SAME = 1e-3


def read_returns(
    paths: FilePath | Iterable[FilePath], runs: Mapping[str, SizeRun], *, any_run: bool = False
) -> Returned:
    """Every check sheet in the files, judged against the run that it was handed out with.

    ``runs`` are those known, by run id. A sheet of another run is refused with an error, or with ``any_run`` judged
    by the figures that stand on it. Raises GradingError where a file cannot be read or a sheet is refused, with
    everything that was found; `check_returns` judges the others all the same, and gives errors as findings.
    """
    returned = check_returns(paths, runs, any_run=any_run)
    if has_errors(returned.findings):
        raise GradingError(returned.findings)
    return returned


def check_returns(
    paths: FilePath | Iterable[FilePath], runs: Mapping[str, SizeRun], *, any_run: bool = False
) -> Returned:
    """As `read_returns`, but never raises for what the files hold: everything wrong in them is among the findings."""
    findings = Findings()
    taken: list[tuple[CheckSheet, Mapping[str, TargetGiven | None]]] = []
    digests: dict[str, str] = {}
    for path, name in _names_of(several_paths(paths)).items():
        opened = findings.gather(_opened_as(path, name))
        if opened.digest and opened.digest in digests:
            findings.append(_same_file(name, digests[opened.digest]))
            continue
        if opened.grids:
            digests[opened.digest] = name
        for sheet in findings.gather(read_check_sheets(opened)):
            if run := runs.get(sheet.run_id):
                sheet = sheet.spelled_as(run.group, run.sizes, [measure.name for measure in run.block.measures])
            asked = findings.gather(_targets_of(sheet, runs, any_run))
            if asked is None:
                continue
            if again := same_readings(sheet, [other for other, _ in taken]):
                other, adds_none = again
                findings.append(_same_figures(sheet, other, adds_none))
                if sheet.maker == other.maker and adds_none:
                    continue
                if sheet.maker == other.maker:
                    taken = [one for one in taken if one[0] is not other]
            doubted = findings.gather(_doubted_measures(sheet, asked))
            taken.append((sheet, {**asked, **dict.fromkeys(doubted)}))
    order = [(key, size) for key, run in runs.items() for size in run.sizes]
    places = {place: number for number, place in enumerate(order)}
    taken.sort(key=lambda one: places.get((one[0].run_id, one[0].size), len(places)))
    readings = [reading for sheet, asked in taken for reading in judged(sheet, asked)]
    findings += unprintable_makers(sheet for sheet, _ in taken)
    return Returned(judge(readings), tuple(sheet for sheet, _ in taken), digests, tuple(findings))


def pay_table(path: Path) -> tuple[StockTable | None, list[Finding]]:
    """The stock table by which good pairs are paid; None where it says nothing of pay or has errors, with a note."""
    findings = Findings()
    table = findings.gather(read_stock(findings.gather(open_tables(path))))
    if table is not None:
        return table if table.work else None, []
    errors = sum(one.severity is Severity.ERROR for one in findings)
    return None, [
        Finding.note(
            Code.PAY_NOT_TOLD,
            Place(workbook=path.name),
            f"What good pairs pay is not told: the stock table has {counted(errors, 'error')}.",
            "",
            "'grading stock' says what and where.",
        )
    ]


def write_returns(
    returned: Returned,
    out: Path,
    printing: Printing,
    unit: str,
    *,
    stock: StockTable | None = None,
    replace: bool = False,
) -> Published:
    """Write the judgement as a workbook and a page into the folder ``out``, figures in ``unit``, pay by ``stock``."""
    told = {MADE_FOR: "returned check sheets", "version": __version__, "returned": dict(returned.files)}
    files = {
        "returns.xlsx": returns_workbook(returned, unit, stock),
        "returns.pdf": returned_page(returned.judgement, printing, unit),
    }
    return publish(out, files, told, replace=replace, remove_stale=False)


def _names_of(paths: Iterable[Path]) -> dict[Path, str]:
    """What to call each file: by its name, or by its whole path where others are called alike."""
    paths = tuple(paths)
    names = Counter(path.name for path in paths)
    return {path: path.name if names[path.name] == 1 else str(path) for path in paths}


def _opened_as(path: Path, name: str) -> tuple[Opened, list[Finding]]:
    """A file opened; its grids and findings call it by that name."""
    opened, findings = open_tables(path)
    grids = tuple(replace(grid, workbook=name) for grid in opened.grids)
    return replace(opened, grids=grids), [replace(one, place=replace(one.place, workbook=name)) for one in findings]


def _targets_of(
    sheet: CheckSheet, runs: Mapping[str, SizeRun], any_run: bool
) -> tuple[Mapping[str, TargetGiven | None] | None, list[Finding]]:
    """The targets of a sheet's measures by their names, None if the sheet is refused; and findings."""
    given = dict(sheet.given)
    run = runs.get(sheet.run_id)
    if run is None:
        found = (
            f"The sheet is of run {sheet.run_id}, size {sheet.size} of {sheet.group}, which these tables do not give."
        )
        if any_run:
            expected = "It is judged by the figures that stand on it."
            return given, [Finding.note(Code.OTHER_RUN, sheet.place, found, expected, "")]
        expected = "A sheet of a run that the tables give, so that it is judged by the right figures."
        action = "Name the tables it was made from, or give --any-run to judge it by its own figures."
        return None, [Finding.error(Code.OTHER_RUN, sheet.place, found, expected, action)]
    if sheet.size not in run.sizes or sheet.group != run.group:
        return None, [_not_in_run(sheet, run)]
    of_size = targets(run, sheet.unit)[run.sizes.index(sheet.size)]
    asked: dict[str, TargetGiven | None] = {
        target.measure.name: TargetGiven(*target.mm, target.measure.pair_within) for target in of_size
    }
    findings = []
    if changed := [name for name, _ in sheet.given if not _alike(given[name], asked.get(name))]:
        findings.append(_altered(sheet, changed))
    if lost := [target.measure.name for target in of_size if target.measure.name not in given]:
        findings.append(_rows_lost(sheet, lost))
    # A measure that the run does not know is judged by what stands beside it.
    return {**given, **asked}, findings


def _doubted_measures(
    sheet: CheckSheet, asked: Mapping[str, TargetGiven | None]
) -> tuple[tuple[str, ...], list[Finding]]:
    """The measures whose readings are not to be judged as they stand, and why."""
    if unit := mistaken_unit(sheet, asked):
        factor, cause = unit
        whose = f"All figures of {sheet.name or 'the sheet'} for size {sheet.size}"
        found = f"{whose} are {factor:.3g} times what they are to be."
        action = (
            f"Most likely {cause}. Ask whoever measured, and correct 'Unit' or the figures. None of them is judged."
        )
        expected = f"Figures in {sheet.unit}, as the sheet says."
        return tuple(asked), [Finding.error(Code.UNIT_MISTAKEN, sheet.place, found, expected, action)]
    findings = []
    doubled = doubled_measures(sheet, asked)
    for measure, factor in doubled.items():
        first = next(one for one in sheet.readings if one.measure == measure)
        times, how = ("twice", "round instead of across") if factor > 1 else ("half", "across instead of round")
        findings.append(
            Finding.error(
                Code.MEASURED_OTHERWISE,
                first.place,
                f"All readings of {measure} are {times} its figure.",
                "The measure as the sheet's drawing shows it.",
                f"Most likely the tape was laid {how}. Ask, and measure again. These readings are not judged.",
                f"measured {times}",
            )
        )
    return tuple(doubled), findings


def _same_figures(sheet: CheckSheet, other: CheckSheet, adds_none: bool) -> Finding:
    found = f"Its figures for size {sheet.size} are those of {other.place}"
    if sheet.maker != other.maker:
        found += f", by {other.name or 'nobody named'}."
        expected = "Two people's work differs by more than nothing. Both are counted."
        return Finding.warning(Code.SHEET_TWICE, sheet.place, found, expected, "Ask whose figures they are.")
    expected = f"Each sheet once; {'it was counted once' if adds_none else 'this one says more and was counted'}."
    return Finding.warning(Code.SHEET_TWICE, sheet.place, f"{found}.", expected, "Leave one away.")


def _alike(one: TargetGiven | None, other: TargetGiven | None) -> bool:
    if one is None or other is None:
        return False
    apart = (one.figure - other.figure, one.minus - other.minus, one.plus - other.plus)
    return all(abs(mm) <= _SAME for mm in apart)


def _same_file(name: str, other: str) -> Finding:
    return Finding.warning(
        Code.FILE_TWICE,
        Place(workbook=name),
        f"It is the same as {other}, to the byte.",
        "Each file once; it was counted once.",
        "Leave one away.",
    )


def _not_in_run(sheet: CheckSheet, run: SizeRun) -> Finding:
    return Finding.error(
        Code.SIZE_NOT_IN_RUN,
        sheet.place,
        f"Run {sheet.run_id} has no size {sheet.size} of {sheet.group}.",
        f"One of {', '.join(run.sizes)} of {run.group}.",
        "Ask for the sheet as it was handed out.",
    )


def _rows_lost(sheet: CheckSheet, measures: Sequence[str]) -> Finding:
    return Finding.warning(
        Code.ROWS_MISSING,
        sheet.place,
        f"The sheet has no row any more for: {', '.join(measures)}.",
        "A row for each measure of the run, filled in or not.",
        "Ask what was measured there, and whether anything was.",
    )


def _altered(sheet: CheckSheet, measures: Sequence[str]) -> Finding:
    return Finding.warning(
        Code.FIGURES_ALTERED,
        sheet.place,
        f"Figures or tolerances on the sheet are not the run's: {', '.join(measures)}.",
        "The figures that were handed out; the readings are judged by those of the run.",
        "Ask whether the work was sewn to the altered figures.",
    )
