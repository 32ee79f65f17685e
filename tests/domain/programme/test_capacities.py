"""The limits of a shift, worked by hand for a small pit: belt, hoist, lorries, gate, receivers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.statements.paper import FIRST
from tracker.domain.fleet import finite_queue
from tracker.domain.programme.capacities import (
    Capacities,
    Limit,
    least,
    shift_limits,
    slot_limits,
)
from tracker.domain.programme.ways import HEAP_SHARE, Share, Ways
from tracker.domain.site import (
    Belt,
    Closure,
    Fleet,
    GateWindow,
    Hoist,
    MovementCap,
    Receiving,
    Site,
    Stop,
)
from tracker.domain.site_tables import site_from_tables

PAPER, _ = site_from_tables(FIRST)
DAY, NIGHT = PAPER.shifts  # 07:00 to 19:00 and 22:00 to 06:00, Monday to Saturday
MONDAY = date(2026, 11, 9)
BELT = Belt("belt-1", 200.0, 0.5, "data sheet")
CAP = MovementCap("day", 100, "condition")
EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)
# 8 tonnes in 10 are clay and go by the belt; 2 are made ground and go to the tip, 18 t a load.
WAYS = Ways(
    shares=(Share("clay", "R-BELT", 0.8), Share("made", "R-TIP", 0.2)),
    bank_density_t_per_m3=2.0,
    loose_per_bank=1.25,
    fall_back={"clay": "R-ROAD"},
)


def site(**changes) -> Site:
    usual = {"caps": (), "windows": (), "closures": ()}
    return replace(PAPER, **(usual | changes))


def stop(kind: str, about: str = "", **changes) -> Stop:
    usual = {"first_day": MONDAY, "last_day": MONDAY, "reason": "invented"}
    return Stop(kind, about, **(usual | changes))


def limits(of: Site, shift=DAY, ways=WAYS, day=MONDAY) -> dict[tuple[str, str], Limit]:
    return {(x.name, x.about): x for x in shift_limits(of, ways, day, shift)}


# --- nothing set up ------------------------------------------------------------------------------
def test_nothing_set_up_and_no_cap_is_no_limit():
    assert shift_limits(site(), WAYS, MONDAY, DAY) == ()
    assert least(()) is None


def test_ways_that_nobody_knows_are_limited_by_nothing():
    full = site(belts=(BELT,), caps=(CAP,))
    assert shift_limits(full, Ways(), MONDAY, DAY) == ()


def test_a_day_without_the_shift_takes_nothing():
    (closed,) = shift_limits(site(closures=(Closure(MONDAY, "holiday"),)), WAYS, MONDAY, DAY)
    assert (closed.name, closed.bank_m3) == ("calendar", 0.0)


# --- belt ----------------------------------------------------------------------------------------
def test_a_belt_limits_all_ground_by_what_it_carries_over_its_share():
    found = limits(site(belts=(BELT,)))[("belt", "belt-1")]
    assert found.bank_m3 == pytest.approx(200.0 * 0.5 * 12.0 / 0.8 / 2.0)  # 750 m3
    assert "200 t/h stated x 0.5 running x 12.0 h = 1,200 t" in found.how


@pytest.mark.parametrize(("night", "hours"), [(date(2026, 3, 28), 7.0), (date(2026, 10, 24), 9.0)])
def test_on_the_nights_of_the_clocks_the_belt_has_the_real_hours(night, hours):
    early = site(belts=(BELT,), first_date=date(2026, 3, 2))
    found = limits(early, NIGHT, day=night)[("belt", "belt-1")]
    assert (found.hours, found.bank_m3) == (hours, pytest.approx(100.0 * hours / 1.6))


def test_a_belt_stopped_for_some_hours_makes_the_shift_wait_where_that_gives_more():
    narrow = MovementCap("day", 40, "condition")
    three_h = stop("belt", "belt-1", starts=time(7), ends=time(10))
    found = limits(site(belts=(BELT,), caps=(narrow,), stops=(three_h,)))
    assert found["belt", "belt-1"].bank_m3 == pytest.approx(100.0 * 9.0 / 0.8 / 2.0)
    assert found["gate", ""] == limits(site(caps=(narrow,)))["gate", ""]


def test_with_room_at_the_gate_the_fall_back_takes_what_the_stop_would_delay():
    wide = MovementCap("day", 1000, "condition")
    stopped = site(belts=(BELT,), caps=(wide,),
                   stops=(stop("belt", "belt-1", starts=time(7), ends=time(13)),))  # fmt: skip
    found = limits(stopped)
    # half of the clay goes by road: the belt's 6 h carry 600 t, which are 0.4 of all tonnes
    assert found["belt", "belt-1"].bank_m3 == pytest.approx(600.0 / 0.4 / 2.0)
    assert "50 % of clay goes by R-ROAD to quarry" in found["gate", ""].how


# --- gate ----------------------------------------------------------------------------------------
def test_the_gate_s_day_is_shared_over_the_shifts_of_the_date_by_their_hours():
    # 50 loads of 18 t a day; the day shift has 12 h of 20, the night shift 8 h
    capped = site(caps=(CAP,))
    assert limits(capped)["gate", ""].bank_m3 == pytest.approx(900.0 * 0.6 / 0.2 / 2.0)
    assert limits(capped, NIGHT)["gate", ""].bank_m3 == pytest.approx(900.0 * 0.4 / 0.2 / 2.0)


def test_usual_other_traffic_takes_from_the_cap():
    other = {(0, 9): (10.0, 10.0), (0, 10): (5.0, 5.0), (1, 9): (50.0, 50.0)}
    found = limits(site(caps=(CAP,)), ways=WAYS.changed(other=other))["gate", ""]
    assert found.bank_m3 == pytest.approx((100.0 - 30.0) / 2 * 18.0 * 0.6 / 0.2 / 2.0)
    assert "leaves 35 loads a day" in found.how


def test_where_more_is_booked_than_is_usual_the_bookings_take_from_the_cap():
    other = {(0, 9): (10.0, 10.0)}
    booked = {MONDAY: {9: (20.0, 20.0), 10: (16.0, 16.0)}}
    ways = WAYS.changed(other=other, booked=booked)
    together = Capacities(site(caps=(replace(CAP, movements=150),)), ways)
    # 150 less 72 are 39 loads, as many as 78 movements; 65 on a Monday without a booking.
    (busy,) = together.limits(MONDAY, DAY)
    (usual,) = together.limits(MONDAY + timedelta(weeks=1), DAY)
    assert busy.bank_m3 == pytest.approx(39 * 18.0 * 0.6 / 0.2 / 2.0)
    assert "less the 72 movements booked leaves 39 loads a day" in busy.how
    assert usual.bank_m3 == pytest.approx(65 * 18.0 * 0.6 / 0.2 / 2.0)
    hourly = site(caps=(MovementCap("hour", 50, "condition"),),
                  windows=(GateWindow(0, time(9), time(12)),))  # fmt: skip
    assert limits(hourly, ways=ways)["gate", ""].bank_m3 == pytest.approx(
        (10.0 + 18.0 + 50.0) / 2 * 18.0 * 0.6 / 0.2 / 2.0
    )


def test_loads_are_said_as_they_are_reckoned():
    odd = WAYS.changed(other={(0, 9): (5.0, 5.6)})
    assert "leaves 44.7 loads a day" in limits(site(caps=(CAP,)), ways=odd)["gate", ""].how


def test_an_hour_s_cap_counts_in_the_hours_in_which_the_gate_opens():
    hourly = MovementCap("hour", 6, "condition")
    windows = (GateWindow(0, time(8), time(10)), GateWindow(0, time(13), time(14)))
    busy = WAYS.changed(other={(0, 9): (4.0, 4.0)})
    found = limits(site(caps=(hourly,), windows=windows), ways=busy)["gate", ""]
    assert found.bank_m3 == pytest.approx((3.0 + 0.0 + 3.0) * 18.0 * 0.6 / 0.2 / 2.0)


def test_the_least_of_several_caps_holds_and_one_way_counts_each_load_once():
    out = MovementCap("day", 30, "condition", "out")
    assert limits(site(caps=(CAP, out)))["gate", ""].bank_m3 == pytest.approx(
        30 * 18.0 * 0.6 / 0.2 / 2.0
    )


def test_a_belt_out_all_shift_sends_its_clay_through_the_gate():
    out = site(belts=(BELT,), caps=(CAP,), stops=(stop("belt", "belt-1"),))
    found = limits(out)
    loads_a_tonne = 0.8 / 19.2 + 0.2 / 18.0
    assert found["gate", ""].bank_m3 == pytest.approx(50.0 / loads_a_tonne * 0.6 / 2.0)
    assert "belt-1 is shut: clay goes by R-ROAD to quarry." in found["gate", ""].how
    assert ("belt", "belt-1") not in found


def test_a_belt_out_without_a_fall_back_stops_the_digging():
    out = site(belts=(BELT,), stops=(stop("belt", "belt-1"),))
    found = limits(out, ways=WAYS.changed(fall_back={}))["belt", "belt-1"]
    assert (found.hours, found.bank_m3) == (0.0, 0.0)
    assert "80 % of the tonnes have no other way" in found.how


def test_a_gate_shut_all_day_stops_what_goes_by_lorry_unless_heaps_can_take_it():
    shut = site(windows=(GateWindow(1, time(7), time(19)),), belts=(BELT,))
    few = limits(shut)
    assert ("gate", "") not in few
    assert "20 % of the tonnes wait in the heap while gate is shut" in few["belt", "belt-1"].how
    many = WAYS.changed(shares=(Share("clay", "R-BELT", 0.7), Share("made", "R-TIP", 0.3)))
    assert limits(shut, ways=many)["gate", ""].bank_m3 == 0.0
    assert 0.2 <= HEAP_SHARE < 0.3


# --- lorries -------------------------------------------------------------------------------------
FLEET = Fleet("tippers", "rigid", (), 4, 1, 10.0, 50.0, "plan")
WINDOW = (GateWindow(0, time(7), time(17)),)


def test_lorries_carry_what_their_queue_gives_in_the_hours_of_the_window():
    found = limits(site(fleets=(FLEET,), windows=WINDOW))["lorries", "tippers"]
    loads_per_h = finite_queue(4, 60.0 / 50.0, 60.0 / 10.0).output_per_h
    assert found.bank_m3 == pytest.approx(loads_per_h * 18.0 * 10.0 * 0.6 / 0.2 / 2.0)
    assert found.hours == pytest.approx(6.0)


def test_a_measured_round_stands_in_for_the_plan():
    of = site(fleets=(FLEET,), windows=WINDOW)
    found = limits(of, ways=WAYS.changed(away_min={"R-TIP": 80.0}))["lorries", "tippers"]
    loads_per_h = finite_queue(4, 60.0 / 80.0, 60.0 / 10.0).output_per_h
    assert found.bank_m3 == pytest.approx(loads_per_h * 18.0 * 10.0 * 0.6 / 0.2 / 2.0)
    assert "80 min away as measured" in found.how


def test_fleets_that_share_a_route_stand_together_and_others_apart():
    more = replace(FLEET, fleet="more", routes=("R-TIP",))
    clay = replace(FLEET, fleet="clay round", routes=("R-ROAD",))
    of = site(fleets=(FLEET, more), windows=WINDOW)
    alone = limits(site(fleets=(FLEET,), windows=WINDOW))["lorries", "tippers"].bank_m3
    assert limits(of)["lorries", "tippers and more"].bank_m3 == pytest.approx(2.0 * alone)
    apart = site(fleets=(more, clay), windows=WINDOW, stops=(stop("belt", "belt-1"),))
    assert {about for name, about in limits(apart) if name == "lorries"} == {"more", "clay round"}


def test_a_payload_is_never_taken_above_the_plate():
    heavy = WAYS.with_payload(PAPER, 25.0)
    at_plate = WAYS.with_payload(PAPER, 20.0)
    capped = site(caps=(CAP,))
    assert limits(capped, ways=heavy)["gate", ""] == limits(capped, ways=at_plate)["gate", ""]


# --- receivers -----------------------------------------------------------------------------------
def receiving(destination: str, daily_t: float | None, **changes) -> Receiving:
    usual = {"weekdays": EVERY_DAY, "opens": time(0), "closes": time.max}
    return Receiving(destination, daily_t=daily_t, reference="agreement", **(usual | changes))


def test_a_receiver_s_tonnes_of_a_day_are_shared_over_its_shifts():
    found = limits(site(receiving=(receiving("tip", 300.0),)))["receiver", "tip"]
    assert found.bank_m3 == pytest.approx(300.0 * 0.6 / 0.2 / 2.0)


def test_the_tonnes_of_the_weekday_hold():
    rows = (receiving("tip", 300.0, weekdays=(1,)), receiving("tip", 100.0, weekdays=(0,)))
    assert limits(site(receiving=rows))["receiver", "tip"].bank_m3 == pytest.approx(150.0)


def test_lorries_bring_less_to_a_receiver_that_is_open_for_less_time_than_the_gate():
    short = receiving("tip", None, opens=time(9), closes=time(12))
    found = limits(site(fleets=(FLEET,), windows=WINDOW, receiving=(short,)))
    assert found["receiver", "tip"].bank_m3 == pytest.approx(
        0.3 * found["lorries", "tippers"].bank_m3
    )


def test_ground_on_a_barge_waits_for_a_receiver_that_is_shut_that_weekday_but_not_for_a_shutdown():
    tuesdays = receiving("quarry", 500.0, weekdays=(1,))
    of = site(belts=(BELT,), receiving=(tuesdays,))
    assert limits(of)["receiver", "quarry"].bank_m3 == pytest.approx(500.0 * 0.6 / 0.8 / 2.0)
    down = replace(of, stops=(stop("destination", "quarry"),))
    assert limits(down, ways=WAYS.changed(fall_back={}))["receiver", "quarry"].bank_m3 == 0.0


# --- one zone ------------------------------------------------------------------------------------
def test_a_hoist_limits_its_zones_by_loose_volume_each_with_its_part():
    hoist = Hoist("crane", ("A", "C"), 2.0, 0.9, 10.0, "plan")
    crane = site(hoists=(hoist,), stops=(stop("hoist", "crane", starts=time(7), ends=time(9)),))
    known = WAYS.changed(zone_loose_per_bank={"A": 1.25, "B": 1.25, "C": 1.2})
    found = shift_limits(crane, known, MONDAY, DAY)
    lifted_m3 = 10.0 * 2.0 * 0.9 * 10.0
    assert [(x.zones, x.bank_m3) for x in found] == [
        (("A",), pytest.approx(lifted_m3 / 2 / 1.25)),
        (("C",), pytest.approx(lifted_m3 / 2 / 1.2)),
    ]
    alone = WAYS.changed(zone_loose_per_bank={"C": 1.2})  # A is at formation
    (only,) = shift_limits(crane, alone, MONDAY, DAY)
    assert (only.zones, only.bank_m3) == (("C",), pytest.approx(lifted_m3 / 1.2))


def test_a_possession_of_a_zone_is_a_limit_of_nothing_or_of_the_hours_it_leaves():
    rates = WAYS.changed(dig_m3_per_h={"A": 10.0, "B": 10.0})
    all_day = site(stops=(stop("zone", "A", starts=time(6), ends=time(20)),))
    assert limits(all_day, ways=rates)["stop", "A"].bank_m3 == 0.0
    half = site(stops=(stop("zone", "A", starts=time(7), ends=time(12)),))
    assert limits(half, ways=rates)["stop", "A"].bank_m3 == pytest.approx(70.0)
    assert ("stop", "B") not in limits(half, ways=rates)
    assert limits(half) == {}  # nobody knows what it gives in an hour


def test_a_stop_of_the_site_leaves_its_zones_the_rest_of_the_shift():
    rates = WAYS.changed(dig_m3_per_h={"A": 10.0})
    half = site(stops=(stop("site", starts=time(7), ends=time(12)),))
    assert limits(half, ways=rates)["stop", "A"].bank_m3 == pytest.approx(70.0)
    (whole,) = shift_limits(site(stops=(stop("site"),)), rates, MONDAY, DAY)
    assert (whole.name, whole.zones, whole.bank_m3) == ("stop", (), 0.0)


def test_a_shift_shorter_than_those_of_the_record_gives_less():
    rates = WAYS.changed(dig_m3_per_h={"A": 10.0}, shift_h=12.0)
    assert limits(site(), NIGHT, ways=rates)["dig", "A"].bank_m3 == pytest.approx(80.0)
    assert limits(site(), DAY, ways=rates) == {}


# --- for the walk --------------------------------------------------------------------------------
def test_a_slot_has_the_least_of_each_name_for_all_ground_and_by_zone():
    found = (
        Limit("belt", "one", (), 1.0, 30.0, ""),
        Limit("belt", "two", (), 1.0, 20.0, ""),
        Limit("hoist", "crane", ("A", "B"), 1.0, 5.0, ""),
        Limit("stop", "A", ("A",), 0.0, 0.0, ""),
    )
    assert slot_limits(found) == (
        {"belt": 20.0},
        {"A": {"hoist": 5.0, "stop": 0.0}, "B": {"hoist": 5.0}},
    )


def test_shares_of_a_shift_follow_its_stops():
    out = Capacities(site(stops=(stop("belt", "belt-1"),)), WAYS)
    assert {s.route for s in out.shares(MONDAY, DAY)} == {"R-ROAD", "R-TIP"}
    assert out.shares(MONDAY + timedelta(days=2), DAY) == WAYS.shares


BUSY = site(
    belts=(BELT,),
    caps=(CAP, MovementCap("hour", 12, "condition")),
    windows=tuple(GateWindow(day, time(7), time(17)) for day in range(6)),
    fleets=(FLEET,),
    receiving=(receiving("quarry", 800.0),),
    stops=(
        stop("belt", "belt-1", last_day=date(2027, 12, 31), weekdays=(2,), ends=time(10)),
        stop("gate", last_day=date(2026, 12, 3), starts=time(20), ends=time(9)),
        stop("zone", "A", first_day=date(2027, 3, 1), last_day=date(2027, 3, 9)),
    ),
)  # fmt: skip


def test_days_that_are_alike_are_not_taken_for_others_over_two_changes_of_the_clocks():
    together = Capacities(BUSY, WAYS)
    days = [date(2026, 10, 23) + timedelta(days=n) for n in range(165)]
    for shift in (DAY, NIGHT):
        kept = {day: together.limits(day, shift) for day in days}
        assert all(shift_limits(BUSY, WAYS, day, shift) == kept[day] for day in days)


@given(
    st.sampled_from([("belt", "belt-1"), ("gate", ""), ("destination", "quarry")]),
    st.integers(0, 23),
    st.integers(0, 23),
    st.sampled_from([DAY, NIGHT]),
)
def test_a_further_stop_never_lets_more_through(what, starts, ends, shift):
    known = WAYS.changed(fall_back={})
    before = least(shift_limits(BUSY, known, MONDAY, shift))
    more = replace(BUSY, stops=(*BUSY.stops, stop(*what, starts=time(starts), ends=time(ends))))
    after = least(shift_limits(more, known, MONDAY, shift))
    assert before is not None
    assert after is not None
    assert after.bank_m3 <= before.bank_m3 * (1.0 + 1e-9)
