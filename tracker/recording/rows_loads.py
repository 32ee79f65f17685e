"""Rows about lorries: one row a load, one load a trip out with spoil."""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

from tracker.domain.calendar import is_within, window_words
from tracker.domain.haulage import OVERLOAD_CAUTION
from tracker.domain.papers import is_waste
from tracker.domain.rules import (
    OUTSIDE_WINDOW,
    OVER_PLATE,
    OVERRIDE,
    UNKNOWN_AUTHORISATION,
)
from tracker.domain.site import Carrier, Destination, Route, Stream, Vehicle, Zone
from tracker.ledger.entries import Entry, LorryLoad
from tracker.recording.fields import Fields
from tracker.recording.moments import Moment

TEXTS = (
    "ticket_issuer",
    "ticket_number",
    "registration",
    "reconsigned_from",
    "transfer_note",
    "override_reason",
)
WEIGHT_BASES = ("weighed", "estimated", "none")
OUTCOMES = ("accepted", "rejected")
# Common practice, no source.
HEAVIEST_T = 100.0  # heavier than any lorry on a road: kilograms
NET_TOLERANCE_KG = 20  # one interval of a road weighbridge
FAR_ABOVE_PLATE = 1.5  # beyond this share of the plate the decimal point is wrong
LONGEST_STAY_H = 24.0  # on site, between the two passages of the gate


class Named(NamedTuple):
    """What the set-up knows by the names in a row."""

    carrier: Carrier | None
    vehicle: Vehicle | None
    stream: Stream | None
    zone: Zone | None
    route: Route | None
    destination: Destination | None


class Weights(NamedTuple):
    """Gross, tare and net of a load [kg], and how they are known."""

    gross_kg: int | None
    tare_kg: int | None
    net_kg: int | None
    weight_basis: str


class Finding(NamedTuple):
    """What stands between a stream and where it is taken, on a date."""

    column: str
    message: str
    refused: bool  # refused unless overridden; else a warning


def read_load(row: Fields) -> Entry | None:
    """A lorry load, or None with the reasons kept in the row."""
    came = row.moment("gate_in_at")
    left = row.moment("gate_out_at")
    named = _read_names(row)
    flags: list[str] = []
    weights = _read_weights(row, named.vehicle, flags)
    texts = {name: row.text(name) for name in TEXTS}
    outcome = row.choice("outcome", OUTCOMES, "accepted")
    if texts["reconsigned_from"] and texts["reconsigned_from"] == texts["ticket_number"]:
        row.wrong(
            "reconsigned_from", "A load cannot carry on its own ticket. Give the earlier one."
        )
    if named.stream:
        _check_classified(row, named.stream)
    if left:
        _check_gate(row, came, left, flags)
        if named.stream and named.carrier and named.destination:
            findings = _findings(row, named.stream, named.carrier, named.destination, left)
            _judge(row, findings, texts["override_reason"], flags)
    if row.failed or left is None:
        return None
    return row.made(
        LorryLoad,
        **_gate(came, left),
        **_names(named),
        **weights._asdict(),
        **texts | {"registration": texts["registration"].upper()},
        outcome=outcome,
        flags=" ".join(flags),
    )


def _gate(came: Moment | None, left: Moment) -> dict[str, Any]:
    """When the lorry passed the gate, in UTC and by the clock of the site."""
    passed_in = came or left  # where only the way out was noted, the way in counts in that hour
    return {
        "gate_in_at": came.utc if came else None,
        "gate_out_at": left.utc,
        "in_date": passed_in.local.date(),
        "in_hour": passed_in.local.hour,
        "gate_date": left.local.date(),
        "out_hour": left.local.hour,
    }


def _names(named: Named) -> dict[str, str]:
    return {what: getattr(found, what) if found else "" for what, found in named._asdict().items()}


def _read_names(row: Fields) -> Named:
    setup = row.setup
    route = row.named("route", setup.routes)
    destination = row.named("destination", setup.destinations)
    if route and route.legs[0].mode != "lorry":
        row.wrong(
            "route",
            f"Route {route.route} leaves the site by {route.legs[0].mode}: a lorry load goes by one"
            " whose first leg is a lorry.",
        )
    if route and row.value("destination") is None:
        destination = setup.destinations[route.destination]
    elif route and destination and destination.destination != route.destination:
        row.warn("destination", f"Route {route.route} ends at {route.destination}, not here.")
    return Named(
        carrier=row.named("carrier", setup.carriers),
        vehicle=row.named("vehicle", setup.vehicles),
        stream=row.named("stream", setup.streams),
        zone=row.named("zone", setup.zones),
        route=route,
        destination=destination,
    )


def _read_weights(row: Fields, vehicle: Vehicle | None, flags: list[str]) -> Weights:
    gross, tare, net = (row.thousandths(name) for name in ("gross_t", "tare_t", "net_t"))
    for name, mass in (("gross_t", gross), ("tare_t", tare), ("net_t", net)):
        if mass is not None and mass > HEAVIEST_T * 1000:
            row.wrong(
                name,
                f"{mass / 1000:,.3f} t is no lorry. If it is kilograms, write"
                f" {mass / 1_000_000:.3f} t.",
            )
            return Weights(None, None, None, "")
    net = _net(row, gross, tare, net)
    any_weight = net is not None or gross is not None or tare is not None
    basis = row.choice("weight_basis", WEIGHT_BASES, "weighed" if any_weight else "none")
    if basis == "none" and any_weight:
        row.wrong("weight_basis", "A load with weights has the basis weighed or estimated.")
    if basis in ("weighed", "estimated") and net is None:
        row.wrong(
            "net_t",
            f"A load that is {basis} has a net weight, or gross and tare. Give them, or the basis"
            " none.",
        )
    if vehicle:
        _check_plate(row, vehicle, gross, net, flags)
    return Weights(gross, tare, net, basis)


