"""What a person at a notebook types: the README's code, names as they are spoken, errors that say what is wrong."""

from __future__ import annotations

import copy
import pickle
import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import shapely
from openpyxl import load_workbook

import grading
from grading.engine.graded import run_id
from grading.model.names import UnknownNameError

HERE = Path(__file__).parents[1]
TABLES = HERE / "tables"
LONGEST_REPR = 200


@pytest.fixture(scope="module")
def job() -> grading.Job:
    return grading.read_job(str(TABLES / "sizes.xlsx"), str(TABLES / "block.xlsx"), "Women")


def test_the_readmes_code_runs_and_draws_a_picture(tmp_path, monkeypatch, capsys):
    section = (HERE / "README.md").read_text(encoding="utf-8").split("## From Python")[1].split("\n## ")[0]
    (tmp_path / "tables").symlink_to(TABLES)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MPLBACKEND", "Agg")
    exec("\n".join(re.findall(r"```python\n(.*?)```", section, re.DOTALL)), {})
    assert "cm² of leather" in capsys.readouterr().out
    assert (tmp_path / "trank.png").read_bytes().startswith(b"\x89PNG")


def test_paths_are_texts_or_paths_and_one_block_or_several(job):
    several = grading.read_job(TABLES / "sizes.xlsx", [TABLES / "block.xlsx", str(TABLES / "block-men.xlsx")])
    assert list(several) == ["Women", "Men"]
    assert several["Women"].run_id == job.groups[0].run_id


def test_names_are_found_however_they_are_spelled_and_a_wrong_one_is_told_with_its_nearest(job):
    run = job["women"].run
    assert run["trank"] is run["Trank"]
    assert run["Trank"].polygon("w3").equals(run["Trank"].polygon("W3"))
    with pytest.raises(UnknownNameError, match="Perhaps 'Trank' is meant"):
        run["Trunk"]
    with pytest.raises(UnknownNameError):
        run["Trank"].polygon("M2")


def test_the_area_within_an_outline_is_that_of_its_curves_and_a_hole_is_left_out(job):
    """Green's theorem on the Bézier handles, by Gauss's quadrature of numpy: another route than flattening."""
    trank = job["Women"].run["Trank"]
    nodes, weights = np.polynomial.legendre.leggauss(8)
    t, w = (nodes + 1) / 2, weights / 2
    basis = np.array([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])
    slope = np.array([-3 * (1 - t) ** 2, 3 * (1 - t) * (1 - 3 * t), 3 * t * (2 - 3 * t), 3 * t**2])

    def area(handles: np.ndarray) -> float:
        at, along = np.einsum("bt,sbc->stc", basis, handles), np.einsum("bt,sbc->stc", slope, handles)
        return abs(float(((at[..., 0] * along[..., 1] - at[..., 1] * along[..., 0]) / 2 @ w).sum()))

    boundary, hole = (area(trank.beziers[loop][2]) for loop in ("boundary", "thumb hole"))
    polygon = trank.polygon("W3")
    assert polygon.area == pytest.approx(boundary - hole, abs=0.01 * polygon.length)  # chords are within 0.01 mm


def test_what_is_cut_holds_what_is_sewn_and_lies_an_allowance_outside_it(job):
    thumb = job["Women"].run["Thumb"]
    sewn, cut = thumb.polygon("W3"), thumb.cut_polygon("W3")
    assert cut.buffer(0.01).contains(sewn)
    assert shapely.hausdorff_distance(cut.exterior, sewn.exterior) >= max(thumb.shape.allowances.values()) - 0.01
    assert np.array_equal(thumb.cut_outline("W3"), job["Women"].cut_lines[-1].lines[2].polygon)


def test_a_line_is_an_array_of_points_whose_first_is_not_repeated(job):
    outline = job["Women"].run["Trank"].outline("W3", "thumb hole")
    assert outline.ndim == 2
    assert len(np.unique(outline, axis=0)) == len(outline)


def test_marks_stand_where_they_are_drawn(job):
    run = job["Women"].run
    marks = grading.placed_marks(run, "Trank", "W3")
    edge = run["Trank"].polygon("W3").boundary
    on_edge = [mark for mark in marks if mark.outward is not None]
    assert len(on_edge) > 4
    assert all(edge.distance(shapely.Point(mark.points[0])) < 0.02 for mark in on_edge)
    fold = next(mark for mark in marks if mark.kind == "fold line")
    assert fold.points[0] == pytest.approx(fold.points[1] * [-1, 1])


