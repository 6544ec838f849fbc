"""The audit of a size table: slips are found and named, regular and honest tables are left in peace."""

from __future__ import annotations

import itertools
import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from grading.audit import audit_table
from grading.findings import Finding, Severity
from grading.model.sizes import SizeTable

#: EN 420:2003+A1:2009, hand sizes 6 to 11: circumference and length, mm (carried into EN ISO 21420:2020).
EN_420 = {"hand girth": [152, 178, 203, 229, 254, 279], "hand length": [160, 171, 182, 192, 204, 215]}


def table(rows: dict[str, list[float]]) -> SizeTable:
    count = len(next(iter(rows.values())))
    return SizeTable(
        group="Test",
        sizes=tuple(f"s{number}" for number in range(1, count + 1)),
        measurements=tuple(rows),
        values=np.array(list(rows.values()), dtype=float),
        units=("mm",) * len(rows),
        how_to_measure=("",) * len(rows),
        source=("",) * len(rows),
    )


def codes(rows: dict[str, list[float]]) -> list[str]:
    return [finding.code for finding in audit_table(table(rows))]


def found(rows: dict[str, list[float]], code: str) -> list[Finding]:
    return [finding for finding in audit_table(table(rows)) if finding.code == code]


def swapped(figure: float) -> list[float]:
    """Every figure that two different digits of this one, swapped, make."""
    text = f"{figure:g}"
    places = [place for place, sign in enumerate(text) if sign.isdigit()]
    made = []
    for one, other in itertools.combinations(places, 2):
        digits = list(text)
        digits[one], digits[other] = digits[other], digits[one]
        if digits != list(text):
            made.append(float("".join(digits)))
    return made


REGULAR = {
    "fist girth": list(180 + 12.0 * np.arange(12)),
    "palm length": list(93 + 3.0 * np.arange(12)),
    "thumb girth": list(62 + 4.0 * np.arange(12)),
    "hand breadth": list(69 + 4.5 * np.arange(12)),
    "web depth": list(24 + 0.5 * np.arange(12)),
}
#: Steps as uneven as EN 420's, which waver by two millimetres.
IRREGULAR = {
    "fist girth": list(np.cumsum([152, 26, 25, 26, 25, 25, 26, 26, 25, 26, 25, 25.0])),
    "hand length": list(np.cumsum([160, 11, 11, 10, 12, 11, 11, 10, 11, 12, 11, 11.0])),
    "palm length": list(np.cumsum([64, 6, 6, 7, 6, 5, 6, 6, 7, 6, 6, 6.0])),
}


@pytest.mark.parametrize(
    "rows", [pytest.param(REGULAR, marks=pytest.mark.long), IRREGULAR], ids=["regular", "irregular"]
)
def test_a_slip_of_two_digits_is_found_and_named_in_every_cell(rows):
    assert codes(rows) == []
    tried = 0
    for name, figures in rows.items():
        for column, figure in enumerate(figures):
            for slip in swapped(figure):
                wrong = dict(rows)
                wrong[name] = [*figures[:column], slip, *figures[column + 1 :]]
                findings = found(wrong, "increment-out-of-line")
                assert [(f.place.measure, f.place.size) for f in findings] == [(name, f"s{column + 1}")], (name, slip)
                tried += 1
    assert tried > 60


def test_a_slip_says_by_how_much_it_is_off_and_what_would_be_regular():
    figures = REGULAR["fist girth"]
    (finding,) = found({"fist girth": [*figures[:2], 240.0, *figures[3:]]}, "increment-out-of-line")
    assert "36 mm more" in finding.found
    assert "204 mm" in finding.expected


@pytest.mark.parametrize(
    ("girths", "lengths", "slip"),
    [
        (
            {"fist girth": [180, 186, 200, 208, 220], "hand girth": [162, 171, 180, 187, 198],
             "wrist girth": [150, 156, 162, 167, 174]},
            {"hand length": [170, 174, 178, 183, 189], "palm length": [95, 97, 100, 103, 106]},
            ("fist girth", "s2"),  # 190 where the other girths lead to
        ),
        (
            {"fist girth": [180, 188, 202, 216, 224, 236], "hand girth": [162, 169, 182, 194, 202, 212],
             "wrist girth": [150, 155, 163, 172, 182, 184]},
            {"hand length": [170, 176, 179, 183, 188, 191], "palm length": [95, 99, 100, 103, 106, 108]},
            ("wrist girth", "s5"),
        ),
    ],
)  # fmt: skip
def test_girths_that_bear_one_another_out_are_not_told_beside_the_one_with_a_slip(girths, lengths, slip):
    findings = found(girths | lengths, "increment-out-of-line")
    assert [(finding.place.measure, finding.place.size) for finding in findings] == [slip]


def test_a_grade_that_changes_once_is_no_slip():
    assert codes({"fist girth": list(np.cumsum([100, 4, 4, 4, 6, 6, 6.0]))}) == []


def test_a_figure_of_three_may_be_any_of_them_and_all_are_named():
    findings = found({"fist girth": [180.0, 192, 251], "palm length": [93.0, 96, 99]}, "increment-out-of-line")
    assert {f.place.size for f in findings} >= {"s3"}
    assert all(f.place.measure == "fist girth" for f in findings)


