"""The standard mitten as data: its values, points, moves and edges, the same for every hand it is drafted for.

Only coordinates differ from one drafted block to another; ``draft`` constructs them from a hand, without these
moves. Shares are of the whole value: 'side' takes half of the girth because the hand has depth.
"""

from __future__ import annotations

from grading.model.block import Edge, Move, Share

__all__ = [
    "ALLOWANCES",
    "BODY",
    "EDGES",
    "FLARE",
    "FOOT",
    "FULLNESS",
    "HOLE",
    "MOVES",
    "POINT_MOVES",
    "SIDE",
    "TAPERED",
    "TURNED",
    "TURN_POINTS",
    "TURN_ROOM",
]

TRANK, THUMB = "Trank", "Thumb"

#: The body values that move points.
BODY = (
    "fist girth",
    "palm length",
    "thumb girth",
    "web to knuckle",
    "thumb root length",
    "thumb root breadth",
    "web depth",
    "index-middle gap",
)

#: The allowances: adults' figure, children's figure, what each is for. Invented for the demo.
ALLOWANCES = {
    "hand ease": (24.0, 22.0, "round the hand: room to move and the material's own thickness"),
    "thumb ease": (19.0, 19.0, "round the thumb: it has to pass its tube, and the material takes the most of it"),
    "finger fold-back": (60.0, 36.0, "the whole allowance at the fingers; half of it shows, turned"),
    "cuff fold-back": (100.0, 60.0, "the whole allowance at the cuff; half of it shows, turned"),
    "finger taper": (6.0, 5.0, "how much narrower a side is at the finger fold than at the knuckles"),
    "waist shaping": (2.0, 1.0, "how much narrower a side is at the waist than at the knuckles"),
    "cuff flare": (
        3.0,
        3.0,
        "how much wider a side is at the cuff fold than at the knuckles: 0 to 3 under a sleeve, 12 or more over one",
    ),
    "thumb forward": (8.0, 6.0, "how far the thumb line lies in front of the gap of index and middle finger"),
    "web lowering": (8.0, 6.0, "how much longer the thumb's stem is, so that it reaches down to the web"),
    "thumb turn": (24.0, 16.0, "beyond the thumb's knuckle line; half of it shows, turned"),
    "stem waist": (0.0, 0.0, "how far the thumb's stem runs inside the knuckle width"),
    "thumb flare": (7.5, 5.5, "how far the thumb's stem flares at T, from half-way down"),
    "foot depth": (1.5, 1.0, "how much deeper the foot is than the thumb root is long"),
}

#: The allowances of the parts that are turned.
TURNED = ("finger fold-back", "cuff fold-back", "thumb turn")

#: How much wider a side of a turned part is at its raw edge than the body under it: it goes round the outside, and so
#: it is π × the leather's thickness where nobody asks for another figure.
TURN_ROOM = "turn room"

#: How much of the finger taper a side has half-way to the fold: it leaves the knuckles upright.
TAPERED = 0.2

#: The side below the knuckles, from palm to cuff: how far up (of palm length, or below 0 of the cuff fold-back) and how
#: much of the waist shaping, and of the cuff's flare, it has there.
SIDE = {"palm": (0.65, 0.2, 0.0), "wrist": (0.0, 0.9, 0.0), "waist": (-0.05, 1.0, 0.0), "cuff body": (-0.25, 0.55, 0.3)}

#: The thumb hole, a rounded drop: how far down from T (of the root length) and out (of half the root breadth).
HOLE = {"shoulder": (0.14, 0.66), "side": (0.57, 1.0), "heel": (0.9, 0.74)}

#: The tube's flare: how far down from the knuckle to T, and from there how far up and how far out, both in times the
#: thumb flare. Near T it is shaped by that allowance alone, so that it meets T in the same direction in every size.
FLARE = {"flare": (0.8, 0.71, 0.03), "lip": (1.0, 0.45, 0.5)}

#: The foot's rim between T and H: how far out of the mirror line (of the half-width at T), and how far down from T (of
#: that half-width, and of the foot's depth). Near T width counts and not depth, so that the rim leaves it square to the
#: tube whether a hand's thumb is long or stout.
FOOT = {
    "foot shoulder": (0.85, 0.18, 0.06),
    "foot belly": (0.37, 0.1, 0.72),
    "foot heel": (0.19, 0.0, 0.96),
}

