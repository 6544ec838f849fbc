"""The sweep's result as text: counts by sheet and kind of change, and the worst of what is silent."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from verdicts import CHOICE, CRASH, HARMFUL, LATENT, SMALL, Verdict

__all__ = ["crashes", "harmful", "kinds", "sheet_of", "table"]

#: Changes of a figure by a factor or a step that no hand has, and those that might be another hand's.
GROSS = ("×0.1", "×0.5", "×2", "×10", "×25.4")
HEADINGS = (
    "sheet", "change", "tried", CRASH, "error", "warning", "note", "silent", SMALL, CHOICE, LATENT, HARMFUL, "mm",
)  # fmt: skip


def sheet_of(verdict: Verdict) -> str:
    change = verdict.change
    return f"sizes: {change.sheet}" if change.workbook == "sizes.xlsx" else change.sheet


def kinds(verdict: Verdict) -> str:
    kind = verdict.change.kind
    if kind[0] not in "×+-":
        return kind
    return "figure, ×0.1 to ×25.4" if kind in GROSS else "figure, ×0.9 ×1.1 ±3"


def table(verdicts: Sequence[Verdict]) -> str:
    """Counts by sheet and kind of change, by sheet, and in all; the last column is the farthest that a line moves."""
    lines = ["| " + " | ".join(HEADINGS) + " |", "|" + " --- |" * 2 + " ---: |" * (len(HEADINGS) - 2)]
    for sheet in dict.fromkeys(map(sheet_of, verdicts)):
        of_sheet = [verdict for verdict in verdicts if sheet_of(verdict) == sheet]
        for kind in dict.fromkeys(map(kinds, of_sheet)):
            lines.append(_row(sheet, kind, [verdict for verdict in of_sheet if kinds(verdict) == kind]))
        lines.append(_row(f"**{sheet}**", "**all**", of_sheet))
    lines.append(_row("**all**", "**all**", verdicts))
    return "\n".join(lines)


def harmful(verdicts: Iterable[Verdict], kind: str = HARMFUL) -> str:
    """What is silent and harmful, by sheet, column and kind of change: how often, how far, and the worst of them."""
    grouped: dict[tuple[str, str, str], list[Verdict]] = {}
    for verdict in verdicts:
        if verdict.kind == kind:
            key = sheet_of(verdict), verdict.change.column, kinds(verdict)
            grouped.setdefault(key, []).append(verdict)
    reach: Callable[[Verdict], float] = lambda verdict: verdict.latent if kind == LATENT else verdict.moved  # noqa: E731
    lines = []
    for (sheet, column, change), found in sorted(grouped.items(), key=lambda pair: -len(pair[1])):
        worst = max(found, key=reach)
        where = ", ".join(part for part in (sheet, column) if part)
        lines.append(f"- **{where}**, {change}: {len(found)} silent, up to {reach(worst):.1f} mm. E.g. {worst}")
    return "\n".join(lines)


def crashes(verdicts: Iterable[Verdict]) -> str:
    return "\n".join(f"- {verdict.change}: {', '.join(verdict.codes)}" for verdict in verdicts if verdict.told == CRASH)


def _row(sheet: str, kind: str, verdicts: Sequence[Verdict]) -> str:
    told = [sum(verdict.told == severity for verdict in verdicts) for severity in (CRASH, "error", "warning", "note")]
    silent = [verdict for verdict in verdicts if verdict.told is None]
    of_kind = [sum(verdict.kind == kind for verdict in silent) for kind in (SMALL, CHOICE, LATENT, HARMFUL)]
    moved = max((verdict.moved for verdict in silent if verdict.kind == HARMFUL), default=0.0)
    figures = [len(verdicts), *told, len(silent), *of_kind]
    return "| " + " | ".join([sheet, kind, *(str(figure) for figure in figures), f"{moved:.1f}"]) + " |"
