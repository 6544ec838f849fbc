"""What a glover looks at, measured on the printed templates by PDFium: rim at T, web of the hole, room in the tube."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from pdf_paths import paths

from grading.drawing.paper import PAPERS, Printing
from grading.outputs.patterns import patterns
from grading.outputs.pieces import PatternKind
from grading.readings.cut_lines import cut_lines

SHEET = Printing(PAPERS["sheet"])


@pytest.fixture(scope="module")
def printed(runs):
    """{(group, size): the closed curves of the net templates (n, 4, 2) as printed, the largest first}."""
    found = {}
    for group, run in runs.items():
        for size, (_, data) in zip(
            run.sizes, patterns(run, cut_lines(run), SHEET, PatternKind("0", net=True)), strict=True
        ):
            curves = [path for path in paths(data) if len(path) > 20 and len(path) % 3 == 1]
            curves.sort(key=lambda path: -np.ptp(path[:, 0]))
            found[group, size] = [np.array([path[i : i + 4] for i in range(0, len(path) - 1, 3)]) for path in curves]
    return found


def angles(curve: np.ndarray) -> np.ndarray:
    """The inside angle at the start of each cubic, degrees, for a curve that goes round once."""
    out, into = curve[:, 1] - curve[:, 0], np.roll(curve[:, 3] - curve[:, 2], 1, axis=0)
    turn = np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1))
    x, y = curve[:, 0].T
    left = np.sign((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())  # anticlockwise: inside lies to the left
    return 180 - left * np.degrees(turn)


def tightest(curve: np.ndarray) -> float:
    """The smallest radius of a curve, mm, by x'y'' - y'x'' over the speed cubed."""
    t = np.linspace(0, 1, 101)[:, None, None]
    first, second = 3 * np.diff(curve, axis=1), 6 * np.diff(curve, 2, axis=1)
    v = (1 - t) ** 2 * first[:, 0] + 2 * (1 - t) * t * first[:, 1] + t**2 * first[:, 2]
    a = (1 - t) * second[:, 0] + t * second[:, 1]
    bend = np.abs(v[..., 0] * a[..., 1] - v[..., 1] * a[..., 0]) / np.hypot(v[..., 0], v[..., 1]) ** 3
    return 1 / bend.max()


def test_there_are_a_trank_a_thumb_and_a_hole_on_every_template(printed):
    assert len(printed) == 16
    assert all(len(curves) == 3 for curves in printed.values())


def test_the_rim_runs_smoothly_at_the_thumbs_top_in_every_size(printed):
    # Closed, the two halves make 180 degrees at T: 90 ± 2 each (common practice).
    for key, (_, thumb, _) in printed.items():
        middle = (thumb[:, 0, 0].min() + thumb[:, 0, 0].max()) / 2
        widest = np.argsort(-np.abs(thumb[:, 0, 0] - middle))[:2]
        assert angles(thumb)[widest] == pytest.approx([90, 90], abs=2), key


def test_the_hole_is_round_enough_to_be_turned_in_every_size(printed):
    # At least 6 mm, and three times the 2 mm that are laid into it (common practice).
    for key, (_, _, hole) in printed.items():
        assert tightest(hole) >= 6, key


def test_a_thumb_passes_its_tube_at_the_narrowest_in_every_size(printed, runs):
    # The layer takes 2π of the pressed pile and π of the leather of the round: 4 mm at the least have to be left.
    for (group, size), (_, thumb, _) in printed.items():
        run = runs[group]
        takes = 2 * pi * run.block.compressed_pile + pi * run.block.leather
        middle = (thumb[:, 0, 0].min() + thumb[:, 0, 0].max()) / 2
        t_height = thumb[np.argmax(thumb[:, 0, 0]), 0, 1]
        t = np.linspace(0, 1, 60)[:, None, None]
        u = 1 - t
        points = u**3 * thumb[:, 0] + 3 * u * u * t * thumb[:, 1] + 3 * u * t * t * thumb[:, 2] + t**3 * thumb[:, 3]
        x, y = points.reshape(-1, 2).T
        # The sides above T, but for the level raw edge at the top.
        side = (y > t_height + 0.5) & (y < y.max() - 0.5) & (x > middle + 5)
        girth = run.table.values[run.table.measurements.index("thumb girth"), run.sizes.index(size)]
        assert 2 * (x[side] - middle).min() - girth - takes >= 4 - 0.05, (group, size)