#: Which way and how far each point of the rim goes for one unit of foot fullness; T, stem and knuckle stay, and the
#: shoulder moves so little that the rim leaves T as before.
FULLNESS = {"foot shoulder": (0.0, -0.05), "foot belly": (0.58, -0.62), "foot heel": (0.49, -1.0), "H": (0.0, -1.0)}


def _named(name: str, shares: dict[str, tuple[float, float]]) -> Move:
    return Move(name, tuple(Share(value, x, y) for value, (x, y) in shares.items()))


def _hole_moves() -> list[Move]:
    return [
        _named(
            f"hole {side} {part}",
            {"thumb root breadth": (sign * out / 2, 0.0), "thumb root length": (0.0, -down)},
        )
        for side, sign in (("palm", 1), ("index", -1))
        for part, (down, out) in HOLE.items()
    ]


def _foot_moves() -> list[Move]:
    return [
        _named(
            f"to {point}",
            {
                "thumb girth": (across / 2, -by_width / 2),
                "thumb ease": (across / 2, -by_width / 2),
                "thumb flare": (across, -by_width),
                "thumb root length": (0.0, -by_depth),
                "foot depth": (0.0, -by_depth),
                "foot fullness": FULLNESS[point],
            },
        )
        for point, (across, by_width, by_depth) in {**FOOT, "H": (0.0, 0.0, 1.0)}.items()
    ]


def _side_move(name: str) -> Move:
    """A point of the side below the knuckles."""
    up, waist, flare = SIDE[name]
    above = {"palm length": (0.0, up)} if up > 0 else {"cuff fold-back": (0.0, up)}
    return _named(name, above | {"waist shaping": (-waist, 0.0), "cuff flare": (flare, 0.0)})


def _cuff_turned(name: str, body: str, room: float) -> Move:
    """The mirror image of a point of the side in the cuff fold, wider by some of the room that a turned part needs."""
    up, waist, flare = SIDE[body]
    return _named(
        name,
        {
            "cuff fold-back": (0.0, -1.0 - up),
            "waist shaping": (-waist, 0.0),
            "cuff flare": (flare, 0.0),
            TURN_ROOM: (room, 0.0),
        },
    )


def _stem_move(name: str, part: float, out: dict[str, tuple[float, float]]) -> Move:
    """A point part of the way from the knuckle down to T."""
    return _named(name, {"web to knuckle": (0.0, -part), "web lowering": (0.0, -part), **out})


MOVES: tuple[Move, ...] = (
    _named("side", {"fist girth": (0.5, 0.0), "hand ease": (0.5, 0.0)}),
    _named("turned", {TURN_ROOM: (1.0, 0.0)}),
    _named("finger line", {"palm length": (0.0, 1.0)}),
    _named("finger edge", {"palm length": (0.0, 1.0), "finger fold-back": (0.0, 1.0)}),
    _named(
        "finger turn",
        {
            "palm length": (0.0, 1.0),
            "finger fold-back": (0.0, 0.75),
            "finger taper": (-TAPERED, 0.0),
            TURN_ROOM: (0.5, 0.0),
        },
    ),
    _named(
        "finger fold",
        {"palm length": (0.0, 1.0), "finger fold-back": (0.0, 0.5), "finger taper": (-1.0, 0.0)},
    ),
    _named(
        "finger body",
        {"palm length": (0.0, 1.0), "finger fold-back": (0.0, 0.25), "finger taper": (-TAPERED, 0.0)},
    ),
    *(_side_move(name) for name in SIDE),
    _named("cuff fold", {"cuff fold-back": (0.0, -0.5), "cuff flare": (1.0, 0.0)}),
    _cuff_turned("cuff turn", "cuff body", 0.5),
    _cuff_turned("cuff waist", "waist", 0.9),
    _cuff_turned("cuff edge", "wrist", 1.0),
    _named("cuff end", {"cuff fold-back": (0.0, -1.0)}),
    _named(
        "hole place",
        {
            "index-middle gap": (1.0, 0.0),
            "thumb forward": (1.0, 0.0),
            "palm length": (0.0, 1.0),
            "web depth": (0.0, -1.0),
        },
    ),
    _named("hole heel", {"thumb root length": (0.0, -1.0)}),
    *_hole_moves(),
    _named("thumb side", {"thumb girth": (0.5, 0.0), "thumb ease": (0.5, 0.0)}),
    _named("thumb edge", {"thumb turn": (0.0, 1.0)}),
    _named("thumb fold", {"thumb turn": (0.0, 0.5)}),
    _stem_move("stem", 0.5, {"stem waist": (-1.0, 0.0)}),
    *(_stem_move(name, down, {"thumb flare": (out, up)}) for name, (down, up, out) in FLARE.items()),
    _stem_move("thumb web", 1.0, {"thumb flare": (1.0, 0.0)}),
    _stem_move("foot place", 1.0, {}),
    *_foot_moves(),
)

