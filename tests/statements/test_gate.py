"""The gate on a day: used, booked, left, forecast; what went beyond, with the loads behind it."""

from __future__ import annotations

import csv
import json
from datetime import UTC, date, datetime
from importlib import resources

import pytest

from tests.statements import paper
from tracker.domain.rules import CAP_RULE, OUTSIDE_WINDOW
from tracker.errors import InputError, NotEnoughData
from tracker.statements import day_statement, gate_statement
from tracker.statements.export import tables, to_json

THURSDAY = date(2026, 10, 22)  # British Summer Time: local is UTC + 1
FRIDAY = date(2026, 10, 23)


@pytest.fixture
def gate(empty, clock):
    """A ledger whose gate is open 07:00 to 19:00, with a cap of 20 a day and of 6 an hour.

    On Friday a letter allows 40 a day, and lorries until 22:00.
    """
    clock.moment = at(20, 12)
    adopt(empty)
    clock.moment = at(22, 12)
    return empty


def adopt(book, caps=("day|20|condition 1|", "hour|6|condition 2|both"), **changes) -> None:
    given = paper.second_setup()
    given["caps"] = paper.rows("per|movements|reference|direction", *caps)
    given["gate_permissions"] = paper.rows(
        "reference|valid_from|valid_to|weekdays|opens|closes|per|direction|movements",
        "letter 1|2026-10-23|2026-10-23||19:00|22:00|||",
        "letter 1|2026-10-23|2026-10-23||||day||40",
    )
    paper.adopt(book, given | changes, "gate")


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment of October by the clock of the site in summer."""
    return datetime(2026, 10, day, hour - 1, minute, tzinfo=UTC)


def load(book, number: int, came: str, left: str, day: str = "2026-10-22", **more: str) -> str:
    return paper.enter(
        book,
        "loads",
        ticket_number=f"G{number}",
        gate_in_at=f"{day} {came}",
        gate_out_at=f"{day} {left}",
        registration=f"INV {number}",
        stream="clay",
        route="R-ROAD",
        net_t="18",
        **more,
    )


def traffic(book, passed: str, vehicles: int, direction: str = "both", **more: str) -> str:
    given = {"purpose": "concrete", "passed_at": f"2026-10-22 {passed}"} | more
    return paper.enter(book, "traffic", vehicles=str(vehicles), direction=direction, **given)


def booking(book, name: str, day: str, hours: tuple[int, int], ins: int, outs: int) -> str:
    return paper.enter(
        book,
        "bookings",
        booking=name,
        gate_date=day,
        from_hour=str(hours[0]),
        to_hour=str(hours[1]),
        purpose="concrete",
        movements_in=str(ins),
        movements_out=str(outs),
        booked_by="concrete foreman",
    )


def open_at_gate(book) -> list:
    """What Today says is open, of the gate: other rules may stand beside it."""
    rules = (CAP_RULE, OUTSIDE_WINDOW)
    return [e for e in day_statement(book, THURSDAY).exceptions if e.rule in rules]


def morning(book, clock) -> None:
    """Four loads and two concrete lorries from 07:00 to 12:00; four more movements are booked."""
    clock.moment = at(22, 6)
    booking(book, "pour 1", "2026-10-22", (9, 10), 2, 2)
    booking(book, "pour 2", "2026-10-22", (15, 17), 2, 2)
    clock.moment = at(22, 12)
    for number, hour in enumerate((7, 8, 10, 11)):
        load(book, number, f"{hour:02d}:05", f"{hour:02d}:35")
    traffic(book, "09:15", 2)


# --- used, booked, left --------------------------------------------------------------------------
def test_the_hours_hold_spoil_other_traffic_and_what_is_booked_apart(gate, clock):
    morning(gate, clock)
    hours = {h.hour: h for h in gate_statement(gate, THURSDAY).hours}
    assert sorted(hours) == list(range(7, 19))
    assert (hours[7].spoil_in, hours[7].spoil_out, hours[7].left) == (1, 1, 4)
    assert (hours[9].other_in, hours[9].other_out, hours[9].booked_in) == (2, 2, 2)
    assert (hours[9].movements, hours[9].awaited, hours[9].left) == (4, 0, 2)
    assert [hours[n].awaited for n in (15, 16)] == [2, 2]
    assert [hours[n].stage for n in (11, 12, 13)] == ["over", "running", "ahead"]


def test_each_cap_says_what_is_used_booked_and_left(gate, clock):
    morning(gate, clock)
    made = gate_statement(gate, THURSDAY)
    of_day, of_hour = made.caps
    assert (of_day.used, of_day.spoil, of_day.other, of_day.booked, of_day.left) == (12, 8, 4, 4, 4)
    assert (of_hour.hour, of_hour.used, of_hour.left) == (12, 0, 6)
    assert (made.loads_left, made.at, made.gate_window) == (2, "12:00", "07:00 to 19:00")
    assert made.headline == (
        "12 of 20 movements used, 4 more booked, 4 left. Room for 2 loads of spoil."
    )


def test_on_an_empty_day_the_cap_of_an_hour_names_no_hour(gate, clock):
    clock.moment = at(22, 6)
    of_day, of_hour = gate_statement(gate, THURSDAY).caps
    assert of_day.sentence == "0 of 20 movements used, 20 left."
    assert of_hour.sentence == "0 of 6 movements used (no hour used yet), 6 left."
    assert (of_hour.hour, of_hour.used, of_hour.spoil) == (None, 0, 0)
    clock.moment = at(23, 12)
    over = gate_statement(gate, THURSDAY).caps[1]
    assert over.sentence == "0 of 6 movements used (no hour used), 6 not used."


def test_the_forecast_goes_on_at_the_rate_of_the_open_hours_gone(gate, clock):
    morning(gate, clock)
    # 8 movements of spoil in 5 hours, 7 hours left, 4 booked: 12 + 11.2 + 4 = 27.2.
    made = gate_statement(gate, THURSDAY)
    of_day = made.caps[0]
    assert of_day.forecast == pytest.approx(27.2)
    spread = 2 * (2 * 11.2 * (1 + 7 / 5)) ** 0.5
    assert (of_day.forecast_low, of_day.forecast_high) == pytest.approx((16, 27.2 + spread))
    # 12 + 1.6 n + the booked: 20.4 at the end of the hour from 15:00... 12 + 6.4 + 2.
    assert of_day.passes_in_hour == 15
    assert made.forecast.startswith(
        "At the rate of today the day comes to about 27 (16 to 42) movements: it passes the cap of"
        " 20 a day in the hour from 15:00."
    )


def test_at_six_in_the_morning_the_headline_says_when_it_opens_and_what_is_left(gate, clock):
    clock.moment = at(22, 5)
    booking(gate, "pour", "2026-10-22", (9, 13), 4, 4)
    clock.moment = at(22, 6)
    made = gate_statement(gate, THURSDAY)
    assert made.headline == (
        "Gate 07:00 to 19:00. 0 of 20 movements used, 8 more booked, 12 left. Room for 6 loads of"
        " spoil."
    )
    assert made.forecast == "No forecast yet: the gate has not opened."


def test_once_the_gate_is_closed_nothing_is_left_to_forecast(gate, clock):
    morning(gate, clock)
    clock.moment = at(22, 19)
    made = gate_statement(gate, THURSDAY)
    assert made.headline == "The gate is closed for the day. 12 of 20 movements used, 8 not used."
    booking(gate, "steel", "2026-10-23", (8, 9), 1, 1)
    assert gate_statement(gate, THURSDAY).headline == (
        f"{made.headline} Fri 23 Oct 2026: 2 movements booked (concrete 2). Room for 19 loads of"
        " spoil instead of 20. By permission: letter 1."
    )
    assert (made.forecast, made.loads_left) == ("The gate opens no more on this day.", 0)
    clock.moment = at(24, 9)
    assert gate_statement(gate, THURSDAY).at == "end of the day"


def test_a_permission_raises_the_cap_and_opens_the_gate_longer_on_its_days(gate):
    friday = gate_statement(gate, FRIDAY)
    assert (friday.caps[0].cap, friday.caps[0].reference) == (40, "letter 1")
    assert friday.gate_window == "07:00 to 22:00"
    assert friday.permissions == ("letter 1",)
    assert gate_statement(gate, THURSDAY).permissions == ()
    assert (friday.windows[0].opens_h, friday.windows[0].closes_h) == (7.0, 22.0)
    today = day_statement(gate, FRIDAY)
    assert (today.cap_day, today.cap_hour, today.gate_window) == (40, 6, "07:00 to 22:00")


def test_a_shut_gate_is_said_to_be_shut(gate):
    sunday = gate_statement(gate, date(2026, 10, 25))
    assert sunday.headline.startswith("The gate is shut on this day.")
    assert (sunday.gate_window, sunday.hours, sunday.loads_left) == ("gate shut", (), 0)


def test_a_cap_of_one_direction_counts_that_direction(empty, clock):
    adopt(empty, caps=("day|20|condition 1|both", "day|3|condition 3|out"))
    clock.moment = at(22, 12)
    load(empty, 1, "08:00", "08:30")
    traffic(empty, "09:00", 2, "in")
    made = gate_statement(empty, THURSDAY)
    assert [(cap.direction, cap.used) for cap in made.caps] == [("both", 4), ("out", 1)]
    assert made.loads_left == 2
    load(empty, 2, "09:10", "09:30")
    traffic(empty, "10:00", 2, "out")
    (above,) = gate_statement(empty, THURSDAY).breaches
    assert (above.about, above.movements, above.cap) == ("day 2026-10-22 out", 4, 3)
    assert {(one.kind, one.movements) for one in above.passes} == {
        ("lorry_loads", 1),
        ("gate_traffic", 2),
    }


def test_without_caps_nothing_is_forecast_and_the_movements_are_counted(empty, clock):
    adopt(empty, caps=(), gate_permissions=[])
    clock.moment = at(22, 12)
    load(empty, 1, "08:00", "08:30")
    made = gate_statement(empty, THURSDAY)
    assert made.headline == "2 movements; no cap a day is set up."
    assert (made.caps, made.loads_left) == ((), None)
    assert made.forecast == "No cap on movements is set up, so nothing is forecast."


# --- beyond caps and windows ---------------------------------------------------------------------
def test_exactly_the_cap_is_no_breach_and_one_more_is(gate, clock):
    for number in range(3):
        load(gate, number, f"08:{10 * number:02d}", f"08:{10 * number + 5:02d}")
    assert gate_statement(gate, THURSDAY).breaches == ()
    delivery = traffic(gate, "08:50", 1, "in", reference="D 7")
    (above,) = gate_statement(gate, THURSDAY).breaches
    assert (above.rule, above.about) == ("over_movement_cap", "hour 2026-10-22 08")
    assert above.sentence == (
        "7 movements on Thu 22 Oct 2026, 08:00 to 08:59 (1 of them other traffic), 1 more than the"
        " cap of 6 an hour (condition 2)."
    )
    assert [(one.what, one.came, one.left, one.movements) for one in above.passes] == [
        ("Load gate G0 (INV 0)", "08:00", "08:05", 2),
        ("Load gate G1 (INV 1)", "08:10", "08:15", 2),
        ("Load gate G2 (INV 2)", "08:20", "08:25", 2),
        ("1 vehicle, concrete D 7", "08:50", "", 1),
    ]
    assert above.passes[-1].entry_id == delivery
    (warned,) = open_at_gate(gate)
    assert (warned.about, warned.sentence) == (above.about, above.sentence)


def test_a_load_that_passes_in_two_hours_counts_once_in_each(gate, clock):
    for number in range(3):
        load(gate, number, f"08:{10 * number:02d}", f"08:{10 * number + 5:02d}")
    load(gate, 9, "07:50", "08:40")
    (above,) = gate_statement(gate, THURSDAY).breaches
    assert [one.movements for one in above.passes] == [2, 2, 2, 1]
    assert sum(one.movements for one in above.passes) == above.movements == 7


def test_other_traffic_alone_can_pass_the_cap_of_a_day(gate, clock):
    for hour in (8, 9, 10, 11):
        traffic(gate, f"{hour:02d}:00", 3)
    made = gate_statement(gate, THURSDAY)
    assert [b.about for b in made.breaches] == ["day 2026-10-22"]
    assert made.headline == (
        "24 movements on Thu 22 Oct 2026 (24 of them other traffic), 4 more than the cap of 20 a"
        " day (condition 1). Stop lorries and ask the site manager."
    )


def test_a_day_with_a_higher_permitted_cap_is_held_to_that_one(gate, clock):
    clock.moment = at(23, 18)
    for hour in range(8, 18):
        traffic(gate, "", 2, passed_at=f"2026-10-23 {hour:02d}:00")
    assert gate_statement(gate, FRIDAY).breaches == ()  # 40 of 40, 20 more than on other days
    traffic(gate, "", 1, "in", passed_at="2026-10-23 17:30")
    (above,) = gate_statement(gate, FRIDAY).breaches
    assert (above.movements, above.cap, above.reference) == (41, 40, "letter 1")


def test_a_closed_breach_stays_listed_as_closed(gate, clock):
    for hour in (8, 9, 10, 11):
        traffic(gate, f"{hour:02d}:00", 3)
    (above,) = open_at_gate(gate)
    paper.enter(
        gate, "closures", rule=above.rule, about=above.about, reason="agreed", closed_by="manager"
    )
    assert open_at_gate(gate) == []
    (listed,) = gate_statement(gate, THURSDAY).breaches
    assert listed.closed


def test_whoever_passed_outside_the_window_is_listed(gate, clock):
    clock.moment = at(22, 21)
    late = load(gate, 1, "18:40", "19:20")
    steel = traffic(gate, "20:00", 1, "both", purpose="steel")
    listed = {b.about: b for b in gate_statement(gate, THURSDAY).breaches}
    assert set(listed) == {late, steel}
    assert listed[late].sentence == (
        "Load gate G1 (INV 1) passed on Thu 22 Oct 2026 at 18:40 and 19:20, outside the gate window"
        " (07:00 to 19:00)."
    )
    assert listed[steel].movements == 2
    clock.moment = at(23, 22)
    load(gate, 2, "18:40", "19:20", day="2026-10-23")  # the letter of Friday
    assert {b.about for b in gate_statement(gate, FRIDAY).breaches} == {late, steel}


def test_other_traffic_outside_the_window_is_open_until_it_is_closed_with_a_reason(gate, clock):
    clock.moment = at(22, 21)
    steel = traffic(gate, "20:00", 1, "out", purpose="steel", reference="beams")
    (found,) = open_at_gate(gate)
    assert (found.rule, found.about, found.kind) == ("outside_window", steel, "gate_traffic")
    assert found.sentence == (
        "1 vehicle, steel beams passed on Thu 22 Oct 2026 at 20:00, outside the gate window (07:00"
        " to 19:00)."
    )
    paper.enter(
        gate, "closures", rule=found.rule, about=steel, reason="agreed", closed_by="manager"
    )
    assert open_at_gate(gate) == []


def test_the_period_of_the_breaches_can_be_chosen_and_is_30_days_if_not(gate, clock):
    clock.moment = at(22, 21)
    traffic(gate, "20:00", 1)
    clock.moment = datetime(2026, 11, 30, 12, tzinfo=UTC)
    month_on = gate_statement(gate, date(2026, 11, 21))
    assert (month_on.since, month_on.breaches) == (FRIDAY, ())
    longer = gate_statement(gate, date(2026, 11, 21), since=THURSDAY)
    assert len(longer.breaches) == 1
    with pytest.raises(InputError, match="swap the dates"):
        gate_statement(gate, THURSDAY, since=FRIDAY)


# --- days ahead ----------------------------------------------------------------------------------
def test_a_pour_that_is_booked_leaves_fewer_loads_for_spoil(gate, clock):
    booking(gate, "pour", "2026-10-26", (8, 12), 7, 7)
    (monday,) = gate_statement(gate, THURSDAY).ahead
    assert (monday.booked, monday.cap_day, monday.loads_left, monday.loads_usual) == (14, 20, 3, 10)
    assert monday.sentence == (
        "Mon 26 Oct 2026: 14 movements booked (concrete 14). Room for 3 loads of spoil instead of"
        " 10."
    )


@pytest.mark.parametrize(
    ("day", "hours", "movements", "said"),
    [
        ("2026-10-26", (8, 19), 12, "4 more than the cap of 20 a day: move traffic"),
        ("2026-10-26", (8, 9), 4, "Booked beyond the cap of 6 an hour from 08:00: spread them"),
        ("2026-10-26", (18, 20), 2, "booked from 19:00, while the gate is shut (07:00 to 19:00)"),
        ("2026-10-25", (8, 9), 1, "booked from 08:00, while the gate is shut (gate shut)"),
    ],
)
def test_a_booking_that_cannot_be_is_said_with_what_to_do(gate, day, hours, movements, said):
    booking(gate, "pour", day, hours, movements, movements)
    (warning,) = gate_statement(gate, THURSDAY).ahead[0].warnings
    assert said in warning


def test_a_booking_of_this_day_that_cannot_be_is_a_warning(gate, clock):
    clock.moment = at(22, 6)
    booking(gate, "pour", "2026-10-22", (8, 9), 4, 4)
    (warning,) = gate_statement(gate, THURSDAY).warnings
    assert "beyond the cap of 6 an hour from 08:00" in warning
    clock.moment = at(22, 10)  # the hour is over
    assert gate_statement(gate, THURSDAY).warnings == ()


# --- the clock -----------------------------------------------------------------------------------
def test_the_hour_that_comes_twice_is_one_hour_of_its_caps_and_the_day_adds_up(empty, clock):
    adopt(empty, windows=[], gate_permissions=[])
    for number, came in enumerate(("00:40+01:00", "01:10+01:00", "01:20+00:00", "01:50+00:00")):
        load(empty, number, came, came.replace("0+0", "5+0"), day="2026-10-25")
    clock.moment = datetime(2026, 10, 25, 12, tzinfo=UTC)
    made = gate_statement(empty, date(2026, 10, 25))
    assert sum(h.movements for h in made.hours) == 8
    assert sum(h.open_min for h in made.hours) == 25 * 60
    assert {h.hour: h.movements for h in made.hours if h.movements} == {0: 2, 1: 6}
    assert made.breaches == ()


# --- what it stands on ---------------------------------------------------------------------------
def test_the_statement_can_be_drawn_as_known_at_a_moment(gate, clock):
    morning(gate, clock)
    clock.moment = at(23, 6)
    then = gate_statement(gate, THURSDAY, known_at=at(22, 6))
    assert (then.at, then.caps[0].used, then.caps[0].booked) == ("06:00", 0, 8)
    now = gate_statement(gate, THURSDAY, known_at=at(23, 6))
    assert now.hours == gate_statement(gate, THURSDAY).hours


def test_the_loads_behind_a_breach_go_into_the_export(gate, clock):
    for hour in (8, 9, 10, 11):
        traffic(gate, f"{hour:02d}:00", 3)
    made = gate_statement(gate, THURSDAY)
    rows = tables(made)["breaches_passes"]
    assert [row["about"] for row in rows] == ["day 2026-10-22"] * 4
    assert json.loads(to_json(made))["caps"][0]["used"] == 24


def test_without_a_set_up_there_is_a_sentence(empty):
    with pytest.raises(NotEnoughData, match="spoil init --setup"):
        gate_statement(empty, THURSDAY)


def test_the_day_counts_other_traffic_apart_from_spoil(gate, clock):
    morning(gate, clock)
    made = day_statement(gate, THURSDAY)
    assert (made.movements, made.other_movements, made.booked_movements) == (8, 4, 4)
    nine = next(h for h in made.hours if h.hour == 9)
    assert (nine.movements_in, nine.other_in, nine.other_out) == (0, 2, 2)


def test_the_hours_of_the_demonstration_are_its_tickets_and_its_other_traffic(demo):
    """Counted again from the files of the invented site, for each day of a week with a pour."""
    for n in range(19, 25):
        day = f"2026-10-{n}"
        made = gate_statement(demo, date(2026, 10, n))
        tickets = [t for t in rows_of("loads") if not t["reconsigned_from"]]
        ins = sum((t["gate_in_at"] or t["gate_out_at"])[:10] == day for t in tickets)
        outs = sum(t["gate_out_at"][:10] == day for t in tickets)
        other = [t for t in rows_of("traffic") if t["passed_at"][:10] == day]
        ways = {"both": 2, "in": 1, "out": 1}
        assert sum(h.spoil_in for h in made.hours) == ins
        assert sum(h.spoil_out for h in made.hours) == outs
        assert sum(h.movements for h in made.hours) == ins + outs + sum(
            ways[t["direction"]] * int(t["vehicles"]) for t in other
        )


def rows_of(name: str) -> list[dict[str, str]]:
    file = resources.files("data_demo") / "records" / f"{name}.csv"
    return list(csv.DictReader(file.read_text("utf-8").splitlines()))
