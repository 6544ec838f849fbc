"""The record of a run read back as a chart, whole or damaged."""

from __future__ import annotations

import json

import numpy as np
import pytest

from grading.engine.graded import GradedGroup
from grading.outputs.files import record
from grading.publish import publish
from grading.readings.measures import measured
from grading.sheets.charts import read_chart

RECORD = {"group": "Women", "sizes": ["8", "9"], "figures": {"palm width": [102.0, 108.0]}}


def read(folder, told):
    (folder / "run.json").write_bytes(told if isinstance(told, bytes) else json.dumps(told).encode())
    return read_chart(folder)


def test_a_runs_figures_are_read_from_its_folder_or_its_record(tmp_path):
    (table,), findings = read(tmp_path, RECORD)
    assert not findings
    assert (table.group, table.sizes) == ("Women", ("8", "9"))
    assert table.row("palm width").tolist() == [102.0, 108.0]
    assert read_chart(tmp_path / "run.json")[0][0].sizes == table.sizes


def test_a_record_keeps_figures_finer_than_a_comparison_tells_them_apart(runs, tmp_path):
    # To half of a thousandth of a millimetre; 'audit --against' tells what differs by a two-hundredth.
    men = runs["Men"]
    publish(tmp_path, {}, record(GradedGroup(men, "0123456789", (), (), ())))
    (table,), findings = read_chart(tmp_path)
    assert not findings
    rounds = measured(men)["thumb hole round"]
    assert np.abs(rounds - rounds.round(1)).max() > 0.005, "a curve's length is no round figure"
    assert table.row("thumb hole round") == pytest.approx(rounds, abs=0.0005)


@pytest.mark.parametrize(
    "told",
    [
        b"", b"{", b"\xff", b"[]", b"[" * 100_000, {}, {**RECORD, "figures": []}, {**RECORD, "sizes": 8},
        {**RECORD, "figures": {"palm width": [102.0]}}, {**RECORD, "figures": {"palm width": ["wide", 1]}},
        {**RECORD, "figures": {"palm width": [float("nan"), 1]}}, {**RECORD, "sizes": ["8", "\ud800"]},
    ],
)  # fmt: skip
def test_a_record_that_is_not_as_it_was_written_is_a_finding(tmp_path, told):
    tables, findings = read(tmp_path, told)
    assert tables == ()
    assert [finding.code for finding in findings] == ["record-unreadable"]


def test_a_folder_without_a_record_is_a_finding(tmp_path):
    assert [finding.code for finding in read_chart(tmp_path)[1]] == ["record-unreadable"]
