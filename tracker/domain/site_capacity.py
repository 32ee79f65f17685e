"""What can be wrong with the capacities of a set-up: stops, belts, hoists, fleets, receivers."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from tracker.domain.conveyor import belt_capacity, belt_section
from tracker.domain.site_rows import Row, Rows, given, wrong
from tracker.errors import InputError, Problem, UnknownName

_SECTION = ("width_m", "trough_deg", "surcharge_deg", "speed_m_per_s", "loose_density_t_per_m3")
# Beyond these a figure is hard to believe: common practice, no source.
LONGEST_EXPOSURE_H = 336.0  # of formation in clay: two weeks
FASTEST_BELT_RATIO = 1.5  # stated capacity over that of the belt's own geometry
_NAMED_BY = {
    "zone": ("zones", "zone"),
    "belt": ("legs", "belt"),
    "hoist": ("hoists", "hoist"),
    "destination": ("destinations", "destination"),
}


def _known(rows: Rows, kind: str) -> set[str]:
    table, column = _NAMED_BY[kind]
    return {row[column] for row in rows[table] if row[column]}


def stop_problems(rows: Rows) -> Iterator[Problem]:
    """Stops of something unknown, or that never hold."""
    for row in rows["stops"]:
        kind, about = row["kind"], row["about"]
        if kind in _NAMED_BY and about not in _known(rows, kind):
            said = str(UnknownName(kind, about, _known(rows, kind)))
            yield wrong("stops", row, "about", said if about else f"Name the {kind} that stops.")
        elif kind in ("site", "gate") and about:
            said = f"A stop of the {kind} names nothing else. Leave this empty."
            yield wrong("stops", row, "about", said)
        if given(row, "first_day", "last_day") and row["last_day"] < row["first_day"]:
            said = f"It ends before it begins on {row['first_day']}. Swap the dates."
            yield wrong("stops", row, "last_day", said)
        if (row["starts"] is None) != (row["ends"] is None):
            said = "Give both times, or none for the whole day."
            yield wrong("stops", row, "starts" if row["ends"] else "ends", said)
        if given(row, "first_day", "last_day") and row["weekdays"] and not _ever_holds(row):
            said = f"None of these weekdays lies from {row['first_day']} to {row['last_day']}."
            yield wrong("stops", row, "weekdays", said, "warning")


def _ever_holds(row: Row) -> bool:
    first, last = row["first_day"], row["last_day"]
    span = range(min((last - first).days + 1, 7))
    return bool({(first.weekday() + n) % 7 for n in span} & set(row["weekdays"]))


def exposure_problems(rows: Rows) -> Iterator[Problem]:
    """Limits of exposure that no formation would stand."""
    for row in rows["zones"]:
        if given(row, "exposure_limit_h") and row["exposure_limit_h"] > LONGEST_EXPOSURE_H:
            said = (
                f"{row['exposure_limit_h']:g} h is {row['exposure_limit_h'] / 24:.0f} days. Give"
                " hours, such as 48, as the designer states them."
            )
            yield wrong("zones", row, "exposure_limit_h", said, "warning")


def belt_problems(rows: Rows) -> Iterator[Problem]:
    """Belts without a leg, or without anything to reckon a capacity from."""
    legs = _known(rows, "belt")
    for row in rows["belts"]:
        if row["belt"] and row["belt"] not in legs:
            yield wrong("belts", row, "belt", str(UnknownName("belt", row["belt"], legs)))
        missing = [column for column in _SECTION if row[column] is None]
        if row["capacity_t_per_h"] is None and missing:
            said = (
                "Give its capacity, or the geometry to reckon one from; of that there is no"
                f" {', '.join(missing)}."
            )
            yield wrong("belts", row, "capacity_t_per_h", said)
        if given(row, "running_share") and row["running_share"] > 1.0:
            said = "A belt runs at most the whole shift. Give a share from 0 to 1, such as 0.6."
            yield wrong("belts", row, "running_share", said)
        wrong_angles = [
            wrong("belts", row, column, f"Give degrees from 0 to {most:g}.")
            for column, most in (("trough_deg", 60.0), ("surcharge_deg", 45.0))
            if given(row, column) and not 0.0 <= row[column] <= most
        ]
        yield from wrong_angles
        if not missing and given(row, "capacity_t_per_h") and not wrong_angles:
            yield from _beyond_geometry(row)


def _beyond_geometry(row: Row) -> Iterator[Problem]:
    """A stated capacity that the belt's own section could never carry."""
    if min(row["width_m"], row["speed_m_per_s"], row["loose_density_t_per_m3"]) <= 0.0:
        return
    try:
        section = belt_section(row["width_m"], row["trough_deg"], row["surcharge_deg"])
        full = belt_capacity(section, row["speed_m_per_s"], row["loose_density_t_per_m3"])
    except InputError as error:
        yield wrong("belts", row, "width_m", str(error), "warning")
        return
    if row["capacity_t_per_h"] > FASTEST_BELT_RATIO * full.capacity_t_per_h:
        said = (
            f"{row['capacity_t_per_h']:g} t/h is more than a belt of this section and speed"
            f" carries when full, about {full.capacity_t_per_h:,.0f} t/h. Check both."
        )
        yield wrong("belts", row, "capacity_t_per_h", said, "warning")


