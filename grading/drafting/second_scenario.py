"""The demo's second style: the invented workshop also makes a lined mitten, closed over the finger tips, for the small.

It is a group of sizes and a block of its own, beside those of the standard mitten.
"""

from __future__ import annotations

from dataclasses import replace

from grading.drafting.scenario import INVENTED, stepped, workshop_block
from grading.drafting.style import STANDARD, mitten
from grading.model.block import Block
from grading.model.sizes import SizeTable
from grading.model.stock import Customers, SellingPrice, StockTable, Work

__all__ = ["BASE", "GROUP", "STYLE", "second_block", "second_sizes", "with_second"]

GROUP = "Small children"
_SIZES = ("1", "2", "3")
#: The size that its base block is drafted for.
BASE = "2"
#: A small child's mitten stays on, and warm, by being closed and lined.
STYLE = {**STANDARD, "fingers": "closed top", "cuff": "plain", "thumb": "closed", "lining": "lined"}

#: First size and step of each measurement, mm: plausible, from memory, no survey.
_FIGURES: dict[str, tuple[float, float]] = {
    "fist girth": (120, 9),
    "hand girth": (108, 8.5),
    "entry girth": (112, 9),
    "hand breadth": (46.5, 3.5),
    "hand length": (95, 8),
    "palm length": (54, 5),
    "thumb girth": (42, 2),
    "web to knuckle": (16, 1.5),
    "web to tip": (33, 2.5),
    "thumb root length": (36, 2.5),
    "thumb root breadth": (26.5, 1.2),
    "web depth": (13.5, 1),
    "index-middle gap": (13.5, 0.5),
    "wrist girth": (103, 5),
}


def second_sizes() -> SizeTable:
    """The invented sizes of small children, by age in years."""
    return stepped(GROUP, _SIZES, _FIGURES)


def with_second(table: StockTable) -> StockTable:
    """A stock table that knows who the second style is for, too; none of it is made for the fair, but to order.

    What is closed and lined takes longer than a child's mitten of the other style, and less leather.
    """
    return replace(
        table,
        customers=(*table.customers, Customers(GROUP, 0.0, 117.0, 8.0, 103.0, 8.0, 0.85, INVENTED)),
        work=(*table.work, Work(GROUP, "", 115.0, 16.0, None)),
        selling=(*table.selling, SellingPrice(GROUP, "", 66.0)),
    )


def second_block() -> Block:
    """The base block of the lined mitten, drafted for its base size."""
    allowances = mitten(STYLE).usual(small=True)
    notes = "Invented for the demo, as a second style of the same workshop."
    return workshop_block("Lined mitten", second_sizes(), BASE, STYLE, allowances, notes)
