"""When two spellings are one name, which name is meant, and which is the nearest where none is.

Spelling is settled once, where names are read: from there on a name is what it is, and is compared by ==.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from functools import lru_cache

__all__ = ["Names", "UnknownNameError", "name_key", "nearest", "plain_words"]

_UNSEEN = dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff\u00ad"))
_ALIKE = _UNSEEN | str.maketrans("\u2212\u2013\u2014\u2010\u2011\u2019\u2018\u2032", "-----'''")


@lru_cache(maxsize=1 << 13)  # a block's few hundred names are compared tens of thousands of times
def name_key(text: str) -> str:
    """What two spellings of one name, heading or word have in common: no case, no spaces, one kind of dash.

    >>> name_key("Palm  Width") == name_key("palm width"), name_key("8–9") == name_key("8-9")
    (True, True)
    """
    folded = text.casefold()
    return "".join((folded if folded.isascii() else folded.translate(_ALIKE)).split())


def plain_words(text: str) -> list[str]:
    """The words of a text in small letters, without the commas and hyphens between them.

    >>> plain_words("Palm-half, outside")
    ['palm', 'half', 'outside']
    """
    return text.casefold().replace(",", " ").replace("-", " ").split()


class UnknownNameError(LookupError):
    """A name that is none of those there are; ``near`` is the one that is probably meant, or ''."""

    def __init__(self, name: str, near: str) -> None:
        super().__init__(f"'{name}' is not known here." + (f" Perhaps '{near}' is meant." if near else ""))
        self.name, self.near = name, near


class Names:
    """The names there are of one kind of thing, each in the spelling in which it was declared first."""

    def __init__(self, declared: Iterable[str] = ()) -> None:
        self._by_key: dict[str, str] = {}
        for name in declared:
            self._by_key.setdefault(name_key(name), name)

    def __iter__(self) -> Iterator[str]:
        return iter(self._by_key.values())

    def __contains__(self, name: str) -> bool:
        return name_key(name) in self._by_key

    def settled(self, name: str) -> str:
        """The name as it was declared, however it is spelled here. Raises UnknownNameError.

        >>> Names(["Palm width"]).settled("palm  WIDTH")
        'Palm width'
        """
        if (key := name_key(name)) in self._by_key:
            return self._by_key[key]
        # An image (a name with a stroke) is what is meant only where a stroke was typed.
        like = [known for known in self if known.endswith("'") == name.endswith("'")]
        raise UnknownNameError(name, nearest(name, like, 0.6))

    def settled_or_not(self, name: str) -> str:
        """The name as it was declared, or as it is where there is none of that name."""
        return self._by_key.get(name_key(name), name)


def nearest(name: str, known: Iterable[str], alike: float = 0.7) -> str:
    """The one of the known names that is probably meant, letters or words of it exchanged; '' if none is near.

    ``alike`` is how like it must be, 1 being the same (difflib's ratio).
    """
    spelled = {other.casefold(): other for other in known}
    ordered = {" ".join(sorted(key.split())): other for key, other in spelled.items()}
    for names, wanted in ((spelled, name.casefold()), (ordered, " ".join(sorted(name.casefold().split())))):
        if near := get_close_matches(wanted, list(names), 1, alike):
            return names[near[0]]
    return ""
