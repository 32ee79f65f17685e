"""What statements ask: sums, lowest levels, decisions, flags, search; now and as known then."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest

from tests.ledger.samples import (
    DAY,
    a_closed_exception,
    a_load,
    a_nil_return,
    a_reading,
    a_release,
    a_return,
    a_survey,
    at,
    one_of_each,
)
from tracker.ledger import questions as q
from tracker.ledger.entries import KINDS, Delay

NEXT = DAY + timedelta(days=1)
LAST = DAY + timedelta(days=40)  # in the next month


@pytest.fixture
def two_months(ledger):
    """Returns of two zones on three days, one of them in the next month."""
    ledger.append(
        [
            a_return(zone="A", bank_l=100),
            a_return(zone="B", bank_l=20, stage=2),
            a_return(zone="A", bank_l=3, work_date=NEXT),
            a_return(zone="A", bank_l=4_000, work_date=LAST),
        ],
        by="engineer",
    )
    return ledger


@pytest.mark.parametrize("then", [False, True], ids=["now", "as known then"])
def test_totals_are_summed_by_any_of_their_columns(two_months, clock, then):
    known_at = clock.moment if then else None

    def by(*names, **dates):
        found = q.summed(two_months, ["dug_measured_l"], names, known_at=known_at, **dates)
        return {key[1:]: amount for key, amount in found.items()}

    assert by() == {(): 4_123}
    assert by("zone") == {("A",): 4_103, ("B",): 20}
    assert by("month") == {("2026-10",): 123, ("2026-11",): 4_000}
    assert by("day", "stage") == {(DAY, 1): 100, (DAY, 2): 20, (NEXT, 1): 3, (LAST, 1): 4_000}
    assert by("zone", since=NEXT) == {("A",): 4_003}
    assert by("zone", until=NEXT) == {("A",): 103, ("B",): 20}
    assert by(since=NEXT, until=NEXT) == {(): 3}


def test_a_sum_that_comes_to_nothing_is_left_out(ledger):
    load = a_load()
    ledger.append([load], by="gate")
    ledger.withdraw(load.entry_id, reason="other site", by="gate")
    assert q.summed(ledger, ["loads", "movements"], ["day"]) == {}
    assert q.last_work_date(ledger) is None


def received(ledger, measure, **ask):
    """Day -> zones and shifts with a return, as completeness counts them."""
    found = q.summed(ledger, [measure], ("day", "zone", "detail"), **ask)
    return dict(Counter(day for _, day, *_ in found))


@pytest.mark.parametrize("then", [False, True], ids=["now", "as known then"])
def test_received_returns_are_counted_once_a_zone_and_shift(ledger, clock, then):
    ledger.append(
        [
            a_return(stage=1),
            a_return(stage=2),  # the same shift in the same zone went on into the next stage
            a_return(zone="B"),
            a_nil_return(zone="B"),
            a_return(work_date=NEXT),
        ],
        by="engineer",
    )
    ask = {"since": DAY, "until": LAST, "known_at": clock.moment if then else None}
    assert received(ledger, "returns", **ask) == {DAY: 3, NEXT: 1}
    assert received(ledger, "returns_nil", **ask) == {DAY: 1}


def test_a_withdrawn_return_is_missing_again(ledger):
    entry = a_return()
    ledger.append([entry], by="engineer")
    ledger.withdraw(entry.entry_id, reason="other zone", by="engineer")
    assert received(ledger, "returns", since=DAY, until=DAY) == {}


# --- levels --------------------------------------------------------------------------------------
def test_the_lowest_report_is_the_deepest_of_returns_and_surveys(ledger):
    shallow, deep = a_return(lowest_level_mm=101_850), a_survey(lowest_level_mm=101_800)
    other = a_return(zone="B", lowest_level_mm=90_000, to_level_mm=90_000)
    ledger.append([shallow, deep, other], by="engineer")
    report = q.lowest_report(ledger, "A", DAY)
    assert (report.entry_id, report.kind, report.level_mm) == (
        deep.entry_id,
        "survey_levels",
        101_800,
    )
    ledger.withdraw(deep.entry_id, reason="wrong zone", by="surveyor")
    assert q.lowest_report(ledger, "A", DAY).entry_id == shallow.entry_id


def test_the_lowest_report_looks_no_further_than_its_date_nor_its_moment(ledger, clock):
    ledger.append([a_return(lowest_level_mm=101_850)], by="engineer")
    before = clock.forward(60)
    deeper = {"lowest_level_mm": 99_000, "to_level_mm": 99_000, "from_level_mm": 101_900}
    ledger.append([a_return(work_date=NEXT, **deeper)], by="engineer")
    assert q.lowest_report(ledger, "A", DAY).level_mm == 101_850
    assert q.lowest_report(ledger, "A", NEXT).level_mm == 99_000
    assert q.lowest_report(ledger, "A", NEXT, known_at=before).level_mm == 101_850
    assert q.lowest_report(ledger, "A", DAY - timedelta(days=1)) is None


def test_a_return_without_a_level_reports_none(ledger):
    bare = a_return(from_level_mm=None, to_level_mm=None, lowest_level_mm=None)
    ledger.append([bare], by="engineer")
    assert q.lowest_report(ledger, "A", DAY) is None
    assert q.general_levels(ledger, DAY) == {}


def test_reports_below_a_level_are_listed_by_date_and_to_the_millimetre(ledger):
    at_level = a_return(lowest_level_mm=101_800, to_level_mm=101_800)
    below = a_return(work_date=NEXT, lowest_level_mm=101_799, to_level_mm=101_900)
    surveyed = a_survey(lowest_level_mm=101_700)
    ledger.append([below, at_level, surveyed], by="engineer")
    found = q.levels_below(ledger, "A", 101_800, since=DAY, until=NEXT)
    assert [(r.entry_id, r.shift) for r in found] == [
        (surveyed.entry_id, ""),
        (below.entry_id, "day"),
    ]
    assert q.levels_below(ledger, "A", 101_800, since=NEXT, until=NEXT) == found[1:]
    assert q.levels_below(ledger, "B", 200_000, since=DAY, until=NEXT) == []


def test_general_levels_and_the_day_one_was_reached(ledger):
    ledger.append(
        [
            a_return(from_level_mm=103_000, to_level_mm=102_000, lowest_level_mm=102_000),
            a_return(
                work_date=NEXT, from_level_mm=102_000, to_level_mm=101_000, lowest_level_mm=101_000
            ),
            a_return(
                work_date=LAST, from_level_mm=102_500, to_level_mm=102_000, lowest_level_mm=102_000
            ),
        ],
        by="engineer",
    )
    assert q.general_levels(ledger, LAST) == {"A": 101_000}
    assert q.general_levels(ledger, DAY) == {"A": 102_000}
    assert q.first_reached(ledger, "A", 101_000, LAST) == NEXT
    assert q.first_reached(ledger, "A", 101_000, DAY) is None
    assert [r.work_date for r in q.returns_below(ledger, "A", 102_000, LAST)] == [NEXT]


# --- decisions, flags, exceptions ----------------------------------------------------------------
def test_decisions_on_holds_come_in_the_order_in_which_they_were_made(ledger):
    released = a_release(decided_at=at(2))
    suspended = a_release(decided_at=at(1), status="suspended")
    later = a_release(decided_at=at(30), work_date=NEXT)
    ledger.append([later, released, suspended], by="coordinator")
    assert q.hold_decisions(ledger, DAY) == [suspended, released]
    assert q.hold_decisions(ledger, NEXT) == [suspended, released, later]


def test_flagged_loads_are_those_that_broke_a_rule(ledger):
    sound, flagged = a_load("T-1"), a_load("T-2", flags="over_plate")
    late = a_load("T-3", flags="short_cycle", gate_date=NEXT)
    ledger.append([sound, flagged, late], by="gate")
    assert q.flagged_loads(ledger, DAY) == [flagged]
    assert set(q.flagged_loads(ledger, NEXT)) == {flagged, late}


def test_closed_exceptions_are_known_by_rule_and_entry(ledger, clock):
    before = clock.forward(1)
    ledger.append([a_closed_exception()], by="engineer")
    assert q.closed_exceptions(ledger) == {("breach", "some-id")}
    assert q.closed_exceptions(ledger, known_at=before) == set()


def test_the_last_work_date_is_the_latest_with_anything_counted(ledger):
    assert q.last_work_date(ledger) is None
    wrong = a_return(work_date=LAST)
    ledger.append([a_return(), a_load(gate_date=NEXT), wrong], by="engineer")
    assert q.last_work_date(ledger) == LAST
    ledger.withdraw(wrong.entry_id, reason="wrong year", by="engineer")
    assert q.last_work_date(ledger) == NEXT


# --- search --------------------------------------------------------------------------------------
def found_ids(ledger, kinds=("lorry_loads",), **asked):
    count, found = q.search(ledger, kinds, **asked)
    assert count >= len(found)
    return [stored.entry_id for stored in found]


def test_a_search_looks_in_every_text_column_and_minds_no_capitals(ledger):
    ledger.append([a_load("T-1"), a_load("T-2", note="Mud on the Road")], by="Night Clerk")
    marked = ledger.current("lorry_loads", where={"ticket_number": "T-2"})[0].entry_id
    assert found_ids(ledger, text=" mud ON ") == [marked]
    assert len(found_ids(ledger, text="night clerk")) == 2
    assert found_ids(ledger, text="no such words") == []


def test_a_search_takes_a_column_and_its_value_and_numbers_in_people_s_units(ledger):
    west = a_return(zone="A", lowest_level_mm=94_450)
    east = a_return(zone="B", note="A heap stands here", lowest_level_mm=94_000)
    ledger.append([west, east], by="shift")
    assert found_ids(ledger, ["dig_returns"], text="zone a") == [west.entry_id]
    assert found_ids(ledger, ["dig_returns"], text="94.45") == [west.entry_id]
    assert found_ids(ledger, ["dig_returns"], text="zone b heap") == [east.entry_id]


@pytest.mark.parametrize("text", ["50%", "a_b", "o'clock", '"', "\\", "; DROP TABLE lorry_loads"])
def test_a_search_takes_signs_as_they_are(ledger, text):
    one = a_load("T-1", note=f"say {text} here")
    ledger.append([one, a_load("T-2", note="50 axb oclock")], by="gate")
    assert found_ids(ledger, text=text) == [one.entry_id]


def test_a_search_gives_the_newest_and_counts_all(ledger):
    loads = [a_load(f"T-{n}", gate_date=DAY + timedelta(days=n)) for n in range(5)]
    ledger.append(loads, by="gate")
    count, found = q.search(ledger, ["lorry_loads"], limit=2)
    assert count == 5
    assert len(found) == 2
    everything = q.search(ledger, KINDS, limit=50)
    assert [s.entry.gate_date for s in everything[1]] == sorted(
        (load.gate_date for load in loads), reverse=True
    )


def test_a_search_between_dates_leaves_out_what_has_no_date(ledger):
    ledger.append(one_of_each(), by="engineer")
    count, found = q.search(ledger, KINDS, since=DAY, until=DAY + timedelta(days=3))
    assert count == len(found) == len(KINDS) - 1
    assert "closed_exceptions" not in {stored.kind for stored in found}
    assert q.search(ledger, KINDS)[0] == len(KINDS)
    assert q.search(ledger, KINDS, since=date(2030, 1, 1))[0] == 0


def test_a_search_shows_corrected_and_withdrawn_entries_unless_told_not_to(ledger):
    load, right = a_load(entry_id="a"), a_load(entry_id="b", net_kg=5)
    ledger.append([load], by="gate")
    ledger.supersede("a", right, reason="slip", by="gate")
    ledger.withdraw("b", reason="other site", by="gate", entry_id="c")
    assert set(found_ids(ledger)) == {"a", "b", "c"}
    assert found_ids(ledger, current_only=True) == []


def test_a_search_as_known_then_shows_nothing_that_came_later(ledger, clock):
    ledger.append([a_load(entry_id="a")], by="gate")
    before = clock.forward(60)
    ledger.supersede("a", a_load(entry_id="b", net_kg=5), reason="slip", by="gate")
    (then,) = q.search(ledger, ["lorry_loads"], known_at=before)[1]
    assert (then.entry_id, then.superseded_by) == ("a", None)
    now = {s.entry_id: s.superseded_by for s in q.search(ledger, ["lorry_loads"])[1]}
    assert now == {"a": "b", "b": None}


def test_delays_are_summed_by_cause(ledger):
    ledger.append(
        [
            a_return(delays=(Delay("rain", 30), Delay("belt_down", 10))),
            a_nil_return(delays=(Delay("rain", 400),)),
        ],
        by="engineer",
    )
    assert q.summed(ledger, ["delay_min"], ["detail"]) == {
        ("delay_min", "rain"): 430,
        ("delay_min", "belt_down"): 10,
    }


def test_the_stream_and_route_of_a_belt_are_those_of_the_later_reading(ledger):
    ledger.append([a_reading(0, 0), a_reading(12, 7_000, route="R-2", stream="sand")], by="op")
    assert q.summed(ledger, ["belt_kg"], ["route", "stream"]) == {("belt_kg", "R-2", "sand"): 7_000}
