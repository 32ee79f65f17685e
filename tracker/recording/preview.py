"""What an entry would mean, said back before it is saved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from tracker.domain.ground import ground_of, stated_quantity
from tracker.domain.haulage import loads_needed, movements, payload
from tracker.domain.levels import FORMATION, plan_area
from tracker.domain.site import Vehicle
from tracker.errors import Problem
from tracker.ledger.entries import DigReturn, HoldRelease, LorryLoad
from tracker.ledger.store import Ledger
from tracker.ledger.totals import dug_amount
from tracker.recording.around_holds import HoldPoints
from tracker.recording.entry import checked_row, kind_of
from tracker.recording.fields import Fields, Given
from tracker.recording.setups import Setup


@dataclass(frozen=True, slots=True)
class Echo:
    """An entry in every unit, with what there is to say of it; None where nothing was dug.

    `u_` are standard uncertainties from the ranges of the set-up's factors. `loads` are of the
    set-up's usual lorry. The entry would be refused if one of the problems is an error.
    """

    bank_m3: float | None = None
    loose_m3: float | None = None
    mass_t: float | None = None
    u_bank_m3: float | None = None
    u_loose_m3: float | None = None
    u_mass_t: float | None = None
    loads: int | None = None
    sentences: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def preview(
    ledger: Ledger,
    kind: str,
    fields: Mapping[str, Given],
    *,
    now: datetime | None = None,
    instead_of: str = "",
) -> Echo:
    """What these fields mean and whether they are plausible. Writes nothing.

    Raises UnknownName for a kind or column that there is not, NotEnoughData without a set-up.
    """
    row = checked_row(ledger, kind_of(kind), fields, now=now, instead_of=instead_of)
    problems = tuple(row.problems)
    if isinstance(row.entry, DigReturn) and not row.failed:
        return _return_echo(row, row.entry, problems)
    if isinstance(row.entry, HoldRelease) and not row.failed:
        said = (decision_words(ledger, row.setup, row.entry, instead_of=instead_of),)
        return Echo(sentences=said, problems=problems)
    if isinstance(row.entry, LorryLoad) and not row.failed:
        net_kg = row.entry.net_kg
        mass_t = None if net_kg is None else net_kg / 1000
        weight = "no weight" if mass_t is None else f"{mass_t:.3f} t net"
        said = (f"One load, two movements, {weight} to {row.entry.destination}.",)
        return Echo(mass_t=mass_t, loads=1, sentences=said, problems=problems)
    return Echo(problems=problems)


def decision_words(
    ledger: Ledger, setup: Setup, entry: HoldRelease, *, instead_of: str = ""
) -> str:
    """What a decision changes: the permitted level of its zone, or the area accepted."""
    holds, zone = HoldPoints(ledger, instead_of), entry.zone
    at = setup.clock.local(entry.decided_at)
    moment = f"from {at:%a} {at.day} {at:%b %Y %H:%M}"
    if entry.hold == FORMATION:
        before_m2 = holds.accepted_m2(zone, entry.decided_at)
        after_m2 = (entry.accepted_area_dm2 or 0) / 100
        whole_m2 = plan_area(setup.zones[zone], setup.formation_m[zone])
        return (
            f"Formation of zone {zone} accepted goes from {before_m2:,.0f} to {after_m2:,.0f} m² of"
            f" {whole_m2:,.0f} m², {moment}."
        )
    before_m = holds.permitted_level_m(setup, zone, entry.decided_at)
    after_m = holds.permitted_with_m(setup, entry)
    if after_m == before_m:
        return f"The permitted level of zone {zone} stays at {before_m:.3f} m, {moment}."
    return (
        f"The permitted level of zone {zone} goes from {before_m:.3f} to {after_m:.3f} m, {moment}."
    )


def _return_echo(row: Fields, entry: DigReturn, problems: tuple[Problem, ...]) -> Echo:
    if entry.nil_reason:
        said = f"Nil shift in zone {entry.zone}: nothing was dug, {entry.nil_reason}."
        return Echo(sentences=(said,), problems=problems)
    stream = row.setup.streams[entry.stream]
    _measure, amount = dug_amount(entry)
    dug = stated_quantity(ground_of(stream), entry.basis, amount / 1000)
    vehicle = usual_vehicle(row.setup)
    load = payload(
        vehicle.plated_payload_t,
        vehicle.body_m3,
        stream.loose_per_bank.value,
        stream.bank_density_t_per_m3.value,
        vehicle.fill,
    )
    loads = loads_needed(dug.mass_t, load.payload_t)
    area_m2 = plan_area(row.setup.zones[entry.zone], (entry.to_level_mm or 0) / 1000)
    sentences = (
        f"{dug.bank_m3:,.1f} m³ bank of {stream.name} is {dug.loose_m3:,.1f} m³ loose"
        f" (± {dug.u_loose_m3:,.1f}) and {dug.mass_t:,.1f} t (± {dug.u_mass_t:,.1f}).",
        f"By lorry that is {loads} loads of {load.payload_t:.1f} t ({vehicle.name}),"
        f" {movements(loads)} movements.",
        f"Spread over all of zone {entry.zone} it is {dug.bank_m3 / area_m2:.2f} m.",
    )
    return Echo(
        bank_m3=dug.bank_m3,
        loose_m3=dug.loose_m3,
        mass_t=dug.mass_t,
        u_bank_m3=dug.u_bank_m3,
        u_loose_m3=dug.u_loose_m3,
        u_mass_t=dug.u_mass_t,
        loads=loads,
        sentences=sentences,
        problems=problems,
    )


def usual_vehicle(setup: Setup) -> Vehicle:
    """The lorry of the first lorry leg of the set-up; the first vehicle if no leg names one."""
    for route in setup.site.routes:
        for leg in route.legs:
            if leg.mode == "lorry":
                return setup.vehicles[leg.vehicle]
    return setup.site.vehicles[0]
