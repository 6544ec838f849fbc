"""Which limits a block has follows from its parts: each is there where it can be broken, and nowhere else."""

from __future__ import annotations

import pytest

from grading.drafting.style import STANDARD, mitten


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
