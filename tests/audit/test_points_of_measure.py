"""Where measures are taken: as they are named, and where whoever measures finds it; each with one that is meant so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit.points_of_measure import POINT_OF_MEASURE_RULES
from grading.findings import Severity
from grading.model.block import Block, Mark

#: A measure of the demo, what is changed, and what is told of it.
ELSEWHERE = [
    ("finished length", {"times": 0.5}, "length-halved"),
    ("side seam length", {"times": 0.5}, "length-halved"),
    ("palm width", {"times": 1.0}, "width-counted-unlike-others"),
    ("thumb width", {"times": 1.0}, "width-counted-unlike-others"),
    ("palm width", {"start": "H"}, "width-not-at-its-end"),
    ("cuff opening", {"start": "finger centre"}, "width-not-at-its-end"),
    ("side seam length", {"start": "cuff fold", "end": "finger fold"}, "measured-the-long-way"),
    ("side seam length", {"end": "finger edge"}, "measured-the-long-way"),
    ("finger fold-back depth", {"how": "along"}, "measured-the-long-way"),
    ("side seam length", {"start": "waist"}, "measured-beside-its-name"),
    ("side seam length", {"how": "sideways"}, "measured-beside-its-name"),
    ("hole, palm half", {"start": "palm side"}, "measured-beside-its-name"),
    ("cuff fold-back depth", {"how": "sideways"}, "measure-without-its-allowance"),
    ("finished length", {"end": "cuff edge"}, "measured-over-a-fold"),
    ("finger fold-back depth", {"start": "knuckle"}, "measured-over-a-fold"),
    ("thumb rim round", {"start": "H"}, "round-not-closed"),
    ("thumb rim round", {"how": "narrowest"}, "round-not-closed"),
    ("thumb length", {"start": "knuckle"}, "measured-from-no-mark"),
]


def found(block: Block) -> dict[str, Severity]:
    return {finding.code: finding.severity for rule in POINT_OF_MEASURE_RULES for finding in rule(block)}


def with_measure(block: Block, which: str, /, **changes: object) -> Block:
    measures = (replace(one, **changes) if one.name == which else one for one in block.measures)
    return replace(block, measures=tuple(measures))


@pytest.mark.parametrize("group", ["Women", "Men", "Children"])
def test_the_demo_has_none(blocks, group):
    assert found(blocks[group]) == {}


@pytest.mark.parametrize(("name", "changes", "code"), ELSEWHERE)
def test_a_measure_taken_elsewhere_than_it_is_called_is_told(block, name, changes, code):
    assert code in found(with_measure(block, name, **changes))


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        # half of a rim that goes from a point to its image lies flat as half of it
        ("thumb rim round", {"times": 0.5}),
        # opened out, from raw edge to raw edge, there is no fold to stop at
        ("finished length", {"start": "finger edge", "end": "cuff edge", "name": "cut length"}),
        # the whole round of one width, called so
        ("palm width", {"times": 1.0, "name": "palm, all round"}),
        # a seam measured straight, and one as far as it says
        ("side seam length", {"how": "straight"}),
        # a name that says where the measure ends
        ("side seam length", {"start": "waist", "name": "side seam below the waist"}),
        # both of a pair together
        ("thumb hole height", {"times": 2.0}),
    ],
)
def test_another_way_to_measure_is_no_mistake(block, name, changes):
    assert Severity.WARNING not in found(with_measure(block, name, **changes)).values()


def test_all_widths_opened_out_are_a_habit(block):
    measures = tuple(replace(one, times=1.0) if one.how == "across" else one for one in block.measures)
    assert found(replace(block, measures=measures)) == {}


def test_a_place_that_is_marked_can_be_found(block):
    changed = with_measure(block, "finished length", start="knuckle")
    assert "measured-from-no-mark" in found(changed)
    marked = replace(changed, marks=(*changed.marks, Mark("Trank", "knuckle line", "label", "knuckle")))
    assert found(marked) == {}
