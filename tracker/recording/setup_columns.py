"""The columns of the tables that a set-up is read from."""

from __future__ import annotations

from tracker.recording.columns import Column

# The set-up: one sheet or CSV a table.
SETUP: dict[str, tuple[Column, ...]] = {
    "site": (
        Column("name", "name of the site", True),
        Column("nation", "England, Wales, Scotland or Northern Ireland", True),
        Column("governing_law", "waste law that governs, as text", True),
        Column("time_zone", "IANA name such as Europe/London", True),
        Column("first_date", "no record is dated before this", True),
        Column("datum_name", "name of the site datum", True),
        Column("national_datum", "name of the national datum", True),
        Column("datum_offset_m", "national level minus site level [m]", True),
        Column("factor_year", "edition of the carbon factors; empty means the year of activity"),
    ),
    "excavations": (
        Column("excavation", "short name", True),
        Column("name", "name in words", True),
        Column("kind", "box or shaft", True),
        Column("target_formation", "date by which formation is wanted"),
    ),
    "zones": (
        Column("zone", "short name", True),
        Column("excavation", "excavation it belongs to", True),
        Column("name", "name in words", True),
        Column("ground_level_m", "level before digging [m above site datum]", True),
        Column("opens", "first date on which returns are expected", True),
        Column("outline", "corner points x y in the site grid, separated by ; [m]", True),
    ),
    "areas": (
        Column("zone", "zone whose plan area changes with depth", True),
        Column("level_m", "level [m above site datum]", True),
        Column("area_m2", "plan area at that level [m²]", True),
    ),
    "deductions": (
        Column("zone", "zone", True),
        Column("upper_level_m", "top [m above site datum]", True),
        Column("lower_level_m", "bottom [m above site datum]", True),
        Column("volume_m3", "volume that is no ground [m³]", True),
        Column("what", "what it is", True),
    ),
    "stages": (
        Column("zone", "zone", True),
        Column("stage", "number from the top, 1, 2, 3 …", True),
        Column("design_level_m", "design dig level [m above site datum]", True),
        Column("support", "support that follows at this level", True),
        Column("hold_days", "days from reaching the level to releasing what is below", True),
        Column("planned_start", "planned first dig date", True),
        Column("planned_finish", "planned last dig date", True),
    ),
    "streams": (
        Column("stream", "short name", True),
        Column("name", "name in words", True),
        Column("loose_per_bank_low", "lowest believed loose / bank", True),
        Column("loose_per_bank", "loose / bank, 1 or more", True),
        Column("loose_per_bank_high", "highest believed loose / bank", True),
        Column("bank_density_low", "lowest believed moist bank density [t/m³]", True),
        Column("bank_density", "moist bank density [t/m³]", True),
        Column("bank_density_high", "highest believed moist bank density [t/m³]", True),
        Column("compacted_per_bank", "compacted / bank, if wanted"),
        Column("factor_source", "where the factors come from", True),
        Column("regime", "natural re-use on site, declared re-use elsewhere, … waste"),
        Column("waste_code", "List of Waste code as text, with its asterisk"),
        Column("classified_by", "who classified it"),
        Column("classification_reference", "report that classifies it"),
    ),
    "ground": (
        Column("zone", "zone", True),
        Column("upper_level_m", "top of the band [m above site datum]", True),
        Column("lower_level_m", "bottom of the band [m above site datum]", True),
        Column("stream", "stream that lies there", True),
    ),
    "vehicles": (
        Column("vehicle", "short name", True),
        Column("name", "name in words", True),
        Column("carbon_class", "rigid_over_17t, artic_over_33t or all_hgv", True),
        Column("plated_gross_t", "plated gross weight [t]", True),
        Column("plated_payload_t", "plated payload [t]", True),
        Column("body_m3", "body volume [m³]", True),
        Column("fill", "usual fill of the body, 0 to 1.2", True),
        Column("min_cycle_min", "shortest believable time between two departures [min]", True),
    ),
    "carriers": (
        Column("carrier", "short name", True),
        Column("name", "name in words", True),
        Column("registration", "waste carrier registration", True),
        Column("valid_from", "first valid date"),
        Column("valid_to", "last valid date"),
    ),
    "destinations": (
        Column("destination", "short name", True),
        Column("name", "name in words", True),
        Column("kind", "landfill, recovery, re-use or transfer", True),
        Column("authorisation", "permit or exemption number"),
        Column("valid_from", "first valid date"),
        Column("valid_to", "last valid date"),
        Column("waste_codes", "codes it may take, separated by ;"),
    ),
    "routes": (
        Column("route", "short name", True),
        Column("name", "name in words", True),
        Column("destination", "where it ends", True),
    ),
    "legs": (
        Column("route", "route", True),
        Column("leg", "number from the site, 1, 2, 3 …", True),
        Column("mode", "belt, lorry, rail or barge", True),
        Column("from_place", "where the leg starts", True),
        Column("to_place", "where the leg ends", True),
        Column("distance_km", "shortest feasible distance [km]", True),
        Column("vehicle", "vehicle, for a lorry leg"),
        Column("belt", "name of the belt, for a belt leg"),
        Column("kwh_per_t", "energy of a belt on days without a meter reading [kWh/t]"),
        Column("kgco2e_per_tkm", "factor of your own, for rail or barge [kg CO2e/t.km]"),
        Column("factor_source", "source of that factor"),
    ),
    "shifts": (
        Column("shift", "short name", True),
        Column("name", "name in words", True),
        Column("starts", "local time, HH:MM", True),
        Column("ends", "local time, HH:MM", True),
        Column("weekdays", "such as Mon Tue Wed Thu Fri", True),
    ),
    "closures": (
        Column("day", "date without shifts", True),
        Column("reason", "holiday or shutdown", True),
    ),
    "caps": (
        Column("per", "day or hour", True),
        Column("movements", "most movements allowed", True),
        Column("reference", "the condition that sets it", True),
        Column("direction", "both, in or out; empty: both"),
    ),
    "windows": (
        Column("weekdays", "such as Mon Tue Wed Thu Fri", True),
        Column("opens", "local time, HH:MM", True),
        Column("closes", "local time, HH:MM", True),
    ),
    "gate_permissions": (
        Column("reference", "the letter or notice that permits it", True),
        Column("valid_from", "first date", True),
        Column("valid_to", "last date", True),
        Column("weekdays", "such as Sat Sun; empty: every day"),
        Column("opens", "lorries may also pass from, local time, HH:MM"),
        Column("closes", "lorries may also pass until, local time, HH:MM"),
        Column("per", "instead: the cap that it changes, day or hour"),
        Column("direction", "of that cap: both, in or out; empty: both"),
        Column("movements", "most movements allowed under that cap on these days"),
    ),
    "causes": (
        Column("cause", "short code, such as belt_down", True),
        Column("name", "name in words", True),
        Column("owner", "who can remove it", True),
    ),
    "gates": (
        Column(
            "gate", "covered, wall, long_edge, second_method, uncertainty, control or returns", True
        ),
        Column("amber", "from here on somebody should look [%; control in m]", True),
        Column("red", "from here on a survey is to be mended or explained", True),
    ),
}
OPTIONAL_TABLES = (
    "areas", "deductions", "closures", "caps", "windows", "gate_permissions", "gates",
)  # fmt: skip