def hoist_problems(rows: Rows) -> Iterator[Problem]:
    """Hoists of unknown zones, or with more in the skip than it can hold."""
    zones = _known(rows, "zone")
    for row in rows["hoists"]:
        yield from _unknown_names("hoists", row, "zones", zones)
        if given(row, "fill") and row["fill"] > 1.2:
            yield wrong("hoists", row, "fill", "Fill is a share of the skip: 0 to 1.2.")


def fleet_problems(rows: Rows) -> Iterator[Problem]:
    """Fleets on unknown routes, on routes that begin by belt, or quicker than a lorry can be."""
    routes = {row["route"] for row in rows["routes"]}
    first = {row["route"]: row["mode"] for row in rows["legs"] if row["leg"] == 1}
    quickest = {row["vehicle"]: row["min_cycle_min"] for row in rows["vehicles"]}
    for row in rows["fleets"]:
        yield from _unknown_names("fleets", row, "routes", routes)
        for route in row["routes"] or ():
            if first.get(route, "lorry") != "lorry":
                said = f"{route} leaves the site by {first[route]}, not by lorry."
                yield wrong("fleets", row, "routes", said)
        if given(row, "lorries", "loaders") and row["loaders"] > row["lorries"] > 0:
            said = f"{row['loaders']} loaders for {row['lorries']} lorries. Swap them?"
            yield wrong("fleets", row, "loaders", said, "warning")
        round_min, least_min = (row["load_min"] or 0.0) + (row["away_min"] or 0.0), 0.0
        if given(row, "load_min", "away_min"):
            least_min = quickest.get(row["vehicle"]) or 0.0
        if round_min < least_min:
            said = (
                f"A round of {round_min:g} min is less than the shortest believable one of"
                f" {row['vehicle']}, {least_min:g} min. Give minutes."
            )
            yield wrong("fleets", row, "away_min", said)


def receiving_problems(rows: Rows) -> Iterator[Problem]:
    """Receivers that close before they open."""
    for row in rows["receiving"]:
        if given(row, "opens", "closes") and row["closes"] <= row["opens"]:
            said = f"It closes before {row['opens']:%H:%M}. Write a row for each of two days."
            yield wrong("receiving", row, "closes", said)
    for one, other in combinations(rows["receiving"], 2):
        if one["destination"] == other["destination"] and _same_hours(one, other):
            said = (
                f"Row {one['row']} has hours of {other['destination']} that overlap these. Hours"
                " of both count, and of the daily tonnes the larger. Keep one row."
            )
            yield wrong("receiving", other, "weekdays", said, "warning")


def _same_hours(one: Row, other: Row) -> bool:
    if not (given(one, "opens", "closes") and given(other, "opens", "closes")):
        return False
    shared = set(one["weekdays"] or ()) & set(other["weekdays"] or ())
    return bool(shared) and one["opens"] < other["closes"] and other["opens"] < one["closes"]


def _unknown_names(table: str, row: Row, column: str, known: set[str]) -> Iterator[Problem]:
    for name in row[column] or ():
        if name not in known:
            yield wrong(table, row, column, str(UnknownName(column, name, known)))
