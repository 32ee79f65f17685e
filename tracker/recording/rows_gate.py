"""Rows about the rest of the gate: other traffic, and bookings ahead."""

from __future__ import annotations

from tracker.ledger.entries import Entry, GateBooking, GateTraffic
from tracker.recording.fields import Fields

DIRECTIONS = ("in", "out", "both")
MANY_VEHICLES = 200  # in one hour: a slip of the pen; common practice, no source


def read_traffic(row: Fields) -> Entry | None:
    """Other vehicles through the gate, or None with the reasons kept in the row."""
    passed = row.moment("passed_at")
    vehicles = row.whole("vehicles")
    direction = row.choice("direction", DIRECTIONS)
    purpose, reference = row.text("purpose"), row.text("reference")
    if vehicles is not None and not 0 < vehicles <= MANY_VEHICLES:
        row.wrong(
            "vehicles",
            f"{vehicles} vehicles in one hour cannot be right: give 1 to {MANY_VEHICLES}, an hour"
            " a row.",
        )
    if row.failed or not passed or vehicles is None:
        return None
    return row.made(
        GateTraffic,
        passed_at=passed.utc,
        gate_date=passed.local.date(),
        hour=passed.local.hour,
        purpose=purpose.lower(),
        vehicles=vehicles,
        direction=direction,
        reference=reference,
    )


def read_booking(row: Fields) -> Entry | None:
    """Movements booked ahead, or None with the reasons kept in the row."""
    gate_date = row.day("gate_date", to_come=True)
    starts, ends = row.whole("from_hour"), row.whole("to_hour")
    ins, outs = row.whole("movements_in"), row.whole("movements_out")
    texts = {name: row.text(name) for name in ("booking", "purpose", "booked_by")}
    if starts is not None and ends is not None and not 0 <= starts < ends <= 24:
        row.wrong(
            "to_hour",
            f"The booking runs from {starts} to {ends} o'clock. Give hours of one day, the first"
            " before the last, 24 at most.",
        )
    if ins == 0 and outs == 0:
        row.wrong("movements_in", "A booking has at least one movement.")
    if row.failed or not gate_date or None in (starts, ends, ins, outs):
        return None
    if not row.setup.gate_windows(gate_date):
        row.warn("gate_date", f"The gate is shut on {gate_date:%a} {gate_date}.")
    return row.made(
        GateBooking,
        **texts | {"purpose": texts["purpose"].lower()},
        gate_date=gate_date,
        from_hour=starts,
        to_hour=ends,
        movements_in=ins,
        movements_out=outs,
    )
