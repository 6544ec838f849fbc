"""Seam balance: the thumb has its target ease in every size, and nothing else moves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy

from grading.engine.balance import balanced
from grading.engine.run import SizeRun, grade
from grading.model.block import Amount

GROUPS = ("Women", "Men", "Children")
SEAMS = (("foot", "hole palm half"), ("foot'", "hole index half"))


def eases(run: SizeRun) -> np.ndarray:
    """Foot less hole, by half and size, in mm."""
    thumb, trank = run.pieces["Thumb"], run.pieces["Trank"]
    return np.array([thumb.edge_lengths(foot) - trank.edge_lengths(hole) for foot, hole in SEAMS])


def targets(run: SizeRun) -> np.ndarray:
    return np.array([0.055 * run.pieces["Trank"].edge_lengths(hole) for _, hole in SEAMS])


@pytest.mark.parametrize("group", GROUPS)
def test_seam_ease_is_its_target_in_every_size_and_each_half_half_of_it(runs, group):
    ease, target = eases(runs[group]), targets(runs[group])
    assert ease.sum(axis=0) == pytest.approx(target.sum(axis=0), abs=0.01)
    assert ease == pytest.approx(target, abs=0.5)


@pytest.mark.parametrize("group", GROUPS)
def test_without_balance_the_thumb_drifts_from_its_hole(blocks, tables, group):
    run = grade(blocks[group], tables[group])
    assert np.abs(eases(run).sum(axis=0) - targets(run).sum(axis=0)).max() > 0.1


@pytest.mark.parametrize("group", GROUPS)
def test_the_solved_fullness_is_what_scipys_root_finder_finds(blocks, tables, group):
    block, table = blocks[group], tables[group]
    values = {value.name: i for i, value in enumerate(block.values)}
    solved = balanced(grade(block, table)).balances[0].solved

    def excess(fullness: float, size: int) -> float:
        pushed = list(block.values)
        pushed[values["foot fullness"]] = replace(pushed[values["foot fullness"]], now=fullness)
        run = grade(replace(block, values=tuple(pushed)), table)
        return float((eases(run) - targets(run)).sum(axis=0)[size])

    for size in (0, len(table.sizes) - 1):
        assert solved[size] == pytest.approx(scipy.optimize.brentq(excess, -4.9, 4.9, args=(size,)), abs=1e-6)


def test_balance_moves_the_belly_only(blocks, tables):
    before = grade(blocks["Children"], tables["Children"])
    after = balanced(before)
    thumb = after.pieces["Thumb"]
    moved = np.abs(thumb.points - before.pieces["Thumb"].points).max(axis=(0, 2))
    bellied = {name for name, far in zip(thumb.shape.names, moved, strict=True) if far > 0}
    assert bellied == {"foot shoulder", "foot belly", "foot heel", "H"}
    assert after.pieces["Trank"] is before.pieces["Trank"]


def test_a_target_beyond_the_bounds_says_by_how_much_it_misses(block, children):
    free = balanced(grade(block, children)).balances[0].solved
    least, most = float(free[0]) + 0.3, float(free[-1]) - 0.3
    run = balanced(grade(with_fullness(block, least=least, most=most), children))
    found = run.balances[0]
    assert found.solved[[0, -1]] == pytest.approx([least, most])
    assert found.missed == pytest.approx((eases(run) - targets(run)).sum(axis=0), abs=1e-5)
    assert found.missed[0] > 0.1
    assert found.missed[-1] < -0.1


def test_a_target_under_the_least_length_takes_the_least_length(block, tables):
    values = tuple(
        replace(value, least=-60.0, most=5.0) if value.name == "foot fullness" else value for value in block.values
    )
    seams = tuple(
        replace(seam, target=replace(seam.target, part=-0.5)) if seam.balance else seam for seam in block.seams
    )
    tight = replace(block, values=values, seams=seams)
    run = balanced(grade(tight, tables["Women"]))
    least = eases(run).sum(axis=0)
    for shift in (-0.5, 0.5):
        column = [value.name for value in block.values].index("foot fullness")
        for size, solved in enumerate(run.balances[0].solved):
            pushed = list(values)
            pushed[column] = replace(pushed[column], now=solved + shift)
            near = grade(replace(tight, values=tuple(pushed)), tables["Women"])
            assert eases(near).sum(axis=0)[size] > least[size]


def test_a_blank_target_is_the_bases_own_ease(block, tables):
    blank = replace(block, seams=tuple(replace(seam, target=None) for seam in block.seams))
    run = balanced(grade(blank, tables["Women"]))
    ease = eases(run).sum(axis=0)
    assert run.balances[0].solved[run.base] == pytest.approx(0, abs=1e-9)
    assert ease == pytest.approx(np.full(6, ease[run.base]), abs=1e-5)


def test_a_target_may_be_an_allowance_of_the_block(block, tables):
    named = tuple(
        replace(seam, target=Amount(allowance="foot depth")) if seam.balance else seam for seam in block.seams
    )
    run = balanced(grade(replace(block, seams=named), tables["Women"]))
    assert eases(run).sum(axis=0) == pytest.approx(2 * run.drivers["foot depth"], abs=1e-5)


def test_a_sizes_balance_does_not_depend_on_the_other_sizes(block, tables):
    table = tables["Children"]
    together = balanced(grade(block, table))
    for size in range(len(table.sizes)):
        alone = balanced(
            grade(block, replace(table, sizes=table.sizes[size : size + 1], values=table.values[:, [size]]))
        )
        assert (alone.pieces["Thumb"].points[0] == together.pieces["Thumb"].points[size]).all()


def with_fullness(block, **changes):
    return replace(
        block,
        values=tuple(replace(value, **changes) if value.name == "foot fullness" else value for value in block.values),
    )


def test_what_the_balance_value_was_drafted_with_shifts_its_figures_and_no_point(block, tables):
    plain = balanced(grade(block, tables["Men"]))
    value = block.value("foot fullness")
    shifted = with_fullness(
        block, drafted=value.drafted + 3, now=value.now + 3, least=value.least + 3, most=value.most + 3
    )
    run = balanced(grade(shifted, tables["Men"]))
    assert run.balances[0].solved == pytest.approx(plain.balances[0].solved + 3, abs=1e-9)
    assert run.pieces["Thumb"].points == pytest.approx(plain.pieces["Thumb"].points, abs=1e-9)


def test_what_is_solved_does_not_depend_on_where_the_search_starts(block, tables):
    plain = balanced(grade(block, tables["Men"])).balances[0].solved
    started = balanced(grade(with_fullness(block, now=2.0), tables["Men"])).balances[0].solved
    assert started == pytest.approx(plain, abs=1e-6)


@pytest.mark.parametrize("shift", [0.0, 3.0])
def test_a_lower_bound_holds_for_the_figure_and_not_for_its_change(block, tables, shift):
    value = block.value("foot fullness")
    block = with_fullness(block, drafted=value.drafted + shift, now=value.now + shift, most=value.most + shift)
    plain = balanced(grade(block, tables["Men"])).balances[0]
    least = float(plain.solved.mean())
    found = balanced(grade(with_fullness(block, least=least), tables["Men"])).balances[0]
    short = plain.solved < least
    assert short.any()
    assert not short.all()
    assert found.solved[short] == pytest.approx(least)
    assert (found.missed[short] > 0).all()
    assert found.solved[~short] == pytest.approx(plain.solved[~short], abs=1e-6)


@pytest.mark.parametrize("shift", [0.0, 3.0])
def test_a_bound_that_stops_short_is_kept_and_what_is_missed_is_told(block, tables, shift):
    value = block.value("foot fullness")
    block = with_fullness(block, drafted=value.drafted + shift, now=value.now + shift, most=value.most + shift)
    plain = balanced(grade(block, tables["Men"])).balances[0]
    most = float(plain.solved.mean())
    found = balanced(grade(with_fullness(block, most=most), tables["Men"])).balances[0]
    short = plain.solved > most
    assert short.any()
    assert not short.all()
    assert found.solved[short] == pytest.approx(most)
    assert (found.missed[short] < 0).all()
    assert found.solved[~short] == pytest.approx(plain.solved[~short], abs=1e-6)
    assert (found.missed[~short] == 0).all()


def test_a_balance_value_that_no_seam_names_is_left_as_drafted(block, tables):
    unnamed = replace(block, seams=tuple(replace(seam, balance="") for seam in block.seams))
    run = grade(unnamed, tables["Women"])
    assert balanced(run) is run
