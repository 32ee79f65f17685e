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
    Column("rollover_t", "its highest value, if the totaliser began at 0 again since then [t]"),
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
    Column("loose_m3", "loose volume of the heap; left empty, it comes from its dimensions [m³]"),
    Column("method", "cone, windrow, survey or estimate", True),
    Column("surcharge_limit_m3", "limit set by the temporary works coordinator [m³ loose]"),
    Column("height_m", "height of a cone or windrow [m]"),
    Column("width_m", "diameter of the foot of a cone, width of a windrow [m]"),
    Column("length_m", "length of a windrow from toe to toe [m]"),
)
BELT_CHECKS = _kind(
    "belt_checks",
    "belt_checks",
    "Checks of the belt weigher",
    Column("checked_at", "date and time of the check, local or with offset", True),
    Column("belt", "a belt named in a leg of the set-up", True),
    Column("method", "zero (the empty belt) or material (ground weighed elsewhere)", True),
    Column("shown_t", "what the weigher counted; below 0 with a minus sign [t]", True),
    Column("reference_t", "what it should have counted, of a material check [t]"),
    Column("running_min", "minutes the belt ran for the check [min]"),
    Column("allowed_t", "how far apart the two may be, as agreed [t]"),
)
REUSE = _kind(
    "reuse",
    "site_reuse",
    "Ground placed again on site",
    Column("placed_at", "date and time by which it was placed, local or with offset", True),
    Column("stream", "material stream", True),
    Column("location", "where it was placed, such as haul ramp", True),
    Column("basis", "bank, compacted (volume in place) or weighed", True),
    Column("bank_m3", "bank volume [m³]"),
    Column("compacted_m3", "volume in place, compacted [m³]"),
    Column("mass_t", "moist tonnes [t]"),
)
NOTES = _kind(
    "notes",
    "transfer_notes",
    "Transfer and consignment notes",
    Column("note_number", "number of the note", True),
    Column("form", "transfer (one load), season (many loads) or consignment (hazardous)", True),
    Column("made_out_at", "date and time it was made out, local or with offset", True),
    Column("valid_from", "first date of a load under it; empty means the date it was made out"),
    Column("valid_to", "last date of a load under it; empty means the first"),
    Column("stream", "material stream", True),
    Column("waste_code", "List of Waste code as text, with its asterisk", True),
    Column("description", "the ground in words", True),
    Column("quantity_t", "quantity on the note; needed on a consignment note [t]"),
    Column("quantity_basis", "weighed or estimated"),
    Column("container", "loose, or the kind of container", True),
    Column("place", "where it is handed over", True),
    Column("transferor", "who hands it over", True),
    Column("transferor_status", "such as producer", True),
    Column("carrier", "a carrier of the set-up", True),
    Column("destination", "a destination of the set-up", True),
    Column("industry_code", "industry code of the producer (SIC)", True),
    Column("hierarchy_confirmed", "yes if the waste hierarchy was applied and confirmed", True),
    Column("signed_out_by", "who signed for the transferor", True),
    Column("signed_in_by", "who signed for the transferee", True),
)
DECLARATIONS = _kind(
    "declarations",
    "reuse_declarations",
    "Re-use declarations",
    Column("declaration", "number of the declaration", True),
    Column("received_on", "date on which its receipt was confirmed, YYYY-MM-DD", True),
    Column("stream", "material stream", True),
    Column("destination", "destination of the set-up", True),
    Column("declared_m3", "quantity declared as bank volume [m³]"),
    Column("declared_t", "or quantity declared as moist tonnes [t]"),
)
TRAFFIC = _kind(
    "traffic",
    "gate_traffic",
    "Other traffic through the gate",
    Column("passed_at", "date and hour in which they passed, local or with offset", True),
    Column("purpose", "such as concrete, steel or plant", True),
    Column("vehicles", "number of vehicles", True),
    Column("direction", "in, out, or both (in and out again within the hour)", True),
    Column("reference", "delivery or pour, if several of one kind fall in one hour"),
)
BOOKINGS = _kind(
    "bookings",
    "gate_bookings",
    "Bookings of the gate",
    Column("booking", "name or number of the booking", True),
    Column("gate_date", "date of the movements, YYYY-MM-DD; may be to come", True),
    Column("from_hour", "local hour in which it begins, 0 to 23", True),
    Column("to_hour", "local hour at whose start it is over, 1 to 24", True),
    Column("purpose", "such as concrete, steel or plant", True),
    Column("movements_in", "movements in that are booked", True),
    Column("movements_out", "movements out that are booked", True),
    Column("booked_by", "role of who booked it", True),
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
    Column(
        "accepted_m2", "area accepted in all, with what was accepted before, for formation [m²]"
    ),
    Column("condition", "on which it is released, such as digging in steps of 0.5 m"),
)
FORMATION = _kind(
    "formation",
    "formation_steps",
    "Formation, step by step",
    Column("done_at", "date and time, local or with offset", True),
    Column("zone", "a zone of the set-up", True),
    Column("step", "reached, inspected or blinded", True),
    Column("area_m2", "area of this part; areas of the same step add up [m²]", True),
    Column("checked_by", "role of who checked or did it", True),
    Column("reference", "number of the inspection record or pour"),
)
PLAN = _kind(
    "plan",
    "planned_stages",
    "Frozen plan, stage by stage",
    Column("plan", "name of the plan: the same in all its rows, new for a new plan", True),
    Column("frozen_on", "date on which it was frozen, YYYY-MM-DD", True),
    Column("zone", "a zone of the set-up", True),
    Column("stage", "number of the dig stage", True),
    Column("planned_start", "planned first dig date", True),
    Column("planned_finish", "planned last dig date", True),
    Column("hold_days", "calendar days of the hold that follows the stage", True),
    Column("design_m3", "design volume; empty: that of the set-up on that date [m³ bank]"),
    Column("reference", "document that froze it, with the reason for a new plan", True),
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
    k.name: k
    for k in (
        RETURNS,
        BELT,
        BELT_CHECKS,
        LOADS,
        STOCK,
        REUSE,
        NOTES,
        DECLARATIONS,
        TRAFFIC,
        BOOKINGS,
        HOLDS,
        FORMATION,
        PLAN,
        SURVEYS,
        RECEIPTS,
        BASELINE,
        CLOSURES,
    )
}
