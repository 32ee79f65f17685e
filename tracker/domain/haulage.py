"""What a lorry carries, how many trips and movements that makes, and how sure its weight is.

No result is ever above the plate. The plate, the axle limits and the law of the place govern.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tracker.domain.ground import checked_bank_density, checked_loose_per_bank
from tracker.domain.limits import check_between, check_not_negative, check_positive
from tracker.domain.site import Site
from tracker.errors import OutOfRange

OVERLOAD_CAUTION = (
    "A lorry above its plated weight is unsafe and unlawful on the road: the plate, the axle limits"
    " and local law govern."
)


@dataclass(frozen=True, slots=True)
class Payload:
    """What one load carries, and whether the plate (weight) or the body (volume) governs."""

    payload_t: float
    bank_m3_per_load: float
    loose_m3_per_load: float
    governs: str  # weight | volume


@dataclass(frozen=True, slots=True)
class HaulCycle:
    """The parts of one round trip [h] and how many lorries keep one loader busy."""

    load_h: float
    haul_h: float
    dump_h: float
    return_h: float
    cycle_h: float
    lorries_to_balance: float


@dataclass(frozen=True, slots=True)
class WeighbridgeError:
    """Largest permitted errors in service [kg] of gross, tare and net, and the net's u [kg]."""

    gross_kg: float
    tare_kg: float
    net_worst_kg: float
    u_net_kg: float


def payload(
    plated_payload_t: float,
    body_m3: float,
    loose_per_bank: float,
    bank_density_t_per_m3: float,
    fill: float = 1.0,
) -> Payload:
    """The lesser of the plated payload and what the body holds.

    payload_t = min(plated_payload_t, body_m3 * fill / loose_per_bank * bank_density_t_per_m3)

    `fill` is the filled share of the body, 0 to 1.2 heaped [-]. Raises InputError.

    >>> payload(20.0, 12.0, 1.30, 2.0).governs
    'volume'
    """
    plated = check_positive("plated_payload_t", plated_payload_t, "t")
    body = check_positive("body_m3", body_m3, "m³")
    hint = f"If it is a percentage, write {fill / 100:g}." if fill > 1.2 else ""
    check_between("fill", check_positive("fill", fill, "-"), 0.0, 1.2, "-", hint)
    swell = checked_loose_per_bank(loose_per_bank)
    density = checked_bank_density(bank_density_t_per_m3)
    body_mass_t = body * fill / swell * density
    mass_t = min(plated, body_mass_t)
    bank_m3 = mass_t / density
    governs = "weight" if plated <= body_mass_t else "volume"
    return Payload(mass_t, bank_m3, bank_m3 * swell, governs)


def usual_payload_t(site: Site, vehicle: str, stream: str) -> float:
    """What a vehicle of the set-up carries of a stream, by weight or by body [t].

    Raises UnknownName.
    """
    lorry, ground = site.vehicle(vehicle), site.stream(stream)
    return payload(
        lorry.plated_payload_t,
        lorry.body_m3,
        ground.loose_per_bank.value,
        ground.bank_density_t_per_m3.value,
        fill=lorry.fill,
    ).payload_t


def loads_needed(mass_t: float, payload_t: float) -> int:
    """Whole loads that carry this mass, rounded up.

    >>> loads_needed(240_000.0, 20.0)
    12000
    """
    exact = check_not_negative("mass_t", mass_t, "t") / check_positive("payload_t", payload_t, "t")
    # 30 t in loads of 0.1 t must be 300 loads although 30 / 0.1 is a hair more in binary.
    return math.ceil(exact * (1.0 - 1e-12))


def movements(loads: int) -> int:
    """Passages of the gate: one load is two movements, in and out (peak_district, condition 10)."""
    return 2 * loads


def haul_cycle(
    load_m3: float,
    loading_m3_per_h: float,
    distance_km: float,
    speed_out_km_per_h: float,
    speed_back_km_per_h: float,
    dump_min: float,
    wait_min: float = 0.0,
) -> HaulCycle:
    """One round trip of a lorry, and the lorries that balance one loader (earthwork_notes).

    cycle_h = load_h + haul_h + dump_h + return_h;  lorries_to_balance = cycle_h / load_h

    `load_m3` and `loading_m3_per_h` are of one kind, loose or bank; `wait_min` is added to the dump
    time. The balance ignores chance: with random arrivals a loader waits even when balanced.
    Raises InputError.
    """
    load_h = check_positive("load_m3", load_m3, "m³") / check_positive(
        "loading_m3_per_h", loading_m3_per_h, "m³/h"
    )
    distance = check_positive("distance_km", distance_km, "km")
    haul_h = distance / check_positive("speed_out_km_per_h", speed_out_km_per_h, "km/h")
    return_h = distance / check_positive("speed_back_km_per_h", speed_back_km_per_h, "km/h")
    waiting_min = check_not_negative("wait_min", wait_min, "min")
    dump_h = (check_not_negative("dump_min", dump_min, "min") + waiting_min) / 60.0
    cycle_h = load_h + haul_h + dump_h + return_h
    return HaulCycle(load_h, haul_h, dump_h, return_h, cycle_h, cycle_h / load_h)


def permitted_error_kg(mass_t: float, interval_kg: float) -> float:
    """Largest error a class III weighbridge in service may show at this load [kg].

    Twice 0.5 e up to 500 e, twice 1.0 e up to 2,000 e, twice 1.5 e up to 10,000 e, e being the
    verification interval (si1995_1907, schedule 2, 4.1 table 3 and 4.2). Raises OutOfRange beyond.
    """
    interval = check_positive("interval_kg", interval_kg, "kg")
    intervals = check_not_negative("mass_t", mass_t, "t") * 1000.0 / interval
    for most_intervals, permitted_intervals in ((500, 1.0), (2_000, 2.0), (10_000, 3.0)):
        if intervals <= most_intervals:
            return permitted_intervals * interval
    limit_t = 10_000 * interval / 1000.0
    hint = "A class III weighbridge weighs no more than 10,000 intervals."
    raise OutOfRange("mass_t", mass_t, low=0.0, high=limit_t, unit="t", hint=hint)


def weighbridge_error(gross_t: float, tare_t: float, interval_kg: float = 20.0) -> WeighbridgeError:
    """How far a net weight from two passes over a class III weighbridge in service may be off.

    u_net_kg = sqrt(gross_kg² / 3 + tare_kg² / 3), each error rectangular (jcgm100, 4.3.7)

    Raises InputError if the tare is above the gross.
    """
    check_between("tare_t", tare_t, 0.0, gross_t, "t", "Tare and gross may be swapped.")
    gross_kg = permitted_error_kg(gross_t, interval_kg)
    tare_kg = permitted_error_kg(tare_t, interval_kg)
    return WeighbridgeError(
        gross_kg, tare_kg, gross_kg + tare_kg, math.hypot(gross_kg, tare_kg) / math.sqrt(3.0)
    )
