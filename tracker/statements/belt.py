"""The belts: their readings with what each carried, and the days on which nobody read them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from tracker.domain.balance import net
from tracker.domain.calendar import shifts_on
from tracker.ledger.entries import BeltCheck, BeltReading
from tracker.ledger.totals import belt_runs
from tracker.statements.flows import Flow, flows
from tracker.statements.frame import Frame, is_over
from tracker.statements.spoil_shapes import CheckLine, ReadingLine, UnreadDay

_LOOK_BACK = timedelta(days=31)  # for the reading before, and what the belt carried of late

Readings = Mapping[str, Sequence[BeltReading]]


def belt_readings(frame: Frame, since: date) -> Readings:
    """Belt -> its readings of a period and the month before it, in the order of reading."""
    entries: list[BeltReading] = frame.ledger.current(
        "belt_readings",
        known_at=frame.known_at,
        since=max(since, date.min + _LOOK_BACK) - _LOOK_BACK,
        until=frame.as_of,
    )
    found: dict[str, list[BeltReading]] = defaultdict(list)
    for reading in sorted(entries, key=lambda r: (r.belt, r.read_at)):
        found[reading.belt].append(reading)
    return found


def reading_lines(readings: Readings, since: date) -> tuple[ReadingLine, ...]:
    """Each reading of a period with what its belt carried since the one before."""
    return tuple(
        _line(before, reading)
        for of in readings.values()
        for before, reading in pairwise([None, *of])
        if reading is not None and reading.work_date >= since
    )


def _line(before: BeltReading | None, reading: BeltReading) -> ReadingLine:
    began_anew = reading.event in ("reset", "swap")
    run_kg = belt_runs([before, reading])[0][1] if before and not began_anew else None
    return ReadingLine(
        entry_id=reading.entry_id,
        belt=reading.belt,
        read_at=reading.read_at,
        work_date=reading.work_date,
        shift=reading.shift,
        event="rollover" if reading.rollover_kg is not None else reading.event,
        totaliser_t=reading.totaliser_kg / 1000.0,
        run_t=None if run_kg is None else run_kg / 1000.0,
        running_h=None if reading.running_min is None else reading.running_min / 60.0,
        kwh=None if reading.energy_wh is None else reading.energy_wh / 1000.0,
    )


def check_lines(frame: Frame, since: date) -> tuple[CheckLine, ...]:
    """Zero and material checks of a period, each with its error against what is allowed."""
    entries: list[BeltCheck] = frame.ledger.current(
        "belt_checks", known_at=frame.known_at, since=since, until=frame.as_of
    )
    return tuple(_checked(entry) for entry in sorted(entries, key=lambda e: e.checked_at))


def _checked(check: BeltCheck) -> CheckLine:
    error_kg = check.shown_kg - check.reference_kg
    if check.allowed_kg is None:
        verdict = "nothing stated as allowed"
    elif abs(error_kg) > check.allowed_kg:
        verdict = "more than is allowed"
    else:
        verdict = "within what is allowed"
    return CheckLine(
        entry_id=check.entry_id,
        belt=check.belt,
        checked_at=check.checked_at,
        work_date=check.work_date,
        method=check.method,
        shown_t=check.shown_kg / 1000.0,
        reference_t=check.reference_kg / 1000.0,
        error_t=error_kg / 1000.0,
        error_percent=100.0 * error_kg / check.reference_kg if check.reference_kg else None,
        allowed_t=None if check.allowed_kg is None else check.allowed_kg / 1000.0,
        verdict=verdict,
    )


def unread_days(frame: Frame, readings: Readings, since: date) -> tuple[UnreadDay, ...]:
    """Work dates on which a stream was dug and no belt that carries it was read.

    Days count from the first reading of the belt on, once their shifts are over.
    """
    carried: dict[str, set[str]] = defaultdict(set)  # stream -> belts
    for belt, of in readings.items():
        for reading in of:
            carried[reading.stream].add(belt)
    found = []
    for stream, moved in flows(frame, since, frame.as_of).items():
        belts = carried.get(stream, set())
        read = {r.work_date for belt in belts for r in readings[belt]}
        for day in sorted({flow.day for flow in moved if flow.term == "dug"}):
            if read and day not in read and day > min(read) and _all_over(frame, day):
                of_day = [flow for flow in moved if flow.day == day]
                found.append(
                    UnreadDay(
                        belt=", ".join(sorted(belts)),
                        day=day,
                        stream=stream,
                        dug_t=_mass_t(of_day, "dug"),
                        lorries_t=_mass_t(of_day, "lorries"),
                    )
                )
    return tuple(sorted(found, key=lambda unread: (unread.day, unread.stream)))


def _all_over(frame: Frame, day: date) -> bool:
    return all(is_over(frame, shift, day) for shift in shifts_on(frame.site_on(day), day))


def _mass_t(moved: Iterable[Flow], term: str) -> float:
    return net((1, flow.part) for flow in moved if flow.term == term).mass_t
