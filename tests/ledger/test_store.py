"""Append, supersede, withdraw: nothing is overwritten, nothing is counted twice, nothing half."""

from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import pytest
from sqlalchemy.exc import IntegrityError

from tests.ledger.samples import (
    a_load,
    a_nil_return,
    a_receipt,
    a_return,
    at,
    one_of_each,
)
from tracker.errors import AlreadySuperseded, DuplicateEntry, EntryNotFound, InputError
from tracker.ledger.entries import Delay
from tracker.ledger.questions import summed


def test_an_entry_of_every_kind_comes_back_as_it_was_given(ledger):
    entries = one_of_each()
    ledger.append(entries, by="engineer")
    for entry in entries:
        assert ledger.stored(entry.entry_id).entry == entry
        assert ledger.current(entry.KIND) == [entry]


def test_the_ledger_adds_who_when_and_what_to_an_entry(ledger, clock):
    load = a_load()
    ledger.append([load], by="  gate clerk ")
    stored = ledger.stored(load.entry_id)
    assert (stored.kind, stored.action) == ("lorry_loads", "recorded")
    assert (stored.recorded_by, stored.recorded_at) == ("gate clerk", clock.moment)
    assert (stored.supersedes, stored.superseded_by, stored.reason) == (None, None, "")


def test_the_same_entry_sent_twice_is_stored_once(ledger):
    load, receipt = a_load(), a_receipt()
    assert ledger.append([load], by="gate").written == (load.entry_id,)
    again = ledger.append([receipt, load], by="gate")
    assert (again.written, again.already) == ((receipt.entry_id,), (load.entry_id,))
    assert ledger.current("lorry_loads") == [load]
    assert summed(ledger, ["movements"]) == {("movements",): 2}


def test_nothing_sent_is_nothing_written(ledger):
    appended = ledger.append([], by="gate")
    assert (appended.written, appended.already) == ((), ())


def test_a_fact_stated_under_another_id_is_refused_with_what_is_there(ledger):
    first = a_load("T-7")
    ledger.append([first], by="gate clerk")
    with pytest.raises(DuplicateEntry) as refusal:
        ledger.append([a_load("T-7", net_kg=1_000)], by="night clerk")
    sentence = str(refusal.value)
    for part in ("gate", "T-7", first.entry_id, "2026-10-01 06:00 UTC", "gate clerk", "Amend"):
        assert part in sentence


def test_a_fact_stated_twice_in_what_was_sent_is_refused(ledger):
    with pytest.raises(DuplicateEntry, match="stated twice in what was sent"):
        ledger.append([a_load("T-1"), a_load("T-1", net_kg=5)], by="gate")
    assert ledger.current("lorry_loads") == []


def test_when_one_of_many_is_refused_none_is_saved_and_nothing_is_counted(ledger):
    ledger.append([a_load("T-1")], by="gate")
    before = summed(ledger, ["load_kg", "movements", "received_kg", "returns"])
    with pytest.raises(DuplicateEntry):
        ledger.append([a_return(), a_receipt(), a_load("T-2"), a_load("T-1")], by="gate")
    assert ledger.current("dig_returns") == ledger.current("receipts") == []
    assert len(ledger.current("lorry_loads")) == 1
    assert summed(ledger, ["load_kg", "movements", "received_kg", "returns"]) == before


def test_when_the_database_itself_refuses_one_of_many_none_is_saved(ledger):
    with pytest.raises(IntegrityError):
        ledger.append([a_return(), a_load(gross_kg=1, tare_kg=2)], by="gate")
    assert ledger.current("dig_returns") == []
    assert summed(ledger, ["returns"]) == {}


def test_several_writes_in_one_transaction_are_saved_together_or_not_at_all(ledger):
    with ledger.writing():
        ledger.append([a_return()], by="gate")
        ledger.append([a_load()], by="gate")

    def write_until_the_power_fails():
        with ledger.writing():
            ledger.append([a_load("T-2")], by="gate")
            ledger.withdraw(ledger.current("dig_returns")[0].entry_id, reason="wrong", by="gate")
            raise RuntimeError("the power fails")

    with pytest.raises(RuntimeError):
        write_until_the_power_fails()
    assert len(ledger.current("dig_returns")) == len(ledger.current("lorry_loads")) == 1
    assert summed(ledger, ["movements", "returns"]) == {("movements",): 2, ("returns",): 1}


