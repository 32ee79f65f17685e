"""Running totals: equal to a recount whatever happens, each tonne and each passage once."""

from __future__ import annotations

import random
from collections import Counter
from contextlib import suppress
from datetime import timedelta
from itertools import permutations

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.ledger.samples import (
    DAY,
    a_load,
    a_nil_return,
    a_reading,
    a_receipt,
    a_return,
    a_reuse,
    one_of_each,
    traffic,
)
from tracker.errors import DuplicateEntry
from tracker.ledger.entries import Delay
from tracker.ledger.questions import summed
from tracker.ledger.totals import Key, belt_runs, contributions, gather, read_totals


def running(ledger) -> Counter[Key]:
    with ledger.reading() as conn:
        return read_totals(conn)


# --- what a return adds --------------------------------------------------------------------------
def test_a_return_adds_its_volume_by_metre_to_the_last_litre():
    # From the bottom up 0.75, 1.75 and 2.75 of 3.25 m: 230, 538 and 846 of 1000 litres are below.
    parts = gather(contributions(a_return(from_level_mm=102_500, to_level_mm=99_250, bank_l=1_000)))
    bands = {key.detail: amount for key, amount in parts.items() if key.measure == "dug_measured_l"}
    assert bands == {"102": 154, "101": 308, "100": 308, "99": 230}
    assert sum(bands.values()) == 1_000


