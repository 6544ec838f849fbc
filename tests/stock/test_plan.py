"""The demo's batch planned: counts, skins, bundles, dates and costs."""

from __future__ import annotations

import datetime as dt
import re
import time
from dataclasses import replace

import pytest

from grading.drafting.second_scenario import second_block, second_sizes, with_second
from grading.drafting.stock_scenario import demo_stock
from grading.engine.run import grade
from grading.findings import Severity, StoppedError
from grading.model.stock import Outworker, SellingPrice, SkinKind, StockTable, Work, most_particular
from grading.stock import search
from grading.stock.demand import wanted
from grading.stock.plan import STEPS_EACH, prepared
from grading.stock.skins import Skin, best_to_buy
from grading.units import MM2_PER

HURRY = 20.0  # seconds for a plan of 60 pairs, as the maker is promised


def silent(pairs: int, laid: int, skins: int, part: float) -> None:
    pass


def few(table: StockTable, **terms) -> StockTable:
    """A quick batch of children's mittens only."""
    children = tuple(row for row in table.customers if row.group == "Children")
    return replace(table, customers=children, terms=replace(table.terms, **terms))


@pytest.fixture(scope="module")
def batch(runs):
    return prepared(demo_stock(), list(runs.values()))


@pytest.fixture(scope="module")
def told():
    return []


