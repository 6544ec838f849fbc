"""A plain edge is left raw, or bound or hemmed: a seam type that a maker gives it on the sheet Edges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from grading.audit import audit_block, audit_run
from grading.drafting.draft import draft
from grading.drafting.parts.sewn import BOUND, HEMMED, RAW
from grading.drafting.scenario import BASES, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.findings import Severity
from grading.readings.cut_lines import cut_line_findings, cut_lines, cut_measures

WOMEN = demo_sizes()[0]
STYLE = {**STANDARD, "fingers": "plain", "cuff": "plain", "thumb": "plain"}
EDGES = {("Trank", "finger edge"), ("Trank", "cuff edge"), ("Thumb", "thumb edge")}


@pytest.fixture(scope="module")
def block():
    column = WOMEN.sizes.index(BASES["Women"])
    body = dict(zip(WOMEN.measurements, WOMEN.values[:, column].tolist(), strict=True))
    usual = mitten(STYLE).usual()
    return draft("", ("Women",), body, usual, compressed_pile=1.8, leather=1.0, date="", style=STYLE)


def made(block, seam_type: str):
    edges = (replace(e, seam_type=seam_type) if (e.piece, e.name) in EDGES else e for e in block.edges)
    return balanced(grade(replace(block, edges=tuple(edges)), WOMEN))


def test_as_drafted_it_is_left_raw(block):
    assert {edge.seam_type for edge in block.edges if (edge.piece, edge.name) in EDGES} == {RAW}
    (told,) = (row.text for row in block.work if row.topic == "Plain edges")
    assert f"'{BOUND}'" in told
    assert f"'{HEMMED}'" in told


@pytest.mark.parametrize(("seam_type", "beyond"), [(RAW, 0), (BOUND, 0), (HEMMED, 8)])
def test_a_hem_takes_8_mm_and_a_binding_nothing(block, seam_type, beyond):
    """Common practice: what is bound ends where it is cut; a hem of 8 mm or more is turned in at the edge."""
    run = made(block, seam_type)
    height = next(m for m in cut_measures(run, cut_lines(run)) if (m.piece, m.name) == ("Trank", "height"))
    assert height.on_cut_line - height.on_sew_line == pytest.approx(np.full(6, 2 * beyond), abs=1e-6)


@pytest.mark.parametrize("seam_type", [RAW, BOUND, HEMMED])
def test_no_finding_tells_of_any_of_them(block, seam_type):
    run = made(block, seam_type)
    found = [*audit_block(run.block), *audit_run(run), *cut_line_findings(run, cut_lines(run))]
    assert [finding for finding in found if finding.severity is not Severity.NOTE] == []


def test_a_hem_of_less_than_8_mm_is_told(block):
    narrow = replace(
        block,
        seam_types=tuple(replace(kind, allowance=6.0) if kind.name == HEMMED else kind for kind in block.seam_types),
    )
    assert HEMMED in {finding.place.measure for finding in audit_run(made(narrow, HEMMED))}


def test_how_each_is_made_stands_with_its_seam_type(block):
    """A binding strip is 0.97 times as long as its edge, a hem takes stay tape: common practice."""
    assert "0.97 times" in block.seam_type(BOUND).note
    assert "stay tape" in block.seam_type(HEMMED).note