#: The moves of each point, in the order in which the points are drafted.
POINT_MOVES: dict[tuple[str, str], tuple[str, ...]] = {
    (TRANK, "finger centre"): ("finger edge",),
    (TRANK, "finger edge"): ("side", "turned", "finger edge"),
    (TRANK, "finger turn"): ("side", "finger turn"),
    (TRANK, "finger fold"): ("side", "finger fold"),
    (TRANK, "finger body"): ("side", "finger body"),
    (TRANK, "knuckle"): ("side", "finger line"),
    **{(TRANK, name): ("side", name) for name in SIDE},
    (TRANK, "cuff fold"): ("side", "cuff fold"),
    (TRANK, "cuff turn"): ("side", "cuff turn"),
    (TRANK, "cuff waist"): ("side", "cuff waist"),
    (TRANK, "cuff edge"): ("side", "cuff edge"),
    (TRANK, "cuff centre"): ("cuff end",),
    (TRANK, "T"): ("hole place",),
    **{(TRANK, f"palm {part}"): ("hole place", f"hole palm {part}") for part in HOLE},
    (TRANK, "H"): ("hole place", "hole heel"),
    **{(TRANK, f"index {part}"): ("hole place", f"hole index {part}") for part in reversed(HOLE)},
    (THUMB, "turn centre"): ("thumb edge",),
    (THUMB, "turn edge"): ("thumb side", "turned", "thumb edge"),
    (THUMB, "turn fold"): ("thumb side", "thumb fold"),
    (THUMB, "knuckle"): ("thumb side",),
    (THUMB, "stem"): ("thumb side", "stem"),
    **{(THUMB, name): ("thumb side", name) for name in FLARE},
    (THUMB, "T"): ("thumb side", "thumb web"),
    **{(THUMB, point): ("foot place", f"to {point}") for point in FOOT},
    (THUMB, "H"): ("foot place", "to H"),
    (THUMB, "web centre"): ("foot place",),
}

#: Corners; every other point lies on a smooth curve. Fold ends are corners so that each part mirrors on its own.
TURN_POINTS = {
    (TRANK, "finger edge"),
    (TRANK, "finger fold"),
    (TRANK, "cuff fold"),
    (TRANK, "cuff edge"),
    (THUMB, "turn edge"),
    (THUMB, "turn fold"),
    (THUMB, "T"),
}

_HOLE_PALM = ("T", *(f"palm {part}" for part in HOLE), "H")
_HOLE_INDEX = ("H", *(f"index {part}" for part in reversed(HOLE)), "T")

EDGES = (
    Edge(TRANK, "finger raw edge", "boundary", ("finger centre", "finger edge"), "raw edge"),
    Edge(TRANK, "finger turned side", "boundary", ("finger edge", "finger turn", "finger fold"), "oversewn"),
    Edge(
        TRANK,
        "side",
        "boundary",
        ("finger fold", "finger body", "knuckle", *SIDE, "cuff fold"),
        "oversewn",
    ),
    Edge(TRANK, "cuff turned side", "boundary", ("cuff fold", "cuff turn", "cuff waist", "cuff edge"), "oversewn"),
    Edge(TRANK, "cuff raw edge", "boundary", ("cuff edge", "cuff centre"), "raw edge"),
    Edge(TRANK, "hole palm half", "thumb hole", _HOLE_PALM, "inside seam"),
    Edge(TRANK, "hole index half", "thumb hole", _HOLE_INDEX, "inside seam"),
    Edge(THUMB, "turn raw edge", "boundary", ("turn centre", "turn edge"), "raw edge"),
    Edge(THUMB, "turned side", "boundary", ("turn edge", "turn fold"), "oversewn"),
    Edge(THUMB, "stem side", "boundary", ("turn fold", "knuckle", "stem", *FLARE, "T"), "oversewn"),
    Edge(THUMB, "foot", "boundary", ("T", *FOOT, "H"), "inside seam"),
)
