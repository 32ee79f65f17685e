"""What was recorded of the ground, by the moment: returns, belt runs, loads, receipts, heaps.

Returns count at the end of their shift, loads when they left the gate. What a belt carried between
two readings counts evenly over the shift that the second one names, from the first reading if that
was later: a belt read on Saturday and on Monday evening carried Monday's ground. If it ran for
longer than that, evenly over all the time between the readings.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from itertools import pairwise
from typing import Any

from tracker.domain.balance import stock_u
from tracker.domain.calendar import shift_times
from tracker.domain.ground import (
    ground_of,
    quantity_from_bank,
    quantity_from_compacted,
    quantity_from_mass,
)
from tracker.domain.haulage import usual_payload_t
from tracker.errors import UnknownName
from tracker.ledger.entries import BeltReading
from tracker.ledger.picked import picked
from tracker.ledger.totals import carried_kg
from tracker.statements.dug import dug_quantity
from tracker.statements.frame import Frame, ended_at, midnight

LOST = "lost"  # the basis of a load of which there is only the receipt
SOON = timedelta(hours=72)  # after a survey, in which a count of the heaps still belongs to it


@dataclass(frozen=True, slots=True)
class Returned:
    """What one return says, in bank m³ and, if it was counted, in loose m³."""

    at: datetime
    zone: str
    stream: str
    basis: str
    bank_m3: float
    u_factors_m3: float
    loose_m3: float


@dataclass(frozen=True, slots=True)
class Run:
    """What a belt carried between two readings."""

    starts: datetime
    ends: datetime
    belt: str
    stream: str
    mass_t: float


@dataclass(frozen=True, slots=True)
class Reused:
    """Ground placed again on site, in bank m³ and in t, and whether it was weighed."""

    at: datetime
    stream: str
    weighed: bool
    bank_m3: float
    mass_t: float


@dataclass(frozen=True, slots=True)
class Load:
    """One load that was not rejected; `accepted_t` is what its receipt says, if there is one.

    A receipt whose ticket is none of the loads stands as a load that is lost: it weighed nothing
    here, and left at noon of the day of its receipt.
    """

    at: datetime
    gate_date: date
    entry_id: str
    ticket: str
    stream: str
    vehicle: str
    destination: str
    basis: str  # weighed | estimated | none | LOST
    mass_t: float
    accepted_t: float | None


@dataclass(frozen=True, slots=True)
class Heaps:
    """The heaps of a stream as counted on one day; `missing` were not, though not empty before.

    `u_share` is the relative standard uncertainty of the roughest way in which any was counted.
    """

    at: datetime
    loose_m3: float
    u_share: float
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Unclaimed:
    """Receipts whose ticket is none of the loads."""

    receipts: int
    mass_t: float


@dataclass(frozen=True, slots=True)
class Recorded:
    """Everything that the parties recorded to a date."""

    returned: Sequence[Returned]
    runs: Sequence[Run]
    loads: Sequence[Load]
    reused: Sequence[Reused]
    heaps: Mapping[str, Sequence[Heaps]]
    unclaimed: Unclaimed


def recorded(frame: Frame) -> Recorded:
    """What was recorded to the as-of date, in order of time."""
    loads, unclaimed = _loads(frame)
    return Recorded(
        sorted(_returned(frame), key=lambda one: one.at),
        _runs(frame),
        sorted(loads, key=lambda one: one.at),
        _reused(frame),
        _heaps(frame),
        unclaimed,
    )


def _returned(frame: Frame) -> Iterable[Returned]:
    columns = ("work_date", "shift", "zone", "stream", "basis", "bank_l", "count", "capacity_l")
    rows = picked(
        frame.ledger,
        "dig_returns",
        (*columns, "mass_kg"),
        until=frame.as_of,
        known_at=frame.known_at,
    )
    over = cache(lambda shift, day: ended_at(frame, shift, day))
    unit = cache(lambda day, stream, basis: dug_quantity(frame.site_on(day), stream, basis, 1000))
    for day, shift, zone, stream, basis, bank_l, count, capacity_l, mass_kg in rows:
        amount = {
            "counted": (count or 0) * (capacity_l or 0),
            "weighed": mass_kg or 0,
        }.get(basis, bank_l or 0)
        if not amount:
            continue
        per, times = unit(day, stream, basis), amount / 1000.0
        loose_m3 = times if basis == "counted" else 0.0
        bank_m3, u_m3 = times * per.bank_m3, times * per.u_bank_m3
        yield Returned(over(shift, day), zone, stream, basis, bank_m3, u_m3, loose_m3)


def _runs(frame: Frame) -> list[Run]:
    readings: dict[str, list[BeltReading]] = defaultdict(list)
    for reading in frame.ledger.current(
        "belt_readings", known_at=frame.known_at, until=frame.as_of
    ):
        readings[reading.belt].append(reading)
    found = []
    for belt, of_belt in readings.items():
        for before, after in pairwise(sorted(of_belt, key=lambda one: one.read_at)):
            mass_t = carried_kg(before, after) / 1000.0
            if mass_t > 0.0:
                starts = _started_at(frame, before, after)
                found.append(Run(starts, after.read_at, belt, after.stream, mass_t))
    return found


def _started_at(frame: Frame, before: BeltReading, after: BeltReading) -> datetime:
    """When what the second reading shows began to run: with its shift, or at the first reading."""
    shifts = {one.shift: one for one in frame.site_on(after.work_date).shifts}
    if after.shift not in shifts:
        return before.read_at
    starts = shift_times(shifts[after.shift], after.work_date, frame.site.time_zone)[0]
    starts = min(max(starts, before.read_at), after.read_at)
    within = after.read_at - starts
    if not within or timedelta(minutes=after.running_min or 0) > within:
        return before.read_at
    return starts


def _loads(frame: Frame) -> tuple[list[Load], Unclaimed]:
    asked: dict[str, Any] = {"until": frame.as_of, "known_at": frame.known_at}
    columns: tuple[str, ...] = ("ticket_issuer", "ticket_number", "accepted_kg", "outcome")
    columns += ("receipt_date", "destination", "entry_id")
    receipts = {
        (issuer, number): (kg if outcome == "accepted" else 0, *more)
        for issuer, number, kg, outcome, *more in picked(frame.ledger, "receipts", columns, **asked)
    }
    columns = ("gate_out_at", "gate_date", "entry_id", "ticket_issuer", "ticket_number", "stream")
    columns += ("vehicle", "destination", "net_kg", "weight_basis", "outcome")
    usual = cache(lambda day, vehicle, stream: _usual_t(frame, day, vehicle, stream))
    found, tickets = [], set()
    for row in picked(frame.ledger, "lorry_loads", columns, **asked):
        at, day, entry_id, issuer, number, stream, vehicle, to, net_kg, basis, outcome = row
        tickets.add((issuer, number))
        if outcome == "rejected":  # its weight counts once, under the ticket that carries it on
            continue
        receipt = receipts.get((issuer, number))
        accepted_t = None if receipt is None else receipt[0] / 1000.0
        mass_t = usual(day, vehicle, stream) if net_kg is None else net_kg / 1000.0
        basis = "none" if net_kg is None else basis
        ticket = f"{issuer} {number}"
        found.append(
            Load(at, day, entry_id, ticket, stream, vehicle, to, basis, mass_t, accepted_t)
        )
    lost = {ticket: said for ticket, said in receipts.items() if ticket not in tickets}
    unclaimed = Unclaimed(len(lost), sum(kg for kg, *_ in lost.values()) / 1000.0)
    return found + _lost(frame, found, lost), unclaimed


def _lost(
    frame: Frame, loads: Iterable[Load], receipts: Mapping[tuple[str, str], tuple[Any, ...]]
) -> list[Load]:
    """Receipts without a load, of receivers to whom only one stream went.

    A receipt comes after its load: such a load is taken to have left with the last one to that
    receiver before the receipt.
    """
    streams: dict[str, set[str]] = defaultdict(set)
    departures: dict[str, list[datetime]] = defaultdict(list)
    for load in loads:
        streams[load.destination].add(load.stream)
        departures[load.destination].append(load.at)
    for moments in departures.values():
        moments.sort()
    found = []
    for (issuer, number), (kg, day, to, entry_id) in receipts.items():
        if len(streams[to]) == 1:
            (stream,) = streams[to]
            moments = departures[to]
            before = bisect_right(moments, midnight(frame, day + timedelta(days=1)))
            at = moments[max(before - 1, 0)]
            ticket = f"{issuer} {number}"
            found.append(Load(at, day, entry_id, ticket, stream, "", to, LOST, 0.0, kg / 1000.0))
    return found


def _usual_t(frame: Frame, day: date, vehicle: str, stream: str) -> float:
    """The usual payload by the set-up of the day, or the last one that knows the lorry."""
    try:
        return usual_payload_t(frame.site_on(day), vehicle, stream)
    except UnknownName:
        return frame.vehicle(vehicle).plated_payload_t


def _reused(frame: Frame) -> list[Reused]:
    entries = frame.ledger.current("site_reuse", known_at=frame.known_at, until=frame.as_of)
    found = []
    for entry in entries:
        ground = ground_of(frame.site_on(entry.work_date).stream(entry.stream))
        weighed = entry.basis == "weighed"
        if weighed:
            quantity = quantity_from_mass(ground, (entry.mass_kg or 0) / 1000.0)
        elif entry.basis == "compacted":
            quantity = quantity_from_compacted(ground, (entry.compacted_l or 0) / 1000.0)
        else:
            quantity = quantity_from_bank(ground, (entry.bank_l or 0) / 1000.0)
        at, stream = entry.placed_at, entry.stream
        found.append(Reused(at, stream, weighed, quantity.bank_m3, quantity.mass_t))
    return found


def _heaps(frame: Frame) -> dict[str, list[Heaps]]:
    columns = ("work_date", "counted_at", "location", "stream", "loose_l", "method")
    rows = picked(frame.ledger, "stock_counts", columns, until=frame.as_of, known_at=frame.known_at)
    days: dict[tuple[str, date], list[tuple[datetime, str, int, str]]] = defaultdict(list)
    for day, at, location, stream, loose_l, method in sorted(rows):
        days[stream, day].append((at, location, loose_l, method))
    found: dict[str, list[Heaps]] = defaultdict(list)
    held: dict[str, dict[str, int]] = defaultdict(dict)
    for (stream, _), counts in sorted(days.items(), key=lambda item: item[1][0][0]):
        last = {location: loose_l for _, location, loose_l, _ in counts}
        missing = tuple(w for w, loose_l in held[stream].items() if loose_l and w not in last)
        held[stream] |= last
        u_share = max(stock_u(method) for *_, method in counts)
        whole_m3 = sum(last.values()) / 1000.0
        found[stream].append(Heaps(counts[-1][0], whole_m3, u_share, missing))
    return dict(found)


def count_after(heaps: Sequence[Heaps], survey: datetime, before: datetime) -> Heaps | None:
    """The first whole count at or soon after a survey and before the next; None if there is none.

    A count that leaves out a heap which held something at the count before is not whole.
    """
    for one in heaps:
        if survey <= one.at <= survey + SOON and one.at < before:
            return None if one.missing else one
    return None