@pytest.fixture(scope="module")
def plan(batch, told):
    """Sixty pairs after a short search: what holds for it needs no longer one."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("grading.stock.plan.STEPS", 1_500)
        return batch.for_pairs(60, lambda *said: told.append(said))


@pytest.fixture(scope="module")
def children(runs):
    return prepared(few(demo_stock()), list(runs.values()))


@pytest.mark.long
@pytest.mark.parametrize("lay_number", [0, 1, 2, 3, 4, 5, 6])
def test_sixty_pairs_take_seventeen_skins_with_any_lay_number_and_no_longer_than_promised(
    batch, monkeypatch, lay_number
):
    monkeypatch.setattr("grading.stock.plan.STEPS", search.STEPS)
    table = replace(batch.table, terms=replace(batch.table.terms, lay_number=lay_number))
    start = time.process_time()  # of this process alone: others may keep the machine busy
    lays = replace(batch, table=table).for_pairs(60, silent).lays
    assert time.process_time() - start < HURRY
    assert len(lays) <= 17


@pytest.mark.long
@pytest.mark.parametrize(
    "plan_of",
    [
        lambda batch: batch.for_pairs(40, silent),
        lambda batch: batch.for_skins(silent),
        lambda batch: batch.for_budget(2500, silent),
    ],
    ids=["40 pairs", "skins", "budget"],
)
def test_forty_pairs_the_skins_on_hand_and_a_budget_are_planned_in_half_that_time(batch, monkeypatch, plan_of):
    monkeypatch.setattr("grading.stock.plan.STEPS", search.STEPS)
    monkeypatch.setattr("grading.stock.plan.STEPS_EACH", STEPS_EACH)
    start = time.process_time()
    assert plan_of(batch).pairs >= 40
    assert time.process_time() - start < HURRY / 2


@pytest.mark.long
def test_the_work_for_a_large_budget_is_bounded(batch, monkeypatch):
    monkeypatch.setattr("grading.stock.plan.STEPS_EACH", STEPS_EACH)
    start = time.process_time()
    assert batch.for_budget(20_000, silent).cost <= 20_000
    assert time.process_time() - start < 2 * HURRY


@pytest.mark.parametrize(("budget", "told"), [(1e6, "1,000,000"), (1e308, "over 1,000,000,000,000")])
def test_a_budget_beyond_what_is_laid_out_at_once_is_a_finding_at_once(batch, budget, told):
    with pytest.raises(StoppedError) as stopped:
        batch.for_budget(budget, silent)
    assert stopped.value.finding.code == "batch-too-large"
    assert f"{told} € may pay for more than 2000 pairs" in stopped.value.finding.found


def test_progress_is_told_until_all_have_their_place(plan, told):
    laid, parts = [laid for _, laid, _, _ in told], [part for *_, part in told]
    assert laid == sorted(laid)
    assert parts == sorted(parts)
    pairs, placed, skins, part = told[-1]
    assert (pairs, placed, skins) == (60, 60, len(plan.lays))
    assert 0 < part <= 1


@pytest.mark.parametrize("after", [1, 2])
def test_an_interrupt_keeps_the_best_lay_found_so_far_and_says_so(children, after):
    told = []

    def interrupted(*said) -> None:
        told.append(said)
        if len(told) == after:
            raise KeyboardInterrupt

    plan = children.for_pairs(12, interrupted)
    assert sorted(pair.number for lay in plan.lays for pair in lay.pairs) == list(range(1, 13))
    assert plan.stopped
    assert "search-stopped" in {finding.code for finding in plan.findings}


def test_pairs_without_room_are_named_and_what_would_have_to_be_bought_for_them(runs):
    table = replace(few(demo_stock()), skins=demo_stock().skins[:1])
    with pytest.raises(StoppedError) as stopped:
        prepared(table, list(runs.values())).for_pairs(12, silent)
    finding = stopped.value.finding
    room, pairs = re.match(r"(\d+) of (\d+) pairs find room", finding.found).groups()
    named = re.findall(r"Children [\d-]+(?: × (\d+))?", finding.found)
    assert sum(int(count or 1) for count in named) == int(pairs) - int(room)
    more = int(re.search(r"(\d+) more like Grey lamb would do", finding.action).group(1))
    enough = replace(table, skins=(replace(table.skins[0], count=1 + more),))
    assert prepared(enough, list(runs.values())).for_pairs(12, silent).pairs == 12


def test_at_least_70_percent_of_the_usable_area_is_used_the_last_skin_aside(plan):
    full = plan.lays[:-1]
    assert sum(lay.used for lay in full) / sum(lay.skin.usable.area for lay in full) >= 0.70
    assert plan.least_skins <= len(plan.lays)
    assert sum(sorted((lay.usable for lay in plan.lays), reverse=True)[: plan.least_skins]) >= plan.skins.pieces


def test_every_pair_is_cut_from_one_skin_and_sewn_in_one_bundle(plan):
    cut = [pair.number for lay in plan.lays for pair in lay.pairs]
    sewn = [pair.number for bundle in plan.bundles for pair in bundle.pairs]
    assert sorted(cut) == sorted(sewn) == list(range(1, 61))
    for bundle in plan.bundles:
        assert len({(pair.group, pair.size) for pair in bundle.pairs}) == 1
        cut_from = {lay.skin for lay in plan.lays if set(lay.pairs) & set(bundle.pairs)}
        assert set(bundle.skins) == cut_from


def test_no_outworker_has_more_in_a_week_than_the_table_allows_and_dates_come_from_the_table(plan):
    table = plan.batch.table
    room = {worker.name: worker.pairs_a_week for worker in table.outworkers}
    for week in {bundle.week for bundle in plan.bundles}:
        for name in room:
            own = [b for b in plan.bundles if (b.outworker, b.week) == (name, week)]
            assert sum(len(bundle.pairs) for bundle in own) <= room[name]
            assert all(len(bundle.pairs) <= table.terms.largest_bundle for bundle in own)
            assert all(bundle.due == dt.date(2026, 11, 2) + week * dt.timedelta(days=7) for bundle in own)
            assert all(bundle.due - bundle.hand_out == dt.timedelta(days=7) for bundle in own)


def test_costs_of_the_sizes_add_up_to_skins_work_and_the_rest(plan):
    skins = sum(lay.skin.price for lay in plan.lays)
    assert sum(row.pairs * (row.used + row.lost) for row in plan.sizes) == pytest.approx(skins)
    assert plan.cost == pytest.approx(skins + sum(row.pairs * (row.work + row.other) for row in plan.sizes))
    by_area = sorted(plan.sizes, key=lambda row: row.area)
    assert [row.used + row.lost for row in by_area] == sorted(row.used + row.lost for row in by_area)


def test_a_plans_table_has_a_row_a_size_that_adds_up_to_the_batch(plan):
    table = plan.frame()
    assert list(table.index) == [(row.group, row.size) for row in plan.wanted]
    assert table["pairs"].sum() == plan.pairs == 60
    assert table["out by"].sum() == pytest.approx(0, abs=1e-9)
    assert (abs(table["out by"]) < 1).all()
    assert (table["pairs"] * table["cost"]).sum() == pytest.approx(plan.cost)
    assert (table["pairs"] * table["price"]).sum() == pytest.approx(plan.takings)
    made_of = table[["used", "lost", "work", "other"]].sum(axis=1)
    assert list(made_of) == pytest.approx(list(table["cost"]))
    assert list(table["price"] - table["cost"]) == pytest.approx(list(table["margin"]))
    trank = plan.batch.runs[0]["Trank"].cut_polygon("W1").area
    assert table.loc[("Women", "W1"), "area"] > 2 * trank  # a pair has two, and thumbs


def test_skins_priced_by_the_foot_cost_their_area_in_square_feet():
    # 1 ft² = 929.0304 cm² (NIST SP 811); so 7 ft² of skin are 6503.2128 cm².
    assert float(MM2_PER["sq ft"]) == 92_903.04
    kind = SkinKind("Foot", 1, 700.0, 900.0, 7 * 92_903.04, 0.0, 6.5, 92_903.04, True)
    assert Skin(kind, 1, to_buy=False).price == pytest.approx(7 * 6.5)
    assert Skin(kind, 1, to_buy=False).usable.area / 100 == pytest.approx(6503.2128)


def test_a_lost_part_is_taken_off_the_usable_area():
    skin = Skin(SkinKind("Lamb", 1, 700.0, 900.0, None, 0.08, 40.0, None, True), 1, to_buy=False)
    assert skin.usable.area == pytest.approx(0.92 * skin.edge.area)
    assert skin.edge.contains(skin.usable)


def test_the_cheapest_kind_for_its_usable_area_is_bought():
    dear = SkinKind("Dear", 0, 700.0, 900.0, None, 0.0, 60.0, None, True)
    cheap, not_sold = replace(dear, name="Cheap", price=40.0), replace(dear, name="None", price=1.0, buy_more=False)
    assert best_to_buy((dear, cheap, not_sold)) is cheap
    assert best_to_buy((not_sold,)) is None


def test_a_dearer_skin_that_is_larger_by_more_is_the_cheaper_one():
    small = SkinKind("Small", 0, 350.0, 450.0, None, 0.0, 20.0, None, True)
    large = replace(small, name="Large", width=700.0, length=900.0, price=40.0)  # four times the area
    assert best_to_buy((small, large)) is large


def test_as_many_pairs_as_the_skins_allow_use_skins_on_hand_only(runs):
    table = replace(few(demo_stock()), skins=demo_stock().skins[:1])
    plan = prepared(table, list(runs.values())).for_skins(silent)
    assert len(plan.lays) == 1
    assert not plan.lays[0].skin.to_buy
    assert plan.pairs >= len(plan.wanted)
    with pytest.raises(StoppedError):
        prepared(replace(table, skins=(replace(table.skins[0], count=0),)), list(runs.values())).for_skins(silent)


def test_a_budget_is_kept_and_one_pair_more_would_not_be(children):
    plan = children.for_budget(280.0, silent)
    assert plan.cost <= 280.0
    assert children.for_pairs(plan.pairs + 1, silent).cost > 280.0


@pytest.mark.parametrize(
    ("pairs", "skins", "code"),
    [(3, demo_stock().skins, "pairs-too-few"), (12, demo_stock().skins[:1], "skins-too-few")],
)
def test_what_cannot_be_planned_is_a_finding(runs, pairs, skins, code):
    table = replace(few(demo_stock()), skins=skins)
    with pytest.raises(StoppedError) as stopped:
        prepared(table, list(runs.values())).for_pairs(pairs, silent)
    assert stopped.value.finding.code == code


def test_late_bundles_are_a_warning_that_says_how_many_and_when(runs):
    slow = replace(few(demo_stock()), outworkers=(Outworker("One", 2),))
    found = prepared(slow, list(runs.values())).for_pairs(8, silent).findings
    (late,) = [finding for finding in found if finding.code == "bundles-late"]
    assert late.severity is Severity.WARNING
    assert late.found == "2 pairs are due after 2026-11-23, the last of them on 2026-11-30."


def test_a_pair_that_is_late_is_told_as_one(runs):
    slow = replace(few(demo_stock()), outworkers=(Outworker("One", 2),))
    found = prepared(slow, list(runs.values())).for_pairs(7, silent).findings
    (late,) = [finding.found for finding in found if finding.code == "bundles-late"]
    assert late.startswith("1 pair is due after 2026-11-23")


def test_one_pair_is_told_as_too_few(runs):
    with pytest.raises(StoppedError, match="1 pair is too few for 1 of each of 5 sizes"):
        prepared(few(demo_stock()), list(runs.values())).for_pairs(1, silent)


def test_past_sales_go_before_hands_that_count_for_nothing_and_groups_without_customers_are_left_out(runs, children):
    (market,) = prepared(few(demo_stock(), hands_count=0), list(runs.values())).markets
    assert market.shared_by == "past fairs 100%"
    assert [round(22 * part) for part in market.sizes] == [3, 6, 7, 4, 2]
    assert {finding.place.group for finding in children.findings} == {"Women", "Men"}


def test_sizes_that_neither_sales_nor_hands_tell_apart_are_shared_out_alike(runs):
    far = tuple(replace(row, girth=1000.0) for row in demo_stock().customers)
    table = few(replace(demo_stock(), customers=far, sold=()))
    batch = prepared(table, list(runs.values()))
    (market,) = batch.markets
    assert market.by == "equal parts"
    assert [round(5 * part, 9) for part in market.sizes] == [1] * 5
    assert "equal-shares" in {finding.code for finding in batch.findings}


def test_whom_a_run_fits_is_left_open_where_its_table_lacks_the_row(runs):
    batch = prepared(few(demo_stock(), girth_row="arm girth"), list(runs.values()))
    assert batch.markets[0].coverage is None
    (finding,) = [finding for finding in batch.findings if finding.code == "no-hands"]
    assert "'arm girth'" in finding.found


def test_a_table_whose_customers_are_of_no_graded_group_cannot_be_planned(runs):
    with pytest.raises(StoppedError) as stopped:
        prepared(few(demo_stock()), [runs["Women"]])
    assert stopped.value.finding.code == "no-customers"
    assert "the rows here are for Children" in stopped.value.finding.found


def test_rows_of_unknown_groups_and_sizes_are_told(runs):
    table = replace(demo_stock(), work=(Work("Wimmen", "", 1.0, 1.0, None), Work("Men", "W1", 1.0, 1.0, None)))
    findings = prepared(table, list(runs.values())).findings
    assert [finding.code for finding in findings] == ["unknown-name"] * 2


def test_the_row_that_says_most_about_a_size_holds():
    rows = [SellingPrice("", "", 1.0), SellingPrice("Men", "", 2.0), SellingPrice("Men", "M1", 3.0)]
    chosen = [most_particular(rows, *key) for key in (("Women", "W1"), ("Men", "M2"), ("Men", "M1"))]
    assert [row.price for row in chosen if row] == [1.0, 2.0, 3.0]
    assert most_particular(rows[1:], "Women", "W1") is None


def test_groups_sizes_and_measurements_are_spelled_as_where_they_are_graded():
    table = demo_stock()
    shouted = replace(
        table,
        terms=replace(table.terms, girth_row="HAND  girth", length_row="hand Length"),
        customers=tuple(replace(row, group=row.group.upper()) for row in table.customers),
        sold=tuple(replace(row, group="children", size=row.size.replace("-", " – ")) for row in table.sold),
        work=tuple(replace(row, group=row.group.lower()) for row in table.work),
    )
    sizes = {"Women": ("W1",), "Men": ("M1",), "Children": tuple(row.size for row in table.sold)}
    assert shouted.spelled_as(sizes, ("hand girth", "hand length")) == table


def test_what_is_made_to_order_is_planned_where_nothing_else_is_asked_for():
    """A share of 0: none of the stock for all groups; alone, so many pairs as are asked for."""
    second = grade(second_block(), second_sizes())
    batch = prepared(with_second(demo_stock()), [second])
    assert [market.group for market in batch.markets] == ["Small children"]
    assert "planned-to-order" in {finding.code for finding in batch.findings}
    counts = [row.pairs for row in wanted(batch.markets, 10, 1)]
    assert sum(counts) == 10
    assert min(counts) >= 1


def test_what_is_made_to_order_takes_nothing_from_the_stock_for_the_fair(runs):
    every = [*runs.values(), grade(second_block(), second_sizes())]
    shared, alone = (
        prepared(table, graded).markets
        for table, graded in ((with_second(demo_stock()), every), (demo_stock(), list(runs.values())))
    )
    assert [(one.group, one.share) for one in shared] == [(one.group, one.share) for one in alone]
