"""The site under an option: shifts, belts, caps and lorries as they would be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest

from tests.ledger.samples import site_tables
from tracker.domain.calendar import caps_on, shifts_on
from tracker.domain.options import (
    GEOMETRY,
    AddedShift,
    BeltChange,
    BeltOut,
    FleetChange,
    Option,
    belts_of,
    capacity_ratio,
    changed_site,
    checked_payload,
)
from tracker.domain.site import Belt, Fleet, Leg, MovementCap, Route, Shift, Vehicle
from tracker.domain.site_tables import site_from_tables
from tracker.errors import InputError, UnknownName

AS_OF = date(2026, 10, 27)
DAY = Shift("day", "Day", time(7), time(19), (0, 1, 2, 3, 4))
NIGHT = Shift("night", "Night", time(19), time(7), (0, 1, 2, 3, 4))
SUNDAY_NIGHT = Shift("late", "Late", time(22), time(6), (6,))
MAIN = Belt("main", 300.0, 0.8, "plan", 1.0, 35.0, 15.0, 2.0, 1.5, 120.0, 15.0)
FLEET = Fleet("rigids", "rigid", (), 6, 1, 6.0, 60.0, "plan")
RIGID = Vehicle("rigid", "Four-axle rigid", "rigid_over_17t", 32.0, 20.0, 12.5, 1.0, 60.0)
ARTIC = Vehicle("artic", "Six-axle artic", "artic_over_33t", 44.0, 28.0, 20.0, 1.0, 60.0)


def route(name, mode, **more):
    return Route(name, name, "tip", (Leg(name, 1, mode, "site", "tip", 10.0, **more),))


ROAD, BELT = route("road", "lorry", vehicle="rigid"), route("belt", "belt", belt="main")


def site(**changes):
    built, _ = site_from_tables(site_tables())
    usual = {
        "first_date": date(2026, 1, 5),
        "shifts": (DAY, NIGHT),
        "closures": (),
        "stops": (),
        "belts": (MAIN,),
        "fleets": (FLEET,),
        "vehicles": (RIGID, ARTIC),
        "routes": (ROAD, BELT),
        "caps": (MovementCap("day", 120, "condition 14"), MovementCap("day", 50, "c", "out")),
    }
    return replace(built, **{**usual, **changes})


def under(option, **changes):
    return changed_site(site(**changes), option, AS_OF)


def saturday(starts=time(8), ends=time(16), weekdays=(5,), name="saturday", since=None):
    return Option(added_shift=AddedShift(name, weekdays, starts, ends, since))


def test_an_option_without_changes_leaves_the_site_as_it_is():
    assert under(Option("only a name")) == site()


def test_an_added_shift_is_worked_from_the_day_after_and_never_before():
    changed = under(saturday())
    assert [s.shift for s in shifts_on(changed, date(2026, 10, 31))] == ["saturday"]
    assert shifts_on(changed, date(2026, 10, 24)) == ()
    later = under(saturday(since=date(2026, 11, 7)))
    assert shifts_on(later, date(2026, 10, 31)) == ()
    assert [s.shift for s in shifts_on(later, date(2026, 11, 7))] == ["saturday"]


@pytest.mark.parametrize(
    ("added", "shifts"),
    [
        (saturday(time(6), time(12)), (DAY, NIGHT)),  # the night of Friday ends at 07:00
        (saturday(time(18), time(20), (2,)), (DAY, NIGHT)),
        (saturday(time(3), time(5), (0,)), (SUNDAY_NIGHT,)),  # across the end of the week
        (saturday(time(22), time(8), (6,)), (DAY,)),  # into Monday
        (saturday(time(7), time(19), (4,)), (DAY,)),
    ],
)
def test_a_shift_that_overlaps_another_is_refused(added, shifts):
    with pytest.raises(InputError, match="overlaps the shift") as caught:
        under(added, shifts=shifts)
    assert caught.value.field == "added_shift.starts"


def test_a_shift_may_begin_when_another_ends():
    assert len(under(saturday(time(7), time(19))).shifts) == 3
    assert len(under(saturday(time(6), time(22), (0, 6)), shifts=(SUNDAY_NIGHT,)).shifts) == 2


def test_an_added_shift_needs_a_name_of_its_own():
    with pytest.raises(InputError, match="a shift “Night” already"):
        under(saturday(name="Night"))


@pytest.mark.parametrize("since", [date(2026, 10, 1), date(2062, 11, 7)])
def test_a_shift_begins_within_the_days_compared(since):
    with pytest.raises(InputError, match="within the days compared"):
        under(saturday(since=since))


def test_a_belt_that_is_out_is_a_stop_of_these_days():
    out = BeltOut("main", date(2026, 11, 2), date(2026, 11, 6))
    (stop,) = under(Option(belt_out=out)).stops
    assert (stop.kind, stop.about) == ("belt", "main")
    assert (stop.first_day, stop.last_day, stop.starts) == (out.first_day, out.last_day, None)


def test_a_belt_out_that_began_before_and_goes_on_is_taken():
    out = BeltOut("main", date(2026, 10, 20), date(2026, 11, 6))
    assert len(under(Option(belt_out=out)).stops) == 1


@pytest.mark.parametrize(
    ("out", "words"),
    [
        (BeltOut("main", date(2026, 11, 6), date(2026, 11, 2)), "Swap them"),
        (BeltOut("main", date(2026, 9, 1), date(2026, 9, 2)), "within the days compared"),
        (BeltOut("main", date(2026, 11, 6), date(2126, 11, 6)), "within the days compared"),
        (BeltOut("man", date(2026, 11, 2), date(2026, 11, 6)), "Did you mean “main”"),
    ],
)
def test_days_without_a_belt_lie_ahead_in_order_and_name_a_belt(out, words):
    with pytest.raises(InputError, match=words):
        under(Option(belt_out=out))


def test_a_changed_cap_stands_for_both_ways_and_leaves_the_others():
    changed = under(Option(cap_day=80, cap_hour=0))
    caps = {(cap.per, cap.direction): cap.movements for cap in caps_on(changed, AS_OF)}
    assert caps == {("day", "both"): 80, ("day", "out"): 50, ("hour", "both"): 0}


def test_lorries_and_loaders_of_one_fleet_change():
    other = replace(FLEET, fleet="artics")
    changed = under(Option(fleet=FleetChange("rigids", 9)), fleets=(FLEET, other)).fleets
    assert [(fleet.lorries, fleet.loaders) for fleet in changed] == [(9, 1), (6, 1)]
    with pytest.raises(UnknownName, match="rigids"):
        under(Option(fleet=FleetChange("rigid", 9)))


def test_zones_at_once_are_changed_and_else_stay():
    assert under(Option(zones_at_once=3)).zones_at_once == 3
    assert under(Option(cap_day=3), zones_at_once=2).zones_at_once == 2


def test_twice_the_speed_carries_twice_as_much_of_what_is_stated():
    (belt,) = under(Option(belt=BeltChange("main", speed_m_per_s=4.0))).belts
    assert belt.speed_m_per_s == 4.0
    assert belt.capacity_t_per_h == pytest.approx(600.0)


def test_a_wider_belt_carries_more_by_its_cross_section():
    (belt,) = under(Option(belt=BeltChange("main", width_m=1.2))).belts
    ratio = capacity_ratio(MAIN, replace(MAIN, width_m=1.2))
    assert 1.4 < ratio < 1.6
    assert belt.capacity_t_per_h == pytest.approx(300.0 * ratio)


def test_a_belt_without_a_stated_capacity_goes_by_its_geometry():
    bare = replace(MAIN, capacity_t_per_h=None)
    (belt,) = under(Option(belt=BeltChange("main", width_m=1.2)), belts=(bare,)).belts
    assert belt == replace(bare, width_m=1.2)


def test_a_belt_without_geometry_is_refused_with_the_columns_to_fill():
    change = Option(belt=BeltChange("main", width_m=1.2))
    with pytest.raises(
        InputError, match=r"has no trough_deg: fill these columns of belts\.csv"
    ) as no:
        under(change, belts=(replace(MAIN, trough_deg=None),))
    assert no.value.field == "belt.belt"
    with pytest.raises(InputError, match=", ".join(GEOMETRY)):
        under(change, belts=())
    with pytest.raises(UnknownName, match="main"):
        under(Option(belt=BeltChange("second", width_m=1.2)))


def test_belts_are_those_of_the_table_and_of_the_legs():
    assert belts_of(site(belts=(replace(MAIN, belt="spare"),))) == ("spare", "main")


def test_a_payload_above_the_plate_is_refused_with_what_the_plate_allows():
    assert checked_payload(site(), 20.0) == 20.0
    with pytest.raises(InputError, match=r"20\.5 t is above the plate .* allows 20 t"):
        checked_payload(site(), 20.5)


def test_only_lorries_that_leave_the_site_hold_the_payload():
    onward = Route("b", "b", "tip", (BELT.legs[0], ROAD.legs[0]))
    artics = route("artics", "lorry", vehicle="artic")
    assert checked_payload(site(routes=(onward, artics)), 28.0) == 28.0