@pytest.mark.parametrize("nobody", ["", "   "])
def test_every_write_carries_a_name(ledger, nobody):
    load = a_load()
    ledger.append([load], by="gate")
    for write in (
        lambda: ledger.append([a_load("T-2")], by=nobody),
        lambda: ledger.supersede(load.entry_id, a_load(), reason="slip", by=nobody),
        lambda: ledger.withdraw(load.entry_id, reason="slip", by=nobody),
    ):
        with pytest.raises(InputError, match="Say who records this"):
            write()


# --- ids -----------------------------------------------------------------------------------------
def test_an_id_of_ones_own_given_to_two_entries_is_refused(ledger):
    with pytest.raises(DuplicateEntry, match="“7” is that of another entry"):
        ledger.append([a_load("T-1", entry_id="7"), a_load("T-2", entry_id="7")], by="gate")
    assert ledger.current("lorry_loads") == []


def test_an_id_of_an_entry_of_another_kind_is_refused(ledger):
    ledger.append([a_return(entry_id="7")], by="engineer")
    with pytest.raises(DuplicateEntry, match="“7” is that of another entry"):
        ledger.append([a_load(entry_id="7")], by="gate")
    assert ledger.stored("7").kind == "dig_returns"


def test_a_correction_needs_an_id_that_is_not_taken(ledger):
    ledger.append([a_load("T-1", entry_id="a"), a_return(entry_id="b")], by="gate")
    for taken in ("a", "b"):
        with pytest.raises(DuplicateEntry, match=f"“{taken}”"):
            ledger.supersede("a", a_load("T-1", entry_id=taken), reason="slip", by="gate")
        with pytest.raises(DuplicateEntry, match=f"“{taken}”"):
            ledger.withdraw("a", reason="slip", by="gate", entry_id=taken)
    assert ledger.stored("a").superseded_by is None


def test_entries_with_long_ids_alike_at_the_start_can_both_be_withdrawn(ledger):
    ids = ["x" * 60 + end for end in ("1", "2")]
    ledger.append([a_load(f"T-{i}", entry_id=i) for i in ids], by="gate")
    for entry_id in ids:
        ledger.withdraw(entry_id, reason="slip", by="gate")
    assert ledger.current("lorry_loads") == []


# --- supersede -----------------------------------------------------------------------------------
def test_a_correction_stands_in_place_of_the_entry_and_both_stay(ledger, clock):
    wrong, right = a_load(net_kg=1_986), a_load()
    ledger.append([wrong], by="gate")
    clock.forward(30)
    stored = ledger.supersede(wrong.entry_id, right, reason=" slip of the pen ", by="clerk ")
    assert (stored.action, stored.supersedes) == ("amended", wrong.entry_id)
    assert (stored.reason, stored.recorded_by) == ("slip of the pen", "clerk")
    assert ledger.current("lorry_loads") == [right]
    assert ledger.stored(wrong.entry_id).entry == wrong
    assert ledger.stored(wrong.entry_id).superseded_by == right.entry_id
    assert summed(ledger, ["load_kg", "loads"]) == {("load_kg",): 19_860, ("loads",): 1}


def test_an_entry_is_superseded_once(ledger):
    wrong, right = a_load(), a_load(net_kg=19_000)
    ledger.append([wrong], by="gate")
    ledger.supersede(wrong.entry_id, right, reason="slip", by="gate")
    for again in (
        lambda: ledger.supersede(wrong.entry_id, a_load(), reason="slip", by="gate"),
        lambda: ledger.withdraw(wrong.entry_id, reason="slip", by="gate"),
    ):
        with pytest.raises(AlreadySuperseded, match=right.entry_id):
            again()


def test_a_correction_may_change_which_fact_is_stated(ledger):
    wrong, right = a_load("T-1"), a_load("T-2")
    ledger.append([wrong], by="gate")
    ledger.supersede(wrong.entry_id, right, reason="ticket misread", by="gate")
    other = a_load("T-1")
    ledger.append([other], by="gate")
    assert set(ledger.current("lorry_loads")) == {right, other}


