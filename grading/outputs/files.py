"""Every file of a graded group, by its name in the group's folder."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from grading.asked import program, sum_of
from grading.drawing.paper import PAPERS, Printing
from grading.publish import MADE_FOR
from grading.publish.names import file_name
from grading.version import __version__

if TYPE_CHECKING:
    from grading.engine.graded import GradedGroup
    from grading.outputs.cutting.layers import CuttingFile

__all__ = ["KINDS", "USUAL", "Choices", "Files", "folder_names", "group_files", "made_for_group", "made_from", "record"]

#: The kind of file that tells of all the others, and so is made last.
OVERVIEW = "overview"

#: Files by their names in a group's folder.
Files = Iterator[tuple[str, bytes]]


@dataclass(frozen=True)
class Choices:
    """What to write and how: a paper and its printer, the unit shown, which kinds of file, and the face marked.

    Without a ``unit`` it is that of the tables, as whoever reads them settles before anything is made.
    ``only`` names kinds; none means the usual ones. ``marked_on`` stands for the block's own where given. ``each_hand``
    asks for a pattern for each hand, instead of one card that is turned over.
    """

    printing: Printing = field(default_factory=lambda: Printing(PAPERS["a4"]))
    unit: str = "mm"
    only: tuple[str, ...] = ()
    marked_on: str | None = None
    each_hand: bool = False


def group_files(graded: GradedGroup, choices: Choices) -> Files:
    """The files of one group, one after the other as each is made, so that a caller can show progress."""
    graded = _marked(graded, choices.marked_on)
    made: dict[str, bytes] = {}
    wanted = choices.only or USUAL
    for kind in sorted(wanted, key=lambda kind: kind == OVERVIEW):
        for name, content in KINDS[kind](graded, choices, made):
            made[name] = content
            yield name, content


def _marked(graded: GradedGroup, face: str | None) -> GradedGroup:
    """The group with its skins marked on that face, if one is named, so that every output shows the same."""
    if face is None:
        return graded
    run = graded.run
    return replace(graded, run=replace(run, block=replace(run.block, marked_on=face)))


def record(graded: GradedGroup) -> dict[str, object]:
    """What run.json tells of a run besides its files: what made it, and its figures for a later comparison."""
    from grading.readings.comparison import figures_of_run

    run = graded.run
    known = figures_of_run(run)
    rows = zip(known.by_size.measurements, known.by_size.values.tolist(), strict=True)
    return {
        MADE_FOR: made_for_group(run.group),
        "run": graded.run_id,
        "version": __version__,
        "style": run.block.name,
        "group": run.group,
        "sizes": list(run.sizes),
        "date": run.block.date,
        "inputs": dict(graded.inputs),
        "figures": {name: [round(value, 3) for value in values] for name, values in rows},
        "allowances": {name: round(mm, 3) for name, mm in (known.allowances or {}).items()},
        "points": {name: [round(mm, 3) for mm in place] for name, place in (known.points or {}).items()},
    }


def made_for_group(group: str) -> str:
    """What the record of a size group's folder tells that it is for."""
    return f"size group {group}"


def made_from(graded: GradedGroup, choices: Choices) -> str:
    """The sum of all that a group's files depend on: its figures and texts, what was found, options and program."""
    run = graded.run
    told = (run.block, run.table.units, graded.of_tables, graded.findings, [name for name, _ in graded.inputs])
    return sum_of(graded.run_id, told, choices, program())


def folder_names(groups: Sequence[str]) -> dict[str, str]:
    """A folder name for each group, near to its own and one that every system can hold, no two alike.

    Give all the groups that there are: one keeps its name whichever others are asked for beside it.

    >>> folder_names(["8|9", "Women", "8-9", "women", ".."])
    {'Women': 'Women', '8-9': '8-9', 'women': 'women (2)', '8|9': '8-9 (2)', '..': 'group'}
    """
    names: dict[str, str] = {}
    for group in sorted(groups, key=lambda group: file_name(group, (), "group") != group):
        names[group] = file_name(group, names.values(), "group")
    return names


def _overview(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes]) -> Files:
    from grading.outputs.overview import overview

    yield "overview.pdf", overview(graded, made, choices.printing, choices.unit)


def _nest(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes]) -> Files:
    from grading.outputs.nest import nest

    yield "nest.pdf", nest(graded.run, choices.printing, run_id=graded.run_id, unit=choices.unit)


def _pieces(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes], *, net: bool = False) -> Files:
    from grading.outputs.patterns import patterns
    from grading.outputs.pieces import PatternKind

    wanted = PatternKind(graded.run_id, net, choices.each_hand)
    for name, content in patterns(graded.run, graded.cut_lines, choices.printing, wanted):
        yield f"{'templates' if net else 'patterns'}/{name}.pdf", content


def _spec(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes]) -> Files:
    from grading.outputs.check_sheets import check_sheets
    from grading.outputs.spec import spec_workbook

    yield (
        "spec.xlsx",
        spec_workbook(
            graded.run,
            run_id=graded.run_id,
            inputs=[name for name, _ in graded.inputs],
            findings=(*graded.of_tables, *graded.findings),
            loops=graded.cut_lines,
            unit=choices.unit,
        ),
    )
    for name, content in check_sheets(graded.run, run_id=graded.run_id, unit=choices.unit):
        yield f"check-sheets/{name}.xlsx", content


def _cards(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes]) -> Files:
    from grading.outputs.cards import cards

    yield "spec-cards.pdf", cards(graded.run, choices.printing, run_id=graded.run_id, unit=choices.unit)


def _svg(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes]) -> Files:
    from grading.outputs.cutting.svg import svg_file

    for name, file in _cutting(graded):
        yield f"cutting/{name} {file.hand}.svg", svg_file(file)


def _dxf(graded: GradedGroup, choices: Choices, made: Mapping[str, bytes]) -> Files:
    from grading.outputs.cutting.dxf import cutting_dxf, pattern_data

    block, base = graded.run.block, graded.run.base
    for name, file in _cutting(graded):
        yield f"cutting/{name} {file.hand}.dxf", cutting_dxf(file)
        if file.hand == block.shown.hand:
            base_size = "" if base is None else graded.run.sizes[base]
            yield f"cutting/{name} pattern data.dxf", pattern_data(file, block.name, block.date, base_size)


def _cutting(graded: GradedGroup) -> Iterator[tuple[str, CuttingFile]]:
    """Every size and hand to cut, with the name of its file without hand and ending."""
    from grading.outputs.cutting.layers import cutting_files

    names: dict[str, str] = {}
    for file in cutting_files(graded.run, graded.cut_lines, graded.run_id):
        if file.size not in names:
            names[file.size] = file_name(file.size, names.values(), "size")
        yield names[file.size], file


#: What can be written, by the word of the option --only; each knows the files that were made before it.
KINDS: Mapping[str, Callable[[GradedGroup, Choices, Mapping[str, bytes]], Files]] = {
    OVERVIEW: _overview,
    "nest": _nest,
    "patterns": _pieces,
    "templates": partial(_pieces, net=True),
    "spec": _spec,
    "cards": _cards,
    "svg": _svg,
    "dxf": _dxf,
}
#: What is written when nothing is asked for by name.
USUAL = (OVERVIEW, "nest", "patterns", "spec", "cards")
