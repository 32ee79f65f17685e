"""What can be asked of the entries: current ones, neighbours, duplicates, the set-up in force."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.ledger.samples import (
    DAY,
    a_load,
    a_reading,
    a_receipt,
    a_return,
    a_revision,
    at,
    site_tables,
)
from tracker.errors import NotEnoughData


def test_entries_are_read_by_work_date_both_ends_included(ledger):
    returns = [a_return(work_date=DAY + timedelta(days=n)) for n in range(4)]
    ledger.append([returns[2], returns[0], returns[3], returns[1]], by="engineer")
    assert ledger.current("dig_returns") == returns
    assert (
        ledger.current("dig_returns", since=returns[1].work_date, until=returns[2].work_date)
        == returns[1:3]
    )
    assert ledger.current("dig_returns", since=returns[3].work_date) == returns[3:]
    assert ledger.current("dig_returns", until=returns[0].work_date) == returns[:1]


def test_entries_are_read_by_the_values_of_their_columns(ledger):
    west, east = a_return(zone="A"), a_return(zone="B")
    ledger.append([west, east], by="engineer")
    assert ledger.current("dig_returns", where={"zone": "B", "work_date": DAY}) == [east]
    assert ledger.current("dig_returns", where={"zone": "C"}) == []


def test_each_kind_is_dated_by_its_own_local_date(ledger):
    ledger.append([a_load(in_date=DAY - timedelta(days=1)), a_receipt()], by="gate")
    for kind in ("lorry_loads", "receipts"):
        assert len(ledger.current(kind, since=DAY, until=DAY)) == 1
        assert ledger.current(kind, until=DAY - timedelta(days=1)) == []


# --- duplicates ----------------------------------------------------------------------------------
def test_duplicates_name_the_current_entry_that_states_the_same_fact(ledger):
    stored = a_load("T-1")
    ledger.append([stored], by="gate")
    same, new = a_load("T-1", net_kg=1), a_load("T-2")
    found = ledger.duplicates([same, new, stored])
    assert {mine: other.entry_id for mine, other in found.items()} == {
        same.entry_id: stored.entry_id
    }


def test_a_withdrawn_or_corrected_fact_is_no_duplicate(ledger):
    withdrawn, corrected = a_load("T-1"), a_load("T-2")
    ledger.append([withdrawn, corrected], by="gate")
    ledger.withdraw(withdrawn.entry_id, reason="other site", by="gate")
    ledger.supersede(corrected.entry_id, a_load("T-3"), reason="misread", by="gate")
    assert ledger.duplicates([a_load("T-1"), a_load("T-2")]) == {}
    assert len(ledger.duplicates([a_load("T-3")])) == 1


def test_duplicates_are_told_by_every_part_of_the_fact(ledger):
    ledger.append([a_return(), a_reading(0, 1_000), a_receipt()], by="engineer")
    others = [
        a_return(stage=2),
        a_return(shift="night"),
        a_return(stream="sand"),
        a_reading(1, 1_000),
        a_reading(0, 1_000, belt="belt-2"),
        a_receipt(destination="tip"),
    ]
    assert ledger.duplicates(others) == {}
    same = [a_return(bank_l=1), a_reading(0, 5), a_receipt(accepted_kg=5)]
    assert set(ledger.duplicates(same)) == {entry.entry_id for entry in same}


def test_the_same_moment_written_in_another_time_zone_is_the_same_fact(ledger):
    from datetime import timezone

    ledger.append([a_reading(0, 1_000)], by="operator")
    summer = a_reading(0, 1_000, read_at=at(0).astimezone(timezone(timedelta(hours=1))))
    assert list(ledger.duplicates([summer])) == [summer.entry_id]


def test_known_ids_are_those_stored_current_or_not(ledger):
    ledger.append([a_load("T-1", entry_id="a"), a_load("T-2", entry_id="b")], by="gate")
    ledger.withdraw("a", reason="other site", by="gate")
    assert ledger.known_ids("lorry_loads", ["a", "b", "c"]) == {"a", "b"}
    assert ledger.known_ids("dig_returns", ["a", "b"]) == set()
    assert ledger.known_ids("lorry_loads", []) == set()


# --- belts and lorries ---------------------------------------------------------------------------
def test_readings_of_a_belt_come_in_the_order_in_which_they_were_read(ledger):
    # A night shift keeps its work date, so that reading order and work dates may differ.
    readings = [
        a_reading(0, 1_000),
        a_reading(20, 2_000, work_date=DAY),
        a_reading(24, 3_000, work_date=DAY - timedelta(days=1)),
    ]
    ledger.append([*reversed(readings), a_reading(2, 5, belt="belt-2")], by="operator")
    assert ledger.belt_readings("belt-1") == readings


def test_the_neighbours_of_a_reading_are_the_current_ones_just_before_and_after(ledger):
    first, second, third = (a_reading(h, h * 100) for h in (0, 12, 24))
    ledger.append([first, second, third, a_reading(11, 7, belt="belt-2")], by="operator")
    assert ledger.neighbours("belt-1", at(13)) == (second, third)
    assert ledger.neighbours("belt-1", at(12)) == (first, third)
    assert ledger.neighbours("belt-1", at(-1)) == (None, first)
    assert ledger.neighbours("belt-1", at(30)) == (third, None)
    assert ledger.neighbours("belt-3", at(0)) == (None, None)
    ledger.withdraw(second.entry_id, reason="misread", by="operator")
    assert ledger.neighbours("belt-1", at(13)) == (first, third)


def test_departures_are_those_of_one_lorry_between_two_moments_both_included(ledger):
    loads = [
        a_load("T-1", gate_out_at=at(2)),
        a_load("T-2", gate_out_at=at(3)),
        a_load("T-3", gate_out_at=at(4)),
        a_load("T-4", gate_out_at=at(3), registration="INV 2"),
    ]
    ledger.append(loads, by="gate")
    assert set(ledger.departures("INV 1", at(2), at(3))) == set(loads[:2])
    assert ledger.departures("INV 1", at(4.1), at(9)) == []


# --- set-up --------------------------------------------------------------------------------------
def test_without_a_set_up_the_ledger_says_how_to_adopt_one(ledger):
    assert ledger.revisions() == []
    for ask in (ledger.revision, ledger.site):
        with pytest.raises(NotEnoughData, match="spoil init --setup"):
            ask()


def test_the_set_up_in_force_on_a_date_is_the_latest_that_began_by_then(ledger):
    first = a_revision(effective_date=DAY, digest="1")
    second = a_revision(effective_date=DAY + timedelta(days=10), digest="2")
    ledger.append([second], by="engineer")
    ledger.append([first], by="engineer")
    in_force = {
        -5: first,  # a date before any takes the first
        0: first,
        9: first,
        10: second,
        99: second,
    }
    for days, revision in in_force.items():
        assert ledger.revision(DAY + timedelta(days=days)) == revision
    assert ledger.revision() == second


def test_of_two_set_ups_from_the_same_date_the_one_recorded_later_is_in_force(ledger, clock):
    first, second = a_revision(digest="1", entry_id="z"), a_revision(digest="2", entry_id="a")
    ledger.append([first], by="engineer")
    before = clock.forward(5)
    ledger.append([second], by="engineer")
    assert ledger.revision(DAY) == second
    assert ledger.revision(DAY, known_at=before) == first


def test_a_change_of_the_set_up_leaves_earlier_dates_as_they_were(ledger):
    tables = site_tables()
    later = DAY + timedelta(days=10)
    changed = site_tables()
    changed["site"][0]["name"] = "Renamed"
    ledger.append(
        [
            a_revision(tables=tables, digest="1"),
            a_revision(tables=changed, digest="2", effective_date=later),
        ],
        by="engineer",
    )
    assert ledger.site(DAY).name == tables["site"][0]["name"]
    assert ledger.site(later).name == ledger.site().name == "Renamed"


# --- one view ------------------------------------------------------------------------------------
def test_everything_read_inside_one_reading_is_of_one_moment(ledger):
    from threading import Thread

    ledger.append([a_load("T-1")], by="gate")
    with ledger.reading():
        before = ledger.current("lorry_loads")
        other = Thread(target=lambda: ledger.append([a_load("T-2")], by="other"))
        other.start()
        other.join()
        assert ledger.current("lorry_loads") == before
    assert len(ledger.current("lorry_loads")) == 2


def test_what_is_written_is_read_within_the_same_transaction(ledger):
    with ledger.writing():
        ledger.append([a_load()], by="gate")
        assert len(ledger.current("lorry_loads")) == 1


def test_a_write_inside_a_reading_is_kept(ledger):
    with ledger.reading():
        ledger.append([a_load()], by="gate")
    assert len(ledger.current("lorry_loads")) == 1


def test_the_clock_of_the_ledger_is_the_one_it_was_given(ledger, clock):
    assert ledger.now() == clock.moment == datetime(2026, 10, 1, 6, 0, tzinfo=UTC)


def test_the_state_of_a_ledger_changes_with_what_is_written_and_not_with_what_is_read(ledger):
    ledger.append([a_load()], by="gate")
    before = ledger.state()
    assert len(ledger.current("lorry_loads")) == 1
    assert ledger.state() == before
    ledger.append([a_load("T-2")], by="gate")
    assert ledger.state() != before
