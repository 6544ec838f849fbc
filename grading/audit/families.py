"""Sizes that stand in families (short and long, women and men), each a ladder of its own: as stated, or by name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from grading.model.names import name_key

__all__ = ["Family", "families", "stated_families"]

_PARTS = re.compile(r"[^\W\d_]+|\d+(?:[.,½¼¾/]\d*)*[½¼¾]?")


@dataclass(frozen=True, slots=True)
class Family:
    """A family's name, the columns of its sizes, and what they are called within it."""

    name: str
    columns: tuple[int, ...]
    called: tuple[str, ...]


def families(sizes: Sequence[str]) -> tuple[Family, ...]:
    """The families of these sizes; one without a name where they are a single ladder.

    Each size is a word and another; a word that comes back with the same others in every family is a family's name.

    >>> [(family.name, family.called) for family in families(["7 short", "7 long", "8 short", "8 long"])]
    [('short', ('7', '8')), ('long', ('7', '8'))]
    >>> [family.name for family in families(["S", "M", "L"])], [family.name for family in families(["2-3", "4-5"])]
    ([''], [''])
    """
    for last_or_first in (-1, 0):
        named: dict[str, list[tuple[int, str]]] = {}
        for column, size in enumerate(sizes):
            parts = _words_and_numbers(size)
            family = parts.pop(last_or_first) if len(parts) > 1 else ""
            named.setdefault(family, []).append((column, " ".join(parts)))
        whole = [{rest for _, rest in members} for members in named.values()]
        if (
            len(named) > 1
            and not any(family[:1].isdigit() for family in named)
            and all(len(called) == len(members) > 1 for called, members in zip(whole, named.values(), strict=True))
            and all(len(called & whole[0]) > 1 for called in whole)
        ):
            return tuple(
                Family(name, tuple(column for column, _ in members), tuple(rest for _, rest in members))
                for name, members in named.items()
            )
    return (Family("", tuple(range(len(sizes))), tuple(sizes)),)


def stated_families(sizes: Sequence[str], words: Sequence[str]) -> tuple[Family, ...]:
    """The families that a table states by a word for each size.

    Within its family a size is called by the numbers in its name, where other families have the same; else by its place
    among its own.

    >>> [(one.name, one.columns, one.called) for one in stated_families(["7", "8", "7L"], ["short", "short", "long"])]
    [('short', (0, 1), ('7', '8')), ('long', (2,), ('7',))]
    """
    members: dict[str, list[int]] = {}
    for column, word in enumerate(words):
        members.setdefault(name_key(word), []).append(column)
    numbers = {
        word: [" ".join(part for part in _words_and_numbers(sizes[column]) if part[0].isdigit()) for column in columns]
        for word, columns in members.items()
    }
    told_apart = all(len(set(called)) == len(called) for called in numbers.values())
    if not told_apart or (len(members) > 1 and not set.intersection(*map(set, numbers.values()))):
        numbers = {word: [str(place) for place, _ in enumerate(columns)] for word, columns in members.items()}
    return tuple(Family(words[columns[0]], tuple(columns), tuple(numbers[word])) for word, columns in members.items())


def _words_and_numbers(size: str) -> list[str]:
    return [name_key(part) for part in _PARTS.findall(size)]
