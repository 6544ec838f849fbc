"""Which limits a block has follows from its parts: each is there where it can be broken, and nowhere else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit import audit_run
from grading.drafting.draft import draft, own_table
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.engine.run import grade

WOMEN = demo_sizes()[0]
BODY = dict(zip(WOMEN.measurements, WOMEN.values[:, WOMEN.sizes.index(BASES["Women"])].tolist(), strict=True))
PALM = BODY["palm length"]
MATERIAL = 14.4513  # mm: 2π × 1.8 mm of pile and π × 1.0 mm of leather, by hand


@pytest.mark.parametrize(
    ("thumb", "bare", "hole"),
    [
        ("turned", False, True),
        ("plain", False, True),
        ("closed", False, True),
        ("none, with a hole", True, True),
        ("none", False, False),
    ],
)
def test_a_bare_thumb_has_to_pass_the_hole_and_a_hole_is_asked_for_where_there_is_one(thumb, bare, hole):
    named = {limit.name for limit in mitten({**STANDARD, "thumb": thumb}).block.limits}
    assert ("hole for the thumb" in named) == bare
    assert ("hole round enough" in named) == hole


#: The least and the most of each allowance and seam type, mm, with a style that has it. Common practice, no source.
HELD = {
    "standard": {
        "hand ease": (MATERIAL, 45),
        "waist shaping": (-2, 5),
        "finger fold-back": (0, 1.3 * PALM),
        "finger taper": (-2, 7),
        "cuff fold-back": (0, 2.3 * PALM),
        "cuff flare": (-5, 28),
        "thumb forward": (-4, 20),
        "thumb ease": (MATERIAL, 36),
        "web lowering": (-2, 20),
        "thumb turn": (0, 60),
        "stem waist": (-2, 2),
        "thumb flare": (3, 8),
        "foot depth": (-2, 3.7),
        "raw edge": (0, 1),
        "oversewn": (0, 1),
        "inside seam": (1.5, 12),
    },
    "fingers: plain": {"finger edge": (0, 0.65 * PALM), "bound edge": (0, 1), "hemmed edge": (8, 30)},
    "fingers: closed top": {"tip ease": (6, 30)},
    "cuff: plain": {"cuff length": (0, 1.15 * PALM)},
    "cuff: band": {"band below the wrist": (0, 10), "band height": (25, 110), "band seam": (4, 12)},
    "cuff: leather band": {"slit room": (MATERIAL, 60), "slit height": (0, 0.5 * PALM), "slit shaping": (0, 25)},
    "thumb: plain": {"thumb end": (4, 30)},
    "thumb: closed": {"thumb tip ease": (5, 20)},
    "lining: lined": {
        "lining shorter": (3, 4),
        "lining longer": (5, 8),
        "lining seam": (2, 12),
        "lining rim": (1.5, 6),
        "felled edge": (6, 20),
    },
}


@pytest.mark.parametrize(("style", "name"), [(style, name) for style, names in HELD.items() for name in names])
def test_an_allowance_of_a_part_is_told_beyond_either_bound_and_not_before(style, name):
    part, _, choice = style.partition(": ")
    chosen = STANDARD if style == "standard" else {**STANDARD, part: choice}
    block = draft("", ("Women",), BODY, mitten(chosen).usual(), compressed_pile=1.8, leather=1.0, date="", style=chosen)
    only = replace(block, limits=tuple(limit for limit in block.limits if limit.name == name))

    def told(figure: float) -> bool:
        values = tuple(replace(value, now=figure) if value.name == name else value for value in only.values)
        kinds = tuple(replace(kind, allowance=figure) if kind.name == name else kind for kind in only.seam_types)
        run = grade(replace(only, values=values, seam_types=kinds), own_table(BODY))
        return "limit-passed" in {finding.code for finding in audit_run(run)}

    least, most = HELD[style][name]
    assert [told(figure) for figure in (least - 0.1, least + 0.01, most - 0.01, most + 0.1)] == [
        True,
        False,
        False,
        True,
    ]