def test_frames_have_the_figures_by_name(job):
    run = job["Women"].run
    measures = grading.measured(run)
    assert measures.frame().loc[measures.measures[0].name, "W2"] == measures.values[0, 1]
    seams = grading.walked_seams(run).frame()
    assert seams["ease"].to_numpy() == pytest.approx((seams["side a"] - seams["side b"]).to_numpy())
    assert list(grading.increments_of_run(run).frame().columns) == ["W2", "W3", "W4", "W5", "W6"]


def test_a_table_goes_to_a_frame_and_back(job):
    table = job["Women"].run.table
    back = grading.SizeTable.from_frame(table.frame(), "Women")
    assert (back.sizes, back.measurements) == (table.sizes, table.measurements)
    assert np.array_equal(back.values, table.values)


def test_figures_of_a_frame_are_in_its_unit_unless_they_name_their_own():
    frame = pd.DataFrame({6: [18.2, "7 1/4 in"], 7: [19, "19,1 cm"]}, index=["palm length", "fist girth"])
    table = grading.SizeTable.from_frame(frame, "Mine", "cm")
    assert table.sizes == ("6", "7")
    assert table.values.tolist() == [[182.0, 190.0], [184.15, 191.0]]


def test_a_frame_with_a_gap_or_a_name_twice_is_refused_with_every_place():
    frame = pd.DataFrame({"S": [182, np.nan], "M": ["wide", 190]}, index=["palm length", "Palm length"])
    with pytest.raises(grading.GradingError) as refused:
        grading.SizeTable.from_frame(frame, "Mine")
    places = {(one.place.measure.casefold(), one.place.size) for one in refused.value.findings}
    assert places == {("palm length", ""), ("palm length", "M"), ("palm length", "S")}


def test_errors_raise_with_their_findings_unless_they_are_asked_for(tmp_path):
    book = load_workbook(TABLES / "sizes.xlsx")
    book["Women"]["D5"] = "abc"
    book.save(tmp_path / "sizes.xlsx")
    with pytest.raises(grading.GradingError, match=r"sizes.xlsx, sheet Women, cell D5") as raised:
        grading.read_job(tmp_path / "sizes.xlsx", TABLES / "block.xlsx", "Women")
    job = grading.check_job(tmp_path / "sizes.xlsx", TABLES / "block.xlsx", "Women")
    assert not job.groups
    assert set(raised.value.findings) == set(job.findings)
    assert str(pickle.loads(pickle.dumps(raised.value))) == str(raised.value)


def test_whatever_is_shown_at_a_prompt_is_short(job):
    group, trank = job["Women"], job["Women"].run["Trank"]
    marks = grading.placed_marks(group.run, "Trank", "W3")
    shown = [
        *(job, group, group.run, group.run.table, group.run.block, group.run.drivers, trank, trank.shape),
        *(trank.shape.loops["boundary"], trank.cut_lines["boundary"], trank.cut_lines["boundary"].lines[0], marks[0]),
        *(grading.measured(group.run), grading.walked_seams(group.run), grading.walked_seams(group.run)[0]),
        *(grading.increments_of_run(group.run), *group.run.balances),
    ]
    assert {type(one).__name__: len(repr(one)) for one in shown if len(repr(one)) > LONGEST_REPR} == {}


def test_the_run_id_tells_blocks_apart_that_are_shown_alike(job):
    group = job["Women"]
    block = copy.copy(group.run.block)
    object.__setattr__(block, "leather", block.leather + 0.1)
    assert repr(block) == repr(group.run.block)
    assert run_id(block, group.run.table) != group.run_id


def test_a_returned_file_is_named_by_a_text_or_a_path_alone_or_among_others(job, tmp_path):
    runs = {job["Women"].run_id: job["Women"].run}
    missing = tmp_path / "W3.xlsx"
    for paths in (str(missing), missing, [str(missing)]):
        returned = grading.check_returns(paths, runs)
        assert [one.place.workbook for one in returned.findings] == ["W3.xlsx"]
        assert repr(returned) == "<Returned: 0 sheets, 1 findings>"


def test_a_returned_file_that_cannot_be_read_is_an_error_with_what_was_found(tmp_path):
    with pytest.raises(grading.GradingError) as raised:
        grading.read_returns(tmp_path / "W3.xlsx", {})
    assert [one.place.workbook for one in raised.value.findings] == ["W3.xlsx"]


def test_types_are_told_to_whoever_imports_it():
    assert files("grading").joinpath("py.typed").is_file()


def test_reading_and_grading_need_no_pandas():
    code = (
        "import sys, grading; grading.measured(grading.read_job('tables/sizes.xlsx', (), 'Women').groups[0].run);"
        "print('pandas' in sys.modules, 'matplotlib' in sys.modules)"
    )
    told = subprocess.run([sys.executable, "-c", code], cwd=HERE, capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["False", "False"]
