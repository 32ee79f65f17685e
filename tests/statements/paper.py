"""A small invented pit and ten days of its records, small enough to work by hand on paper.

Nothing in it is real. Two zones of 10 m x 10 m (BOX: A, B) and one of 5 m x 5 m (PIT: C), from
Thursday 22 October to Monday 2 November 2026: across a change of the clocks (Sunday 25 October),
two ends of a week and the end of a month. A second set-up holds from 29 October: no night shift any
more, and clay with other factors. Every row says when it was entered, in UTC.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

from tracker.ledger.entries import new_id
from tracker.ledger.store import Ledger
from tracker.recording.entry import amend, record
from tracker.recording.setup import adopt_setup

LAST_DAY = date(2026, 11, 2)
END = datetime(2026, 11, 3, 8, 0, tzinfo=UTC)  # when everything is entered
SECOND_FROM = date(2026, 10, 29)

Tables = dict[str, list[dict[str, str]]]


def rows(heading: str, *lines: str) -> list[dict[str, str]]:
    """Rows written as lines with | between the values."""
    names = [name.strip() for name in heading.split("|")]
    return [dict(zip(names, (v.strip() for v in line.split("|")), strict=True)) for line in lines]


FIRST: Tables = {
    "site": rows(
        "name|nation|governing_law|time_zone|first_date|datum_name|national_datum|datum_offset_m",
        "Paper pit|England|law of England, invented site|Europe/London|2026-10-19|site|ODN|-100",
    ),
    "excavations": rows(
        "excavation|name|kind|target_formation", "BOX|The box|box|2026-12-01", "PIT|The pit|shaft|"
    ),
    "zones": rows(
        "zone|excavation|name|ground_level_m|opens|outline",
        "A|BOX|West|104|2026-10-22|0 0; 10 0; 10 10; 0 10",
        "B|BOX|East|104|2026-10-22|10 0; 20 0; 20 10; 10 10",
        "C|PIT|Pit|104|2026-10-26|40 0; 45 0; 45 5; 40 5",
    ),
    "stages": rows(
        "zone|stage|design_level_m|support|hold_days|planned_start|planned_finish",
        "A|1|100|upper props|2|2026-10-22|2026-10-23",
        "A|2|96|base slab|2|2026-10-26|2026-10-27",
        "B|1|100|upper props|2|2026-10-22|2026-10-26",
        "B|2|96|base slab|2|2026-10-28|2026-10-31",
        "C|1|101|base slab|2|2026-10-26|2026-10-27",
    ),
    "streams": rows(
        "stream|name|loose_per_bank_low|loose_per_bank|loose_per_bank_high|bank_density_low"
        "|bank_density|bank_density_high|factor_source|regime|waste_code|classified_by"
        "|classification_reference",
        "clay|Clay|1.15|1.25|1.35|1.9|2.0|2.1|invented|non-hazardous waste|17 05 04|consultant|R-1",
        "made|Made ground|1.1|1.2|1.3|1.7|1.8|1.9|invented|non-hazardous waste|17 05 04|consultant"
        "|R-2",
    ),
    "ground": rows(
        "zone|upper_level_m|lower_level_m|stream",
        "A|104|102|made",
        "A|102|95|clay",
        "B|104|95|clay",
        "C|104|100|clay",
    ),
    "vehicles": rows(
        "vehicle|name|carbon_class|plated_gross_t|plated_payload_t|body_m3|fill|min_cycle_min",
        "rigid|Four-axle rigid|rigid_over_17t|32|20|12|1|60",
    ),
    "carriers": rows(
        "carrier|name|registration|valid_from|valid_to",
        "haul|Invented haulage|CARRIER-INVENTED|2026-01-01|2026-12-31",
    ),
    "destinations": rows(
        "destination|name|kind|authorisation|valid_from|valid_to|waste_codes",
        "quarry|Invented quarry|recovery|PERMIT-INVENTED|2026-01-01|2026-12-31|17 05 04",
        "tip|Invented tip|landfill|PERMIT-TIP|2026-01-01|2026-12-31|17 05 04",
    ),
    "routes": rows(
        "route|name|destination",
        "R-BELT|Belt and barge|quarry",
        "R-ROAD|Road|quarry",
        "R-TIP|Road to the tip|tip",
    ),
    "legs": rows(
        "route|leg|mode|from_place|to_place|distance_km|vehicle|belt|kwh_per_t|kgco2e_per_tkm"
        "|factor_source",
        "R-BELT|1|belt|site|wharf|0.5||belt-1|0.5||",
        "R-BELT|2|barge|wharf|jetty|38||||0.03|invented for the tests",
        "R-BELT|3|lorry|jetty|quarry|2|rigid||||",
        "R-ROAD|1|lorry|site|quarry|40|rigid||||",
        "R-TIP|1|lorry|site|tip|20|rigid||||",
    ),
    "shifts": rows(
        "shift|name|starts|ends|weekdays",
        "day|Day|07:00|19:00|Mon-Sat",
        "night|Night|22:00|06:00|Mon-Sat",
    ),
    "closures": rows("day|reason", "2026-10-30|invented holiday"),
    "caps": rows("per|movements|reference", "day|5|invented condition 1"),
    "windows": rows("weekdays|opens|closes", "Mon-Sat|07:00|19:00"),
    "causes": rows("cause|name|owner", "rain|Rain|nobody"),
}


def second_setup() -> Tables:
    """From 29 October: no night shift, and clay with another bulking and density."""
    tables = copy.deepcopy(FIRST)
    tables["shifts"] = tables["shifts"][:1]
    tables["streams"][0] |= {
        "loose_per_bank_low": "1.4",
        "loose_per_bank": "1.5",
        "loose_per_bank_high": "1.6",
        "bank_density_low": "2.1",
        "bank_density": "2.2",
        "bank_density_high": "2.3",
    }
    return tables


BASELINE = rows(
    "entered|baseline|frozen_on|vehicle|payload_low_t|payload_t|payload_high_t|distance_km"
    "|destination|empty_return|reference",
    "2026-10-20 09:00|all by road|2026-10-19|rigid|16|18|20|40|quarry|yes|invented plan",
)

# C is released on Monday morning; the paper reaches the office on Thursday.
HOLDS = rows(
    "entered|decided_at|zone|hold|status|permit|decided_by|accepted_m2",
    "2026-10-21 16:00|2026-10-21 15:00|A|1|released|P-1|coordinator|",
    "2026-10-21 16:00|2026-10-21 15:00|B|1|released|P-2|coordinator|",
    "2026-10-24 05:30|2026-10-24 05:00|A|2|released|P-3|coordinator|",
    "2026-10-29 09:00|2026-10-26 06:30|C|1|released|P-4|coordinator|",
    "2026-10-27 08:00|2026-10-27 07:30|B|2|released|P-5|coordinator|",
    "2026-10-28 16:00|2026-10-28 09:00|A|formation|released|P-6|coordinator|60",
    "2026-10-28 16:00|2026-10-28 15:00|B|2|suspended|P-7|coordinator|",
    "2026-10-29 13:00|2026-10-29 12:00|B|2|released|P-8|coordinator|",
)

RETURNS = rows(
    "entered|entry_id|work_date|shift|zone|stage|stream|basis|bank_m3|count|capacity_m3|mass_t"
    "|from_level_m|to_level_m|lowest_level_m|nil_reason|delays",
    # Thursday: four shifts, four returns. The first is corrected to 100 m3 on Friday (AMENDED).
    "2026-10-22 19:00|a22d|2026-10-22|day|A|1|made|measured|120||||104|103|102.9||",
    "2026-10-23 06:00|a22n|2026-10-22|night|A|1|made|counted||10|12||103|102|101.9||",
    "2026-10-22 19:00|b22d|2026-10-22|day|B|1|clay|measured|100||||104|103|103||",
    "2026-10-23 06:00|b22n|2026-10-22|night|B|1||||||||||no lorries|",
    # Friday: two streams in one shift of A, the second without levels; B's night never comes.
    "2026-10-23 19:00|a23d|2026-10-23|day|A|1|clay|weighed||||200|102|101|101||",
    "2026-10-23 19:00|a23e|2026-10-23|day|A|1|made|measured|10||||||||",
    "2026-10-24 06:00|a23n|2026-10-23|night|A|1|clay|measured|100||||101|100|99.8||",
    "2026-10-23 19:00|b23d|2026-10-23|day|B|1|clay|estimated|50||||103|102.5|102.4||",
    # Saturday: B's day shift never comes. C sends one although it opens only on Monday.
    "2026-10-24 19:00|a24d|2026-10-24|day|A|2||||||||||props|",
    "2026-10-25 07:00|a24n|2026-10-24|night|A|2||||||||||rain|rain:540",
    "2026-10-25 07:00|b24n|2026-10-24|night|B|1||||||||||rain|",
    "2026-10-24 19:00|c24d|2026-10-24|day|C|1||||||||||not open yet|",
    # Monday: three zones, everything comes.
    "2026-10-26 20:00|a26d|2026-10-26|day|A|2|clay|measured|100||||100|99|98.9||",
    "2026-10-27 07:00|a26n|2026-10-26|night|A|2||||||||||rain|",
    "2026-10-26 20:00|b26d|2026-10-26|day|B|1|clay|measured|250||||102.5|100|100||",
    "2026-10-27 07:00|b26n|2026-10-26|night|B|1|clay|measured|10||||100|99.9|99.9||",
    "2026-10-26 20:00|c26d|2026-10-26|day|C|1|clay|measured|25||||104|103|103||",
    "2026-10-27 07:00|c26n|2026-10-26|night|C|1||||||||||rain|",
    # Tuesday: A goes 0.2 m below formation; B's night and C's day never come.
    "2026-10-27 20:00|a27d|2026-10-27|day|A|2|clay|measured|290||||99|96.1|96||",
    "2026-10-28 07:00|a27n|2026-10-27|night|A|2|clay|measured|30||||96.1|95.8|95.7||",
    "2026-10-27 20:00|b27d|2026-10-27|day|B|2||||||||||props|",
    "2026-10-28 07:00|c27n|2026-10-27|night|C|1||||||||||rain|",
    # Wednesday: B digs while its stage 2 is suspended. No night returns.
    "2026-10-28 20:00|b28d|2026-10-28|day|B|2|clay|measured|15||||99.9|99.75|99.7||",
    "2026-10-28 20:00|a28d|2026-10-28|day|A|2||||||||||trimming|",
    "2026-10-28 20:00|c28d|2026-10-28|day|C|1||||||||||trimming|",
    # Thursday: the second set-up; 30 m3 loose is 30 / 1.5 = 20 m3 bank.
    "2026-10-29 20:00|c29d|2026-10-29|day|C|1|clay|counted||3|10||103|102.2|102.2||",
    "2026-10-29 20:00|a29d|2026-10-29|day|A|2||||||||||trimming|",
    "2026-10-29 20:00|b29d|2026-10-29|day|B|2||||||||||trimming|",
    "2026-10-31 20:00|a31d|2026-10-31|day|A|2||||||||||blinding|",
    "2026-10-31 20:00|b31d|2026-10-31|day|B|2||||||||||blinding|",
    "2026-10-31 20:00|c31d|2026-10-31|day|C|1||||||||||blinding|",
    "2026-11-02 20:00|a02d|2026-11-02|day|A|2||||||||||blinding|",
    "2026-11-02 20:00|b02d|2026-11-02|day|B|2||||||||||blinding|",
)

SURVEYS = rows(
    "entered|survey|surveyed_at|zone|lowest_level_m|method",
    "2026-10-31 18:00|S-1|2026-10-31 12:00|B|99.65|scan",
)

# 100 + 50 | reset | 60 + 20 | 10 on the last night of October, kept to its work date | 30
BELT = rows(
    "entered|read_at|work_date|shift|belt|route|stream|totaliser_t|event|energy_kwh",
    "2026-10-23 08:00|2026-10-23 07:00|2026-10-23|day|belt-1|R-BELT|clay|1000|reading|",
    "2026-10-23 20:00|2026-10-23 19:00|2026-10-23|day|belt-1|R-BELT|clay|1100|reading|40",
    "2026-10-24 07:00|2026-10-24 06:00|2026-10-23|night|belt-1|R-BELT|clay|1150|reading|",
    "2026-10-26 08:00|2026-10-26 07:00|2026-10-26|day|belt-1|R-BELT|clay|10|reset|",
    "2026-10-26 20:00|2026-10-26 19:00|2026-10-26|day|belt-1|R-BELT|clay|70|reading|30",
    "2026-10-27 08:00|2026-10-27 06:00|2026-10-26|night|belt-1|R-BELT|clay|90|reading|",
    "2026-11-01 08:00|2026-11-01 06:00|2026-10-31|day|belt-1|R-BELT|clay|100|reading|",
    "2026-11-02 20:00|2026-11-02 19:00|2026-11-02|day|belt-1|R-BELT|clay|130|reading|",
)

# T2 is found a week late. T4 is refused and its 19 t go on as T5. T6, T8 and T9 pass midnight;
# T7 stays from the first 01:10 of 25 October to the second 01:20.
LOADS = rows(
    "entered|entry_id|ticket_number|gate_in_at|gate_out_at|registration|stream|route|gross_t"
    "|tare_t|net_t|weight_basis|outcome|reconsigned_from",
    "2026-10-22 12:00|t1|1|2026-10-22 08:00|2026-10-22 08:30|INV 1|made|R-TIP|30|12||weighed||",
    "2026-10-30 12:00|t2|2|2026-10-22 09:00|2026-10-22 09:20|INV 2|made|R-TIP|||17|estimated||",
    "2026-10-22 12:00|t3|3|2026-10-22 10:00|2026-10-22 10:30|INV 3|made|R-TIP||||none||",
    "2026-10-23 15:00|t4|4|2026-10-23 11:00|2026-10-23 11:20|INV 4|clay|R-ROAD|31|12||weighed"
    "|rejected|",
    "2026-10-23 15:00|t5|5|2026-10-23 11:00|2026-10-23 14:00|INV 4|clay|R-TIP|31|12||weighed||4",
    "2026-10-25 08:00|t6|6|2026-10-24 23:50|2026-10-25 00:20|INV 5|clay|R-ROAD|31.5|12||weighed||",
    "2026-10-25 08:00|t7|7|2026-10-25T01:10+01:00|2026-10-25T01:20+00:00|INV 6|clay|R-ROAD|31|12|"
    "|weighed||",
    "2026-11-01 08:00|t8|8|2026-10-31 23:40|2026-11-01 00:10|INV 7|clay|R-ROAD|32|12||weighed||",
    "2026-11-02 08:00|t9|9|2026-11-01 23:30|2026-11-02 00:15|INV 8|clay|R-ROAD|30|12||weighed||",
    "2026-11-02 12:00|t10|10|2026-11-02 10:00|2026-11-02 10:30|INV 9|clay|R-ROAD|32.4|12|"
    "|weighed||",
)

CLOSURES = rows(
    "entered|rule|about|reason|closed_by",
    "2026-10-28 09:00|below_permitted_level|b26n|filled with lean concrete|coordinator",
    "2026-10-30 08:30|below_permitted_level|c26d|permit given on site, paper late|coordinator",
    "2026-10-29 09:00|outside_window|t6|night work agreed|site manager",
)

KINDS = {
    "baseline": BASELINE,
    "holds": HOLDS,
    "returns": RETURNS,
    "surveys": SURVEYS,
    "belt": BELT,
    "loads": LOADS,
    "closures": CLOSURES,
}
OF_EVERY_LOAD = {"ticket_issuer": "gate", "carrier": "haul", "vehicle": "rigid"}
AMENDED_AT = datetime(2026, 10, 23, 12, 0, tzinfo=UTC)
SECOND_AT = datetime(2026, 10, 29, 7, 0, tzinfo=UTC)


def steps() -> list[tuple[datetime, Callable[[Ledger], Any]]]:
    """Everything that people enter, with the moment at which they do, in that order."""
    found: list[tuple[datetime, Callable[[Ledger], Any]]] = [
        (datetime(2026, 10, 20, 8, tzinfo=UTC), lambda book: adopt(book, FIRST, "first")),
        (AMENDED_AT, lambda book: _amended(book)),
        (SECOND_AT, lambda book: adopt(book, second_setup(), "second", SECOND_FROM)),
    ]
    for kind, lines in KINDS.items():
        for line in lines:
            entered = datetime.fromisoformat(line["entered"]).replace(tzinfo=UTC)
            found.append((entered, _recorder(kind, line, entered)))
    return sorted(found, key=lambda step: step[0])


def adopt(book: Ledger, tables: Tables, title: str, starts: date | None = None) -> None:
    """Adopt a set-up, which must have no problem."""
    adopted = adopt_setup(book, tables, title=title, by="planner", effective_date=starts)
    assert adopted.revision is not None, adopted.problems


def _recorder(kind: str, line: dict[str, str], entered: datetime) -> Callable[[Ledger], Any]:
    fields = {name: text for name, text in line.items() if name != "entered" and text}
    if kind == "loads":
        fields = OF_EVERY_LOAD | fields
    return lambda book: record(
        book, kind, fields, by="office", now=entered, entry_id=fields.get("entry_id") or new_id()
    )


def _amended(book: Ledger) -> None:
    amend(book, "a22d", {"bank_m3": "100"}, reason="tally recounted", by="engineer", now=AMENDED_AT)


def enter(book: Ledger, kind: str, **fields: str) -> str:
    """Record one entry at the moment of the ledger's clock; gives its id."""
    if kind == "loads":
        fields = OF_EVERY_LOAD | fields
    return record(book, kind, fields, by="office", now=book.now()).entry_id
