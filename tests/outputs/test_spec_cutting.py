"""Measures of cut lines in the workbook, each named as what it is."""

from __future__ import annotations

from io import BytesIO

import openpyxl
import pytest
import shapely

from grading.outputs.spec import spec_workbook
from grading.readings.cut_lines import cut_lines


def test_cut_pieces_stand_beside_their_sew_lines(runs):
    run = runs["Women"]
    loops = cut_lines(run)
    data = spec_workbook(run, run_id="1f3a9c", inputs=(), findings=(), loops=loops, unit="cm")
    rows = list(openpyxl.load_workbook(BytesIO(data), data_only=True)["Cut pieces"].iter_rows(values_only=True))
    figures = {row[:3]: row[3:9] for row in rows if row[0] in ("Trank", "Thumb")}
    assert len(figures) == 3 * 3 * 2  # three loops; width, height and round; on either line
    for loop in loops:
        for size, line in enumerate(loop.lines):
            ring = shapely.LinearRing(line.polygon)
            left, bottom, right, top = ring.bounds
            for name, mm in (("width", right - left), ("height", top - bottom), ("round", ring.length)):
                shown = figures[loop.piece, loop.loop, f"{name}, on the cut line"][size]
                assert shown == pytest.approx(mm / 10, abs=1e-4)
    sewn = figures["Thumb", "boundary", "height, on the sew line"]
    cut = figures["Thumb", "boundary", "height, on the cut line"]
    # The foot has 2 mm of allowance, the raw edge of the turn none.
    assert [one - other for one, other in zip(cut, sewn, strict=True)] == pytest.approx([0.2] * 6, abs=1e-3)
