"""Rows about spoil after the dig, lorries apart: belt readings, heaps, receipts."""

from __future__ import annotations

from datetime import date, timedelta

from tracker.domain.calendar import shift_times
from tracker.domain.site import Shift
from tracker.domain.written import waste_code
from tracker.errors import InputError
from tracker.ledger.entries import BeltReading, Entry, Receipt, StockCount
from tracker.recording.fields import Fields
from tracker.recording.moments import Moment
from tracker.recording.rows_loads import HEAVIEST_T, OUTCOMES
from tracker.recording.rows_returns import read_shift

EVENTS = ("reading", "reset", "swap")
LATEST_READING = timedelta(hours=12)  # after the end of its shift; common practice, no source


def read_belt(row: Fields) -> Entry | None:
    """A belt reading, or None with the reasons kept in the row."""
    read_at = row.moment("read_at")
    work_date = row.day("work_date")
    shift = read_shift(row, work_date)
    belt = row.named("belt", {name: name for name in row.setup.belts})
    route = _route_of(row, belt)
    stream = row.named("stream", row.setup.streams)
    totaliser_kg = row.thousandths("totaliser_t")
    energy_wh = row.thousandths("energy_kwh")
    running_min = row.whole("running_min")
    event = row.choice("event", EVENTS, "reading")
    if stream and not stream.classified:
        row.warn("stream", f"Stream {stream.stream} is not classified. Put that in the set-up.")
    if read_at and work_date and shift:
        _check_when(row, read_at, work_date, shift, running_min)
    if row.failed or not (read_at and work_date and shift and belt and stream):
        return None
    assert totaliser_kg is not None
    return row.made(
        BeltReading,
        read_at=read_at.utc,
        work_date=work_date,
        shift=shift.shift,
        belt=belt,
        route=route,
        stream=stream.stream,
        totaliser_kg=totaliser_kg,
        event=event,
        energy_wh=energy_wh,
        running_min=running_min,
    )


def _route_of(row: Fields, belt: str | None) -> str:
    """The route of a belt as given; where only one uses the belt, that one."""
    route = row.named("route", row.setup.routes)
    if belt is None:
        return ""
    routes = row.setup.belts[belt]
    if route is None and row.value("route") is None:
        if len(routes) == 1:
            return routes[0]
        row.wrong("route", f"Several routes use {belt}: {', '.join(routes)}. Say which it fed.")
    elif route and route.route not in routes:
        row.wrong("route", f"Route {route.route} does not use {belt}; {', '.join(routes)} does.")
    return route.route if route else ""


def _check_when(
    row: Fields, read_at: Moment, work_date: date, shift: Shift, running_min: int | None
) -> None:
    start, end = shift_times(shift, work_date, row.setup.site.time_zone)
    if not start <= read_at.utc <= end + LATEST_READING:
        row.warn(
            "read_at",
            f"The reading does not fall in the {shift.shift} shift of {work_date} or soon after."
            " Check date and shift.",
        )
    length_min = row.setup.shift_minutes(shift, work_date)
    if running_min is not None and running_min > length_min:
        row.warn(
            "running_min",
            f"{running_min} min is more than the {length_min} min of the shift. Leave it if no"
            " reading was taken at the end of the shift before.",
        )


def read_stock(row: Fields) -> Entry | None:
    """A count of a heap, or None with the reasons kept in the row."""
    counted = row.moment("counted_at")
    location = row.text("location")
    stream = row.named("stream", row.setup.streams)
    loose_l = row.thousandths("loose_m3")
    limit_l = row.thousandths("surcharge_limit_m3")
    method = row.text("method")
    if loose_l is not None and limit_l is not None and loose_l > limit_l:
        row.warn(
            "loose_m3",
            f"{loose_l / 1000:g} m³ loose at {location} is above the limit of {limit_l / 1000:g} m³"
            " that the temporary works coordinator set. A heap near the wall loads it: stop and"
            " ask the coordinator.",
        )
    if row.failed or not (counted and stream) or loose_l is None:
        return None
    return row.made(
        StockCount,
        counted_at=counted.utc,
        work_date=row.setup.work_date_of(counted.utc),
        location=location,
        stream=stream.stream,
        loose_l=loose_l,
        method=method,
        surcharge_limit_l=limit_l,
    )


def read_receipt(row: Fields) -> Entry | None:
    """What a receiver says of a ticket, or None with the reasons kept in the row."""
    receipt_date = row.day("receipt_date")
    destination = row.named("destination", row.setup.destinations)
    code = _read_code(row)
    accepted_kg = row.thousandths("accepted_t")
    outcome = row.choice("outcome", OUTCOMES, "accepted")
    texts = {name: row.text(name) for name in ("receipt_number", "ticket_issuer", "ticket_number")}
    if accepted_kg is not None:
        _check_accepted(row, accepted_kg, outcome)
    taken = destination.waste_codes if destination else ()
    if code and taken and code not in taken:
        row.warn("waste_code", f"The set-up says this destination takes {', '.join(taken)} only.")
    if row.failed or not (receipt_date and destination) or accepted_kg is None:
        return None
    return row.made(
        Receipt,
        receipt_date=receipt_date,
        destination=destination.destination,
        **texts,
        waste_code=code,
        accepted_kg=accepted_kg,
        outcome=outcome,
    )


def _read_code(row: Fields) -> str:
    text = row.text("waste_code")
    try:
        return waste_code(text) if text else ""
    except InputError as error:
        row.wrong("waste_code", str(error))
        return ""


def _check_accepted(row: Fields, accepted_kg: int, outcome: str) -> None:
    vehicles = row.setup.vehicles.values()
    gross_t = max(v.plated_gross_t for v in vehicles)
    payload_t = max(v.plated_payload_t for v in vehicles)
    mass_t = accepted_kg / 1000
    if mass_t > HEAVIEST_T:
        row.wrong(
            "accepted_t",
            f"{mass_t:,.3f} t is no load. If it is kilograms, write {mass_t / 1000:.3f}.",
        )
    elif mass_t > gross_t:
        row.wrong(
            "accepted_t",
            f"{mass_t:g} t is more than any lorry of the set-up weighs loaded ({gross_t:g} t). One"
            " receipt answers one ticket.",
        )
    elif mass_t > 1.1 * payload_t:
        row.warn(
            "accepted_t",
            f"{mass_t:g} t is more than any lorry of the set-up may carry ({payload_t:g} t). It may"
            " be the gross weight.",
        )
    if outcome == "accepted" and accepted_kg == 0:
        row.warn("accepted_t", "Nothing was accepted. If the load was refused, say rejected.")