@given(
    bank_l=st.integers(0, 10**9),
    bottom_mm=st.integers(-50_000, 110_000),
    depth_mm=st.integers(0, 12_000),
)
@example(bank_l=7, bottom_mm=-500, depth_mm=1_000)
def test_the_metre_bands_of_a_return_sum_to_the_last_litre(bank_l, bottom_mm, depth_mm):
    entry = a_return(from_level_mm=bottom_mm + depth_mm, to_level_mm=bottom_mm, bank_l=bank_l)
    bands = [(int(k.detail), n) for k, n in contributions(entry) if k.measure == "dug_measured_l"]
    assert sum(amount for _, amount in bands) == bank_l
    assert all(amount >= 0 for _, amount in bands)
    metres = [band for band, _ in bands]
    top = (bottom_mm + depth_mm - 1) // 1000 if depth_mm else bottom_mm // 1000
    assert metres == list(range(bottom_mm // 1000, top + 1))


def test_a_return_without_levels_adds_its_volume_without_a_band():
    unlevelled = a_return(from_level_mm=None, to_level_mm=None, lowest_level_mm=None)
    dug = Key(DAY, "dug_measured_l", "A", 1, "clay")
    assert (dug, 240_000) in contributions(unlevelled)


@pytest.mark.parametrize(
    ("said", "measure", "amount"),
    [
        ({"basis": "measured", "bank_l": 7}, "dug_measured_l", 7),
        ({"basis": "estimated", "bank_l": 7}, "dug_estimated_l", 7),
        ({"basis": "counted", "count": 12, "capacity_l": 9_000}, "dug_counted_l", 108_000),
        ({"basis": "weighed", "mass_kg": 480_000}, "dug_weighed_kg", 480_000),
    ],
)
def test_each_basis_is_counted_in_its_own_unit(said, measure, amount):
    sums: Counter[str] = Counter()
    for key, part in contributions(a_return(**({"bank_l": None} | said))):
        sums[key.measure] += part
    assert sums == {"returns": 1, measure: amount}


def test_a_nil_return_is_received_as_nil_and_digs_nothing():
    delays = (Delay("rain", 300), Delay("belt_down", 60))
    parts = dict(contributions(a_nil_return(delays=delays)))
    assert parts == {
        Key(DAY, "returns", "A", detail="night"): 1,
        Key(DAY, "returns_nil", "A", detail="night"): 1,
        Key(DAY, "delay_min", "A", detail="rain"): 300,
        Key(DAY, "delay_min", "A", detail="belt_down"): 60,
    }


# --- what a load adds ----------------------------------------------------------------------------
def test_one_load_is_two_movements_on_the_days_and_hours_they_happen(ledger):
    eve = DAY - timedelta(days=1)
    ledger.append([a_load(in_date=eve, in_hour=23, gate_date=DAY, out_hour=0)], by="gate")
    assert summed(ledger, ["movements"], ["day"]) == {("movements", eve): 1, ("movements", DAY): 1}
    assert summed(ledger, ["moves_in", "moves_out"], ["day", "detail"]) == {
        ("moves_in", eve, "23"): 1,
        ("moves_out", DAY, "00"): 1,
    }
    assert summed(ledger, ["load_kg"], ["day"]) == {("load_kg", DAY): 19_860}


def test_a_rejected_load_that_is_sent_on_counts_its_weight_once_and_its_passages_once(ledger):
    rejected = a_load("T-1", outcome="rejected")
    sent_on = a_load("T-2", reconsigned_from="T-1", destination="tip", route="R-TIP")
    ledger.append([rejected, sent_on], by="gate")
    assert summed(ledger, ["load_kg", "weighed_kg", "weighed_loads", "loads", "movements"]) == {
        ("load_kg",): 19_860,
        ("weighed_kg",): 19_860,
        ("weighed_loads",): 1,
        ("loads",): 1,
        ("movements",): 2,
    }
    assert summed(ledger, ["load_kg"], ["route"]) == {("load_kg", "R-TIP"): 19_860}
    assert summed(ledger, ["loads_rejected"]) == {("loads_rejected",): 1}


def test_a_rejected_load_moved_but_delivered_nothing(ledger):
    ledger.append([a_load(outcome="rejected")], by="gate")
    assert summed(ledger, ["load_kg", "loads", "movements", "loads_rejected"]) == {
        ("loads",): 1,
        ("movements",): 2,
        ("loads_rejected",): 1,
    }


def test_estimated_and_missing_weights_are_told_from_weighed_ones(ledger):
    loads = [
        a_load("T-1"),
        a_load("T-2", gross_kg=None, tare_kg=None, net_kg=18_000, weight_basis="estimated"),
        a_load("T-3", gross_kg=None, tare_kg=None, net_kg=None, weight_basis="none"),
    ]
    ledger.append(loads, by="gate")
    assert summed(
        ledger, ["loads", "load_kg", "weighed_kg", "weighed_loads", "loads_no_weight"]
    ) == {
        ("loads",): 3,
        ("load_kg",): 37_860,
        ("weighed_kg",): 19_860,
        ("weighed_loads",): 1,
        ("loads_no_weight",): 1,
    }


def test_a_receiver_that_refused_a_load_accepted_no_mass(ledger):
    refused = a_receipt(receipt_number="Q-2", outcome="rejected", accepted_kg=0)
    ledger.append([a_receipt(), refused], by="quarry")
    assert summed(ledger, ["received_kg"], ["detail"]) == {("received_kg", "quarry"): 19_800}


# --- what a belt carried -------------------------------------------------------------------------
def belt_kg(ledger, known_at=None) -> int:
    return summed(ledger, ["belt_kg"], known_at=known_at).get(("belt_kg",), 0)


def test_a_belt_carried_the_difference_between_its_readings(ledger):
    ledger.append([a_reading(0, 5_000_000), a_reading(12, 5_350_000)], by="operator")
    assert belt_kg(ledger) == 350_000


def test_a_reading_that_comes_late_divides_the_run_and_adds_nothing(ledger):
    next_day = DAY + timedelta(days=1)
    ledger.append([a_reading(0, 1_000), a_reading(24, 9_000)], by="operator")
    assert summed(ledger, ["belt_kg"], ["day"]) == {("belt_kg", next_day): 8_000}
    ledger.append([a_reading(12, 4_000, stream="sand")], by="operator")
    assert summed(ledger, ["belt_kg"], ["day", "stream"]) == {
        ("belt_kg", DAY, "sand"): 3_000,
        ("belt_kg", next_day, "clay"): 5_000,
    }


def test_a_reading_before_the_first_makes_a_run_of_what_was_the_start(ledger):
    ledger.append([a_reading(12, 4_000)], by="operator")
    assert belt_kg(ledger) == 0
    ledger.append([a_reading(0, 1_000)], by="operator")
    assert belt_kg(ledger) == 3_000


@pytest.mark.parametrize("event", ["reset", "swap"])
def test_nothing_is_carried_across_a_reset_or_a_swap(ledger, event):
    readings = [
        a_reading(0, 9_000_000),
        a_reading(10, 9_200_000),
        a_reading(11, 150, event=event),
        a_reading(23, 100_150),
    ]
    ledger.append(readings, by="operator")
    assert belt_kg(ledger) == 200_000 + 100_000


def test_a_fall_without_a_reset_is_no_negative_run():
    runs = belt_runs([a_reading(0, 9_000), a_reading(12, 400), a_reading(24, 900)])
    assert [kg for key, kg in runs if key.measure == "belt_kg"] == [0, 500]


def test_belts_do_not_mix(ledger):
    ledger.append(
        [
            a_reading(0, 1_000),
            a_reading(1, 700_000, belt="belt-2"),
            a_reading(12, 3_000),
            a_reading(13, 700_500, belt="belt-2"),
        ],
        by="operator",
    )
    assert summed(ledger, ["belt_kg"], ["detail"]) == {
        ("belt_kg", "belt-1"): 2_000,
        ("belt_kg", "belt-2"): 500,
    }


def test_a_correction_of_a_reading_changes_the_runs_on_both_sides(ledger):
    middle = a_reading(12, 4_000)
    ledger.append([a_reading(0, 1_000), middle, a_reading(24, 9_000)], by="operator")
    ledger.supersede(middle.entry_id, a_reading(12, 6_000), reason="misread", by="operator")
    by_day = summed(ledger, ["belt_kg"], ["day"])
    assert list(by_day.values()) == [5_000, 3_000]
    assert belt_kg(ledger) == 8_000


def test_a_reading_moved_to_another_belt_leaves_the_first(ledger):
    wrong = a_reading(12, 4_000)
    ledger.append([a_reading(0, 1_000), wrong, a_reading(0, 50, belt="belt-2")], by="operator")
    right = a_reading(12, 4_000, belt="belt-2")
    ledger.supersede(wrong.entry_id, right, reason="other belt", by="operator")
    assert summed(ledger, ["belt_kg"], ["detail"]) == {("belt_kg", "belt-2"): 3_950}


def test_a_withdrawn_reset_joins_the_runs_again(ledger):
    reset = a_reading(12, 4_000, event="reset")
    ledger.append([a_reading(0, 1_000), reset, a_reading(24, 9_000)], by="operator")
    assert belt_kg(ledger) == 5_000
    ledger.withdraw(reset.entry_id, reason="there was none", by="operator")
    assert belt_kg(ledger) == 8_000


def test_metered_energy_and_running_time_are_counted_beside_the_tonnes_they_belong_to(ledger):
    readings = [
        a_reading(0, 1_000, energy_wh=77_777, running_min=600),  # since before the count began
        a_reading(12, 401_000, energy_wh=160_000, running_min=540),
        a_reading(24, 701_000),
    ]
    ledger.append(readings, by="operator")
    assert summed(ledger, ["belt_kg", "belt_metered_kg", "belt_wh", "belt_min"]) == {
        ("belt_kg",): 700_000,
        ("belt_metered_kg",): 400_000,
        ("belt_wh",): 160_000,
        ("belt_min",): 540,
    }


def test_the_order_in_which_readings_are_imported_does_not_matter(open_new):
    readings = [
        a_reading(0, 1_000),
        a_reading(12, 4_000, energy_wh=100),
        a_reading(13, 0, event="reset"),
        a_reading(24, 9_000, running_min=500),
    ]
    found = []
    for order in random.Random(7).sample(list(permutations(readings)), 6):
        ledger = open_new()
        for reading in order:
            ledger.append([reading], by="operator")
        found.append(running(ledger))
    assert all(totals == found[0] for totals in found)
    assert sum(amount for key, amount in found[0].items() if key.measure == "belt_kg") == 12_000


# --- running totals and a recount ----------------------------------------------------------------
def test_totals_that_another_program_broke_are_counted_anew(ledger):
    ledger.append(one_of_each(), by="engineer")
    right = running(ledger)
    assert ledger.rebuild_totals() == (len(right), 0)
    with ledger.writing() as conn:
        conn.exec_driver_sql(
            "UPDATE daily_totals SET amount = amount + 5 WHERE measure = 'load_kg'"
        )
        conn.exec_driver_sql("DELETE FROM daily_totals WHERE measure = 'returns'")
    assert running(ledger) != right
    assert ledger.rebuild_totals() == (len(right), 2)
    assert running(ledger) == right


# A few facts only, so that corrections, duplicates and withdrawals meet.
days = st.sampled_from([DAY, DAY + timedelta(days=1)])
entries = st.one_of(
    st.builds(
        a_return,
        work_date=days,
        zone=st.sampled_from("AB"),
        bank_l=st.integers(0, 999_999),
        delays=st.sampled_from([(), (Delay("rain", 30),)]),
    ),
    st.builds(a_nil_return, work_date=days),
    st.builds(
        a_load,
        st.sampled_from(["T-1", "T-2", "T-3"]),
        gate_date=days,
        net_kg=st.one_of(st.none(), st.integers(0, 30_000)),
        outcome=st.sampled_from(["accepted", "rejected"]),
        reconsigned_from=st.sampled_from(["", "T-9"]),
    ),
    st.builds(
        a_reading,
        st.integers(0, 5),
        st.integers(0, 9_999),
        belt=st.sampled_from(["belt-1", "belt-2"]),
        event=st.sampled_from(["reading", "reading", "reset"]),
        energy_wh=st.one_of(st.none(), st.integers(0, 999)),
    ),
    st.builds(a_receipt, receipt_date=days, accepted_kg=st.integers(0, 30_000)),
)
COUNTED = ("dig_returns", "lorry_loads", "belt_readings", "receipts")
changes = st.tuples(
    st.sampled_from(["append", "append", "supersede", "withdraw"]), st.integers(0, 99), entries
)


def change(ledger, what, which, entry) -> None:
    """Write one entry, or change one of those that are current."""
    current = [e for kind in COUNTED for e in ledger.current(kind)]
    alike = [e for e in current if e.KIND == entry.KIND]
    if what == "withdraw" and current:
        old = current[which % len(current)]
        ledger.withdraw(old.entry_id, reason="drawn", by="engineer")
    elif what == "supersede" and alike:
        old = alike[which % len(alike)]
        ledger.supersede(old.entry_id, entry, reason="drawn", by="engineer")
    else:
        ledger.append([entry], by="engineer")


@settings(
    max_examples=15,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(changes, min_size=1, max_size=9))
def test_running_totals_equal_a_recount_after_any_writes_then_and_now(open_new, clock, drawn):
    ledger = open_new()
    seen = []
    for what, which, entry in drawn:
        clock.forward(1)
        with suppress(DuplicateEntry):  # refused: then the totals may not have moved either
            change(ledger, what, which, entry)
        seen.append((clock.moment, running(ledger)))
    assert running(ledger) == ledger.counted_totals()
    for moment, totals in seen:
        assert ledger.counted_totals(moment) == totals
    ledger.close()


# --- rollovers, other traffic, re-use ------------------------------------------------------------
def test_a_totaliser_that_passed_its_highest_value_carries_on_from_nought(ledger):
    ledger.append(
        [a_reading(0, 99_000), a_reading(1, 400, rollover_kg=100_000), a_reading(2, 900)], by="b"
    )
    assert summed(ledger, ["belt_kg"]) == {("belt_kg",): 1_900}


def test_other_traffic_is_counted_apart_from_spoil(ledger):
    ledger.append([a_load(), traffic(), traffic(direction="in", vehicles=2, hour=10)], by="gate")
    assert summed(ledger, ["movements"]) == {("movements",): 2}
    assert summed(ledger, ["other_in", "other_out", "other_movements"]) == {
        ("other_in",): 8,
        ("other_movements",): 14,
        ("other_out",): 6,
    }
    assert ledger.rebuild_totals()[1] == 0


def test_ground_placed_on_site_is_counted_in_the_unit_it_was_stated_in(ledger):
    ledger.append([a_reuse(), a_reuse(location="mat", basis="weighed", bank_l=None, mass_kg=900)],
                  by="e")  # fmt: skip
    assert summed(ledger, ["reused_bank_l", "reused_kg"]) == {
        ("reused_bank_l",): 40_000,
        ("reused_kg",): 900,
    }
