"""Two routes to one pattern, drafting each size from its figures and grading the base block, and a third witness."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from grading.drafting.draft import construct, draft
from grading.drafting.scenario import BASES, demo_allowances, demo_block, demo_sizes
from grading.drafting.working import own_table
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.geometry.lengths import evaluate

GROUPS = tuple(BASES)
TABLES = {table.group: table for table in demo_sizes()}
#: Drafted coordinates are rounded to a thousandth of a millimetre, the base's and the size's: half of it each.
ROUNDED = 0.0011
FINE = np.linspace(0, 1, 25)[:-1]

# Worked by hand on grid paper, with pencil, from the demo's figures; mm. Allowances: hand ease 24, thumb ease 19,
# fold-backs 60 and 100, taper 2, waist 5, cuff flare 3, thumb forward 8, web lowering 8, turn 24, stem waist 2,
# thumb flare 6, foot depth 3.
#
# W1: fist 180, palm 93, thumb 62, web to knuckle 28, root 54 long and 35 broad, web depth 24, gap 19.
#   A side (180 + 24) / 2 = 102. Fold 93 + 30 = 123, edge 93 + 60 = 153; body of it (93 + 123) / 2 = 108, turned
#   2 x 123 - 108 = 138, both half a taper in, 101. Palm 0.64 x 93 = 59.52 up, a quarter of the waist in, 100.75.
#   Waist 0.28 x 93 = 26.04 up, 97 out. Wrist 102 - 4.25 = 97.75. Cuff: fold -50, edge -100, body -25, turned -75;
#   fold 105 out, body 102 - 2 + 0.3 = 100.3.
#   Hole: line 19 + 8 = 27; T 93 - 24 = 69; H 69 - 54 = 15. Shoulder 8.1 down, 0.58 x 17.5 = 10.15 out; side 32.4
#   down, 17.5 out; heel 48.6 down, 12.6 out.
#   Thumb: a side (62 + 19) / 2 = 40.5; T 28 + 8 = 36 down and 46.5 out; stem half-way, 38.5 out; flare 32.4 down
#   and 0.9 out of 40.5. Foot 57 deep: 0.27, 0.64 and 0.92 of it are 15.39, 36.48 and 52.44; of 46.5 across 0.88, 0.63
#   and 0.29 are 40.92, 29.295 and 13.485.
W1 = {
    "Trank": {
        "finger centre": (0, 153), "finger edge": (102, 153), "finger turn": (101, 138), "finger fold": (100, 123),
        "finger body": (101, 108), "knuckle": (102, 93), "palm": (100.75, 59.52), "waist": (97, 26.04),
        "wrist": (97.75, 0), "cuff body": (100.3, -25), "cuff fold": (105, -50), "cuff turn": (100.3, -75),
        "cuff edge": (97.75, -100), "cuff centre": (0, -100),
        "T": (27, 69), "palm shoulder": (37.15, 60.9), "palm side": (44.5, 36.6), "palm heel": (39.6, 20.4),
        "H": (27, 15), "index heel": (14.4, 20.4), "index side": (9.5, 36.6), "index shoulder": (16.85, 60.9),
    },
    "Thumb": {
        "turn centre": (0, 24), "turn edge": (40.5, 24), "turn fold": (40.5, 12), "knuckle": (40.5, 0),
        "stem": (38.5, -18), "flare": (41.4, -32.4), "T": (46.5, -36), "foot shoulder": (40.92, -51.39),
        "foot belly": (29.295, -72.48), "foot heel": (13.485, -88.44), "H": (0, -93), "web centre": (0, -36),
    },
}  # fmt: skip
# W6: fist 240, palm 108, thumb 82, web to knuckle 33, root 64 long and 42.5 broad, web depth 26.5, gap 24.
#   A side 264 / 2 = 132. Fold 138, edge 168, body 123, turned 153. Palm 69.12, waist 30.24 up. Line 32, T 81.5, H
#   17.5; 9.6, 38.4 and 57.6 down, 12.325, 21.25 and 15.3 out. Thumb 101 / 2 = 50.5, T 41 down and 56.5 out, flare
#   36.9 down. Foot 67 deep: 18.09, 42.88, 61.64; of 56.5: 49.72, 35.595, 16.385.
W6 = {
    "Trank": {
        "finger centre": (0, 168), "finger edge": (132, 168), "finger turn": (131, 153), "finger fold": (130, 138),
        "finger body": (131, 123), "knuckle": (132, 108), "palm": (130.75, 69.12), "waist": (127, 30.24),
        "wrist": (127.75, 0), "cuff body": (130.3, -25), "cuff fold": (135, -50), "cuff turn": (130.3, -75),
        "cuff edge": (127.75, -100), "cuff centre": (0, -100),
        "T": (32, 81.5), "palm shoulder": (44.325, 71.9), "palm side": (53.25, 43.1), "palm heel": (47.3, 23.9),
        "H": (32, 17.5), "index heel": (16.7, 23.9), "index side": (10.75, 43.1), "index shoulder": (19.675, 71.9),
    },
    "Thumb": {
        "turn centre": (0, 24), "turn edge": (50.5, 24), "turn fold": (50.5, 12), "knuckle": (50.5, 0),
        "stem": (48.5, -20.5), "flare": (51.4, -36.9), "T": (56.5, -41), "foot shoulder": (49.72, -59.09),
        "foot belly": (35.595, -83.88), "foot heel": (16.385, -102.64), "H": (0, -108), "web centre": (0, -41),
    },
}  # fmt: skip
#: What one millimetre of fullness adds to the rim, and to nothing else: outwards and down.
FULLER = {"foot shoulder": (0.6, -0.3), "foot belly": (0.8, -0.6), "foot heel": (0.45, -0.9), "H": (0, -1)}


def hand(group: str, size: str) -> dict[str, float]:
    table = TABLES[group]
    return dict(zip(table.measurements, table.values[:, table.sizes.index(size)].tolist(), strict=True))


def drafted_for(group: str, size: str):
    layer = {"compressed_pile": 1.8, "leather": 1.0, "date": ""}
    return draft("", (), hand(group, size), demo_allowances(group), **layer)


@pytest.mark.parametrize(("size", "worked"), [("W1", W1), ("W6", W6)])
def test_grading_the_base_comes_to_the_coordinates_worked_by_hand(size, worked):
    run = grade(demo_block("Women"), TABLES["Women"])
    column = run.sizes.index(size)
    # Unbalanced, every size has the fullness of the base's rim: its H lies that much below the 38 + 61 of W3.
    fullness = -99 - next(p.y for p in run.block.points if (p.piece, p.name) == ("Thumb", "H"))
    for name, points in worked.items():
        assert set(points) == set(run.pieces[name].shape.names)
        for point, (x, y) in points.items():
            out, down = FULLER.get(point, (0, 0)) if name == "Thumb" else (0, 0)
            found = run.pieces[name].point(point)[column]
            assert found == pytest.approx((x + out * fullness, y + down * fullness), abs=ROUNDED), point


@pytest.mark.parametrize(("size", "worked"), [("W1", W1), ("W6", W6)])
def test_drafting_that_size_comes_to_the_coordinates_worked_by_hand(size, worked):
    found = construct(hand("Women", size), demo_allowances("Women"))
    by_hand = {(piece, point): at for piece, points in worked.items() for point, at in points.items()}
    assert set(found) == set(by_hand)
    for name, at in by_hand.items():
        assert found[name] == pytest.approx(at), name


@pytest.mark.parametrize("group", GROUPS)
def test_drafting_and_grading_agree_exactly_at_every_point_with_the_same_fullness(group):
    """Every construction is linear in the figures, so nothing but the rounding of what was drafted parts the two."""
    run = balanced(grade(demo_block(group), TABLES[group]))
    base = {(point.piece, point.name): point for point in run.block.points}
    on_base = construct(hand(group, BASES[group]), demo_allowances(group))
    start = on_base["Thumb", "H"][1] - base["Thumb", "H"].y
    for column, size in enumerate(run.sizes):
        fullness = start + run.balances[0].solved[column]
        for (piece, point), at in construct(hand(group, size), demo_allowances(group), fullness).items():
            assert run.pieces[piece].point(point)[column] == pytest.approx(at, abs=ROUNDED)


@pytest.mark.parametrize("group", GROUPS)
def test_a_size_drafted_anew_and_the_same_size_graded_are_one_pattern(group):
    """The two differ by design in one thing. A graded curve keeps the knots of the base, so that what was tuned there
    stays; one drafted anew takes its own, and so balances its foot to a hair of another fullness. Bounded here."""
    run = balanced(grade(demo_block(group), TABLES[group]))
    for column, size in enumerate(run.sizes):
        anew = grade(drafted_for(group, size), own_table(hand(group, size)))
        for name, piece in run.pieces.items():
            assert piece.points[column] == pytest.approx(anew.pieces[name].points[0], abs=0.01)
            for loop, beziers in piece.beziers.items():
                graded, drafted = (
                    shapely.linearrings(evaluate(curves, FINE).reshape(-1, 2))
                    for curves in (beziers[column], anew.pieces[name].beziers[loop][0])
                )
                assert shapely.hausdorff_distance(graded, drafted) < 0.15
