"""The set-up from its tables of text, and what is wrong with them: all of it at once.

A table is a list of rows, a row is column -> text. Row 1 is the heading, so the first row is 2.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from tracker.domain import site as s
from tracker.domain import site_checks as checks
from tracker.domain import written
from tracker.domain.factors import Factor
from tracker.errors import InputError, Problem

Tables = Mapping[str, Sequence[Mapping[str, str]]]
Row = dict[str, Any]
Reader = Callable[[str], Any]


def _corners(text: str) -> tuple[tuple[float, float], ...]:
    points = []
    for corner in filter(None, (part.strip() for part in text.split(";"))):
        parts = corner.split()
        if len(parts) != 2:
            raise InputError(f"“{corner}” is no corner. Write x y; x y; x y in metres.")
        points.append((written.decimal_number(parts[0]), written.decimal_number(parts[1])))
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    return tuple(points)


def _codes(text: str) -> tuple[str, ...]:
    return tuple(written.waste_code(part.strip()) for part in text.split(";") if part.strip())


def _names(text: str) -> tuple[str, ...]:
    return tuple(written.plain_text(part.strip()) for part in text.split(";") if part.strip())


def _one_of(*allowed: str) -> Reader:
    def read(text: str) -> str:
        if text not in allowed:
            raise InputError(f"“{text}” is not one of: {', '.join(allowed)}.")
        return text

    return read


_TEXT, _NUMBER, _WHOLE = written.plain_text, written.decimal_number, written.whole_number
_DATE, _TIME, _DAYS = written.iso_date, written.clock_time, written.weekday_numbers
_PER, _WAY = _one_of(*s.CAP_PERIODS), _one_of(*s.CAP_DIRECTIONS)

# A column that may stay empty has its name in _OPTIONAL.
_READERS: dict[str, dict[str, Reader]] = {
    "site": {
        "name": _TEXT, "nation": _TEXT, "governing_law": _TEXT, "time_zone": _TEXT,
        "first_date": _DATE, "datum_name": _TEXT, "national_datum": _TEXT,
        "datum_offset_m": _NUMBER, "factor_year": _WHOLE, "public_holidays": written.yes_no,
        "zones_at_once": _WHOLE,
    },
    "excavations": {
        "excavation": _TEXT, "name": _TEXT, "kind": _one_of("box", "shaft"),
        "target_formation": _DATE,
    },
    "zones": {
        "zone": _TEXT, "excavation": _TEXT, "name": _TEXT, "ground_level_m": _NUMBER,
        "opens": _DATE, "outline": _corners, "exposure_limit_h": _NUMBER,
    },
    "areas": {"zone": _TEXT, "level_m": _NUMBER, "area_m2": _NUMBER},
    "deductions": {
        "zone": _TEXT, "upper_level_m": _NUMBER, "lower_level_m": _NUMBER, "volume_m3": _NUMBER,
        "what": _TEXT,
    },
    "stages": {
        "zone": _TEXT, "stage": _WHOLE, "design_level_m": _NUMBER, "support": _TEXT,
        "hold_days": _WHOLE, "planned_start": _DATE, "planned_finish": _DATE,
        "hold_condition": _TEXT,
    },
    "streams": {
        "stream": _TEXT, "name": _TEXT, "loose_per_bank_low": _NUMBER, "loose_per_bank": _NUMBER,
        "loose_per_bank_high": _NUMBER, "bank_density_low": _NUMBER, "bank_density": _NUMBER,
        "bank_density_high": _NUMBER, "compacted_per_bank": _NUMBER, "factor_source": _TEXT,
        "regime": _one_of(*s.REGIMES), "waste_code": written.waste_code, "classified_by": _TEXT,
        "classification_reference": _TEXT,
    },
    "ground": {
        "zone": _TEXT, "upper_level_m": _NUMBER, "lower_level_m": _NUMBER, "stream": _TEXT,
    },
    "vehicles": {
        "vehicle": _TEXT, "name": _TEXT, "carbon_class": _one_of(*s.VEHICLE_CLASSES),
        "plated_gross_t": _NUMBER, "plated_payload_t": _NUMBER, "body_m3": _NUMBER,
        "fill": _NUMBER, "min_cycle_min": _NUMBER,
    },
    "carriers": {
        "carrier": _TEXT, "name": _TEXT, "registration": _TEXT, "valid_from": _DATE,
        "valid_to": _DATE,
    },
    "destinations": {
        "destination": _TEXT, "name": _TEXT, "kind": _one_of(*s.DESTINATION_KINDS),
        "authorisation": _TEXT, "valid_from": _DATE, "valid_to": _DATE, "waste_codes": _codes,
    },
    "routes": {"route": _TEXT, "name": _TEXT, "destination": _TEXT},
    "legs": {
        "route": _TEXT, "leg": _WHOLE, "mode": _one_of(*s.LEG_MODES), "from_place": _TEXT,
        "to_place": _TEXT, "distance_km": _NUMBER, "vehicle": _TEXT, "belt": _TEXT,
        "kwh_per_t": _NUMBER, "kgco2e_per_tkm": _NUMBER, "factor_source": _TEXT,
    },
    "shifts": {"shift": _TEXT, "name": _TEXT, "starts": _TIME, "ends": _TIME, "weekdays": _DAYS},
    "closures": {"day": _DATE, "reason": _TEXT},
    "stops": {
        "kind": _one_of(*s.STOP_KINDS), "about": _TEXT, "first_day": _DATE, "last_day": _DATE,
        "weekdays": _DAYS, "starts": _TIME, "ends": _TIME, "reason": _TEXT, "reference": _TEXT,
    },
    "belts": {
        "belt": _TEXT, "capacity_t_per_h": _NUMBER, "running_share": _NUMBER, "source": _TEXT,
        "width_m": _NUMBER, "trough_deg": _NUMBER, "surcharge_deg": _NUMBER,
        "speed_m_per_s": _NUMBER, "loose_density_t_per_m3": _NUMBER, "length_m": _NUMBER,
        "lift_m": _NUMBER,
    },
    "hoists": {
        "hoist": _TEXT, "zones": _names, "skip_m3": _NUMBER, "fill": _NUMBER,
        "lifts_per_h": _NUMBER, "source": _TEXT,
    },
    "fleets": {
        "fleet": _TEXT, "vehicle": _TEXT, "routes": _names, "lorries": _WHOLE, "loaders": _WHOLE,
        "load_min": _NUMBER, "away_min": _NUMBER, "source": _TEXT,
    },
    "receiving": {
        "destination": _TEXT, "weekdays": _DAYS, "opens": _TIME, "closes": _TIME,
        "daily_t": _NUMBER, "reference": _TEXT,
    },
    "caps": {"per": _PER, "movements": _WHOLE, "reference": _TEXT, "direction": _WAY},
    "windows": {"weekdays": _DAYS, "opens": _TIME, "closes": _TIME},
    "gate_permissions": {
        "reference": _TEXT, "valid_from": _DATE, "valid_to": _DATE, "weekdays": _DAYS,
        "opens": _TIME, "closes": _TIME, "per": _PER, "direction": _WAY, "movements": _WHOLE,
    },
    "gates": {"gate": _one_of(*s.SURVEY_GATES), "amber": _NUMBER, "red": _NUMBER},
    "causes": {"cause": _TEXT, "name": _TEXT, "owner": _TEXT},
}  # fmt: skip
_OPTIONAL = {
    "site": {"factor_year", "public_holidays", "zones_at_once"},
    "excavations": {"target_formation"},
    "zones": {"exposure_limit_h"},
    "stages": {"hold_condition"},
    "streams": {
        "compacted_per_bank", "regime", "waste_code", "classified_by", "classification_reference",
    },
    "carriers": {"valid_from", "valid_to"},
    "destinations": {"authorisation", "valid_from", "valid_to", "waste_codes"},
    "legs": {"vehicle", "belt", "kwh_per_t", "kgco2e_per_tkm", "factor_source"},
    "stops": {"about", "weekdays", "starts", "ends", "reference"},
    "belts": {
        "capacity_t_per_h", "width_m", "trough_deg", "surcharge_deg", "speed_m_per_s",
        "loose_density_t_per_m3", "length_m", "lift_m",
    },
    "fleets": {"routes"},
    "receiving": {"daily_t", "reference"},
    "caps": {"direction"},
    "gate_permissions": {"weekdays", "opens", "closes", "per", "direction", "movements"},
}  # fmt: skip
_EMPTY = {
    _TEXT: "",
    _codes: (),
    _names: (),
    written.yes_no: False,
    written.waste_code: "",
    _DAYS: (),
    _PER: "",
    _WAY: s.BOTH_WAYS,
}  # what an empty optional column becomes; else None
_MAY_BE_ABSENT = (
    "areas", "deductions", "closures", "stops", "belts", "hoists", "fleets", "receiving", "caps",
    "windows", "gate_permissions", "gates",
)  # fmt: skip
# Tables whose rows are the site's own, one dataclass a row.
_AS_THEY_ARE: dict[str, Callable[..., Any]] = {
    "excavations": s.Excavation,
    "vehicles": s.Vehicle,
    "carriers": s.Carrier,
    "destinations": s.Destination,
    "shifts": s.Shift,
    "caps": s.MovementCap,
    "causes": s.DelayCause,
    "gate_permissions": s.GatePermission,
    "gates": s.SurveyGate,
    "stops": s.Stop,
    "belts": s.Belt,
    "hoists": s.Hoist,
    "fleets": s.Fleet,
    "receiving": s.Receiving,
}
TABLES: dict[str, tuple[str, ...]] = {table: tuple(readers) for table, readers in _READERS.items()}


def site_from_tables(tables: Tables) -> tuple[s.Site | None, list[Problem]]:
    """The set-up stated by these tables, and every problem found; None if one is an error.

    Problems name the table as their file. Warnings do not stop the set-up.
    """
    rows, problems = _parsed(tables)
    problems += checks.problems_of(rows)
    if any(p.severity == "error" for p in problems):
        return None, problems
    return _site(rows), problems


def parsed_tables(tables: Tables) -> dict[str, list[Row]]:
    """Every table with its values read; a value that could not be read is None.

    Each row carries its number in the file under `row`.
    """
    return _parsed(tables)[0]


def _parsed(tables: Tables) -> tuple[dict[str, list[Row]], list[Problem]]:
    problems = [
        Problem("set-up", 0, "", "", f"There is no table “{table}”, or it has no rows. Add it.")
        for table in _READERS
        if table not in _MAY_BE_ABSENT and not tables.get(table)
    ]
    rows: dict[str, list[Row]] = {}
    for table in _READERS:
        rows[table] = []
        for number, given in enumerate(tables.get(table, ()), start=2):
            row, wrong = _parsed_row(table, number, given)
            rows[table].append(row)
            problems += wrong
    return rows, problems


def _parsed_row(table: str, number: int, given: Mapping[str, str]) -> tuple[Row, list[Problem]]:
    row: Row = {"row": number}
    problems = []
    for column, reader in _READERS[table].items():
        text = (given.get(column) or "").strip()
        row[column] = _EMPTY.get(reader)
        if not text:
            if column not in _OPTIONAL.get(table, ()):
                problems.append(Problem(table, number, column, "", "This must be filled."))
            continue
        try:
            row[column] = reader(text)
        except InputError as error:
            row[column] = None
            problems.append(Problem(table, number, column, text, str(error)))
    return row, problems


def _site(rows: Mapping[str, list[Row]]) -> s.Site:
    head = rows["site"][0]
    zone_order = [row["zone"] for row in rows["zones"]]
    return s.Site(
        name=head["name"],
        nation=head["nation"],
        governing_law=head["governing_law"],
        time_zone=head["time_zone"],
        first_date=head["first_date"],
        datum=s.Datum(head["datum_name"], head["national_datum"], head["datum_offset_m"]),
        zones=tuple(_zone(row, rows) for row in rows["zones"]),
        stages=_plain(
            s.Stage, sorted(rows["stages"], key=lambda r: (zone_order.index(r["zone"]), r["stage"]))
        ),
        streams=tuple(_stream(row) for row in rows["streams"]),
        ground=_plain(
            s.GroundBand,
            sorted(
                rows["ground"], key=lambda r: (zone_order.index(r["zone"]), -r["upper_level_m"])
            ),
        ),
        routes=tuple(_route(row, rows["legs"]) for row in rows["routes"]),
        closures=_plain(s.Closure, sorted(rows["closures"], key=lambda r: r["day"])),
        windows=tuple(
            s.GateWindow(day, row["opens"], row["closes"])
            for row in rows["windows"]
            for day in row["weekdays"]
        ),
        factor_year=head["factor_year"],
        public_holidays=head["public_holidays"],
        zones_at_once=head["zones_at_once"],
        **{table: _plain(cls, rows[table]) for table, cls in _AS_THEY_ARE.items()},
    )


def _plain(cls: Callable[..., Any], rows: Sequence[Row]) -> tuple[Any, ...]:
    return tuple(cls(**{k: v for k, v in row.items() if k != "row"}) for row in rows)


def _zone(row: Row, rows: Mapping[str, list[Row]]) -> s.Zone:
    areas = sorted(
        ((r["level_m"], r["area_m2"]) for r in rows["areas"] if r["zone"] == row["zone"]),
        reverse=True,
    )
    deductions = tuple(
        s.Deduction(r["upper_level_m"], r["lower_level_m"], r["volume_m3"], r["what"])
        for r in rows["deductions"]
        if r["zone"] == row["zone"]
    )
    fields = {k: v for k, v in row.items() if k != "row"}
    return s.Zone(**fields, areas=tuple(areas), deductions=deductions)


def _stream(row: Row) -> s.Stream:
    source = row["factor_source"]
    compacted = row["compacted_per_bank"]

    def factor(name: str, unit: str) -> Factor:
        return Factor(row[name], unit, row[f"{name}_low"], row[f"{name}_high"], source)

    return s.Stream(
        stream=row["stream"],
        name=row["name"],
        loose_per_bank=factor("loose_per_bank", "m³ loose/m³ bank"),
        bank_density_t_per_m3=factor("bank_density", "t/m³"),
        compacted_per_bank=None
        if compacted is None
        else Factor(compacted, "m³ compacted/m³ bank", source_key=source),
        regime=row["regime"] or "",
        waste_code=row["waste_code"],
        classified_by=row["classified_by"],
        classification_reference=row["classification_reference"],
    )


def _route(row: Row, legs: Sequence[Row]) -> s.Route:
    own = sorted((r for r in legs if r["route"] == row["route"]), key=lambda r: r["leg"])
    return s.Route(row["route"], row["name"], row["destination"], _plain(s.Leg, own))