def test_the_published_hand_sizes_are_read_with_their_own_steps_and_no_finding():
    assert codes({name: [float(figure) for figure in figures] for name, figures in EN_420.items()}) == []
    assert np.diff(EN_420["hand girth"]).tolist() == [26, 25, 26, 25, 25]
    assert np.diff(EN_420["hand length"]).tolist() == [11, 11, 10, 12, 11]


@pytest.mark.parametrize(("last", "expected"), [(206.0, "error"), (207.0, "warning"), (207.1, None)])
def test_the_row_that_grows_most_tells_sizes_apart_and_must_grow(last, expected):
    rows = {"fist girth": [180.0, 192, 207, last], "palm length": [93.0, 96, 99, 102]}
    told = found(rows, "not-increasing")
    assert [str(f.severity) for f in told] == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("girths", "at"),
    [
        ([180.0, 192, 207, 206], "s3"),  # 207 where the others lead to 204
        ([180.0, 192, 204, 203], "s4"),
        ([180.0, 192, 204, 216, 216, 228, 240], "s5"),  # either may be meant: the later one is told
    ],
)
def test_a_size_no_larger_than_the_one_before_is_told_at_the_likelier_of_the_two(girths, at):
    rows = {"fist girth": girths, "palm length": [93.0 + 3 * step for step in range(len(girths))]}
    assert [f.place.size for f in found(rows, "not-increasing")] == [at]


@pytest.mark.parametrize(("second", "expected"), [(94.5, True), (96.0, False)])
def test_no_measurement_falls_by_more_than_its_rounding_while_others_rise(second, expected):
    rows = {"fist girth": [180.0, 192, 204, 216], "web depth": [93.0, 96, second, 99]}
    named = [(f.place.measure, f.place.size) for f in audit_table(table(rows)) if f.severity is not Severity.NOTE]
    assert (("web depth", "s3") in named) is expected


def test_a_row_that_goes_up_and_down_falls_where_the_others_rise():
    rows = {"fist girth": [180.0, 192, 204, 216, 228, 240], "web depth": [24.0, 30, 25, 32, 26, 33]}
    assert [f.place.size for f in found(rows, "falls-while-girth-rises")] == ["s3", "s5"]


def test_sizes_in_no_order_are_told_once_and_not_audited():
    rows = {"fist girth": [192.0, 180, 216, 204, 240, 228], "palm length": [96.0, 93, 102, 99, 108, 105]}
    assert codes(rows) == ["no-order"]


def test_two_columns_alike_are_one_size_twice():
    rows = {"fist girth": [180.0, 192, 192, 204], "palm length": [93.0, 96, 96, 99]}
    assert [finding.place.size for finding in found(rows, "equal-sizes")] == ["s3"]
    near = {"fist girth": [180.0, 192, 192, 204], "palm length": [93.0, 96, 96.5, 99]}
    assert found(near, "equal-sizes") == []


def test_a_size_left_out_is_a_gap_and_a_single_wide_step_is_not():
    steps = np.array([0, 1, 2, 4, 5, 6])
    gap = {name: list(first + step * steps) for name, first, step in [("a", 180.0, 12), ("b", 93.0, 3), ("c", 62.0, 4)]}
    assert [finding.place.size for finding in found(gap, "gap-in-sizes")] == ["s4"]
    single = {**gap, "b": list(93.0 + 3 * np.arange(6)), "c": list(62.0 + 4 * np.arange(6))}
    assert found(single, "gap-in-sizes") == []


@pytest.mark.parametrize(("times", "wide", "told"), [(1.9, 5, True), (1.7, 5, False), (1.9, 4, True), (1.9, 3, False)])
def test_a_gap_is_nearly_a_double_step_in_well_over_half_of_the_rows(times, wide, told):
    steps = [12.0, 3.0, 4.0, 2.0, 6.0]
    rows = {
        name: list(20 * step + step * np.cumsum([0, 1, 1, times if number < wide else 1, 1, 1]))
        for number, (name, step) in enumerate(zip("abcde", steps, strict=True))
    }
    assert bool(found(rows, "gap-in-sizes")) == told


@pytest.mark.parametrize(
    ("girths", "told"),
    [
        ([180.0, 192, 186, 198, 192, 204, 216], False),  # two of seven fall
        ([180.0, 192, 186, 198, 192, 204, 198], True),
        ([180.0, 192, 186, 198, 192], False),  # of fewer than six, which stands wrong is told
        ([180.0, 192, 186, 198, 192, 204], True),
    ],
)
def test_sizes_stand_in_no_order_where_there_are_many_and_a_good_part_of_the_steps_fall(girths, told):
    rows = {"fist girth": girths, "palm length": [girth / 2 for girth in girths]}
    assert ("no-order" in codes(rows)) == told


