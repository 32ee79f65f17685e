"""The columns of every kind of file and form: one list for templates, readers, forms and exports.

A kind has one name for people (`returns`) and one in the ledger (`dig_returns`).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, the line of help under it, whether it must be filled."""

    name: str
    help: str
    required: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of record as people meet it."""

    name: str
    ledger_kind: str
    title: str
    columns: tuple[Column, ...]

    @property
    def required(self) -> tuple[str, ...]:
        """Names of the columns that must be filled in every row."""
        return tuple(c.name for c in self.columns if c.required)


_ID = Column("entry_id", "leave empty, or an id of your own: the same id sent twice is stored once")
_NOTE = Column("note", "anything worth keeping")


def _kind(name: str, ledger_kind: str, title: str, *columns: Column) -> Kind:
    return Kind(name, ledger_kind, title, (*columns, _NOTE, _ID))


RETURNS = _kind(
    "returns",
    "dig_returns",
    "Dig returns",
    Column("work_date", "date on which the shift starts, YYYY-MM-DD", True),
    Column("shift", "a shift of the set-up, such as day or night", True),
    Column("zone", "a zone of the set-up", True),
    Column("stage", "number of the dig stage", True),
    Column("stream", "material stream; needed unless nil"),
    Column("basis", "measured, counted, weighed or estimated; needed unless nil"),
    Column("bank_m3", "bank volume, if measured or estimated [m³]"),
    Column("count", "number of skips, buckets or lorries, if counted"),
    Column("capacity_m3", "loose volume of one of them as filled, if counted [m³]"),
    Column("mass_t", "moist tonnes, if weighed [t]"),
    Column("from_level_m", "general level at the start of the shift [m above site datum]"),
    Column("to_level_m", "general level at the end of the shift [m above site datum]"),
    Column("lowest_level_m", "deepest point anywhere in the zone [m above site datum]"),
    Column("nil_reason", "why nothing was dug; fill only on a nil shift"),
    Column("delays", "cause:minutes, several separated by ; such as belt_down:90; rain:30"),
)
BELT = _kind(
    "belt",
    "belt_readings",
    "Belt readings",
    Column("read_at", "date and time of the reading, local or with offset", True),
    Column("work_date", "date on which the shift started, YYYY-MM-DD", True),
    Column("shift", "a shift of the set-up", True),
    Column("belt", "a belt named in a leg of the set-up", True),
    Column("route", "the route the belt fed; needed if several use the belt"),
    Column("stream", "material stream carried since the reading before", True),
    Column("totaliser_t", "cumulative totaliser [t]", True),
    Column("event", "reading, reset (set to this value) or swap (another weigher)"),
    Column("energy_kwh", "metered energy since the reading before [kWh]"),
    Column("running_min", "minutes the belt ran since the reading before [min]"),
)
LOADS = _kind(
    "loads",
    "lorry_loads",
    "Lorry loads",
    Column("ticket_issuer", "who issued the ticket: weighbridge, gate or device", True),
    Column("ticket_number", "number on the ticket, as printed", True),
    Column("gate_in_at", "date and time in through the gate, local or with offset"),
    Column("gate_out_at", "date and time out through the gate, local or with offset", True),
    Column("carrier", "a carrier of the set-up", True),
    Column("vehicle", "a kind of vehicle of the set-up", True),
    Column("registration", "registration plate"),
    Column("stream", "material stream carried", True),
    Column("zone", "zone it came from, if known"),
    Column("route", "route of the set-up", True),
    Column("destination", "destination; empty means that of the route"),
    Column("gross_t", "gross weight [t]"),
    Column("tare_t", "tare weight [t]"),
    Column("net_t", "net weight; gross minus tare if both are given [t]"),
    Column("weight_basis", "weighed, estimated or none"),
    Column("outcome", "accepted or rejected by the receiver"),
    Column("reconsigned_from", "ticket number of the rejected load this one carries on"),
    Column("transfer_note", "number of the transfer or consignment note"),
    Column("override_reason", "reason and name, where a rule was overridden knowingly"),
)
STOCK = _kind(
    "stock",
    "stock_counts",
    "Stock counts",
    Column("counted_at", "date and time of the count, local or with offset", True),
    Column("location", "where the heap lies", True),
    Column("stream", "material stream", True),
    Column("loose_m3", "loose volume of the heap [m³]", True),
    Column("method", "cone, windrow, survey or estimate", True),
    Column("surcharge_limit_m3", "limit set by the temporary works coordinator [m³ loose]"),
)
HOLDS = _kind(
    "holds",
    "hold_releases",
    "Hold points",
    Column("decided_at", "date and time of the decision, local or with offset", True),
    Column("zone", "a zone of the set-up", True),
    Column("hold", "number of the stage that may now be dug, or formation", True),
    Column("status", "released, suspended or not released", True),
    Column("permit", "number of the permit or inspection record", True),
    Column("decided_by", "role of who decided, such as temporary works coordinator", True),
    Column("accepted_m2", "area accepted, for formation [m²]"),
)
SURVEYS = _kind(
    "surveys",
    "survey_levels",
    "Survey levels by zone",
    Column("survey", "name or number of the survey", True),
    Column("surveyed_at", "date and time of the survey, local or with offset", True),
    Column("zone", "a zone of the set-up", True),
    Column("lowest_level_m", "deepest surveyed point [m above site datum]", True),
    Column("dug_bank_m3", "bank volume dug to date, if computed [m³]"),
    Column("method", "scan, total station, drone or tape"),
)
RECEIPTS = _kind(
    "receipts",
    "receipts",
    "Receipts from receivers",
    Column("receipt_number", "number of the receipt", True),
    Column("receipt_date", "date of the receipt, YYYY-MM-DD", True),
    Column("destination", "destination of the set-up", True),
    Column("ticket_issuer", "issuer of the ticket it answers", True),
    Column("ticket_number", "number of the ticket it answers", True),
    Column("waste_code", "List of Waste code as text, with its asterisk"),
    Column("accepted_t", "mass accepted [t]", True),
    Column("outcome", "accepted or rejected"),
)
BASELINE = _kind(
    "baseline",
    "baselines",
    "Baseline for avoided movements",
    Column("baseline", "name of the baseline", True),
    Column("frozen_on", "date it was frozen, YYYY-MM-DD", True),
    Column("vehicle", "a vehicle of the set-up", True),
    Column("payload_low_t", "least payload believed [t]", True),
    Column("payload_t", "payload assumed [t]", True),
    Column("payload_high_t", "greatest payload believed [t]", True),
    Column("distance_km", "one way by road [km]", True),
    Column("destination", "a destination of the set-up", True),
    Column("empty_return", "yes if lorries come back empty, else no", True),
    Column("reference", "document that fixes the baseline", True),
)
CLOSURES = _kind(
    "closures",
    "closed_exceptions",
    "Closed exceptions",
    Column("rule", "the rule that was broken, as shown in the list of exceptions", True),
    Column("about", "id of the entry that raised it", True),
    Column("reason", "why it is closed and what was done", True),
    Column("closed_by", "role of who closed it", True),
)

KINDS: dict[str, Kind] = {
    k.name: k for k in (RETURNS, BELT, LOADS, STOCK, HOLDS, SURVEYS, RECEIPTS, BASELINE, CLOSURES)
}

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
    ),
    "windows": (
        Column("weekdays", "such as Mon Tue Wed Thu Fri", True),
        Column("opens", "local time, HH:MM", True),
        Column("closes", "local time, HH:MM", True),
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
OPTIONAL_TABLES = ("areas", "deductions", "closures", "caps", "windows", "gates")
