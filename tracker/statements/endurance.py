"""What happens when the belt stops: how many worked hours the heaps and the lorries still take."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from tracker.domain.balance import Endurance, endurance, net
from tracker.domain.calendar import caps_on, shift_minutes
from tracker.domain.gate import MOVEMENTS_PER_LOAD
from tracker.domain.haulage import usual_payload_t
from tracker.domain.site import BOTH_WAYS, Site
from tracker.errors import NotEnoughData
from tracker.ledger.questions import summed
from tracker.statements.balance_shapes import EnduranceView, HeapLine, StreamRate
from tracker.statements.flows import Flow, flows
from tracker.statements.frame import Frame

RATE_DAYS = 14  # over which the rate of digging is taken; common practice, no source
# What passes the gate under a cap, by its direction: spoil and all other traffic.
_PASSED = {
    BOTH_WAYS: ("movements", "other_movements"),
    "in": ("moves_in", "other_in"),
    "out": ("moves_out", "other_out"),
}


def belt_endurance(
    frame: Frame, heaps: Sequence[HeapLine]
) -> tuple[EnduranceView, tuple[StreamRate, ...]]:
    """Worked hours until the heaps with a limit are full, all belt streams dug as of late.

    The free space is that of the last counts: what came since then has taken some of it.
    """
    since = frame.as_of - timedelta(days=RATE_DAYS - 1)
    by_stream = flows(frame, since, frame.as_of)
    worked = worked_shifts(frame, since)
    hours = sum(worked.values())
    dug = {
        stream: _loose_m3(frame.site, stream, of) / hours
        for stream, of in by_stream.items()
        if hours and any(flow.term == "belt" for flow in of) and _knows(frame.site, stream)
    }
    free = [heap.free_m3 for heap in heaps if heap.free_m3 is not None]
    lorry_m3_per_h = _lorry_rate(frame, since, list(dug), worked)
    free_m3, rate = (sum(free) if free else None), sum(dug.values())
    try:
        found = endurance(free_m3, rate, lorry_m3_per_h or 0.0)
    except NotEnoughData as error:
        return EnduranceView(
            str(error), free_m3, rate or None, lorry_m3_per_h, None, None, hours
        ), _rates(dug, free_m3)
    view = EnduranceView(
        sentence=_sentence(found, lorry_m3_per_h, heaps),
        free_loose_m3=found.free_loose_m3,
        dug_loose_m3_per_h=rate,
        lorry_loose_m3_per_h=lorry_m3_per_h,
        hours=found.hours,
        with_lorries_h=found.with_lorries_h,
        worked_hours=hours,
    )
    return view, _rates(dug, free_m3)


def _knows(site: Site, stream: str) -> bool:
    return any(known.stream == stream for known in site.streams)


def worked_shifts(frame: Frame, since: date) -> dict[tuple[date, str], float]:
    """(work date, shift) -> its hours, of every shift that some zone returned as having dug."""
    asked: dict[str, Any] = {"since": since, "until": frame.as_of, "known_at": frame.known_at}
    counted = summed(frame.ledger, ("returns", "returns_nil"), ("day", "detail", "zone"), **asked)
    found: dict[tuple[date, str], float] = {}
    for (measure, day, name, zone), returns in counted.items():
        shifts = {shift.shift: shift for shift in frame.site_on(day).shifts}
        nil = counted.get(("returns_nil", day, name, zone), 0)
        if measure == "returns" and returns > nil and name in shifts:
            found[day, name] = shift_minutes(shifts[name], day, frame.site.time_zone) / 60.0
    return found


def _loose_m3(site: Site, stream: str, of: Sequence[Flow]) -> float:
    """What was dug of a stream, as it fills a heap by the set-up in force [loose m³]."""
    bank_m3 = net(flow.signed for flow in of if flow.term == "dug").bank_m3
    return bank_m3 * site.stream(stream).loose_per_bank.value


def _lorry_rate(
    frame: Frame, since: date, streams: Sequence[str], worked: dict[tuple[date, str], float]
) -> float | None:
    """What lorries may still take within the caps [loose m³ a worked hour]; None without a cap.

    The movements that the gate sees on a worked day as it is are taken off. Each load carries the
    least that any vehicle of the set-up usually carries of any of the streams.
    """
    caps, days = caps_on(frame.site, frame.as_of), {day for day, _ in worked}
    if not caps or not days or not streams:
        return None
    hours_a_day = sum(worked.values()) / len(days)
    asked: dict[str, Any] = {"since": since, "until": frame.as_of, "known_at": frame.known_at}
    loads_an_hour = []
    for cap in caps:
        passed = summed(frame.ledger, _PASSED[cap.direction], **asked)
        used_an_hour = sum(passed.values()) / len(days) / hours_a_day
        allowed_an_hour = cap.movements / (hours_a_day if cap.per == "day" else 1.0)
        passes = MOVEMENTS_PER_LOAD if cap.direction == BOTH_WAYS else 1
        loads_an_hour.append(max(0.0, allowed_an_hour - used_an_hour) / passes)
    return min(loads_an_hour) * _least_load_m3(frame.site, streams)


def _least_load_m3(site: Site, streams: Sequence[str]) -> float:
    """The smallest usual load [loose m³] over the vehicles of the set-up and some streams."""
    return min(
        usual_payload_t(site, vehicle.vehicle, name)
        / site.stream(name).bank_density_t_per_m3.value
        * site.stream(name).loose_per_bank.value
        for vehicle in site.vehicles
        for name in streams
    )


def _rates(dug: dict[str, float], free_m3: float | None) -> tuple[StreamRate, ...]:
    """Each stream as if it alone were dug and had all free space."""
    return tuple(
        StreamRate(stream, rate, None if free_m3 is None or not rate else free_m3 / rate)
        for stream, rate in dug.items()
    )


def _sentence(found: Endurance, lorry_m3_per_h: float | None, heaps: Sequence[HeapLine]) -> str:
    without = [heap.location for heap in heaps if heap.surcharge_limit_m3 is None]
    lorries = (
        "no cap says what lorries may take"
        if lorry_m3_per_h is None
        else "lorries within the cap keep pace with that"
        if found.with_lorries_h is None
        else f"{found.with_lorries_h:,.1f} worked hours with lorries up to the cap"
    )
    named = f" {', '.join(without)}: no limit stated, so no space counted." if without else ""
    return (
        f"If the belt stops, the heaps are full after {found.hours:,.1f} worked hours of digging as"
        f" in the last {RATE_DAYS} days ({found.free_loose_m3:,.0f} m³ loose free,"
        f" {found.dug_loose_m3_per_h:,.0f} m³ loose an hour); {lorries}.{named}"
    )
