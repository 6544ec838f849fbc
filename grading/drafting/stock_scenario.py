"""The demo's stock table: customers, skins, work and prices of an invented workshop before a winter fair.

Every figure is invented: from no survey, no tannery and no shop. They are there to be replaced.
"""

from __future__ import annotations

import datetime as dt

from grading.drafting.scenario import INVENTED
from grading.model.stock import Customers, Outworker, SellingPrice, SkinKind, Sold, StockTable, Terms, Work
from grading.units import MM2_PER

__all__ = ["INVENTED", "NOTES", "demo_stock"]

NOTES = ("Every figure in this workbook is invented for the demo: from no survey, no tannery, no shop.",)

_SQ_FT = float(MM2_PER["sq ft"])

#: Outlines of three lamb skins on hand, as walked round with a tape, mm: neck below, legs at the corners.
_HIDE_1 = (
    (280, 0), (470, 0), (520, 70), (640, 60), (720, 130), (700, 260), (680, 420), (690, 600), (720, 740),
    (740, 860), (640, 900), (540, 930), (420, 985), (330, 985), (210, 930), (110, 910), (10, 870), (30, 740),
    (60, 600), (70, 420), (50, 260), (30, 140), (110, 60), (230, 70),
)  # fmt: skip
_HIDE_2 = (
    (270, 0), (500, 10), (560, 80), (700, 70), (790, 150), (760, 300), (740, 480), (750, 660), (790, 800),
    (760, 920), (640, 950), (470, 1030), (350, 1030), (190, 960), (60, 930), (10, 830), (40, 660), (50, 480),
    (40, 300), (0, 160), (90, 80), (220, 80),
)  # fmt: skip
_HIDE_3 = (
    (250, 0), (430, 0), (480, 60), (600, 60), (680, 120), (660, 260), (640, 430), (650, 600), (690, 760),
    (670, 840), (560, 860), (390, 920), (310, 920), (140, 860), (20, 850), (10, 760), (40, 600), (50, 430),
    (40, 260), (20, 130), (100, 60), (210, 60),
)  # fmt: skip


def _flaw(x: float, y: float, half: float) -> tuple[tuple[float, float], ...]:
    """An eight-cornered flaw round a place."""
    cut = half / 2
    return (
        (x - half, y - cut), (x - cut, y - half), (x + cut, y - half), (x + half, y - cut),
        (x + half, y + cut), (x + cut, y + half), (x - cut, y + half), (x - half, y + cut),
    )  # fmt: skip


#: What has holes, what is thin and will do for the trial of a women's hand, and what is scratched on its face.
_HIDE_1_FLAWS = ((_flaw(330, 470, 34),), (), (_flaw(650, 830, 45),))
_HIDE_2_THIN = ((40, 660), (10, 830), (60, 930), (190, 960), (290, 990), (290, 690), (160, 650))
_HIDE_2_FLAWS = ((_flaw(600, 330, 40),), (_HIDE_2_THIN,), ())
#: Last year's children's mittens, invented like the rest: size, brought, sold, asked for in vain.
_SOLD = (("2-3", 4, 3, 0), ("4-5", 5, 5, 1), ("6-7", 6, 6, 1), ("8-9", 5, 4, 0), ("10-11", 3, 2, 0))


def demo_stock() -> StockTable:
    """The invented table: sixty pairs for a fair in three weeks, three odd skins and a pile of like ones on hand."""
    return StockTable(
        terms=Terms(
            pairs=60,
            at_least=1,
            girth_row="hand girth",
            length_row="hand length",
            girth_tolerance=6.0,
            length_tolerance=15.0,
            gap=4.0,
            pile_within=5.0,
            lay_number=1,
            largest_bundle=6,
            hand_out_on=dt.date(2026, 11, 2),
            needed_by=dt.date(2026, 11, 23),
            currency="€",
            other_costs=3.5,
            fist_row="fist girth",
            room_to_move=3.0,
            maker="Invented Mittens, 1 Fair Lane",
            care="Air and brush, do not wash.",
            hands_count=20,
        ),
        customers=(
            Customers("Women", 0.5, 188.0, 10.5, 176.0, 8.5, 0.55, INVENTED),
            Customers("Men", 0.25, 214.0, 11.5, 191.0, 9.0, 0.55, INVENTED),
            Customers("Children", 0.25, 147.0, 12.0, 134.0, 14.0, 0.85, INVENTED),
        ),
        sold=tuple(Sold("Children", size, sold, missing, brought, "2025") for size, brought, sold, missing in _SOLD),
        skins=(
            SkinKind("Grey lamb", 1, 740, 985, None, 0.0, 44.0, None, False, _HIDE_1, *_HIDE_1_FLAWS),
            SkinKind("Brown lamb", 1, 790, 1030, None, 0.0, 49.0, None, False, _HIDE_2, *_HIDE_2_FLAWS),
            SkinKind("Small lamb", 1, 690, 920, None, 0.0, 38.0, None, False, _HIDE_3, ()),
            SkinKind("Lamb by the foot", 10, 720.0, 920.0, None, 0.06, 6.5, _SQ_FT, True),
        ),
        work=(
            Work("", "", 130.0, 16.0, None),
            Work("Men", "", 140.0, 16.0, None),
            Work("Children", "", 105.0, 16.0, None),
        ),
        outworkers=(Outworker("Workshop", 10), Outworker("Outworker A", 7), Outworker("Outworker B", 5)),
        selling=(
            SellingPrice("", "", 95.0),
            SellingPrice("Men", "", 105.0),
            SellingPrice("Children", "", 68.0),
        ),
    )  # fmt: skip
