"""Find places for labels where they cover neither a line nor another label."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from grading.drawing.marks import Box, Mark, Role, Text, line
from grading.drawing.shapes import shape, shapes
from grading.geometry.arrays import Floats

__all__ = ["Placing", "leader"]

#: How many places are looked at together: the first that is free is most often an early one.
_TOGETHER = 6


class Placing:
    """A drawing in which labels are put one by one, each at the first of its places that is free.

    ``lines`` are the marks that a label should stay clear of, by ``clear`` mm, and ``barred`` are areas in which none
    should stand. Labels are level or upright; one at a slant counts as the upright rectangle round it.
    """

    def __init__(self, lines: Sequence[Mark], clear: float = 0.6, barred: Sequence[shapely.Geometry] = ()) -> None:
        self._lines = shapely.STRtree([*shapes(lines), *barred])
        self._leaders: list[shapely.Geometry] = []
        self._labels: list[Box] = []
        self._clear = clear

    def free(self, text: Text, places: Sequence[tuple[float, float]]) -> Text | None:
        """The text at the first of the places where it covers nothing, which is taken then; None if there is none."""
        placed = next(self.all_free(text, places), None)
        if placed is not None:
            self.take(placed)
        return placed

    def all_free(self, text: Text, places: Sequence[tuple[float, float]]) -> Iterator[Text]:
        """The text at each of the places where it covers nothing, in their order; none of them is taken."""
        for start in range(0, len(places), _TOGETHER):
            few = places[start : start + _TOGETHER]
            covered = self._covered(text, np.array(few), on_lines=False)
            yield from (text.at(x, y) for (x, y), over in zip(few, covered.tolist(), strict=True) if not over)

    def clear(self, mark: Mark) -> bool:
        """Whether a mark, such as a leader, crosses no label and no other leader that has been placed."""
        return self.legible(mark) and not bool(shapely.intersects(shape(mark), self._leaders).any())

    def legible(self, mark: Mark) -> bool:
        """Whether a mark runs over no label; it may cross a leader."""
        labels = shapely.box(*self._boxes.T)
        return not bool(shapely.intersects(shape(mark), labels).any())

    def put(self, text: Text, places: Sequence[tuple[float, float]], *, on_lines: bool = False) -> Text:
        """The text at the first place that is free, or at the one that covers least; the place is taken then.

        With ``on_lines`` the text may lie on lines, as a label does that interrupts its own.
        """
        if not places:
            raise ValueError(f"no place given for '{text.text}'")
        at = np.array(places)
        best, least = 0, self._covered(text, at[:1], on_lines)[0]
        if least > 0 and len(at) > 1:  # most are free at their first place; the others are looked at together
            covered = self._covered(text, at, on_lines)
            best = int(covered.argmin())
        x, y = places[best]
        put = text.at(x, y)
        self.take(put)
        return put

    def take(self, mark: Mark) -> None:
        """Keep later labels off a mark: another label, or a line."""
        if isinstance(mark, Text):
            self._labels.append(mark.box)
        else:
            self._leaders.append(shape(mark))

    @property
    def _boxes(self) -> Floats:
        """The labels' rectangles (n, 4)."""
        return np.array(self._labels).reshape(-1, 4)

    def _covered(self, text: Text, places: Floats, on_lines: bool) -> Floats:
        """How much of other labels (mm²), and how many labels and lines, a text would cover at each place (n, 2)."""
        grounds = np.array(text.at(0.0, 0.0).box.grown(self._clear)) + places[:, [0, 1, 0, 1]]
        (left, bottom, right, top), labels = grounds.T[..., None], self._boxes.T
        wide = np.minimum(right, labels[2]) - np.maximum(left, labels[0])
        high = np.minimum(top, labels[3]) - np.maximum(bottom, labels[1])
        covered: Floats = np.where((wide >= 0) & (high >= 0), wide * high + 1, 0).sum(axis=1)
        areas = shapely.box(*grounds.T)
        if self._leaders:
            covered += shapely.intersects(areas[:, None], np.array(self._leaders)).sum(axis=1)
        if not on_lines:
            crossed, _ = self._lines.query(areas, predicate="intersects")
            covered += np.bincount(crossed, minlength=len(places))
        return covered


def leader(start: Floats, text: Text) -> Mark:
    """A line from near a place to the edge of a text, on the way to its middle."""
    box = text.box.grown(0.3)
    gap = np.array(box.centre) - start
    inside = min(side / 2 / abs(along) for side, along in zip((box.width, box.height), gap, strict=True) if along)
    return line([start + gap * 0.6 / np.hypot(*gap), start + gap * (1 - inside)], Role.REFERENCE_LINE)
