"""Check sheets whose figures cannot be what they seem: another unit, tapes laid round instead of across, sent twice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from grading.model.returns import CheckSheet, Reading, TargetGiven

__all__ = ["doubled_measures", "mistaken_unit", "same_readings"]

#: What all figures of a sheet are multiplied by where they are in another unit than the sheet says, and how that came.
_UNITS = {
    0.1: "centimetres written as millimetres, or inches as decimetres",
    10.0: "millimetres written as centimetres",
    1 / 25.4: "inches written as millimetres",
    25.4: "millimetres written as inches",
    1 / 2.54: "inches written as centimetres",
    2.54: "centimetres written as inches",
}
#: Finished work lies within this part of its figure, whatever goes wrong in the sewing.
_NEAR = 0.15
#: So large a part of a sheet's readings has to agree, and so many at the least.
_MOST, _FEWEST = 0.8, 3
#: With fewer readings two sheets may be alike by chance.
_FEWEST_ALIKE = 6


def mistaken_unit(sheet: CheckSheet, targets: Mapping[str, TargetGiven | None]) -> tuple[float, str] | None:
    """What a whole sheet's figures are multiplied by and the likely cause, or None where they are in their unit.

    ``targets`` are those of the measures, by their names.
    """
    ratios = [ratio for _, ratio in _ratios(sheet.readings, targets)]
    for factor, cause in _UNITS.items():
        near = sum(abs(ratio / factor - 1) < _NEAR for ratio in ratios)
        if near >= max(_FEWEST, _MOST * len(ratios)):
            return factor, cause
    return None


def doubled_measures(sheet: CheckSheet, targets: Mapping[str, TargetGiven | None]) -> dict[str, float]:
    """The measures all of whose readings are about twice their figure, or half of it, with which of the two.

    One reading may be a slip, and is left to be looked at by itself.
    """
    by_measure: dict[str, list[float]] = {}
    for reading, ratio in _ratios(sheet.readings, targets):
        by_measure.setdefault(reading.measure, []).append(ratio)
    return {
        measure: factor
        for measure, ratios in by_measure.items()
        for factor in (2.0, 0.5)
        if len(ratios) > 1 and all(abs(ratio / factor - 1) < _NEAR for ratio in ratios)
    }


def same_readings(sheet: CheckSheet, others: Sequence[CheckSheet]) -> tuple[CheckSheet, bool] | None:
    """The sheet among ``others`` whose readings this one repeats, and whether it adds none; None if there is none.

    Sheets of one run and size that agree in whatever both say, and say enough for that to be no chance. It need not
    be one person's: the same figures under two names are one sheet with one name too many.
    """
    own = _figures(sheet)
    for other in others:
        theirs = _figures(other)
        common = own.keys() & theirs.keys()
        fewest = 1 if other.maker == sheet.maker and own == theirs else _FEWEST_ALIKE
        of_one_size = (other.run_id, other.group, other.size) == (sheet.run_id, sheet.group, sheet.size)
        if of_one_size and len(common) >= fewest and all(own[key] == theirs[key] for key in common):
            return other, own.keys() <= theirs.keys()
    return None


def _figures(sheet: CheckSheet) -> dict[tuple[str, int, str], float]:
    """What was measured, mm, by measure, pair and hand."""
    return {(one.measure, one.pair, one.hand): round(one.mm, 3) for one in sheet.readings if one.mm is not None}


def _ratios(readings: Iterable[Reading], targets: Mapping[str, TargetGiven | None]) -> list[tuple[Reading, float]]:
    """Each reading with what it is of its figure, where both are known."""
    ratios = []
    for reading in readings:
        target = targets.get(reading.measure)
        if reading.mm is not None and target is not None and target.figure > 0:
            ratios.append((reading, reading.mm / target.figure))
    return ratios
