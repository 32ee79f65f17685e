"""What stands beside an entry while it is being typed: what is recorded, held, or allowed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from tracker.domain.haulage import OVERLOAD_CAUTION, payload
from tracker.domain.levels import FORMATION
from tracker.domain.solids import cone, windrow
from tracker.domain.written import whole_thousandths
from tracker.errors import InputError
from tracker.ledger.entries import LorryLoad, StockCount
from tracker.ledger.store import Ledger
from tracker.recording.setups import Setup, setups_of

SURCHARGE_CAUTION = (
    "A heap near the wall loads it. The temporary works coordinator sets its limit and where it"
    " may lie; the permit on site governs."
)
HOLD_CAUTION = (
    "The permit on site and the temporary works coordinator govern; a record of a decision is none."
    " Nothing may be dug on the strength of this entry."
)
FORMATION_CAUTION = (
    "Formation softens while it lies open. The designer and the permit on site govern; the tool"
    " checks no ground."
)


@dataclass(frozen=True, slots=True)
class Hint:
    """A sentence, and whether it is plain, a `caution` or a `warning`."""

    words: str
    meaning: str = ""


def hints(ledger: Ledger, kind: str, fields: Mapping[str, str]) -> tuple[Hint, ...]:
    """What helps with the fields of a kind as far as they are filled. Writes nothing.

    Raises NotEnoughData without a set-up.
    """
    if kind not in _HINTS:
        return ()
    return tuple(_HINTS[kind](ledger, setups_of(ledger).latest, fields))


# --- heaps ---------------------------------------------------------------------------------------
def _of_heap(ledger: Ledger, setup: Setup, fields: Mapping[str, str]) -> list[Hint]:
    volume_m3 = heap_volume_m3(fields)
    limit_m3, of = _limit(ledger, fields)
    if volume_m3 is None and limit_m3 is None:
        return []
    parts = [] if volume_m3 is None else [f"{volume_m3:,.1f} m³ loose"]
    parts.append(f"limit {limit_m3:g} m³ loose{of}" if limit_m3 is not None else "no limit is set")
    over = volume_m3 is not None and limit_m3 is not None and volume_m3 > limit_m3
    words = f"{'; '.join(parts)}."
    words = words[0].upper() + words[1:]
    if over:
        words += " Above the limit: stop and ask the temporary works coordinator."
    return [Hint(words, "warning" if over else ""), Hint(SURCHARGE_CAUTION, "caution")]


def heap_volume_m3(fields: Mapping[str, str]) -> float | None:
    """Loose volume of a heap from what is typed of it; None as long as that is too little.

    A volume that is given wins over the dimensions.
    """
    given = {
        name: _number(fields.get(name, ""))
        for name in ("loose_m3", "width_m", "height_m", "length_m")
    }
    width, height, length = given["width_m"], given["height_m"], given["length_m"]
    if given["loose_m3"] is not None:
        return given["loose_m3"]
    try:
        if fields.get("method") == "cone" and width and height:
            return cone(diameter_m=width, height_m=height).volume_m3
        if fields.get("method") == "windrow" and width and height and length:
            return windrow(length, width_m=width, height_m=height).volume_m3
    except InputError:  # said at the check, beside its field
        return None
    return None


def _limit(ledger: Ledger, fields: Mapping[str, str]) -> tuple[float | None, str]:
    """The limit typed, else the one recorded last for that place [m³ loose], and of when."""
    typed = _number(fields.get("surcharge_limit_m3", ""))
    if typed is not None or not fields.get("location"):
        return typed, ""
    counts: list[StockCount] = ledger.current(
        "stock_counts", where={"location": fields["location"]}
    )
    for count in sorted(counts, key=lambda c: c.counted_at, reverse=True):
        if count.surcharge_limit_l is not None:
            when = f"{count.work_date:%d %b %Y}".lstrip("0")
            return (
                count.surcharge_limit_l / 1000,
                f" (as of {when}; it holds until another is stated)",
            )
    return None, ""


# --- lorries -------------------------------------------------------------------------------------
def _of_load(ledger: Ledger, setup: Setup, fields: Mapping[str, str]) -> list[Hint]:
    vehicle = setup.vehicles.get(fields.get("vehicle", ""))
    stream = setup.streams.get(fields.get("stream", ""))
    out = []
    net_t = _net_t(fields)
    if net_t is not None:
        out.append(Hint(f"Gross less tare is {net_t:.3f} t net."))
    if vehicle and net_t is not None and net_t > vehicle.plated_payload_t:
        over_t = net_t - vehicle.plated_payload_t
        plate = f"the {vehicle.plated_payload_t:g} t that its plate lets a {vehicle.name} carry"
        out = [Hint(f"{net_t:.3f} t net is {over_t:.3f} t above {plate}.", "warning")]
    if vehicle and stream:
        load = payload(
            vehicle.plated_payload_t,
            vehicle.body_m3,
            stream.loose_per_bank.value,
            stream.bank_density_t_per_m3.value,
            vehicle.fill,
        )
        by = "its plate" if load.governs == "weight" else "what its body holds"
        words = f"A {vehicle.name} carries at most {load.payload_t:.1f} t of {stream.name}, by {by}"
        plate = f"plate {vehicle.plated_gross_t:g} t gross"
        out.append(Hint(f"{words}; {plate}. {OVERLOAD_CAUTION}", "caution"))
    return out


def _net_t(fields: Mapping[str, str]) -> float | None:
    gross, tare = (_number(fields.get(name, "")) for name in ("gross_t", "tare_t"))
    if gross is None or tare is None or gross < tare:
        return None
    return gross - tare


# --- belts, receipts -----------------------------------------------------------------------------
def _of_reading(ledger: Ledger, setup: Setup, fields: Mapping[str, str]) -> list[Hint]:
    belt = fields.get("belt", "")
    if not belt:
        return []
    before, _after = ledger.neighbours(belt, _moment(setup, fields.get("read_at", "")))
    if before is None:
        return [Hint(f"No earlier reading of {belt} is recorded.")]
    at, stood_t = setup.clock.local(before.read_at), before.totaliser_kg / 1000
    words = f"The reading before, {at:%a} {at.day} {at:%b %Y %H:%M}: {stood_t:,.3f} t."
    now_t, event = _number(fields.get("totaliser_t", "")), fields.get("event", "")
    if event in ("reset", "swap"):
        return [Hint(f"{words} The count starts anew: what was carried in between is not known.")]
    rolled_t = _number(fields.get("rollover_t", ""))
    if now_t is not None and rolled_t is not None:
        now_t += rolled_t
    if now_t is None:
        return [Hint(words)]
    if now_t < stood_t:
        fell = "Now it stands lower: it was read wrong, reset, swapped, or it rolled over."
        return [Hint(f"{words} {fell}", "warning")]
    return [Hint(f"{words} Carried since: {now_t - stood_t:,.3f} t.")]


def _moment(setup: Setup, text: str) -> datetime:
    try:
        return setup.clock.moment(text).utc
    except InputError:
        return datetime.now(UTC)


def _of_receipt(ledger: Ledger, setup: Setup, fields: Mapping[str, str]) -> list[Hint]:
    issuer, number = fields.get("ticket_issuer", ""), fields.get("ticket_number", "")
    if not (issuer and number):
        return []
    found: list[LorryLoad] = ledger.current(
        "lorry_loads", where={"ticket_issuer": issuer, "ticket_number": number}
    )
    if not found:
        return [Hint(f"No load with ticket {issuer} {number} is recorded.", "warning")]
    load = found[0]
    mass = "without weight" if load.net_kg is None else f"{load.net_kg / 1000:.3f} t net"
    day = f"{load.gate_date:%a} {load.gate_date.day} {load.gate_date:%b %Y}"
    return [Hint(f"Its load: {mass} of {load.stream} to {load.destination}, out {day}.")]


def _number(text: str) -> float | None:
    """A number as typed so far; None where there is none, or none that the check would take."""
    try:
        return whole_thousandths(text) / 1000 if text.strip() else None
    except InputError:
        return None


# --- hold points ---------------------------------------------------------------------------------
def _of_hold(_ledger: Ledger, setup: Setup, fields: Mapping[str, str]) -> list[Hint]:
    """What the set-up says must be in place, and that a record releases nothing."""
    zone, hold = fields.get("zone", ""), fields.get("hold", "")
    stages = setup.site.stages_of(zone) if zone in setup.zones else ()
    above = [s for s in stages if hold == FORMATION or str(s.stage + 1) == hold][-1:]
    needs = [part for s in above for part in (s.support, s.hold_condition) if part]
    said = [Hint(f"To be in place: {'; '.join(needs)}.")] if needs else []
    return [*said, Hint(HOLD_CAUTION, "caution")]


def _of_formation(_ledger: Ledger, setup: Setup, fields: Mapping[str, str]) -> list[Hint]:
    """How long the formation of a zone may lie open."""
    zone, caution = setup.zones.get(fields.get("zone", "")), Hint(FORMATION_CAUTION, "caution")
    if zone is None:
        return [caution]
    limit_h, words = zone.exposure_limit_h, "No limit is set for how long it may lie open."
    if limit_h is not None:
        words = f"It may lie open for {limit_h:g} h from reached to blinded, by the set-up."
    return [Hint(words), caution]


_HINTS: dict[str, Callable[[Ledger, Setup, Mapping[str, str]], list[Hint]]] = {
    "stock": _of_heap,
    "loads": _of_load,
    "belt": _of_reading,
    "receipts": _of_receipt,
    "holds": _of_hold,
    "formation": _of_formation,
}
