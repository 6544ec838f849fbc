"""Audit the fixed figures of a block, allowances and layer: that each is held to bounds, and that those can be kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from grading.audit.mistaken import likely_unit
from grading.codes import Code
from grading.findings import Finding, Place
from grading.model.block import Block, Kind

__all__ = ["ALLOWANCE_RULES"]

#: What leather and pressed pile of a mitten come to at most, mm, and leather at least. Common practice.
THICKEST_LEATHER, THINNEST_LEATHER, DEEPEST_PILE = 4.0, 0.3, 12.0


def _without_bounds(block: Block) -> Iterator[Finding]:
    """Every allowance that the block states is held by a row on Limits: else a slip in it is told by nobody."""
    held = {limit.what for limit in block.limits}
    loose = [value for value in block.values if value.kind is Kind.ALLOWANCE and value.name not in held]
    if block.limits and loose:
        yield Finding.note(
            Code.ALLOWANCE_WITHOUT_BOUNDS,
            replace(loose[0].place, cell=""),
            f"No limit holds {', '.join(value.name for value in loose)}.",
            "A row on the sheet Limits for each allowance, with the least and the most that you would use: another "
            "unit or a digit too many is then told.",
            "Add the rows, or leave it.",
        )


def _bounds_crossed(block: Block) -> Iterator[Finding]:
    for limit in block.limits:
        if isinstance(limit.least, float) and isinstance(limit.most, float) and limit.least > limit.most:
            yield Finding.error(
                Code.LIMIT_KEEPS_NOTHING,
                limit.place,
                f"The limit '{limit.name}' asks for at least {limit.least:g} and at most {limit.most:g}.",
                "A least that is below the most: or no figure keeps it.",
                "Exchange the two, or correct one.",
            )
        if limit.least is None and limit.most is None:
            yield Finding.warning(
                Code.LIMIT_WITHOUT_BOUNDS,
                limit.place,
                f"The limit '{limit.name}' has neither a least nor a most.",
                "One of them at least: or it holds nothing.",
                "Fill in what the limit is to ask, or delete its row.",
            )


def _used_now_for_nothing(block: Block) -> Iterator[Finding]:
    """A figure to grade with where none is used: of a measurement each size has its own, a balance value is found."""
    for value in block.values:
        if value.kind is not Kind.ALLOWANCE and value.now != value.drafted:
            body = value.kind is Kind.BODY
            where = "the size tables have it, size by size" if body else "it is worked out, size by size"
            yield Finding.warning(
                Code.USE_NOW_UNUSED,
                value.place,
                f"{value.now:g} mm under 'Use now' of {value.name} is not used: {where}.",
                "A figure under 'Use now' for allowances only.",
                f"Clear that cell{', and type the figure into the size tables' if body else ''}.",
            )


def _layer(block: Block) -> Iterator[Finding]:
    """Leather and pile as thick as those of a mitten are: they decide how much ease there has to be."""
    where = block.values[0].place.workbook if block.values else ""
    for name, mm, least, most in (
        ("Leather thickness", block.leather, THINNEST_LEATHER, THICKEST_LEATHER),
        ("Compressed pile", block.compressed_pile, 0.0, DEEPEST_PILE),
        ("Lining thickness", block.lining, 0.0, DEEPEST_PILE),
    ):
        if not least <= mm <= most:
            yield Finding.warning(
                Code.LAYER_OUT_OF_RANGE,
                Place(where, "Block"),
                f"{name} is {mm:g} mm.",
                f"Between {least:g} and {most:g} mm: the ease is held to what the layer takes.",
                f"Check the figure and its unit{likely_unit(mm, least or 0.1, most)}.",
            )


#: The rules for the fixed figures of a block, in the order in which their findings are told.
ALLOWANCE_RULES = (_without_bounds, _bounds_crossed, _used_now_for_nothing, _layer)
