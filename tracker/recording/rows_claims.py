"""Rows that claims rest on: the frozen baseline, and exceptions closed with a reason."""

from __future__ import annotations

from tracker.domain.haulage import OVERLOAD_CAUTION
from tracker.domain.rules import RULES
from tracker.ledger.entries import Baseline, ClosedException, Entry
from tracker.recording.fields import Fields

LONGEST_HAUL_KM = 2000.0  # one way by road; common practice, no source
PAYLOADS = ("payload_low_t", "payload_t", "payload_high_t")


def read_baseline(row: Fields) -> Entry | None:
    """The lorry-only case, or None with the reasons kept in the row."""
    frozen_on = row.day("frozen_on", before_the_site=True)
    vehicle = row.named("vehicle", row.setup.vehicles)
    destination = row.named("destination", row.setup.destinations)
    low, payload, high = (row.thousandths(name) for name in PAYLOADS)
    distance_m = row.thousandths("distance_km")
    empty_return = row.yes_no("empty_return")
    texts = {name: row.text(name) for name in ("baseline", "reference")}
    _check_payloads(row, (low, payload, high), vehicle.plated_payload_t if vehicle else None)
    if distance_m is not None and not 0 < distance_m <= LONGEST_HAUL_KM * 1000:
        row.wrong(
            "distance_km", f"Give the distance one way in km, above 0 to {LONGEST_HAUL_KM:g}."
        )
    if row.failed or not (frozen_on and vehicle and destination and low and payload and high):
        return None
    return row.made(
        Baseline,
        **texts,
        frozen_on=frozen_on,
        vehicle=vehicle.vehicle,
        payload_kg=payload,
        payload_low_kg=low,
        payload_high_kg=high,
        distance_m=distance_m or 0,
        destination=destination.destination,
        empty_return=bool(empty_return),
    )


def _check_payloads(
    row: Fields, payloads_kg: tuple[int | None, ...], plated_payload_t: float | None
) -> None:
    for name, kg in zip(PAYLOADS, payloads_kg, strict=True):
        if kg is None:
            continue
        if kg == 0:
            row.wrong(name, "A payload is more than 0 t.")
        elif plated_payload_t is not None and kg > plated_payload_t * 1000:
            hint = f" If it is kilograms, write {kg / 1_000_000:g}." if kg > 1_000_000 else ""
            row.wrong(
                name,
                f"{kg / 1000:g} t is above the plated payload of {plated_payload_t:g} t.{hint}"
                f" {OVERLOAD_CAUTION}",
            )
    low, payload, high = payloads_kg
    if low is not None and payload is not None and high is not None and not low <= payload <= high:
        row.wrong("payload_t", "Put the three payloads in the order low, assumed, high.")


def read_closure(row: Fields) -> Entry | None:
    """An exception closed by a person, or None with the reasons kept in the row."""
    rule = row.choice("rule", RULES)  # a slip would close nothing
    said = {name: row.text(name) for name in ("about", "reason", "closed_by")}
    return row.made(ClosedException, rule=rule, **said)