def test_a_correction_may_not_state_what_another_current_entry_states(ledger):
    one, two = a_load("T-1"), a_load("T-2")
    ledger.append([one, two], by="gate")
    with pytest.raises(DuplicateEntry, match="T-2"):
        ledger.supersede(one.entry_id, a_load("T-2"), reason="ticket misread", by="gate")
    assert set(ledger.current("lorry_loads")) == {one, two}


def test_a_correction_is_of_the_same_kind(ledger):
    load = a_load()
    ledger.append([load], by="gate")
    with pytest.raises(InputError, match="lorry_loads"):
        ledger.supersede(load.entry_id, a_return(), reason="slip", by="gate")


@pytest.mark.parametrize("reason", ["", "  \n"])
def test_a_change_without_a_reason_is_not_recorded(ledger, reason):
    load = a_load()
    ledger.append([load], by="gate")
    with pytest.raises(InputError, match="reason"):
        ledger.supersede(load.entry_id, a_load(), reason=reason, by="gate")
    with pytest.raises(InputError, match="reason"):
        ledger.withdraw(load.entry_id, reason=reason, by="gate")
    assert ledger.current("lorry_loads") == [load]


def test_what_is_not_there_cannot_be_changed_or_read(ledger):
    for ask in (
        lambda: ledger.supersede("nothing", a_load(), reason="slip", by="gate"),
        lambda: ledger.withdraw("nothing", reason="slip", by="gate"),
        lambda: ledger.stored("nothing"),
        lambda: ledger.history("nothing"),
    ):
        with pytest.raises(EntryNotFound, match="“nothing”"):
            ask()


# --- withdraw ------------------------------------------------------------------------------------
def test_a_withdrawn_entry_counts_no_more_and_stays_in_the_history(ledger):
    load = a_load()
    ledger.append([load], by="gate")
    stored = ledger.withdraw(load.entry_id, reason="other site", by="gate")
    assert (stored.action, stored.entry, stored.supersedes) == ("withdrawn", None, load.entry_id)
    assert ledger.current("lorry_loads") == []
    assert summed(ledger, ["loads", "load_kg", "movements", "moves_out"]) == {}
    assert ledger.stored(load.entry_id).entry == load


def test_a_withdrawal_is_not_withdrawn(ledger):
    load = a_load()
    ledger.append([load], by="gate")
    withdrawal = ledger.withdraw(load.entry_id, reason="other site", by="gate")
    with pytest.raises(AlreadySuperseded, match="withdrawal"):
        ledger.withdraw(withdrawal.entry_id, reason="no", by="gate")


def test_a_withdrawn_fact_may_be_recorded_again(ledger):
    load, again = a_load(), a_load(net_kg=19_500)
    ledger.append([load], by="gate")
    ledger.withdraw(load.entry_id, reason="other site", by="gate")
    ledger.append([again], by="gate")
    assert ledger.current("lorry_loads") == [again]
    assert summed(ledger, ["load_kg"]) == {("load_kg",): 19_500}


def test_a_withdrawal_may_itself_be_corrected(ledger):
    load, back = a_load(), a_load()
    ledger.append([load], by="gate")
    withdrawal = ledger.withdraw(load.entry_id, reason="other site", by="gate")
    ledger.supersede(withdrawal.entry_id, back, reason="was ours after all", by="gate")
    assert ledger.current("lorry_loads") == [back]
    assert summed(ledger, ["loads"]) == {("loads",): 1}
    assert len(ledger.history(load.entry_id)) == 3


def test_a_withdrawal_is_not_undone_once_the_fact_is_recorded_again(ledger):
    load, again = a_load(), a_load(net_kg=19_500)
    ledger.append([load], by="gate")
    withdrawal = ledger.withdraw(load.entry_id, reason="other site", by="gate")
    ledger.append([again], by="gate")
    with pytest.raises(DuplicateEntry, match=again.entry_id):
        ledger.supersede(withdrawal.entry_id, a_load(), reason="was ours", by="gate")


# --- history, and as known at --------------------------------------------------------------------
def test_the_history_is_the_same_from_every_version_of_a_fact(ledger, clock):
    versions = [a_load(net_kg=kg) for kg in (1_000, 2_000, 3_000)]
    ledger.append([versions[0], a_load("T-2")], by="gate")
    for old, new in pairwise(versions):
        clock.forward(10)
        ledger.supersede(old.entry_id, new, reason="weighed again", by="gate")
    clock.forward(10)
    withdrawal = ledger.withdraw(versions[-1].entry_id, reason="other site", by="gate")
    ids = [*(v.entry_id for v in versions), withdrawal.entry_id]
    for entry_id in ids:
        history = ledger.history(entry_id)
        assert [stored.entry_id for stored in history] == ids
        assert [stored.action for stored in history] == [
            "recorded",
            "amended",
            "amended",
            "withdrawn",
        ]
        assert [stored.superseded_by for stored in history] == [*ids[1:], None]


