"""What is said of a returned pair."""

from __future__ import annotations

from collections.abc import Iterable

from grading.readings.returns import JudgedPair, PairVerdict
from grading.units import show

__all__ = ["pair_told"]


def pair_told(pair: JudgedPair, unit: str) -> str:
    """Why a pair is not good, by figures and the measures that have them; nothing of one that is."""
    parts = []
    if pair.apart:
        differ = _together(
            (f"left {_length(by, unit)} {'longer' if by > 0 else 'shorter'}", name) for name, by in pair.apart.items()
        )
        parts.append(f"the two differ: {differ}")
    if pair.wrong:
        named = (
            (f"{one.reading.hand} {_length(one.deviation, unit)} too {one.verdict}", one.reading.measure)
            for one in pair.wrong
        )
        parts.append(f"mend {_together(named)}")
    if pair.open and pair.verdict is PairVerdict.CHECK:
        first, *rest = pair.open
        parts.append(f"cannot be judged: {first}{f' and {len(rest)} more' if rest else ''}")
    return "; ".join(parts)


def _together(told: Iterable[tuple[str, str]]) -> str:
    """What is told, each once with the measures that it is told of."""
    measures: dict[str, list[str]] = {}
    for said, measure in told:
        measures.setdefault(said, []).append(measure)
    return ", ".join(f"{said} in {', '.join(names)}" for said, names in measures.items())


def _length(deviation: float | None, unit: str) -> str:
    return f"{show(round(abs(deviation or 0.0), 6), unit)} {unit}"
