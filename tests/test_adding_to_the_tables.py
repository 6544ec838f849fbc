"""A way of measuring and a kind of mark are one entry each: whoever adds one has it read, drawn and written."""

from __future__ import annotations

import subprocess
import sys

#: What someone adds who wants a measure halfway up, and a tick that is told from others.
ADDED = '''
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from grading.measuring.arrows import Span
from grading.measuring.ways import WAYS, End, Goes, Way
from grading.model.mark_kinds import MARK_KINDS, Drawn, MarkKind


def steps(piece, start, end):
    """As the threads run: across and up."""
    return np.abs(piece.point(end) - piece.point(start)).sum(axis=1)


def arrow(piece, measure, size):
    return Span(*(tuple(piece.point(name)[size].tolist()) for name in (measure.start, measure.end)))


WAYS["by thread"] = Way("across and then up", End.POINT, End.POINT, steps, arrow, Goes.BETWEEN, in_proportion=True)
MARK_KINDS["pin"] = MarkKind("where a pin holds", Drawn.STROKE)

from grading.drafting.scenario import demo_block, demo_sizes
from grading.drawing.marks import Arrow, Role
from grading.jobs.tables import read_job
from grading.model.block import Mark, Measure
from grading.outputs.files import Choices, group_files
from grading.outputs.sketch import sketch
from grading.readings.marks import edge_marks
from grading.readings.measures import measured
from grading.sheets.block_sheets import MARKS, MEASURES
from grading.sheets.writing import block_workbook, sizes_workbook

folder = Path(sys.argv[1])
block = demo_block()
like = block.measures[0]
new = replace(like, name="thread count", piece="Thumb", how="by thread", start="T", end="H", times=1.0, follows="",
              tolerance_minus=2.0, tolerance_plus=2.0, tells_size=False)
pin = Mark("Thumb", "pinned", "pin", "T")
block = replace(block, measures=(*block.measures, new), marks=(*block.marks, pin), groups=("Women",))
(folder / "block.xlsx").write_bytes(block_workbook(block))
(folder / "sizes.xlsx").write_bytes(sizes_workbook([demo_sizes()[0]]))

job = read_job(folder / "sizes.xlsx", folder / "block.xlsx", "Women")
run = job["Women"].run
thumb = run["Thumb"]
assert "by thread: across and then up" in MEASURES.column("How").help
assert "pin: where a pin holds" in MARKS.column("Kind").help
assert np.allclose(measured(run)["thread count"], np.abs(thumb.point("T") - thumb.point("H")).sum(axis=1))
drawn = sketch(run, 2, [("Z 1", run.block.measures[-1])], 180, 90)
assert any(isinstance(mark, Arrow) and mark.role is Role.MEASURE for mark in drawn.marks)
assert [mark.name for mark in edge_marks(run) if mark.name == "pinned"]
made = dict(group_files(job["Women"], Choices(only=("spec", "cards", "patterns", "svg"))))
assert {"spec.xlsx", "spec-cards.pdf"} <= set(made)
print("read, measured, marked and drawn")
'''


def test_a_way_and_a_kind_that_are_added_to_their_tables_work_from_the_workbook_to_the_sheet(tmp_path):
    told = subprocess.run([sys.executable, "-c", ADDED, str(tmp_path)], capture_output=True, text=True, check=False)
    assert (told.stdout, told.stderr) == ("read, measured, marked and drawn\n", "")