def test_a_step_that_all_rows_share_is_told_once_and_hides_no_slip():
    steps = np.array([0, 1, 2, 4, 5, 6])
    rows = {n: first + step * steps for n, first, step in [("a", 180.0, 12), ("b", 93.0, 3), ("c", 62.0, 4)]}
    (gap,) = audit_table(table(rows))
    assert (gap.code, gap.severity) == ("gap-in-sizes", Severity.NOTE)
    rows["b"] = rows["b"] + np.array([0, 5.0, 0, 0, 0, 0])
    (slip,) = found(rows, "increment-out-of-line")
    assert (slip.place.measure, slip.place.size) == ("b", "s2")


def test_one_figure_in_whole_millimetres_among_fives_is_told():
    rows = {"a": [180.0, 190, 205, 215, 230, 240], "b": [95.0, 100, 105, 112, 110, 115]}
    assert {(f.place.measure, f.place.size) for f in found(rows, "increment-out-of-line")} == {("b", "s4")}


@pytest.mark.parametrize("factor", [10, 0.1, 25.4, 1 / 25.4])
@pytest.mark.parametrize("count", [2, 3, 6])
def test_a_slip_of_the_unit_is_an_error_in_tables_of_any_length(factor, count):
    rows = {"fist girth": 180 + 12.0 * np.arange(count), "palm length": 93 + 3.0 * np.arange(count)}
    rows["palm length"][-1] *= factor
    told = found(rows, "increment-out-of-line")
    assert ("palm length", f"s{count}") in {(f.place.measure, f.place.size) for f in told}
    assert {f.severity for f in told} == {Severity.ERROR}


def test_two_figures_exchanged_are_named_together():
    row = 180 + 12.0 * np.arange(7)
    row[[2, 3]] = row[[3, 2]]
    told = found({"fist girth": row, "palm length": 93 + 3.0 * np.arange(7)}, "increment-out-of-line")
    assert [f.place.size for f in told] == ["s3", "s4"]
    assert all("exchanged" in f.found for f in told)


def test_short_and_long_sizes_are_each_a_ladder_of_their_own():
    girth = np.repeat(180 + 12.0 * np.arange(4), 2)
    rows = {"fist girth": girth, "hand length": 164 + 5.0 * np.repeat(np.arange(4), 2) + 9.0 * (np.arange(8) % 2)}
    names = tuple(f"{7 + number // 2} {('short', 'long')[number % 2]}" for number in range(8))
    assert list(audit_table(replace(table(rows), sizes=names))) == []
    rows["fist girth"] = girth + np.array([0, 0, 0, 0, 0, 10.0, 0, 0])
    told = list(audit_table(replace(table(rows), sizes=names)))
    assert {(f.place.measure, f.place.size) for f in told} == {("fist girth", "9 long")}


def test_sizes_stand_in_the_families_that_their_table_states():
    girth = np.array([178.0, 190, 202, 214])
    rows = {"hand girth": [*girth, *girth], "hand length": [166, 171, 176, 181, 174, 179, 184, 198]}
    names = ("36", "37", "38", "39", "46", "47", "48", "49")
    stated = replace(table(rows), sizes=names, families=("short",) * 4 + ("long",) * 4)
    assert [(f.code, f.place.size) for f in audit_table(stated)] == [("increment-out-of-line", "49")]
    assert {f.code for f in audit_table(replace(stated, families=()))} >= {"not-increasing"}


def test_ten_thousand_sizes_are_audited_in_three_seconds():
    count = 10_000
    rows = {name: list(figures[0] + (figures[1] - figures[0]) * np.arange(count)) for name, figures in REGULAR.items()}
    rows["fist girth"][5000] += 10
    began = time.process_time()
    told = found(rows, "increment-out-of-line")
    assert [(f.place.measure, f.place.size) for f in told] == [("fist girth", "s5001")]
    assert time.process_time() - began < 3


def test_what_a_very_long_and_uneven_table_leaves_unjudged_is_said():
    wavering = np.random.default_rng(5).integers(-4, 5, 600)
    (told,) = found({"fist girth": list(180 + 3.0 * np.arange(600) + wavering)}, "not-all-judged")
    assert told.severity is Severity.NOTE
    assert told.found.startswith("600 sizes are many: the 30 most uneven stretches of 14 sizes")
    assert found({"fist girth": list(180 + 3.0 * np.arange(200) + wavering[:200])}, "not-all-judged") == []


def test_the_demo_tables_have_no_finding(tables):
    for demo in tables.values():
        body = [row for row, unit in enumerate(demo.units) if not demo.how_to_measure[row].startswith("Allowance")]
        kept = replace(demo, measurements=tuple(demo.measurements[row] for row in body), values=demo.values[body])
        assert list(audit_table(kept)) == []


@given(
    arrays(
        float,
        st.tuples(st.integers(1, 4), st.integers(1, 16)),
        elements=st.one_of(st.just(0.0), st.integers(-3, 600).map(float), st.floats(0.01, 6000)),
    )
)
def test_any_figures_at_all_are_audited_without_a_fault(values):
    rows = {f"row {number}": row.tolist() for number, row in enumerate(values)}
    for finding in audit_table(table(rows)):
        assert finding.found
        assert finding.place.measure in rows