def _net(row: Fields, gross: int | None, tare: int | None, net: int | None) -> int | None:
    """The net weight as given, else gross minus tare [kg]."""
    if gross is None or tare is None:
        return net
    if tare > gross:
        row.wrong(
            "tare_t",
            f"The tare of {tare / 1000:.3f} t is above the gross of {gross / 1000:.3f} t. They may"
            " be swapped.",
        )
    elif net is not None and abs(net - (gross - tare)) > NET_TOLERANCE_KG:
        row.wrong(
            "net_t",
            f"{net / 1000:.3f} t is not gross minus tare, {(gross - tare) / 1000:.3f} t. Correct"
            " one of the three.",
        )
    return gross - tare if net is None else net


def _check_plate(
    row: Fields, vehicle: Vehicle, gross: int | None, net: int | None, flags: list[str]
) -> None:
    if gross is not None:
        column, kg, plate_t = "gross_t", gross, vehicle.plated_gross_t
    elif net is not None:
        column, kg, plate_t = "net_t", net, vehicle.plated_payload_t
    else:
        return
    if kg > FAR_ABOVE_PLATE * plate_t * 1000:
        row.wrong(
            column,
            f"{kg / 1000:.3f} t is far above the plate of {plate_t:g} t of a {vehicle.name}. Check"
            " the decimal point.",
        )
    elif kg > plate_t * 1000:
        flags.append(OVER_PLATE)
        row.warn(
            column,
            f"{kg / 1000:.3f} t is above the plate of {plate_t:g} t of a {vehicle.name}."
            f" {OVERLOAD_CAUTION}",
        )


def _check_gate(row: Fields, came: Moment | None, left: Moment, flags: list[str]) -> None:
    if came and came.utc > left.utc:
        row.wrong(
            "gate_out_at",
            f"The lorry left at {left.local:%Y-%m-%d %H:%M}, before it came in at"
            f" {came.local:%Y-%m-%d %H:%M}. They may be swapped.",
        )
        return
    if came and (left.utc - came.utc).total_seconds() > LONGEST_STAY_H * 3600:
        row.warn("gate_in_at", "The lorry was on site for more than a day. Check both dates.")
    for column, passed in (("gate_in_at", came), ("gate_out_at", left)):
        if passed is None:
            continue
        windows = row.setup.gate_windows(passed.local.date())
        if not is_within(windows, passed.local.time()):
            flags.append(OUTSIDE_WINDOW)
            hours = window_words(windows) if windows else "closed all day"
            row.warn(
                column,
                f"{passed.local:%a %H:%M} is outside the gate window ({hours}).",
            )
            return


def _check_classified(row: Fields, stream: Stream) -> None:
    if not stream.classified:
        row.wrong(
            "stream",
            f"Stream {stream.stream} is not classified: who decided whether it is waste, and by"
            " which reference? Put that in the set-up first; no load is recorded without it.",
        )


def _findings(
    row: Fields, stream: Stream, carrier: Carrier, destination: Destination, left: Moment
) -> tuple[Finding, ...]:
    """As `document_findings`, found once for all loads of a day."""
    day = left.local.date()
    key = (stream.stream, carrier.carrier, destination.destination, day)
    verdicts: dict[tuple[Any, ...], tuple[Finding, ...]] = row.setup.verdicts
    if key not in verdicts:
        verdicts[key] = document_findings(stream, carrier, destination, day)
    return verdicts[key]


def _judge(row: Fields, findings: tuple[Finding, ...], override: str, flags: list[str]) -> None:
    for finding in findings:
        if finding.refused and not override:
            row.wrong(
                finding.column,
                f"{finding.message} The load is refused; if it went all the same, say why and on"
                " whose word in override_reason.",
            )
            continue
        row.warn(finding.column, finding.message)
        flag = OVERRIDE if finding.refused else UNKNOWN_AUTHORISATION
        if flag not in flags:
            flags.append(flag)


def document_findings(
    stream: Stream, carrier: Carrier, destination: Destination, day: date
) -> tuple[Finding, ...]:
    """What the authorisations leave open, or refuse, for a stream on the date of a load."""
    found = []
    if is_waste(stream.regime):
        codes = destination.waste_codes
        if codes and stream.waste_code not in codes:
            found.append(
                Finding(
                    "destination",
                    f"{destination.name} is not authorised for {stream.waste_code}"
                    f" ({stream.name}); it takes {', '.join(codes)}.",
                    True,
                )
            )
        elif not codes:
            found.append(
                Finding(
                    "destination", f"It is not known which codes {destination.name} takes.", False
                )
            )
    found += _validity("destination", destination, destination.authorisation, day)
    found += _validity("carrier", carrier, carrier.registration, day)
    return tuple(found)


def _validity(
    column: str, party: Carrier | Destination, number: str, day: date
) -> tuple[Finding, ...]:
    what = "registration" if column == "carrier" else "authorisation"
    if party.valid_to is not None and day > party.valid_to:
        said = f"The {what} of {party.name} lapsed on {party.valid_to}; the load is of {day}."
        return (Finding(column, said, True),)
    if party.valid_from is not None and day < party.valid_from:
        said = f"The {what} of {party.name} begins on {party.valid_from}; the load is of {day}."
        return (Finding(column, said, True),)
    if not number or party.valid_from is None or party.valid_to is None:
        said = f"The {what} of {party.name}, or how long it is valid, is not known."
        return (Finding(column, said, False),)
    return ()
