"""Whether a run would make what is there already. Nothing heavy is imported: this is all an unchanged run costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from grading.asked import asked
from grading.outputs.files import Choices, made_for_group
from grading.publish import left_over
from grading.publish.standing import Standing, standing

__all__ = ["unchanged_run"]


def unchanged_run(
    sizes: Path, blocks: Sequence[Path], groups: Sequence[str], out: Path, choices: Choices
) -> Standing | None:
    """The whole run that was asked for the same and stands as it was left, with what is found beside it; else None."""
    stands = standing(out, asked(sizes, blocks, groups, choices))
    if stands is None:
        return None
    return replace(stands, findings=(*stands.findings, *left_over(out, stands.named, made_for_group(""))))
