"""What whoever sews is told: the steps of making, and what holds besides figures and steps."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from grading.findings import Place

__all__ = ["Instruction", "Step"]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of making; ``shows`` names the seams and marks that its drawing shows, parted by ';'."""

    name: str
    what_to_do: str
    stitch: str = ""
    needle: str = ""
    thread: str = ""
    note: str = ""
    shows: str = ""
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def shown(self) -> tuple[str, ...]:
        """What ``shows`` names, in order."""
        return tuple(name.strip() for name in self.shows.split(";") if name.strip())


#: Words and phrases of a topic that is about pay, and of one that is about days.
_PAY = r"\b(rates?|pay|paid|payment|wages?)\b"
_DAYS = r"\b(due|deadline|needed by|hand(ed)? out on|(send|bring|come) back (by|on|until)|return by)\b"


@dataclass(frozen=True, slots=True)
class Instruction:
    """What whoever sews is told besides figures and steps, such as the bite or what to do with hairs."""

    topic: str
    text: str
    place: Place = field(default=Place(), compare=False, repr=False)

    @property
    def of_pay(self) -> bool:
        """Whether it is about what the work is paid."""
        return bool(re.search(_PAY, self.topic, re.IGNORECASE))

    @property
    def of_days(self) -> bool:
        """Whether it is about when the work goes out or comes back."""
        return bool(re.search(_DAYS, self.topic, re.IGNORECASE))
