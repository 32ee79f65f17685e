"""Day: what needs somebody now. Breaches first; shifts; movements so far; zone levels."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from tracker.domain.calendar import caps_on, gate_windows, shifts_on, window_words
from tracker.domain.gate import GateHour
from tracker.domain.site import BOTH_WAYS, Shift
from tracker.ledger.entries import DigReturn
from tracker.ledger.questions import summed
from tracker.ledger.totals import dug_amount
from tracker.statements.dug import dug_quantity
from tracker.statements.exceptions import open_warnings
from tracker.statements.exceptions_holds import running_timers
from tracker.statements.frame import Frame, basis, framed, is_over, zone_opens_until
from tracker.statements.gate import bookings_from, hours_of_day
from tracker.statements.gate_shapes import HourLine
from tracker.statements.levels import all_clear, open_breaches, standings, zone_levels
from tracker.statements.shapes import DayStatement, OpenException, ShiftLine
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

_OF_DAY = ("loads", "load_kg", "belt_kg", "movements")


def day_statement(
    ledger: LedgerReads, as_of: date, *, known_at: datetime | None = None
) -> DayStatement:
    """What the records say of one day, and what needs somebody.

    Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        found = standings(frame)
        breaches = open_breaches(frame, found)
        shifts = (*_shift_lines(frame, as_of - timedelta(days=1)), *_shift_lines(frame, as_of))
        output = _output(frame)
        hours = hours_of_day(frame, bookings_from(frame, as_of).get(as_of, []))
        sums = summed(ledger, _OF_DAY, since=as_of, until=as_of, known_at=known_at)
        caps = {
            cap.per: cap.movements
            for cap in caps_on(frame.site, as_of)
            if cap.direction == BOTH_WAYS
        }
        return DayStatement(
            basis=basis(frame, as_of - timedelta(days=1), quality=_quality(frame)),
            headline=_headline(breaches, all_clear(found), shifts, as_of),
            breaches=breaches,
            exceptions=open_warnings(frame),
            formation=running_timers(frame),
            shifts=shifts,
            zones=zone_levels(frame, found),
            bank_m3=output[0],
            mass_t=output[1],
            belt_t=sums.get(("belt_kg",), 0) / 1000.0,
            lorry_t=sums.get(("load_kg",), 0) / 1000.0,
            loads=sums.get(("loads",), 0),
            movements=sums.get(("movements",), 0),
            other_movements=sum(hour.other() for hour in hours),
            booked_movements=sum(hour.awaited() for hour in hours),
            cap_day=caps.get("day"),
            cap_hour=caps.get("hour"),
            hours=_hours(hours),
            gate_window=window_words(gate_windows(frame.site, as_of)),
        )


def _shift_lines(frame: Frame, day: date) -> list[ShiftLine]:
    entries = frame.ledger.current("dig_returns", known_at=frame.known_at, since=day, until=day)
    by_place: dict[tuple[str, str], list[DigReturn]] = {}
    for entry in entries:
        by_place.setdefault((entry.shift, entry.zone), []).append(entry)
    spans, site = zone_opens_until(frame), frame.site_on(day)
    expected = [
        (shift, zone.zone)
        for shift in shifts_on(site, day)
        for zone in frame.site.zones
        if spans[zone.zone][0] <= day <= spans[zone.zone][1]
    ]
    known = {s.shift: s for s in site.shifts}
    extra = [(known[s], z) for s, z in by_place if s in known and (known[s], z) not in expected]
    return [
        _shift_line(frame, day, shift, zone, by_place.get((shift.shift, zone), []))
        for shift, zone in (*expected, *extra)
    ]


def _shift_line(
    frame: Frame, day: date, shift: Shift, zone: str, entries: list[DigReturn]
) -> ShiftLine:
    dug = [entry for entry in entries if not entry.nil_reason]
    bank_m3 = sum(_quantity(frame, entry)[0] for entry in dug)
    if dug:
        lowest = [e.lowest_level_mm for e in dug if e.lowest_level_mm is not None]
        detail = f"lowest {min(lowest) / 1000:.3f} m" if lowest else "no level given"
        state = "received"
    elif entries:
        state, detail = "nil", entries[0].nil_reason
    elif is_over(frame, shift, day):
        state, detail = "missing", "no return yet"
    else:
        state, detail = "due", "shift not over"
    return ShiftLine(day, shift.shift, zone, state, bank_m3, detail)


def _quantity(frame: Frame, entry: DigReturn) -> tuple[float, float]:
    measure, amount = dug_amount(entry)
    site = frame.site_on(entry.work_date)
    quantity = dug_quantity(site, entry.stream, measure.split("_")[1], amount)
    return quantity.bank_m3, quantity.mass_t


def _output(frame: Frame) -> tuple[float, float]:
    entries = frame.ledger.current(
        "dig_returns", known_at=frame.known_at, since=frame.as_of, until=frame.as_of
    )
    quantities = [_quantity(frame, entry) for entry in entries if not entry.nil_reason]
    return sum(q[0] for q in quantities), sum(q[1] for q in quantities)


def _hours(hours: Sequence[GateHour]) -> tuple[HourLine, ...]:
    return tuple(
        HourLine(h.hour, h.spoil_in, h.spoil_out, h.other_in, h.other_out)
        for h in hours
        if h.used()
    )


def _quality(frame: Frame) -> tuple[str, ...]:
    no_weight = summed(
        frame.ledger,
        ["loads_no_weight"],
        since=frame.as_of,
        until=frame.as_of,
        known_at=frame.known_at,
    )
    count = sum(no_weight.values())
    if not count:
        return ()
    return (f"Loads of the day without weight, so not in its lorry tonnes: {count}.",)


def _headline(
    breaches: tuple[OpenException, ...], clear: str, shifts: tuple[ShiftLine, ...], as_of: date
) -> str:
    if breaches:
        more = f" {len(breaches) - 1} more below." if len(breaches) > 1 else ""
        return f"{breaches[0].sentence}{more}"
    missing = sum(line.state == "missing" for line in shifts)
    if missing:
        return f"{clear} Returns missing of this day and the day before: {missing}."
    return f"{clear} Every return due by {date_words(as_of)} is in."
