"""What went beyond the caps and windows of the gate in a period, with the loads behind it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from operator import attrgetter

from tracker.domain.calendar import gate_windows, is_within, local_time, window_words
from tracker.domain.gate import MOVEMENTS_PER_LOAD
from tracker.domain.rules import CAP_RULE, OUTSIDE_WINDOW
from tracker.domain.site import BOTH_WAYS
from tracker.ledger.entries import GateTraffic, LorryLoad
from tracker.ledger.questions import closed_exceptions, flagged_loads
from tracker.statements.caps import PassedCap, passed_caps
from tracker.statements.frame import Frame
from tracker.statements.gate_shapes import GateBreach, GatePass
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words

LONGEST_STAY = timedelta(days=2)  # a load that came in on a day has left by then

Closed = set[tuple[str, str]]


def gate_breaches(frame: Frame, since: date) -> tuple[GateBreach, ...]:
    """Every cap passed and every passage outside the window since a date, newest first.

    Closed ones too: a reason closes a breach but does not undo it.
    """
    closed = closed_exceptions(frame.ledger, frame.known_at)
    found = [*_of_caps(frame, since, closed), *_of_windows(frame, since, closed)]
    return tuple(sorted(found, key=_newest, reverse=True))


def _newest(breach: GateBreach) -> tuple[date, int, str]:
    return breach.day, 24 if breach.hour is None else breach.hour, breach.sentence


# --- caps ----------------------------------------------------------------------------------------
def _of_caps(frame: Frame, since: date, closed: Closed) -> Iterator[GateBreach]:
    passed = passed_caps(frame, since, frame.as_of)
    if not passed:
        return
    first, last = passed[0].day, passed[-1].day
    loads = frame.ledger.current(
        "lorry_loads", known_at=frame.known_at, since=first, until=last + LONGEST_STAY
    )
    traffic = frame.ledger.current("gate_traffic", known_at=frame.known_at, since=first, until=last)
    loads.sort(key=attrgetter("gate_out_at"))
    traffic.sort(key=attrgetter("passed_at"))
    for cap in passed:
        behind = [
            *(_of_load(frame, load, cap.about, _counted(cap, load)) for load in loads),
            *(_of_traffic(frame, entry, cap.about, _counts(cap, entry)) for entry in traffic),
        ]
        yield GateBreach(
            rule=CAP_RULE,
            about=cap.about,
            day=cap.day,
            hour=cap.hour,
            direction=cap.cap.direction,
            movements=cap.count,
            cap=cap.cap.movements,
            reference=cap.cap.reference,
            closed=(CAP_RULE, cap.about) in closed,
            sentence=cap.sentence,
            passes=tuple(one for one in behind if one.movements),
        )


def _counted(passed: PassedCap, load: LorryLoad) -> int:
    """Movements that a load adds to what a cap counts; one sent on moved under its first ticket."""
    if load.reconsigned_from:
        return 0
    ways = (("in", load.in_date, load.in_hour), ("out", load.gate_date, load.out_hour))
    return sum(
        passed.cap.direction in (BOTH_WAYS, way)
        and day == passed.day
        and passed.hour in (None, hour)
        for way, day, hour in ways
    )


def _counts(passed: PassedCap, traffic: GateTraffic) -> int:
    """Movements that other traffic adds to what a cap counts."""
    if traffic.gate_date != passed.day or passed.hour not in (None, traffic.hour):
        return 0
    ways = ("in", "out") if traffic.direction == BOTH_WAYS else (traffic.direction,)
    counted = [way for way in ways if passed.cap.direction in (BOTH_WAYS, way)]
    return traffic.vehicles * len(counted)


# --- windows -------------------------------------------------------------------------------------
def _of_windows(frame: Frame, since: date, closed: Closed) -> Iterator[GateBreach]:
    for load in flagged_loads(frame.ledger, frame.as_of, frame.known_at):
        if load.gate_date >= since and OUTSIDE_WINDOW in load.flags.split():
            one = _of_load(frame, load, load.entry_id, MOVEMENTS_PER_LOAD)
            yield _outside(frame, one, load.gate_date, load.out_hour, closed)
    for entry in outside_traffic(frame, since):
        yield _of_outside(frame, entry, closed)


def outside_traffic(frame: Frame, since: date) -> list[GateTraffic]:
    """Other traffic since a date that passed outside the window of its day."""
    entries = frame.ledger.current(
        "gate_traffic", known_at=frame.known_at, since=since, until=frame.as_of
    )
    zone = frame.site.time_zone
    return [
        entry
        for entry in entries
        if not is_within(
            gate_windows(frame.site_on(entry.gate_date), entry.gate_date),
            local_time(entry.passed_at, zone).time(),
        )
    ]


def open_outside(frame: Frame, since: date) -> list[OpenException]:
    """Other traffic since a date outside the window; loads are flagged when recorded."""
    return [
        OpenException(
            rule=OUTSIDE_WINDOW,
            about=entry.entry_id,
            kind=entry.KIND,
            work_date=entry.gate_date,
            zone="",
            sentence=_of_outside(frame, entry, set()).sentence,
        )
        for entry in outside_traffic(frame, since)
    ]


def _of_outside(frame: Frame, entry: GateTraffic, closed: Closed) -> GateBreach:
    movements = entry.vehicles * (2 if entry.direction == BOTH_WAYS else 1)
    one = _of_traffic(frame, entry, entry.entry_id, movements)
    return _outside(frame, one, entry.gate_date, entry.hour, closed)


def _outside(frame: Frame, one: GatePass, day: date, hour: int, closed: Closed) -> GateBreach:
    times = " and ".join(filter(None, (one.came, one.left)))
    window = window_words(gate_windows(frame.site_on(day), day))
    return GateBreach(
        rule=OUTSIDE_WINDOW,
        about=one.entry_id,
        day=day,
        hour=hour,
        direction=BOTH_WAYS,
        movements=one.movements,
        cap=None,
        reference="",
        closed=(OUTSIDE_WINDOW, one.entry_id) in closed,
        sentence=f"{one.what} passed on {date_words(day)} at {times}, outside the gate window"
        f" ({window}).",
        passes=(one,),
    )


# --- what passed ---------------------------------------------------------------------------------
def _of_load(frame: Frame, load: LorryLoad, about: str, movements: int) -> GatePass:
    zone = frame.site.time_zone
    came = local_time(load.gate_in_at, zone) if load.gate_in_at else None
    left = local_time(load.gate_out_at, zone)
    return GatePass(
        about=about,
        entry_id=load.entry_id,
        kind=load.KIND,
        what=f"Load {load.ticket_issuer} {load.ticket_number} ({load.registration or 'no plate'})",
        came=f"{came:%H:%M}" if came else "",
        left=f"{left:%H:%M}",
        movements=movements,
    )


def _of_traffic(frame: Frame, entry: GateTraffic, about: str, movements: int) -> GatePass:
    at = f"{local_time(entry.passed_at, frame.site.time_zone):%H:%M}"
    lorries = f"{entry.vehicles} vehicles" if entry.vehicles > 1 else "1 vehicle"
    named = f"{entry.purpose} {entry.reference}".strip()
    return GatePass(
        about=about,
        entry_id=entry.entry_id,
        kind=entry.KIND,
        what=f"{lorries}, {named}",
        came=at if entry.direction != "out" else "",
        left=at if entry.direction == "out" else "",
        movements=movements,
    )
