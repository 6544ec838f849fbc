"""Whether a run would only make what is there already. Nothing heavy is imported, so that this is quickly known."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from grading.asked import Tables, asked
from grading.outputs.files import Choices, made_for_group
from grading.publish import left_over
from grading.publish.standing import Standing, standing

__all__ = ["Asked", "unchanged_run"]


@dataclass(frozen=True)
class Asked:
    """What a run is asked for: tables, the folder to write into, what and how."""

    tables: Tables
    out: Path
    choices: Choices

    @property
    def sum(self) -> str:
        """The sum of all that the files depend on; blank where a table cannot be read."""
        return asked(self.tables, self.choices)


def unchanged_run(wanted: Asked) -> Standing | None:
    """The earlier run that was asked for the same, if its files are as it left them, with its findings; else None."""
    stands = standing(wanted.out, wanted.sum)
    if stands is None:
        return None
    return replace(stands, findings=(*stands.findings, *left_over(wanted.out, stands.named, made_for_group(""))))