def test_the_ledger_is_read_as_it_was_known_at_an_earlier_moment(ledger, clock):
    nothing = clock.forward(60)
    wrong, right = a_load(net_kg=1_986), a_load()
    ledger.append([wrong], by="gate")
    first = clock.forward(60)
    ledger.supersede(wrong.entry_id, right, reason="slip", by="gate")
    second = clock.forward(60)
    ledger.withdraw(right.entry_id, reason="other site", by="gate")
    third = clock.forward(60)
    then = {
        moment: ledger.current("lorry_loads", known_at=moment)
        for moment in (nothing, first, second, third)
    }
    assert then == {nothing: [], first: [wrong], second: [right], third: []}
    mass_kg = {
        moment: summed(ledger, ["load_kg"], known_at=moment).get(("load_kg",), 0) for moment in then
    }
    assert mass_kg == {nothing: 0, first: 1_986, second: 19_860, third: 0}


def test_what_is_recorded_at_a_moment_is_known_at_that_moment(ledger, clock):
    load = a_load()
    ledger.append([load], by="gate")
    assert ledger.current("lorry_loads", known_at=clock.moment) == [load]


# --- what is stored ------------------------------------------------------------------------------
def test_moments_come_back_aware_and_in_utc(ledger):
    summer = timezone(timedelta(hours=1))
    out = datetime(2026, 10, 1, 9, 30, 15, 123_456, tzinfo=summer)
    load = a_load(gate_out_at=out, gate_in_at=None)
    ledger.append([load], by="gate")
    stored = ledger.stored(load.entry_id)
    assert stored.entry.gate_out_at == out
    assert stored.entry.gate_out_at.utcoffset() == timedelta(0)
    assert stored.entry.gate_out_at == datetime(2026, 10, 1, 8, 30, 15, 123_456, tzinfo=UTC)
    assert stored.recorded_at.utcoffset() == timedelta(0)
    assert stored.entry.gate_in_at is None


def test_a_moment_without_time_zone_is_refused(ledger):
    with pytest.raises(InputError, match="no time zone"):
        ledger.append([a_load(gate_out_at=at(1).replace(tzinfo=None))], by="gate")
    assert ledger.current("lorry_loads") == []


def test_whole_numbers_stay_exact(ledger):
    kg = 2**53 + 1  # the first whole number that a double cannot hold
    ledger.append([a_load(gross_kg=kg + 12_000, net_kg=kg)], by="gate")
    ledger.append([a_load("T-2", gross_kg=kg + 12_000, net_kg=kg)], by="gate")
    assert [load.net_kg for load in ledger.current("lorry_loads")] == [kg, kg]
    assert summed(ledger, ["load_kg"]) == {("load_kg",): 2 * kg}


def test_delays_and_words_of_every_alphabet_come_back(ledger):
    delays = (Delay("belt_down", 45), Delay("rain", 30))
    nil = a_nil_return(delays=delays, note="Čekání na odvoz – “příliš mokro”; 'nil' \\ % ? :x")
    ledger.append([nil], by="Ž. Novotná")
    stored = ledger.stored(nil.entry_id)
    assert stored.entry == nil
    assert stored.recorded_by == "Ž. Novotná"


def test_more_entries_than_one_statement_takes_are_all_stored_and_counted(ledger):
    loads = [a_load(f"T-{n}") for n in range(1_203)]
    written = ledger.append(loads, by="gate").written
    assert len(written) == len(ledger.current("lorry_loads")) == 1_203
    assert summed(ledger, ["load_kg"]) == {("load_kg",): 1_203 * 19_860}
    again = ledger.append([*loads, a_load("T-new")], by="gate")
    assert (len(again.written), len(again.already)) == (1, 1_203)
    with pytest.raises(DuplicateEntry, match="T-1200"):
        ledger.append([a_load(f"T-{n}") for n in range(1_200, 1_900)], by="gate")
