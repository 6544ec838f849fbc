"""A mock-up: one trial hand, laid on those parts of the skins that are too poor for stock."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
import shapely
from shapely import affinity

from grading.codes import Code
from grading.findings import Finding, Place
from grading.model.hands import EITHER
from grading.model.names import name_key
from grading.model.stock import SkinKind
from grading.stock.lays import Laid, Pair
from grading.stock.pieces import CutPiece
from grading.stock.skins import Skin

__all__ = ["MockUp", "mock_up_findings", "trial_hand", "with_mock_up"]

#: Places that are tried lie so far apart, mm; a trial hand may lie any way round on the pile.
_STEP, _TURNS = 8.0, (0.0, 90.0, 180.0, 270.0)
_LARGER = 0.5
#: How far off, in mm, the outline is by which places are compared.
_ROUGH = 4.0
#: More than this part of its pieces in good leather is worth a word.
_MUCH = 0.25


@dataclass(frozen=True, eq=False)
class MockUp:
    """The trial hand's pieces where they lie on a skin, and how much good leather they take, mm²."""

    skin: Skin
    laid: tuple[Laid, ...]
    good: float

    @property
    def pair(self) -> Pair:
        return self.laid[0].pair


def trial_hand(
    pieces: Mapping[tuple[str, str], Sequence[CutPiece]], size: str, hands: Mapping[str, str]
) -> Pair | Finding:
    """The pieces of one hand of a size, which may be named with its group; or a finding if none or several are meant.

    ``pieces`` are those of a pair by (group, size), ``hands`` says by group which hand it is to be.
    """
    meant = [key for key in pieces if name_key(size) in (name_key(key[1]), name_key(" ".join(key)))]
    if len(meant) != 1:
        several = f"'{size}' is a size of {' and '.join(group for group, _ in meant)}."
        found = several if meant else f"There is no size '{size}' among those planned, for a mock-up."
        expected = f"One of {', '.join(' '.join(key) for key in pieces)}."
        action = "Name the size, with its group before it."
        return Finding.error(Code.MOCK_UP_OF_NO_SIZE, Place(), found, expected, action)
    (key,) = meant
    either = [piece for piece in pieces[key] if piece.hand == EITHER]
    # Of pieces for either hand a pair has two alike, one after the other.
    own = [*(piece for piece in pieces[key] if EITHER != piece.hand == hands[key[0]]), *either[::2]]
    return Pair(0, *key, tuple(sorted(own, key=lambda piece: -piece.area)))


def mock_up_findings(mock_up: MockUp | None, size: str) -> list[Finding]:
    """Whether there was room for it, and whether it takes good leather."""
    if mock_up is None:
        found = f"No skin on hand has room for a mock-up of {size}."
        expected, action = "A part of a skin that is large enough for one hand.", "Plan without it, or add a skin."
        return [Finding.warning(Code.MOCK_UP_WITHOUT_ROOM, Place(), found, expected, action)]
    if mock_up.good > _MUCH * sum(laid.piece.area for laid in mock_up.laid):
        found = f"The mock-up takes {mock_up.good / 1e4:.1f} dm² of good leather of {mock_up.skin.name}."
        expected = "Poor parts that are large enough: flaws that are good for a mock-up."
        action = "Fill in 'Good for' on the sheet Outlines, or cut the trial from other leather."
        return [Finding.note(Code.MOCK_UP_OF_GOOD_LEATHER, Place(), found, expected, action)]
    return []


