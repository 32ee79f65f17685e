"""Entries about ground after the bucket: belt, lorries, heaps, papers, receivers, the gate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from tracker.ledger.base import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltReading(Entry):
    """A belt totaliser read at the end of a shift [kg, cumulative], with meter and hours if read.

    `event` is `reading`, or `reset` (totaliser set to this value), or `swap` (another weigher).
    `rollover_kg`: since the reading before, the totaliser passed this value and began at 0 again.
    """

    KIND: ClassVar[str] = "belt_readings"
    UNIQUE: ClassVar[tuple[str, ...]] = ("belt", "read_at")
    LATER: ClassVar[tuple[str, ...]] = ("rollover_kg",)

    read_at: datetime
    work_date: date
    shift: str
    belt: str
    route: str
    stream: str
    totaliser_kg: int
    event: str = "reading"
    energy_wh: int | None = None  # since the reading before
    running_min: int | None = None
    rollover_kg: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LorryLoad(Entry):
    """One lorry, one trip out with spoil. One load is two movements.

    `gate_date` is the local calendar day on which it left; `in_date` and `in_hour`, `out_hour` are
    local too. `flags` are rules it broke when recorded, separated by spaces.
    """

    KIND: ClassVar[str] = "lorry_loads"
    UNIQUE: ClassVar[tuple[str, ...]] = ("ticket_issuer", "ticket_number")

    ticket_issuer: str
    ticket_number: str
    gate_in_at: datetime | None
    gate_out_at: datetime
    in_date: date
    in_hour: int
    gate_date: date
    out_hour: int
    carrier: str
    vehicle: str
    registration: str
    stream: str
    zone: str
    route: str
    destination: str
    gross_kg: int | None = None
    tare_kg: int | None = None
    net_kg: int | None = None
    weight_basis: str = "weighed"  # weighed | estimated | none
    outcome: str = "accepted"  # accepted | rejected
    reconsigned_from: str = ""  # ticket of a rejected load whose weight this load carries on
    transfer_note: str = ""
    override_reason: str = ""
    flags: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StockCount(Entry):
    """What lies in a heap at a moment: loose volume [l], with the dimensions it was found from.

    A cone has the diameter of its foot as width; a windrow its length from toe to toe.
    """

    KIND: ClassVar[str] = "stock_counts"
    UNIQUE: ClassVar[tuple[str, ...]] = ("location", "stream", "counted_at")
    LATER: ClassVar[tuple[str, ...]] = ("height_mm", "width_mm", "length_mm")

    counted_at: datetime
    work_date: date
    location: str
    stream: str
    loose_l: int
    method: str
    surcharge_limit_l: int | None = None
    height_mm: int | None = None
    width_mm: int | None = None
    length_mm: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt(Entry):
    """What a receiver says of one ticket: accepted mass [kg] by waste code, or refused."""

    KIND: ClassVar[str] = "receipts"
    UNIQUE: ClassVar[tuple[str, ...]] = ("destination", "receipt_number")

    receipt_number: str
    receipt_date: date
    destination: str
    ticket_issuer: str
    ticket_number: str
    waste_code: str
    accepted_kg: int
    outcome: str = "accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltCheck(Entry):
    """A belt weigher checked: what it showed, and what it should have shown [kg].

    A `zero` check counts the empty belt for a while, so `reference_kg` is 0; a `material` check
    weighs the same ground elsewhere. `allowed_kg` is how far apart the two may be.
    """

    KIND: ClassVar[str] = "belt_checks"
    UNIQUE: ClassVar[tuple[str, ...]] = ("belt", "checked_at")

    checked_at: datetime
    work_date: date
    belt: str
    method: str  # zero | material
    shown_kg: int  # may be negative
    reference_kg: int = 0
    running_min: int | None = None
    allowed_kg: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteReuse(Entry):
    """Ground placed again on site: bank volume, volume in place, or mass, as `basis` says."""

    KIND: ClassVar[str] = "site_reuse"
    UNIQUE: ClassVar[tuple[str, ...]] = ("location", "stream", "placed_at")

    placed_at: datetime
    work_date: date
    stream: str
    location: str
    basis: str  # bank | compacted | weighed
    bank_l: int | None = None
    compacted_l: int | None = None
    mass_kg: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TransferNote(Entry):
    """A note under which waste is handed over: the parties, the ground, how long it is valid.

    `form` is `transfer` (one load), `season` (many loads until `valid_to`), or `consignment`
    (hazardous waste: exactly one movement, made out before it).
    """

    KIND: ClassVar[str] = "transfer_notes"
    UNIQUE: ClassVar[tuple[str, ...]] = ("note_number",)

    note_number: str
    form: str
    made_out_at: datetime
    work_date: date
    valid_from: date
    valid_to: date
    stream: str
    waste_code: str
    description: str
    carrier: str
    destination: str
    container: str
    place: str
    transferor: str
    transferor_status: str
    industry_code: str
    hierarchy_confirmed: bool
    signed_out_by: str
    signed_in_by: str
    quantity_kg: int | None = None
    quantity_basis: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReuseDeclaration(Entry):
    """A declaration of re-use elsewhere: what ground, where to, how much, and since when.

    Declared is a bank volume [l] or a mass [kg]. No load goes before it was received.
    """

    KIND: ClassVar[str] = "reuse_declarations"
    UNIQUE: ClassVar[tuple[str, ...]] = ("declaration",)

    declaration: str
    received_on: date
    stream: str
    destination: str
    declared_l: int | None = None
    declared_kg: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GateTraffic(Entry):
    """Vehicles through the gate that carry no spoil: concrete, steel, plant; one hour, one row.

    `both` is each vehicle in and out again within the hour.
    """

    KIND: ClassVar[str] = "gate_traffic"
    UNIQUE: ClassVar[tuple[str, ...]] = ("purpose", "passed_at", "direction", "reference")

    passed_at: datetime
    gate_date: date  # local
    hour: int  # local
    purpose: str
    vehicles: int
    direction: str  # in | out | both
    reference: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GateBooking(Entry):
    """Movements booked ahead for something other than spoil, spread over some local hours."""

    KIND: ClassVar[str] = "gate_bookings"
    UNIQUE: ClassVar[tuple[str, ...]] = ("booking",)

    booking: str
    gate_date: date  # local
    from_hour: int  # local; the first hour
    to_hour: int  # local; the hour at whose start it is over, up to 24
    purpose: str
    movements_in: int
    movements_out: int
    booked_by: str
