"""Sizes that stand in families (short and long, women and men), each a ladder of its own: as stated, or by name."""

from __future__ import annotations

import re
from collections.abc import Sequence

from grading.model.names import name_key

__all__ = ["Family", "families", "stated_families"]

_PARTS = re.compile(r"[^\W\d_]+|\d+(?:[.,½¼¾/]\d*)*[½¼¾]?")


#: What the sizes of a family are called within it, each with its column.
Family = dict[str, int]


def families(sizes: Sequence[str]) -> list[Family]:
    """The families of these sizes, or all of them as one where they are a single ladder.

    Each size is a word and another; a word that comes back with the same others in every family is a family's name.

    >>> families(["7 short", "7 long", "8 short", "8 long"])
    [{'7': 0, '8': 2}, {'7': 1, '8': 3}]
    >>> families(["S", "M", "L"]), families(["2-3", "4-5"])
    ([{'S': 0, 'M': 1, 'L': 2}], [{'2-3': 0, '4-5': 1}])
    """
    for last_or_first in (-1, 0):
        named: dict[str, list[tuple[str, int]]] = {}
        for column, size in enumerate(sizes):
            parts = _words_and_numbers(size)
            family = parts.pop(last_or_first) if len(parts) > 1 else ""
            named.setdefault(family, []).append((" ".join(parts), column))
        made = [dict(members) for members in named.values()]
        if (
            len(named) > 1
            and not any(family[:1].isdigit() for family in named)
            and all(len(family) == len(members) > 1 for family, members in zip(made, named.values(), strict=True))
            and all(len(family.keys() & made[0].keys()) > 1 for family in made)
        ):
            return made
    return [{size: column for column, size in enumerate(sizes)}]


def stated_families(sizes: Sequence[str], words: Sequence[str]) -> list[Family]:
    """The families that a table states by a word for each size.

    Within its family a size is called by the numbers in its name, where other families have the same; else by its place
    among its own.

    >>> stated_families(["7", "8", "7L"], ["short", "short", "long"])
    [{'7': 0, '8': 1}, {'7': 2}]
    """
    columns_of: dict[str, list[int]] = {}
    for column, word in enumerate(words):
        columns_of.setdefault(name_key(word), []).append(column)
    numbers = [
        [" ".join(part for part in _words_and_numbers(sizes[column]) if part[0].isdigit()) for column in columns]
        for columns in columns_of.values()
    ]
    told_apart = all(len(set(called)) == len(called) for called in numbers)
    if not told_apart or (len(numbers) > 1 and not set.intersection(*map(set, numbers))):
        numbers = [[str(place) for place, _ in enumerate(columns)] for columns in columns_of.values()]
    return [
        dict(zip(called, columns, strict=True)) for called, columns in zip(numbers, columns_of.values(), strict=True)
    ]


def _words_and_numbers(size: str) -> list[str]:
    return [name_key(part) for part in _PARTS.findall(size)]