def with_mock_up(
    trial: Pair, skins: Sequence[SkinKind], gap: float
) -> tuple[MockUp, tuple[SkinKind, ...]] | tuple[None, tuple[SkinKind, ...]]:
    """The mock-up on the skin on hand where it takes the least good leather, and the skins as it leaves them.

    Without a skin that has poor parts it is the first that has room; None where none has. ``trial`` has the pieces of
    one hand.
    """
    on_hand = [kind for kind in skins if kind.count]
    poor = [kind for kind in on_hand if kind.poor or kind.scratched]
    possible = list(_with_room(trial, poor, gap)) or list(islice(_with_room(trial, on_hand, gap), 1))
    if not possible:
        return None, tuple(skins)
    chosen, mock_up = min(possible, key=lambda one: one[1].good)
    name = chosen.name if chosen.count == 1 else f"{chosen.name}, with the mock-up"
    # What is left free beside it is the gap: half of it here, and half round each piece that lies next to it.
    taken = tuple(_ring(laid.outline.buffer(gap / 2)) for laid in mock_up.laid)
    cut = replace(chosen, name=name, count=1, buy_more=False, taken=taken)
    kinds = [part for kind in skins for part in ([kind] if kind is not chosen else _cut_into(kind, cut))]
    return replace(mock_up, skin=Skin(cut, 1, to_buy=False)), tuple(kinds)


def _with_room(trial: Pair, kinds: Iterable[SkinKind], gap: float) -> Iterator[tuple[SkinKind, MockUp]]:
    """Each kind of skin that has room for the trial hand, with that on it."""
    for kind in kinds:
        mock_up = _laid_on(trial, Skin(kind, 1, to_buy=False), gap)
        if mock_up is not None:
            yield kind, mock_up


def _cut_into(kind: SkinKind, cut: SkinKind) -> Iterator[SkinKind]:
    """The skin that is cut into, then those of its kind that are left; at last none, if more can be bought."""
    yield cut
    if kind.count > 1 or kind.buy_more:
        yield replace(kind, count=kind.count - 1)


def _ring(polygon: shapely.Polygon) -> tuple[tuple[float, float], ...]:
    return tuple((x, y) for x, y in shapely.get_coordinates(polygon.exterior)[:-1].tolist())


def _laid_on(trial: Pair, skin: Skin, gap: float) -> MockUp | None:
    """The mock-up on one skin: each piece, larger ones first, where it takes the least good leather."""
    free, laid = skin.for_mock_ups.buffer(-gap / 2), []
    good = 0.0
    for piece in trial.pieces:
        place = _best_place(piece, free, skin.usable)
        if place is None:
            return None
        *at, taken = place
        laid.append(Laid(trial, piece, *at))
        free, good = free.difference(laid[-1].outline.buffer(gap)), good + taken
    return MockUp(skin, tuple(laid), good)


def _best_place(
    piece: CutPiece, free: shapely.Geometry, usable: shapely.Geometry
) -> tuple[float, float, float, float] | None:
    """x, y and turn at which a piece lies in what is free and takes the least of what is usable, and how much."""
    best: tuple[float, float, float, float] | None = None
    shapely.prepare(free)
    for turn in _TURNS:
        turned = affinity.rotate(shapely.Polygon(piece.outline), turn, origin=(0, 0))
        # Somewhat larger than the piece, and of fewer corners: thousands of places are tried.
        outline = turned.buffer(_LARGER).simplify(_LARGER)
        left, bottom, right, top = outline.bounds
        low_x, low_y, high_x, high_y = free.bounds
        across, up = np.arange(low_x - left, high_x - right, _STEP), np.arange(low_y - bottom, high_y - top, _STEP)
        offsets = np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 1, 2)
        if not len(offsets):
            continue
        placed = shapely.polygons(shapely.get_coordinates(outline.exterior) + offsets)
        inside = np.flatnonzero(shapely.contains_properly(free, placed))
        if not len(inside):
            continue
        rough = shapely.polygons(shapely.get_coordinates(outline.simplify(_ROUGH).exterior) + offsets[inside])
        least = int(shapely.area(shapely.intersection(rough, usable)).argmin())
        taken = float(shapely.area(shapely.intersection(placed[inside[least]], usable)))
        x, y = offsets[inside[least], 0].tolist()
        if best is None or taken < best[3] - 1e-6:
            best = x, y, turn, taken
    return best
