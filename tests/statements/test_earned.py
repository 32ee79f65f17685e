"""Days ahead or behind as the ledger has them, worked out by hand on the steady pit."""

from __future__ import annotations

from datetime import date

import pytest

from tests.statements import paper
from tests.statements.steady_pit import FRIDAY, begun, dig, first_week, october, plan, set_up
from tracker.statements import forecast_statement
from tracker.statements.earned import dug_on, earned_lines
from tracker.statements.frame import framed
from tracker.statements.plans import plans_of
from tracker.statements.stage_record import site_record


def zone_a(book, on):
    frame = framed(book, on)
    (line,) = [x for x in earned_lines(site_record(frame), plans_of(frame)) if x.zone == "A"]
    return line


def test_a_zone_that_keeps_to_its_plan_is_on_it(empty):
    begun(empty, set_up("A"))  # 400 m3 in the eight working days to 28 October: 50 m3 a day
    first_week(empty)
    line = zone_a(empty, FRIDAY)
    assert (line.earned_days, line.actual_days, line.ahead_days, line.spi_t) == (5, 5, 0, 1)
    assert (line.earned_bank_m3, line.planned_bank_m3, line.design_bank_m3) == (250, 250, 800)
    assert line.sentence == ("Zone A is on the dates of the set-up (ES 5.0, AT 5; SPI(t) 1.00).")


def test_a_weekend_costs_nothing_and_a_working_day_without_digging_does(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    assert zone_a(empty, date(2026, 10, 25)).ahead_days == 0
    assert zone_a(empty, october(26)).ahead_days == -1


def stopped(*stops):
    heads = "kind|about|first_day|last_day|weekdays|starts|ends|reason|reference"
    given = [f"site||{day}|{day}||{hours}|invented|INV-1" for day, hours in stops]
    return set_up("A") | {"stops": paper.rows(heads, *given)}


# 400 m3 in the seven working days that are left of the eight; 250 m3 are worth 4.375 of them.
def test_a_day_on_which_a_stop_leaves_the_site_no_shift_is_no_working_day(empty):
    begun(empty, stopped(("2026-10-26", "07:00|17:00")))
    first_week(empty)
    for on in (FRIDAY, october(26)):
        line = zone_a(empty, on)
        assert (line.earned_days, line.actual_days) == (pytest.approx(4.375), 5)
    assert zone_a(empty, october(27)).actual_days == 6


def test_a_day_that_a_stop_leaves_an_hour_of_is_a_working_day(empty):
    begun(empty, stopped(("2026-10-26", "07:00|16:00")))
    first_week(empty)
    assert (zone_a(empty, october(26)).earned_days, zone_a(empty, october(26)).actual_days) == (
        5,
        6,
    )


def test_the_basis_of_a_forecast_says_how_a_hold_earns(empty):
    begun(empty, set_up("A"))
    first_week(empty)
    said = forecast_statement(empty, FRIDAY, walks=100).basis.quality
    assert any("since the ground above it was really dug out" in line for line in said)


def test_a_zone_can_be_ahead(empty):
    begun(empty, set_up("A"))
    first_week(empty, bank_m3=60.0)
    line = zone_a(empty, FRIDAY)
    assert line.ahead_days == pytest.approx(1.0)
    assert "is 1.0 working days ahead of the dates of the set-up" in line.sentence


def test_what_is_dug_out_by_its_level_has_earned_its_design_volume(empty):
    tables = set_up("A")
    tables["stages"] = tables["stages"][:1]
    plan(tables, "A", 1, "2026-10-19", "2026-10-22")
    begun(empty, tables)
    first_week(empty, bank_m3=70.0)
    dig(empty, october(26), 40, 100)  # 390 m3 as returned, at formation
    rows = list(dug_on(site_record(framed(empty, october(30)))))
    assert sum(row.net_m3 for row in rows) == pytest.approx(400)
    line = zone_a(empty, october(30))
    assert (line.day, line.earned_days, line.actual_days) == (october(26), 4, 6)
    assert line.sentence == (
        "Zone A was dug out on Mon 26 Oct 2026, 2.0 working days behind the dates of the set-up."
    )


def test_before_its_plan_begins_a_zone_is_neither_ahead_nor_behind(empty):
    tables = set_up("A")
    plan(tables, "A", 1, "2026-10-26", "2026-10-28")
    begun(empty, tables)
    line = zone_a(empty, FRIDAY)
    assert (line.earned_days, line.actual_days, line.spi_t) == (0, 0, None)
    assert line.sentence == ("Zone A is to be begun on Mon 26 Oct 2026 by the dates of the set-up.")
