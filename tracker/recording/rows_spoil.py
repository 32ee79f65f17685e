"""Rows about spoil after the dig, lorries apart: belt, heaps, re-use on site, receipts."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from tracker.domain.calendar import shift_times
from tracker.domain.papers import is_waste
from tracker.domain.site import Shift
from tracker.domain.solids import cone, windrow
from tracker.domain.written import waste_code
from tracker.errors import InputError
from tracker.ledger.entries import (
    BeltCheck,
    BeltReading,
    Entry,
    Receipt,
    SiteReuse,
    StockCount,
)
from tracker.recording.fields import Fields
from tracker.recording.moments import Moment
from tracker.recording.rows_loads import HEAVIEST_T, OUTCOMES
from tracker.recording.rows_returns import read_shift

EVENTS = ("reading", "reset", "swap")
CHECK_METHODS = ("zero", "material")
REUSE_BASES = {"bank": "bank_m3", "compacted": "compacted_m3", "weighed": "mass_t"}
STEEPEST_HEAP_DEG = (10.0, 50.0)  # sides of loose ground; common practice, no source
SAME_HEAP = 0.02
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
    rollover_kg = row.thousandths("rollover_t")
    if rollover_kg is not None and event != "reading":
        row.wrong("rollover_t", f"A {event} starts a new count: leave the rollover empty.")
    if rollover_kg is not None and totaliser_kg is not None and totaliser_kg > rollover_kg:
        row.wrong("rollover_t", "The totaliser stands above its highest value. Check both.")
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
        rollover_kg=rollover_kg,
    )


def read_belt_check(row: Fields) -> Entry | None:
    """A check of the belt weigher, or None with the reasons kept in the row."""
    checked = row.moment("checked_at")
    belt = row.named("belt", {name: name for name in row.setup.belts})
    method = row.choice("method", CHECK_METHODS)
    shown_kg = row.thousandths("shown_t", negative=True)
    reference_kg = row.thousandths("reference_t") or 0
    allowed_kg = row.thousandths("allowed_t")
    running_min = row.whole("running_min")
    if method == "zero" and reference_kg:
        row.wrong("reference_t", "A zero check runs the belt empty: leave the reference empty.")
    if method == "material" and not reference_kg:
        row.wrong("reference_t", "Give what the same ground weighed elsewhere, in tonnes.")
    if shown_kg is not None and allowed_kg is not None:
        off_kg = shown_kg - reference_kg
        if abs(off_kg) > allowed_kg:
            row.warn(
                "shown_t",
                f"The weigher is {off_kg / 1000:+.3f} t off, more than the {allowed_kg / 1000:g} t"
                " allowed. Have it adjusted, and record the reset.",
            )
    if row.failed or not (checked and belt) or shown_kg is None:
        return None
    return row.made(
        BeltCheck,
        checked_at=checked.utc,
        work_date=row.setup.work_date_of(checked.utc),
        belt=belt,
        method=method,
        shown_kg=shown_kg,
        reference_kg=reference_kg,
        running_min=running_min,
        allowed_kg=allowed_kg,
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
    method = row.text("method")
    sizes = {name: row.thousandths(f"{name}_m") for name in ("height", "width", "length")}
    loose_l = _heap_litres(row, method.lower(), sizes, row.thousandths("loose_m3"))
    limit_l = row.thousandths("surcharge_limit_m3")
    if loose_l is not None and limit_l is not None:
        check_surcharge(row, loose_l, limit_l, location)
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
        **{f"{name}_mm": size for name, size in sizes.items()},
    )


def check_surcharge(row: Fields, loose_l: int, limit_l: int, location: str) -> None:
    """Say so where a heap is above the limit of its place."""
    if loose_l > limit_l:
        row.warn(
            "loose_m3",
            f"{loose_l / 1000:g} m³ loose at {location} is above the limit of {limit_l / 1000:g} m³"
            " that the temporary works coordinator set. A heap near the wall loads it: stop and"
            " ask the coordinator.",
        )


def _heap_litres(
    row: Fields, method: str, sizes: Mapping[str, int | None], given_l: int | None
) -> int | None:
    """The volume as given; without one, that of the cone or windrow of these dimensions [l]."""
    height, width, length = (size / 1000 if size else None for size in sizes.values())
    if height is None and width is None and length is None:
        if given_l is None:
            row.wrong("loose_m3", "Give the loose volume in m³, or the dimensions of the heap.")
        return given_l
    if method not in ("cone", "windrow"):
        row.wrong("method", "Dimensions are of a cone or a windrow. Say which.")
        return None
    try:
        if method == "cone":
            heap = cone(diameter_m=width, height_m=height)
        elif length is None:
            raise InputError("A windrow has a length. Give it from toe to toe.", field="length_m")
        else:
            heap = windrow(length, width_m=width, height_m=height)
    except InputError as error:
        row.wrong("height_m", str(error))
        return None
    litres = round(heap.volume_m3 * 1000)
    if not STEEPEST_HEAP_DEG[0] <= heap.repose_deg <= STEEPEST_HEAP_DEG[1]:
        row.warn(
            "height_m",
            f"Its sides would stand at {heap.repose_deg:.0f}°. Check height and width.",
        )
    if given_l is not None and abs(given_l - litres) > SAME_HEAP * litres:
        row.wrong(
            "loose_m3",
            f"{given_l / 1000:g} m³ is not the volume of these dimensions, {litres / 1000:.1f} m³."
            " Leave one of them empty.",
        )
    return litres if given_l is None else given_l


def read_reuse(row: Fields) -> Entry | None:
    """Ground placed again on site, or None with the reasons kept in the row."""
    placed = row.moment("placed_at")
    stream = row.named("stream", row.setup.streams)
    location = row.text("location")
    basis = row.choice("basis", tuple(REUSE_BASES))
    amounts = {name: row.thousandths(name) for name in REUSE_BASES.values()}
    wanted = REUSE_BASES.get(basis, "")
    for name, amount in amounts.items():
        if name == wanted and not amount:
            row.wrong(name, f"Ground placed on the basis {basis} states this, more than 0.")
        elif wanted and name != wanted and amount is not None:
            row.wrong(name, f"The basis is {basis}: leave this empty, or change the basis.")
    if stream and basis == "compacted" and stream.compacted_per_bank is None:
        row.wrong(
            "basis",
            f"The set-up gives no compacted / bank for {stream.stream}. Put it there, or state the"
            " bank volume.",
        )
    if stream and is_waste(stream.regime):
        row.warn(
            "stream",
            f"{stream.stream} is classified as {stream.regime}: placing it on site needs an"
            " authorisation. Ask who classified it.",
        )
    if row.failed or not (placed and stream):
        return None
    return row.made(
        SiteReuse,
        placed_at=placed.utc,
        work_date=row.setup.work_date_of(placed.utc),
        stream=stream.stream,
        location=location,
        basis=basis,
        bank_l=amounts["bank_m3"],
        compacted_l=amounts["compacted_m3"],
        mass_kg=amounts["mass_t"],
    )


def read_receipt(row: Fields) -> Entry | None:
    """What a receiver says of a ticket, or None with the reasons kept in the row."""
    receipt_date = row.day("receipt_date")
    destination = row.named("destination", row.setup.destinations)
    code = read_code(row)
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


def read_code(row: Fields) -> str:
    """A List of Waste code, its asterisk kept."""
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
