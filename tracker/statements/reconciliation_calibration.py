"""Implied density, bulking and payload beside the assumed ones, and the row to adopt them with.

Nothing here changes the set-up: a proposal is a text to copy into its tables.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from tracker.domain.haulage import usual_payload_t
from tracker.domain.reconcile import usual
from tracker.domain.reconcile.calibration import (
    Implied,
    PeriodLoads,
    Point,
    implied_bulking,
    implied_density,
    implied_payload,
)
from tracker.domain.reconcile.stated import Mass, Season
from tracker.domain.site import Vehicle
from tracker.domain.site_tables import TABLES
from tracker.errors import NotEnoughData, UnknownName
from tracker.statements.frame import Frame
from tracker.statements.reconciliation_inputs import Load
from tracker.statements.reconciliation_season import Cells, counted_season
from tracker.statements.reconciliation_shapes import Calibration, CalibrationPoint, Proposal
from tracker.statements.reconciliation_words import COVER, period_words

DENSITY, BULKING, PAYLOAD = "bank density", "bulking", "mean payload"
MOST_FILL = 1.2  # heaped, as the set-up allows
_COLUMNS = {DENSITY: "bank_density", BULKING: "loose_per_bank"}
Names = Mapping[str, str]


def calibrations(
    frame: Frame, season: Season, found: Cells
) -> tuple[list[Calibration], list[Proposal]]:
    """What is implied of every stream and lorry, and the rows of the set-up that would say so."""
    streams = {stream.stream: stream.name for stream in frame.site.streams}
    lines: list[Calibration] = []
    counted = counted_season(found, season)
    for ground in season.grounds:
        density = (ground.bank_density_t_per_m3, ground.u_shared_t_per_m3)
        bulking = (ground.loose_per_bank, ground.u_shared_loose_per_bank)
        name, stream = streams[ground.stream], ground.stream
        lines += [
            _filled(
                _line(DENSITY, stream, name, "t/m³", *density),
                partial(implied_density, season, stream),
            ),
            _filled(
                _line(BULKING, stream, name, "loose/bank", *bulking),
                partial(implied_bulking, counted, stream),
            ),
        ]
    lines += _payloads(frame, found)
    return lines, _proposals(frame, lines)


def _line(
    quantity: str, of: str, name: str, unit: str, assumed: float, u_assumed: float
) -> Calibration:
    return Calibration(
        quantity=quantity,
        of=of,
        name=name,
        unit=unit,
        assumed=assumed,
        u_assumed=u_assumed,
        implied=None,
        u_implied=None,
        low=None,
        high=None,
        periods=0,
        left_out=0,
        agrees=True,
        missing="",
        sentence="",
        points=(),
    )


def _filled(line: Calibration, ask: Callable[[], Implied]) -> Calibration:
    try:
        found = ask()
    except NotEnoughData as error:
        said = f"{line.name}, {line.quantity}: {error}"
        return replace(line, missing=said, sentence=said)
    filled = replace(
        line,
        implied=found.value,
        u_implied=found.u_value,
        low=found.low,
        high=found.high,
        periods=found.periods,
        left_out=found.left_out,
        agrees=found.agrees,
        points=tuple(_point(point) for point in found.points if point.x > 0.0),
    )
    return replace(filled, sentence=_sentence(filled))


def _point(point: Point) -> CalibrationPoint:
    value = point.y / point.x
    u = math.hypot(point.u_y, value * point.u_x) / point.x
    return CalibrationPoint(point.period, point.x, point.u_x, point.y, point.u_y, value, u)


def _sentence(line: Calibration) -> str:
    assert line.implied is not None, "only of an implied value"
    apart = f"{100.0 * (line.implied / line.assumed - 1.0):+.1f}".replace("-", "−")
    assert line.low is not None
    assert line.high is not None
    half = COVER * line.u_assumed
    if not line.agrees:
        says = "more than both uncertainties allow: consider a revision of the set-up"
    elif line.low <= line.assumed <= line.high:
        says = "the records bear out what the set-up assumes"
    else:
        says = f"outside what the records imply, though within what is assumed of it (± {half:.3f})"
    left_out = f", {line.left_out} left out" if line.left_out else ""
    return (
        f"{line.name}, {line.quantity}: {line.implied:.3f} {line.unit} implied ({line.low:.3f} to"
        f" {line.high:.3f}, from {line.periods} periods{left_out}), {line.assumed:.3f} assumed:"
        f" {apart} %, {says}."
    )


# --- payload -------------------------------------------------------------------------------------
def _payloads(frame: Frame, found: Cells) -> list[Calibration]:
    """Mean payload of each kind of lorry of the set-up from its weighed loads."""
    loads: dict[str, dict[int, list[Load]]] = defaultdict(lambda: defaultdict(list))
    for (_, place), flow in found.flows.items():
        for load in flow.loads:
            if load.basis == "weighed":
                loads[load.vehicle][place].append(load)
    return [
        _payload(frame, vehicle, loads[vehicle.vehicle], found.names)
        for vehicle in frame.site.vehicles
        if vehicle.vehicle in loads
    ]


def _payload(
    frame: Frame, vehicle: Vehicle, by_period: Mapping[int, list[Load]], names: Sequence[str]
) -> Calibration:
    every = [load for loads in by_period.values() for load in loads]
    counts = Counter(load.stream for load in every)
    assumed_t = sum(n * _assumed_t(frame, vehicle, s) for s, n in counts.items()) / len(every)
    u_assumed_t = usual.U_FACTOR_WITHOUT_RANGE * assumed_t
    spread_t = (
        float(np.std([load.mass_t for load in every], ddof=1))
        if len(every) > 1
        else usual.U_PAYLOAD_T
    )
    periods = [
        PeriodLoads(names[place], len(loads), _mass(loads))
        for place, loads in sorted(by_period.items())
    ]
    line = _line(PAYLOAD, vehicle.vehicle, vehicle.name, "t", assumed_t, u_assumed_t)
    return _filled(
        line,
        lambda: implied_payload(periods, max(spread_t, usual.U_NET_T), assumed_t, u_assumed_t),
    )


def _assumed_t(frame: Frame, vehicle: Vehicle, stream: str) -> float:
    try:
        return usual_payload_t(frame.site, vehicle.vehicle, stream)
    except UnknownName:  # a stream that the set-up no longer has
        return vehicle.plated_payload_t


def _mass(loads: Sequence[Load]) -> Mass:
    mass_t = sum(load.mass_t for load in loads)
    own_t = usual.U_NET_T * math.sqrt(len(loads))
    return Mass(mass_t, own_t, usual.U_WEIGHBRIDGE_SPAN * mass_t)


# --- rows to copy --------------------------------------------------------------------------------
def _proposals(frame: Frame, lines: Sequence[Calibration]) -> list[Proposal]:
    tables = json.loads(frame.ledger.revision(frame.as_of, known_at=frame.known_at).tables)
    found = []
    for row in tables["streams"]:
        implied = [x for x in lines if x.quantity in _COLUMNS and x.of == row["stream"]]
        known = [line for line in implied if line.implied is not None]
        if known:
            found.append(_stream_row(row, known))
    for row in tables["vehicles"]:
        found += [
            _vehicle_row(frame, row, line)
            for line in lines
            if line.quantity == PAYLOAD
            and line.of == row["vehicle"]
            and line.implied is not None
            and _body_governs(frame, line.of)
        ]
    return found


def _stream_row(row: dict[str, str], known: Sequence[Calibration]) -> Proposal:
    new = dict(row)
    for line in known:
        assert line.implied is not None
        assert line.u_implied is not None
        column = _COLUMNS[line.quantity]
        new[column] = f"{line.implied:.3f}"
        # The range stays: these records may not testify a second time to their own value.
        new[f"{column}_low"] = f"{min(float(row[f'{column}_low']), line.implied):.3f}"
        new[f"{column}_high"] = f"{max(float(row[f'{column}_high']), line.implied):.3f}"
    said = "; ".join(
        f"{line.quantity} implied by reconciliation of {line.periods} periods to"
        f" {period_words(line.points[-1].period)}, assumed before {line.assumed:g}"
        for line in known
    )
    new["factor_source"] = f"{said}; before that: {row.get('factor_source', '')}"
    changed = ", ".join(_COLUMNS[line.quantity] for line in known)
    differs = [line.quantity for line in known if not line.agrees]
    return Proposal("streams.csv", row["stream"], *_text("streams", new), _advice(changed, differs))


def _body_governs(frame: Frame, vehicle: str) -> bool:
    """Whether the body, not the plate, limits a lorry in every stream: else no fill can say so."""
    return all(
        usual_payload_t(frame.site, vehicle, stream.stream)
        < frame.site.vehicle(vehicle).plated_payload_t
        for stream in frame.site.streams
    )


def _vehicle_row(frame: Frame, row: dict[str, str], line: Calibration) -> Proposal:
    assert line.implied is not None
    vehicle = frame.site.vehicle(line.of)
    fill = vehicle.fill * line.implied / line.assumed
    new = dict(row) | {"fill": f"{min(fill, MOST_FILL):.3f}"}
    advice = _advice("fill", [] if line.agrees else [line.quantity])
    if fill > MOST_FILL:
        advice += f" A fill of {fill:.2f} is more than a body holds: check its volume first."
    if line.implied > vehicle.plated_payload_t:
        advice += (
            f" The mean of {line.implied:.2f} t is above the plated payload of"
            f" {vehicle.plated_payload_t:g} t: stop overloading, do not adopt it."
        )
    return Proposal("vehicles.csv", line.of, *_text("vehicles", new), advice)


def _advice(changed: str, differs: Sequence[str]) -> str:
    asked = (
        f"The assumed {' and '.join(differs)} differ{'s' if len(differs) == 1 else ''} by more than"
        " the uncertainties allow."
        if differs
        else "Nothing asks for a change: the assumed values lie within their ranges."
    )
    return (
        f"{asked} This row has new values of {changed}. Only a person adopts it, with a new"
        " revision of the set-up from a date on: returns and loads of earlier days keep their own;"
        " a reconciliation drawn on that date or later assumes it throughout, and so restates."
    )


def _text(table: str, row: Mapping[str, str]) -> tuple[str, str]:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    columns = TABLES[table]
    writer.writerows([columns, [row.get(column, "") or "" for column in columns]])
    heading, line = out.getvalue().rstrip("\n").split("\n", 1)
    return heading, line
