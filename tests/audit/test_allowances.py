"""The fixed figures of a block: limits that hold nothing, allowances that nothing holds, and the layer of material."""

from __future__ import annotations

from dataclasses import replace

import pytest

from grading.audit.allowances import ALLOWANCE_RULES
from grading.findings import Finding, Severity
from grading.model.block import Block


def found(block: Block) -> list[Finding]:
    return [finding for rule in ALLOWANCE_RULES for finding in rule(block)]


def with_limit(block: Block, name: str, **changes: object) -> Block:
    return replace(block, limits=tuple(replace(one, **changes) if one.name == name else one for one in block.limits))


def test_the_demo_has_none(blocks):
    assert [found(block) for block in blocks.values()] == [[], [], []]


def test_an_allowance_that_no_limit_holds_is_noted(block):
    (finding,) = found(replace(block, limits=tuple(one for one in block.limits if one.what != "hand ease")))
    assert (finding.code, finding.severity) == ("allowance-without-bounds", Severity.NOTE)
    assert finding.found == "No limit holds hand ease."


@pytest.mark.parametrize(("least", "most", "codes"), [(6.0, 5.0, ["limit-keeps-nothing"]), (5.0, 5.0, [])])
def test_a_limit_whose_least_lies_above_its_most_is_an_error(block, least, most, codes):
    name = block.limits[0].name
    assert [finding.code for finding in found(with_limit(block, name, least=least, most=most))] == codes


def test_a_limit_with_neither_least_nor_most_is_warned_of(block):
    name = block.limits[0].name
    (finding,) = found(with_limit(block, name, least=None, most=None))
    assert (finding.code, finding.severity) == ("limit-without-bounds", Severity.WARNING)
    assert f"'{name}'" in finding.found


@pytest.mark.parametrize(
    ("layer", "said"),
    [
        ({"leather": 40.0}, "perhaps millimetres typed as centimetres"),
        ({"leather": 0.1}, "perhaps centimetres typed as millimetres"),
        ({"compressed_pile": 12.5}, "Check the figure and its unit"),
    ],
)
def test_leather_or_pile_as_no_mitten_has_it_is_warned_of(block, layer, said):
    (finding,) = found(replace(block, **layer))
    assert (finding.code, finding.severity) == ("layer-out-of-range", Severity.WARNING)
    assert said in finding.action


@pytest.mark.parametrize(
    ("layer", "thin", "thick"),
    # Common practice, no source; pile and lining may be left out.
    [
        ("leather", (0.25, 0.35), (3.9, 4.1)),
        ("compressed_pile", (-0.1, 0.0), (11.9, 12.1)),
        ("lining", (-0.1, 0.0), (11.9, 12.1)),
    ],
)
def test_a_layer_is_told_beyond_what_mittens_have_and_not_before(block, layer, thin, thick):
    (too_thin, least), (most, too_thick) = thin, thick
    for mm, told in ((too_thin, True), (least, False), (most, False), (too_thick, True)):
        codes = [finding.code for finding in found(replace(block, **{layer: mm}))]
        assert codes == ["layer-out-of-range"] * told, mm


@pytest.mark.parametrize(("name", "told"), [("palm length", True), ("foot fullness", True), ("hand ease", False)])
def test_a_figure_to_grade_with_is_for_allowances_only(block, name, told):
    values = tuple(replace(value, now=value.now + 1) if value.name == name else value for value in block.values)
    findings = found(replace(block, values=values))
    assert [one.code for one in findings] == ["use-now-unused"] * told
    assert all(f"'Use now' of {name} is not used" in one.found for one in findings)
