"""What governed each day of a week in which each thing did once, and what is expected to."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from tests.statements import paper, pit
from tracker.errors import InputError, NotEnoughData
from tracker.ledger.store import Ledger
from tracker.statements import capacity_statement
from tracker.statements.capacity import LIMIT_CAUTION
from tracker.statements.capacity_shapes import CapacityStatement, GovernedDay


@pytest.fixture
def week(empty: Ledger, clock) -> Ledger:
    clock.moment = pit.ENTERED
    pit.enter(empty)
    return empty


@pytest.fixture
def said(week: Ledger) -> CapacityStatement:
    return capacity_statement(week, pit.AS_OF, since=pit.MONDAY, until=date(2026, 11, 14))


def of(said: CapacityStatement, excavation: str) -> dict[int, GovernedDay]:
    """Day of November -> what governed the excavation."""
    return {x.work_date.day: x for x in said.days if x.excavation == excavation}


# --- behind --------------------------------------------------------------------------------------
def test_each_day_of_the_week_has_what_governed_it(said):
    behind = {day: x.governs for day, x in of(said, "BOX").items() if not x.expected}
    assert behind == {
        2: "dig", 3: "rain", 4: "belt", 5: "hold", 6: "stop", 7: "gate", 8: "calendar",
        9: "uncoded",
    }  # fmt: skip


def test_the_cause_that_took_half_of_the_shift_is_named_with_its_minutes(said):
    rain = of(said, "BOX")[3]
    assert rain.words == "Rain"
    assert rain.sentence.startswith("Rain took 540 min; delays took 540 of 720 min")


def test_the_belt_governs_where_what_was_dug_came_up_to_what_it_carries(said):
    full = of(said, "BOX")[4]
    assert full.least_bank_m3 == pytest.approx(100.0 * 0.5 * 12.0 / 2.0)  # all clay, all by belt
    assert full.dug_bank_m3 == pytest.approx(290.0)
    assert full.sentence == "290 m³ were dug in all zones; the belt (belt-1) can take 300 m³."


def test_the_hold_governs_where_no_released_ground_is_left(said):
    assert of(said, "BOX")[5].sentence == (
        "No released ground was left: zone A for stage 1, zone B for stage 2 waited for release."
    )
    assert {x.governs for day, x in of(said, "PIT").items() if not x.expected and day != 6} == {
        "hold", "calendar",
    }  # fmt: skip


def test_a_belt_that_carried_nothing_while_lorries_did_leaves_the_gate_to_govern(said):
    out = of(said, "BOX")[7]
    assert out.least_bank_m3 == pytest.approx(8 / 2 * 19.2 / 2.0)  # four loads of clay by body
    (gate,) = [x for x in said.limits if x.work_date.day == 7 and x.name == "gate"]
    assert "belt-1 is shut: clay goes by R-ROAD to quarry" in gate.how


def test_a_stop_and_a_nil_return_give_their_reasons(said):
    assert of(said, "BOX")[6].sentence == "Stopped: the site (invented shutdown)."
    assert of(said, "BOX")[9].sentence == (
        "Nothing was dug in any zone, and no cause is coded. As returned: no crew."
    )


def test_hours_are_those_of_the_calendar_less_stops(said):
    assert [of(said, "BOX")[day].hours for day in (2, 6, 8)] == [12.0, 0.0, 0.0]


def test_the_rate_of_digging_is_that_of_the_shifts_in_which_something_was_dug(said):
    dug = of(said, "BOX")[2]
    assert dug.dig_bank_m3 == pytest.approx((100 + 10 + 290 + 38) / 4)


def test_ground_dug_on_a_day_off_is_said_beside_the_calendar(week):
    paper.enter(
        week, "returns", work_date="2026-11-08", shift="day", zone="B", stage="2", stream="clay",
        basis="measured", bank_m3="20", from_level_m="99.62", to_level_m="99.42",
    )  # fmt: skip
    sunday = of(capacity_statement(week, pit.AS_OF), "BOX")[8]
    assert (sunday.governs, sunday.sentence) == (
        "calendar", "No shift by the calendar. 20 m³ were dug all the same.",
    )  # fmt: skip


def test_a_site_without_records_has_its_calendar_and_its_limits_ahead(own):
    said = capacity_statement(own, date(2026, 10, 19))
    assert {x.governs for x in said.days} == {"calendar", "hold"}  # nothing is released yet
    assert all(x.expected for x in said.days if x.hours)


# --- ahead ---------------------------------------------------------------------------------------
def test_days_ahead_rest_on_calendar_limits_and_the_ground_that_is_released_now(said):
    ahead = {day: x for day, x in of(said, "BOX").items() if x.expected}
    assert {day: x.governs for day, x in ahead.items()} == {
        10: "gate", 11: "dig", 12: "calendar", 13: "dig", 14: "dig",
    }  # fmt: skip
    assert all(x.dug_bank_m3 is None for x in ahead.values())
    assert ahead[12].sentence == "No shift by the calendar: invented holiday."
    assert ahead[11].sentence == (
        "110 m³ in 12.0 h by the recent rate without zone A, held, all zones 110 m³; the least"
        " limit, shared by all zones, is 300 m³: the belt (belt-1)."
    )
    assert (ahead[11].shared, ahead[11].least_bank_m3) == (True, pytest.approx(300.0))
    # 362 m³ of stage 2 are left above 96 m: 3 x 109.5 are dug before Saturday.
    assert ahead[14].dig_bank_m3 == pytest.approx(362.0 - 3 * 109.5, abs=0.1)
    assert ahead[14].note == "The ground that is released now ends on this day by that rate."


def test_once_the_released_ground_is_dug_the_hold_governs_and_the_forecast_says_when(week):
    late = capacity_statement(week, pit.AS_OF, until=date(2026, 11, 18))
    monday = of(late, "BOX")[16]
    assert (monday.governs, monday.dig_bank_m3) == ("hold", 0.0)
    assert monday.sentence == (
        "The ground that is released now is dug; held already: zone A. When a hold is released is"
        " the forecast's matter."
    )
    pit_days = [x.governs for x in late.days if x.excavation == "PIT" and x.expected]
    assert set(pit_days) == {"hold", "calendar"}  # no ground of C is released


def test_an_excavation_ends_on_the_day_on_which_its_ground_is_dug(week):
    paper.enter(
        week, "returns", work_date="2026-11-08", shift="day", zone="B", stage="2", stream="clay",
        basis="measured", bank_m3="362", from_level_m="99.62", to_level_m="96",
    )  # fmt: skip
    for hold in ("1", "2"):
        paper.enter(week, "holds", decided_at="2026-11-09 12:00", zone="A", hold=hold,
                    status="released", permit="P", decided_by="coordinator")  # fmt: skip
    ahead = [x for x in capacity_statement(week, pit.AS_OF).days if x.expected]
    box = [x for x in ahead if x.excavation == "BOX"]
    assert box[-1].work_date < ahead[-1].work_date
    assert box[-1].note == "Its ground ends on this day by that rate: nothing is left after it."
    assert sum(x.dig_bank_m3 for x in box) == pytest.approx(800.0)


def test_a_possession_of_one_zone_stands_in_the_sentence_of_its_day(empty, clock):
    clock.moment = pit.ENTERED
    tables = pit.tables()
    tables["stops"] += paper.rows(
        "kind|about|first_day|last_day|weekdays|starts|ends|reason|reference",
        "zone|A|2026-11-11|2026-11-11||07:00|12:00|invented pour|",
    )
    paper.adopt(empty, tables, "the pit")
    for zone in "AB":
        paper.enter(empty, "holds", decided_at="2026-10-21 15:00", zone=zone, hold="1",
                    status="released", permit="P", decided_by="coordinator")  # fmt: skip
    wednesday = of(capacity_statement(empty, pit.AS_OF), "BOX")[11]
    assert wednesday.note == "Zone A is stopped from 07:00 to 12:00: invented pour."
    assert wednesday.sentence.endswith(wednesday.note)


def test_a_day_on_which_some_zones_were_held_names_them_and_those_dug(said):
    assert of(said, "BOX")[2].sentence == (
        "100 m³ were dug; no limit was reached; zone A was held; zone B was dug."
    )


def test_each_limit_says_how_it_is_reckoned(said):
    by_name = {x.name: x for x in said.limits if x.work_date.day == 11}
    assert by_name["belt"].how == (
        "Day: 100 t/h stated x 0.5 running x 12.0 h = 600 t; it takes 100 % of the tonnes"
    )
    assert (by_name["belt"].about, by_name["belt"].hours) == ("belt-1", 12.0)


def test_the_running_day_is_ahead_until_one_of_its_shifts_is_over(week, clock):
    clock.moment = datetime.fromisoformat("2026-11-10T12:00:00+00:00")
    tuesday = [
        x for x in capacity_statement(week, date(2026, 11, 10)).days if x.work_date.day == 10
    ]
    assert [x.expected for x in tuesday] == [True, True]


def test_each_day_of_the_period_is_there_once_for_each_excavation_with_ground_left(said):
    days = [pit.MONDAY + timedelta(days=n) for n in range(13)]
    assert [x.work_date for x in said.days if x.excavation == "BOX"] == days


# --- the statement -------------------------------------------------------------------------------
def test_the_headline_counts_working_days_by_what_governed(said):
    assert said.headline.startswith("Since Mon 2 Nov 2026, of 7 working days of The box: ")
    assert "the hold point above 1" in said.headline


def test_the_basis_says_what_sets_no_limit_and_that_a_limit_permits_nothing(said):
    assert "Not set up, so no limit comes from it: hoists.csv, receiving.csv." in said.basis.quality
    assert LIMIT_CAUTION in said.basis.cautions


def test_as_known_before_the_week_was_entered_nothing_is_known_of_it(week, clock):
    clock.moment = pit.ENTERED + timedelta(hours=1)
    paper.enter(week, "returns", work_date="2026-11-09", shift="day", zone="A", stage="1",
                nil_reason="props")  # fmt: skip
    before = capacity_statement(week, pit.AS_OF, known_at=pit.ENTERED)
    now = capacity_statement(week, pit.AS_OF)
    assert of(before, "BOX")[9].sentence == (
        "Nothing was dug in any zone, and no cause is coded. As returned: no crew."
    )
    assert of(now, "BOX")[9].sentence == (
        "Nothing was dug in any zone, and no cause is coded. As returned: props; no crew."
    )


def test_dates_out_of_order_and_a_ledger_without_set_up_are_refused(week, tmp_path, clock):
    with pytest.raises(InputError, match="does not hold the as-of date 2026-11-09"):
        capacity_statement(week, pit.AS_OF, since=date(2026, 11, 20))


def test_a_ledger_without_a_set_up_is_refused(empty):
    with pytest.raises(NotEnoughData):
        capacity_statement(empty, pit.AS_OF)
