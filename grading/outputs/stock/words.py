"""How pairs and skins are listed in few words."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from grading.stock.skins import Skin

__all__ = ["numbered", "skins_named"]


def numbered(numbers: Iterable[int]) -> str:
    """Numbers in their order, runs of them by their ends.

    >>> numbered([3, 4, 5, 9])
    '3–5, 9'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)


def skins_named(skins: Iterable[Skin]) -> str:
    """Skins by name, those of one kind together, in the order of their numbers."""
    said = []
    for _, alike in groupby(skins, key=lambda skin: id(skin.kind)):
        ordered = sorted(alike, key=lambda skin: skin.number)
        single = len(ordered) == 1
        said.append(
            ordered[0].name if single else f"{ordered[0].kind.name} {numbered(skin.number for skin in ordered)}"
        )
    return ", ".join(said)
