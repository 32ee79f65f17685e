"""What can be wrong between the values of a set-up, once each is read by itself."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from tracker.domain.site_capacity import (
    belt_problems,
    exposure_problems,
    fleet_problems,
    hoist_problems,
    receiving_problems,
    stop_problems,
)
from tracker.domain.site_gate import permission_problems, window_problems
from tracker.domain.site_levels import area_problems, ground_problems, stage_problems
from tracker.domain.site_rows import Rows, given, wrong
from tracker.domain.site_streams import code_problems, factor_problems, vehicle_problems
from tracker.errors import Problem, UnknownName

NATIONS = ("England", "Wales", "Scotland", "Northern Ireland")
# table, columns that name one row
_KEYS = (
    ("excavations", ("excavation",)),
    ("zones", ("zone",)),
    ("areas", ("zone", "level_m")),
    ("stages", ("zone", "stage")),
    ("streams", ("stream",)),
    ("vehicles", ("vehicle",)),
    ("carriers", ("carrier",)),
    ("destinations", ("destination",)),
    ("routes", ("route",)),
    ("legs", ("route", "leg")),
    ("shifts", ("shift",)),
    ("closures", ("day",)),
    ("caps", ("per", "direction")),
    ("gates", ("gate",)),
    ("causes", ("cause",)),
    ("belts", ("belt",)),
    ("hoists", ("hoist",)),
    ("fleets", ("fleet",)),
)
# table, column that refers, table referred to, its column
_REFERENCES = (
    ("zones", "excavation", "excavations"),
    ("areas", "zone", "zones"),
    ("deductions", "zone", "zones"),
    ("stages", "zone", "zones"),
    ("ground", "zone", "zones"),
    ("ground", "stream", "streams"),
    ("routes", "destination", "destinations"),
    ("legs", "route", "routes"),
    ("legs", "vehicle", "vehicles"),
    ("fleets", "vehicle", "vehicles"),
    ("receiving", "destination", "destinations"),
)
# table, the row that each row of the second column must have at least one of
_NEEDED = (
    ("zones", "zone", "stages", "stage"),
    ("zones", "zone", "ground", "band of ground"),
    ("routes", "route", "legs", "leg"),
    ("excavations", "excavation", "zones", "zone"),
)


def problems_of(rows: Rows) -> list[Problem]:
    """Every problem between the values of these tables."""
    found: list[Problem] = []
    for check in (
        _site,
        _repeated,
        _unknown,
        _missing,
        stage_problems,
        ground_problems,
        area_problems,
        factor_problems,
        code_problems,
        vehicle_problems,
        _legs,
        _validity,
        _shifts,
        window_problems,
        permission_problems,
        stop_problems,
        exposure_problems,
        belt_problems,
        hoist_problems,
        fleet_problems,
        receiving_problems,
        _gates,
        _positive,
    ):
        found.extend(check(rows))
    return found


def _site(rows: Rows) -> Iterator[Problem]:
    for extra in rows["site"][1:]:
        yield wrong("site", extra, "name", "The site table has one row. Remove this one.")
    for row in rows["site"][:1]:
        if given(row, "time_zone"):
            try:
                ZoneInfo(row["time_zone"])
            except (ZoneInfoNotFoundError, ValueError, OSError):
                yield wrong(
                    "site",
                    row,
                    "time_zone",
                    f"“{row['time_zone']}” is no time zone. Write its IANA name, such as"
                    " Europe/London.",
                )
        if given(row, "nation") and row["nation"] not in NATIONS:
            yield wrong(
                "site",
                row,
                "nation",
                f"There is no table of landfill tax for {row['nation']}; tax is not shown."
                f" Known: {', '.join(NATIONS)}.",
                "warning",
            )


def _repeated(rows: Rows) -> Iterator[Problem]:
    for table, columns in _KEYS:
        seen: dict[tuple[Any, ...], int] = {}
        for row in rows[table]:
            key = tuple(row.get(column) for column in columns)
            if None in key:
                continue
            if key in seen:
                named = " ".join(str(part) for part in key)
                yield wrong(
                    table,
                    row,
                    columns[-1],
                    f"“{named}” is stated in row {seen[key]} already. Keep one of them.",
                )
            else:
                seen[key] = row["row"]


def _unknown(rows: Rows) -> Iterator[Problem]:
    for table, column, other in _REFERENCES:
        known = {row[column] for row in rows[other] if row[column]}
        for row in rows[table]:
            if row[column] and row[column] not in known:
                yield wrong(table, row, column, str(UnknownName(column, row[column], known)))


def _missing(rows: Rows) -> Iterator[Problem]:
    for table, column, other, what in _NEEDED:
        have = {row[column] for row in rows[other]}
        for row in rows[table]:
            if row[column] and row[column] not in have:
                yield wrong(
                    table, row, column, f"{column} {row[column]} has no {what}. Add it to {other}."
                )


def _legs(rows: Rows) -> Iterator[Problem]:
    for row in rows["legs"]:
        if row["mode"] == "belt" and row["belt"] == "":
            yield wrong("legs", row, "belt", "A belt leg names its belt.")
        if row["mode"] == "lorry" and row["vehicle"] == "":
            yield wrong("legs", row, "vehicle", "A lorry leg names its vehicle.")
        if row["kgco2e_per_tkm"] is not None and row["factor_source"] == "":
            yield wrong("legs", row, "factor_source", "A factor of your own needs its source.")
        if row["mode"] in ("rail", "barge") and row["kgco2e_per_tkm"] is None:
            yield wrong(
                "legs",
                row,
                "kgco2e_per_tkm",
                f"No factor is published here for {row['mode']}; no carbon is stated for this route"
                " until you give one with its source.",
                "warning",
            )
    for route in rows["routes"]:
        own = [r for r in rows["legs"] if r["route"] == route["route"] and given(r, "leg")]
        own.sort(key=lambda row: row["leg"])
        numbers = [row["leg"] for row in own]
        if own and numbers != list(range(1, len(own) + 1)) and len(set(numbers)) == len(own):
            yield wrong(
                "legs",
                own[0],
                "leg",
                f"Legs of {route['route']} must count 1 to {len(own)} from the site without a gap.",
            )
        for before, after in pairwise(own):
            if before["to_place"] != after["from_place"]:
                yield wrong(
                    "legs",
                    after,
                    "from_place",
                    f"The leg before ends at {before['to_place']}; this one starts elsewhere."
                    " Use the same name for the same place.",
                    "warning",
                )


def _validity(rows: Rows) -> Iterator[Problem]:
    for table in ("carriers", "destinations"):
        for row in rows[table]:
            if given(row, "valid_from", "valid_to") and row["valid_to"] < row["valid_from"]:
                yield wrong(
                    table, row, "valid_to", f"It lapses before it begins on {row['valid_from']}."
                )


def _shifts(rows: Rows) -> Iterator[Problem]:
    """Shifts as minutes of the week; one that runs past midnight on Sunday wraps to Monday."""
    spans = []
    for row in rows["shifts"]:
        if not given(row, "starts", "ends", "weekdays"):
            continue
        start = row["starts"].hour * 60 + row["starts"].minute
        length = (row["ends"].hour * 60 + row["ends"].minute - start - 1) % 1440 + 1
        spans += [(row, day * 1440 + start, day * 1440 + start + length) for day in row["weekdays"]]
    told = set()
    for (a, a_start, a_end), (b, b_start, b_end) in combinations(spans, 2):
        pair = (a["row"], b["row"])
        overlap = any(
            a_start < b_end + shift and b_start + shift < a_end for shift in (-10080, 0, 10080)
        )
        if overlap and pair not in told:
            told.add(pair)
            yield wrong(
                "shifts",
                b,
                "starts",
                f"Shift {b['shift']} overlaps shift {a['shift']} (row {a['row']}). A moment belongs"
                " to one shift.",
            )


def _gates(rows: Rows) -> Iterator[Problem]:
    for row in rows["gates"]:
        if not given(row, "gate", "amber", "red"):
            continue
        softer, harder = (
            (row["red"], row["amber"]) if row["gate"] == "covered" else (row["amber"], row["red"])
        )
        if not 0 < softer <= harder:
            yield wrong(
                "gates",
                row,
                "red",
                "Red must be the harder limit, and both more than 0: for"
                " covered the lower number, for all others the higher.",
            )


def _positive(rows: Rows) -> Iterator[Problem]:
    for table, column in (
        ("areas", "area_m2"),
        ("deductions", "volume_m3"),
        ("vehicles", "plated_gross_t"),
        ("vehicles", "plated_payload_t"),
        ("vehicles", "body_m3"),
        ("legs", "distance_km"),
        ("caps", "movements"),
        ("site", "zones_at_once"),
        ("zones", "exposure_limit_h"),
        ("belts", "capacity_t_per_h"),
        ("belts", "running_share"),
        ("belts", "width_m"),
        ("belts", "speed_m_per_s"),
        ("belts", "loose_density_t_per_m3"),
        ("belts", "length_m"),
        ("hoists", "skip_m3"),
        ("hoists", "fill"),
        ("hoists", "lifts_per_h"),
        ("fleets", "lorries"),
        ("fleets", "loaders"),
        ("fleets", "load_min"),
        ("fleets", "away_min"),
        ("receiving", "daily_t"),
    ):
        for row in rows[table]:
            if given(row, column) and row[column] <= 0:
                yield wrong(table, row, column, f"{column} must be more than 0.")
    for table, column in (
        ("vehicles", "min_cycle_min"),
        ("legs", "kwh_per_t"),
        ("legs", "kgco2e_per_tkm"),
        ("gate_permissions", "movements"),
    ):
        for row in rows[table]:
            if given(row, column) and row[column] < 0:
                yield wrong(table, row, column, f"{column} cannot be negative.")
