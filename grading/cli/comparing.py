"""How a comparison of two states of a group is told."""

from __future__ import annotations

from grading.cli.telling import columns, lines_of
from grading.findings import counted
from grading.readings.comparison import Comparison
from grading.units import show, signed

__all__ = ["comparison_as_data", "comparison_told"]

_WIDTH = 78


def comparison_told(one: Comparison, unit: str) -> str:
    """What changed, first what holds in every size, then size by size; then what was not compared."""
    lines = [*_summary(one, unit)]
    uneven = [name for name in map(str, one.changed.index) if name not in one.everywhere]
    if uneven:
        rows = [[name, *(show(float(mm), unit) for mm in one.changed.loc[name].to_numpy())] for name in uneven]
        lines += ["", columns([f"{one.group}: change ({unit})", *map(str, one.change.columns)], rows)]
    if not one.differs:
        lines.append(f"{one.group}: {'no figure changed' if one.is_whole else 'nothing changed of what was compared'}.")
    for words, names in (
        ("not compared", one.not_compared),
        ("not compared, only here", one.rows_added),
        ("not compared, only there", one.rows_gone),
        ("not compared, sizes only here", one.sizes_added),
        ("not compared, sizes only there", one.sizes_gone),
    ):
        if names:
            lines += lines_of(f"{words}: {', '.join(names)}", _WIDTH, indent="  ")
    return "\n".join(lines)


def _summary(one: Comparison, unit: str) -> list[str]:
    allowances = [f"{name} {show(was, unit)} → {show(now, unit)} {unit}" for name, (was, now) in one.allowances.items()]
    effects = [f"{name} {signed(mm, unit)} in every size" for name, mm in one.everywhere.items()]
    said = []
    if allowances or effects:
        said.append(": ".join([one.group, *(", ".join(some) for some in (allowances, effects) if some)]))
    if one.moved:
        farthest = max(one.moved, key=lambda name: one.moved[name])
        most = f"{farthest} most: {show(one.moved[farthest], unit)} {unit}"
        said.append(f"{one.group}: {counted(len(one.moved), 'point')} of the block moved, {most}")
    return [line for text in said for line in lines_of(text, _WIDTH, indent="  ")]


def comparison_as_data(one: Comparison) -> dict[str, object]:
    """A comparison as JSON can hold it, in mm."""
    return {
        "group": one.group,
        "change": {str(name): row.to_dict() for name, row in one.changed.round(3).iterrows()},
        "allowances": {name: {"was": was, "now": now} for name, (was, now) in one.allowances.items()},
        "points moved": {name: round(mm, 3) for name, mm in one.moved.items()},
        "not compared": list(one.not_compared),
        "rows added": one.rows_added,
        "rows gone": one.rows_gone,
        "sizes added": one.sizes_added,
        "sizes gone": one.sizes_gone,
    }
