"""Two routes to one pattern, drafting each size from its figures and grading the base block, and a third witness."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from grading.drafting.draft import construct, draft, own_table
from grading.drafting.scenario import BASES, demo_allowances, demo_block, demo_sizes
from grading.drafting.style import STANDARD, mitten
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.geometry.beziers import evaluate

MITTEN = mitten(STANDARD)
GROUPS = tuple(BASES)
TABLES = {table.group: table for table in demo_sizes()}
#: Drafted coordinates are rounded to a thousandth of a millimetre, the base's and the size's: half of it each.
ROUNDED = 0.0011
FINE = np.linspace(0, 1, 25)[:-1]

# Worked by hand on grid paper, with pencil, from the demo's figures; mm. Allowances: hand ease 24, thumb ease 19,
# fold-backs 60 and 100, taper 6, waist 2, cuff flare 3, thumb forward 8, web lowering 8, turn 24, no stem waist, thumb
# flare 7.5, foot depth 1.5. A turned part is wider by 3.14 x 1.0 mm of leather at its raw edge, by half of it half-way.
#
# W1: fist 180, palm 93, thumb 62, web to knuckle 28, root 54 long and 35 broad, web depth 24, gap 19.
#   A side (180 + 24) / 2 = 102. Fold 93 + 30 = 123, edge 93 + 60 = 153; body of it (93 + 123) / 2 = 108, turned
#   2 x 123 - 108 = 138, a fifth of the taper in, 100.8, turned 1.57 out of that; edge 102 + 3.14. Palm 0.65 x 93 up,
#   0.2 x 2 in. Wrist 0.9 x 2 in. Waist 5 below the wrist, 2 in. Cuff: fold -50, edge -100, body -25, turned -75; fold
#   105 out, body 102 - 1.1 + 0.9 = 101.8. The waist turned lies at -95, nine tenths of the way: 100 + 2.826; edge
#   100.2 + 3.14.
#   Hole: line 19 + 8 = 27; T 93 - 24 = 69; H 69 - 54 = 15. Shoulder 7.56 down, 0.66 x 17.5 = 11.55 out; side 30.78
#   down, 17.5 out; heel 48.6 down, 12.95 out.
#   Thumb: a side (62 + 19) / 2 = 40.5; T 28 + 8 = 36 down and 48 out; stem half-way. Flare 28.8 - 0.71 x 7.5 = 23.475
#   down, 0.225 out of 40.5; lip 36 - 3.375 down, 3.75 out. Foot 55.5 deep: 0.06, 0.72 and 0.96 of it are 3.33, 39.96
#   and 53.28; of 48 across 0.85, 0.37 and 0.19 are 40.8, 17.76 and 9.12, and 0.18 and 0.1 of it, 8.64 and 4.8, go down.
W1 = {
    "Trank": {
        "finger centre": (0, 153), "finger edge": (105.14, 153), "finger turn": (102.37, 138),
        "finger fold": (96, 123), "finger body": (100.8, 108), "knuckle": (102, 93), "palm": (101.6, 60.45),
        "wrist": (100.2, 0), "waist": (100, -5), "cuff body": (101.8, -25), "cuff fold": (105, -50),
        "cuff turn": (103.37, -75), "cuff waist": (102.826, -95), "cuff edge": (103.34, -100), "cuff centre": (0, -100),
        "T": (27, 69), "palm shoulder": (38.55, 61.44), "palm side": (44.5, 38.22), "palm heel": (39.95, 20.4),
        "H": (27, 15), "index heel": (14.05, 20.4), "index side": (9.5, 38.22), "index shoulder": (15.45, 61.44),
    },
    "Thumb": {
        "turn centre": (0, 24), "turn edge": (43.64, 24), "turn fold": (40.5, 12), "knuckle": (40.5, 0),
        "stem": (40.5, -18), "flare": (40.725, -23.475), "lip": (44.25, -32.625), "T": (48, -36),
        "foot shoulder": (40.8, -47.97), "foot belly": (17.76, -80.76), "foot heel": (9.12, -89.28), "H": (0, -91.5),
        "web centre": (0, -36),
    },
}  # fmt: skip
# W6: fist 240, palm 108, thumb 82, web to knuckle 33, root 64 long and 42.5 broad, web depth 26.5, gap 24.
#   A side 264 / 2 = 132. Fold 138, edge 168, body 123, turned 153. Palm 70.2 up. Line 32, T 81.5, H 17.5; 8.96, 36.48
#   and 57.6 down, 14.025, 21.25 and 15.725 out. Thumb 101 / 2 = 50.5, T 41 down and 58 out, flare 32.8 - 5.325 down,
#   lip 37.625. Foot 65.5 deep: 3.93, 47.16, 62.88; of 58: 49.3, 21.46, 11.02 out, 10.44 and 5.8 down.
W6 = {
    "Trank": {
        "finger centre": (0, 168), "finger edge": (135.14, 168), "finger turn": (132.37, 153),
        "finger fold": (126, 138), "finger body": (130.8, 123), "knuckle": (132, 108), "palm": (131.6, 70.2),
        "wrist": (130.2, 0), "waist": (130, -5), "cuff body": (131.8, -25), "cuff fold": (135, -50),
        "cuff turn": (133.37, -75), "cuff waist": (132.826, -95), "cuff edge": (133.34, -100), "cuff centre": (0, -100),
        "T": (32, 81.5), "palm shoulder": (46.025, 72.54), "palm side": (53.25, 45.02), "palm heel": (47.725, 23.9),
        "H": (32, 17.5), "index heel": (16.275, 23.9), "index side": (10.75, 45.02), "index shoulder": (17.975, 72.54),
    },
    "Thumb": {
        "turn centre": (0, 24), "turn edge": (53.64, 24), "turn fold": (50.5, 12), "knuckle": (50.5, 0),
        "stem": (50.5, -20.5), "flare": (50.725, -27.475), "lip": (54.25, -37.625), "T": (58, -41),
        "foot shoulder": (49.3, -55.37), "foot belly": (21.46, -93.96), "foot heel": (11.02, -103.88), "H": (0, -106.5),
        "web centre": (0, -41),
    },
}  # fmt: skip
#: What one millimetre of fullness adds to the rim, and to nothing else: outwards and down.
FULLER = {"foot shoulder": (0, -0.05), "foot belly": (0.58, -0.62), "foot heel": (0.49, -1), "H": (0, -1)}


def allowed(group: str) -> dict[str, float]:
    """The demo's allowances, and what a turned part needs for leather of 1.0 mm: pi x 1.0, to a hundredth."""
    return {**demo_allowances(group), "turn room": 3.14}


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
    # Unbalanced, every size has the fullness of the base's rim: its H lies that much below the 38 + 59.5 of W3.
    fullness = -97.5 - next(p.y for p in run.block.points if (p.piece, p.name) == ("Thumb", "H"))
    for name, points in worked.items():
        assert set(points) == set(run.pieces[name].shape.names)
        for point, (x, y) in points.items():
            out, down = FULLER.get(point, (0, 0)) if name == "Thumb" else (0, 0)
            found = run.pieces[name].point(point)[column]
            assert found == pytest.approx((x + out * fullness, y + down * fullness), abs=ROUNDED), point


@pytest.mark.parametrize(("size", "worked"), [("W1", W1), ("W6", W6)])
def test_drafting_that_size_comes_to_the_coordinates_worked_by_hand(size, worked):
    found = construct(MITTEN, hand("Women", size), allowed("Women"))
    by_hand = {(piece, point): at for piece, points in worked.items() for point, at in points.items()}
    assert set(found) == set(by_hand)
    for name, at in by_hand.items():
        assert found[name] == pytest.approx(at), name


@pytest.mark.parametrize("group", GROUPS)
def test_drafting_and_grading_agree_exactly_at_every_point_with_the_same_fullness(group):
    """Every construction is linear in the figures, so nothing but the rounding of what was drafted parts the two."""
    run = balanced(grade(demo_block(group), TABLES[group]))
    base = {(point.piece, point.name): point for point in run.block.points}
    on_base = construct(MITTEN, hand(group, BASES[group]), allowed(group))
    start = on_base["Thumb", "H"][1] - base["Thumb", "H"].y
    for column, size in enumerate(run.sizes):
        fullness = start + run.balances[0].solved[column]
        anew = construct(MITTEN, hand(group, size), allowed(group), {"foot fullness": fullness})
        for (piece, point), at in anew.items():
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
