"""What a row must agree with beyond itself: the records around it, in the ledger and in its file.

Rows that contradict a record are refused; rows that are only hard to believe go in with a warning.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from tracker.domain.calendar import shift_times
from tracker.domain.levels import breach
from tracker.domain.rules import BREACH_RULE, FASTEST_BELT_T_PER_H, NOT_ENTRIES, SHORT_CYCLE
from tracker.errors import EntryNotFound
from tracker.ledger.entries import (
    BeltReading,
    ClosedException,
    DigReturn,
    GateBooking,
    LorryLoad,
    Receipt,
    StockCount,
    SurveyLevel,
)
from tracker.ledger.store import Ledger
from tracker.recording.around_holds import HoldPoints
from tracker.recording.around_papers import Papers
from tracker.recording.fields import Fields
from tracker.recording.rows_spoil import check_surcharge

# Common practice, no source.
RECEIPT_MISMATCH = 0.05  # share of the net weight
RECEIPT_WITHIN = timedelta(days=60)  # of the load


class Around:
    """The records around the rows of one file or form. Remembers the rows that it let through."""

    def __init__(self, ledger: Ledger, instead_of: str = "") -> None:
        self._ledger = ledger
        self._instead_of = instead_of  # the entry that is being amended
        self._readings: dict[str, list[tuple[datetime, BeltReading]]] = {}
        self._departures: dict[str, list[datetime]] = defaultdict(list)
        self._days: set[date] = set()  # whose departures the ledger was asked for
        self._shifts: dict[tuple[date, str, str], bool] = {}  # date, shift, zone -> whether nil
        self._limits: dict[str, list[tuple[datetime, int]]] = {}  # location -> since when, limit
        self._papers = Papers(ledger, instead_of)
        self._holds = HoldPoints(ledger, instead_of)

    def check(self, kind: str, rows: Sequence[Fields]) -> None:
        """Check rows of one kind that each hold an entry; a row refused here has failed."""
        checks: dict[str, Callable[[Sequence[Fields]], None]] = {
            "returns": self._returns,
            "belt": self._belt,
            "loads": self._loads,
            "stock": self._stock,
            "holds": self._holds.check_decisions,
            "surveys": self._surveys,
            "receipts": self._receipts,
            "closures": self._closures,
            "bookings": self._bookings,
            "formation": self._holds.check_formation,
        }
        if kind in checks:
            checks[kind](rows)

    # --- belt ------------------------------------------------------------------------------------
    def _belt(self, rows: Sequence[Fields]) -> None:
        entries = [(r.entry, r) for r in rows if isinstance(r.entry, BeltReading)]
        for reading, row in sorted(entries, key=lambda pair: pair[0].read_at):
            known = self._belt_readings(reading.belt)
            place = bisect_left(known, reading.read_at, key=lambda pair: pair[0])
            if place:
                _check_rise(row, known[place - 1][1], reading)
            if place < len(known):
                _check_next(row, reading, known[place][1])
            if not row.failed:
                known.insert(place, (reading.read_at, reading))

    def _belt_readings(self, belt: str) -> list[tuple[datetime, BeltReading]]:
        if belt not in self._readings:
            self._readings[belt] = [
                (r.read_at, r)
                for r in self._ledger.belt_readings(belt)
                if r.entry_id != self._instead_of
            ]
        return self._readings[belt]

    # --- loads -----------------------------------------------------------------------------------
    def _loads(self, rows: Sequence[Fields]) -> None:
        self._check_sent_on([(r.entry, r) for r in rows if isinstance(r.entry, LorryLoad)])
        entries = [
            (row.entry, row)
            for row in rows
            if isinstance(row.entry, LorryLoad)
            and row.entry.registration
            and not row.entry.reconsigned_from
        ]
        self._learn_departures([load for load, _ in entries])
        for load, row in sorted(entries, key=lambda pair: pair[0].gate_out_at):
            departed = self._departures[load.registration]
            _check_cycle(row, load, departed)
            insort(departed, load.gate_out_at)
        self._papers.check_loads(rows)

    def _check_sent_on(self, entries: Sequence[tuple[LorryLoad, Fields]]) -> None:
        """A load that carries a rejected one on counts its weight, so that one must be recorded."""
        for load, row in entries:
            if not load.reconsigned_from:
                continue
            first = {"ticket_number": load.reconsigned_from, "outcome": "rejected"}
            in_file = any(
                o.ticket_number == load.reconsigned_from and o.outcome == "rejected"
                for o, _ in entries
            )
            if not in_file and not self._ledger.current("lorry_loads", where=first):
                row.warn(
                    "reconsigned_from",
                    f"No rejected load with ticket {load.reconsigned_from} is recorded. Record it"
                    " with outcome rejected, or its movements are missing.",
                )

    def _learn_departures(self, loads: Sequence[LorryLoad]) -> None:
        """Departures in the ledger on the days of these loads and the days beside them."""
        days = {load.gate_date + timedelta(days=n) for load in loads for n in (-1, 0, 1)}
        fresh = days - self._days
        if not fresh:
            return
        self._days |= days
        for load in self._ledger.current("lorry_loads", since=min(fresh), until=max(fresh)):
            if (
                load.gate_date in fresh
                and load.entry_id != self._instead_of
                and not load.reconsigned_from
            ):
                insort(self._departures[load.registration], load.gate_out_at)

    # --- heaps -----------------------------------------------------------------------------------
    def _stock(self, rows: Sequence[Fields]) -> None:
        """A limit once stated for a place holds until another is stated there."""
        entries = [(r.entry, r) for r in rows if isinstance(r.entry, StockCount)]
        for count, row in sorted(entries, key=lambda pair: pair[0].counted_at):
            limits = self._limits_of(count.location)
            if count.surcharge_limit_l is not None:
                insort(limits, (count.counted_at, count.surcharge_limit_l))
                continue
            place = bisect_left(limits, (count.counted_at, 0))
            if place:
                limit_l = limits[place - 1][1]
                row.entry = replace(count, surcharge_limit_l=limit_l)
                check_surcharge(row, count.loose_l, limit_l, count.location)

    def _limits_of(self, location: str) -> list[tuple[datetime, int]]:
        if location not in self._limits:
            counts = self._ledger.current("stock_counts", where={"location": location})
            self._limits[location] = sorted(
                (c.counted_at, c.surcharge_limit_l)
                for c in counts
                if c.surcharge_limit_l is not None and c.entry_id != self._instead_of
            )
        return self._limits[location]

    # --- levels ----------------------------------------------------------------------------------
    def _returns(self, rows: Sequence[Fields]) -> None:
        self._check_nil([(r.entry, r) for r in rows if isinstance(r.entry, DigReturn)])
        for row in rows:
            entry = row.entry
            if isinstance(entry, DigReturn) and entry.lowest_level_mm is not None:
                shift = row.setup.shifts[entry.shift]
                _, end = shift_times(shift, entry.work_date, row.setup.site.time_zone)
                self._check_breach(row, entry.zone, entry.lowest_level_mm, end)

    def _check_nil(self, entries: Sequence[tuple[DigReturn, Fields]]) -> None:
        """A shift in a zone either dug or did not: a nil return beside another contradicts it."""
        if not entries:
            return
        dates = [entry.work_date for entry, _ in entries]
        for old in self._ledger.current("dig_returns", since=min(dates), until=max(dates)):
            if old.entry_id != self._instead_of:
                self._shifts[old.work_date, old.shift, old.zone] = bool(old.nil_reason)
        for entry, row in entries:
            nil = bool(entry.nil_reason)
            known = self._shifts.setdefault((entry.work_date, entry.shift, entry.zone), nil)
            if known != nil:
                row.wrong(
                    "nil_reason",
                    f"The {entry.shift} shift of {entry.work_date} in zone {entry.zone} is recorded"
                    f" as {'nil' if known else 'having dug'}. Amend or withdraw that return first.",
                )

    def _surveys(self, rows: Sequence[Fields]) -> None:
        for row in rows:
            entry = row.entry
            if isinstance(entry, SurveyLevel):
                self._check_breach(row, entry.zone, entry.lowest_level_mm, entry.surveyed_at)

    def _check_breach(self, row: Fields, zone: str, lowest_mm: int, moment: datetime) -> None:
        """A breach is a fact and is recorded; it is said at once, whoever enters it."""
        permitted_m = self._holds.permitted_level_m(row.setup, zone, moment)
        found = breach(zone, lowest_mm / 1000, permitted_m)
        if found:
            row.warn("lowest_level_m", str(found), rule=BREACH_RULE)

    # --- receipts and closures -------------------------------------------------------------------
    def _receipts(self, rows: Sequence[Fields]) -> None:
        entries = [(r.entry, r) for r in rows if isinstance(r.entry, Receipt)]
        if not entries:
            return
        dates = [receipt.receipt_date for receipt, _ in entries]
        loads = self._ledger.current(
            "lorry_loads", since=min(dates) - RECEIPT_WITHIN, until=max(dates)
        )
        by_ticket = {(load.ticket_issuer, load.ticket_number): load for load in loads}
        for receipt, row in entries:
            load = by_ticket.get((receipt.ticket_issuer, receipt.ticket_number))
            _check_receipt(row, receipt, load)

    def _closures(self, rows: Sequence[Fields]) -> None:
        for row in rows:
            entry = row.entry
            if isinstance(entry, ClosedException) and not entry.about.startswith(NOT_ENTRIES):
                try:
                    self._ledger.stored(entry.about)
                except EntryNotFound as error:
                    row.wrong("about", str(error))

    def _bookings(self, rows: Sequence[Fields]) -> None:
        """A booking that alone, or with the others of its day, passes the cap is said at once."""
        for row in rows:
            entry = row.entry
            if not isinstance(entry, GateBooking):
                continue
            others = [
                other
                for other in self._ledger.current(
                    "gate_bookings", since=entry.gate_date, until=entry.gate_date
                )
                if other.entry_id != self._instead_of
            ]
            booked = sum(b.movements_in + b.movements_out for b in (entry, *others))
            for cap in row.setup.site.caps:
                if cap.per == "day" and booked > cap.movements:
                    row.warn(
                        "movements_in",
                        f"{booked} movements are booked for {entry.gate_date}, more than the cap of"
                        f" {cap.movements} a day ({cap.reference}), before any spoil. Spread them.",
                    )


def _check_rise(row: Fields, before: BeltReading, reading: BeltReading) -> None:
    risen_t = (reading.totaliser_kg + (reading.rollover_kg or 0) - before.totaliser_kg) / 1000
    if reading.event != "reading":
        return
    was = f"{before.totaliser_kg / 1000:,.3f} t at {row.clock.local(before.read_at):%Y-%m-%d %H:%M}"
    if risen_t < 0:
        row.wrong(
            "totaliser_t",
            f"{reading.totaliser_kg / 1000:,.3f} t is below the {was}. A totaliser only rises:"
            " correct it, or record the event reset or swap, or the rollover. If the earlier"
            f" reading is the wrong one, amend that (entry {before.entry_id}).",
        )
        return
    hours = (reading.read_at - before.read_at).total_seconds() / 3600
    if risen_t > FASTEST_BELT_T_PER_H * hours:
        said = f"{risen_t:,.0f} t in {hours:.1f} h since the {was} is more than a belt carries."
        if not row.text("note"):
            row.wrong(
                "totaliser_t", f"{said} Check the digits; if it is right, say why in the note."
            )
        else:
            row.warn("totaliser_t", f"{said} It stays an open exception.")


def _check_next(row: Fields, reading: BeltReading, after: BeltReading) -> None:
    highest_kg = after.totaliser_kg + (after.rollover_kg or 0)
    if after.event == "reading" and highest_kg < reading.totaliser_kg:
        row.wrong(
            "totaliser_t",
            f"{reading.totaliser_kg / 1000:,.3f} t is above the next reading,"
            f" {after.totaliser_kg / 1000:,.3f} t at"
            f" {row.clock.local(after.read_at):%Y-%m-%d %H:%M}. A totaliser only rises: correct"
            " whichever is wrong.",
        )


def _check_cycle(row: Fields, load: LorryLoad, departed: list[datetime]) -> None:
    shortest_min = row.setup.vehicles[load.vehicle].min_cycle_min
    place = bisect_left(departed, load.gate_out_at)
    for other in departed[max(0, place - 1) : place + 1]:
        apart_min = abs((load.gate_out_at - other).total_seconds()) / 60
        if apart_min < shortest_min:
            row.entry = replace(load, flags=f"{load.flags} {SHORT_CYCLE}".strip())
            row.warn(
                "registration",
                f"{load.registration} also left at {row.clock.local(other):%Y-%m-%d %H:%M}, only"
                f" {apart_min:.0f} min apart; a {load.vehicle} needs {shortest_min:g} min. Check"
                " for a ticket scanned twice or a wrong plate.",
            )
            return


def _check_receipt(row: Fields, receipt: Receipt, load: LorryLoad | None) -> None:
    if load is None:
        row.warn(
            "ticket_number",
            f"No load with ticket {receipt.ticket_number} of {receipt.ticket_issuer} is recorded in"
            f" the {RECEIPT_WITHIN.days} days before the receipt.",
        )
    elif load.net_kg and receipt.outcome == "accepted":
        off_kg = receipt.accepted_kg - load.net_kg
        if abs(off_kg) > RECEIPT_MISMATCH * load.net_kg:
            row.warn(
                "accepted_t",
                f"{receipt.accepted_kg / 1000:.3f} t was accepted of the {load.net_kg / 1000:.3f} t"
                f" on ticket {receipt.ticket_number}. Ask the receiver which is right.",
            )
