"""A week in the pit of paper.py by day shifts, in which each thing governs once.

Nothing in it is real. Zone B is dug, A and C wait for their first release all week. The belt can
carry 100 t/h for half of the 12 h, 600 t or 300 m³ of clay; the gate allows 8 movements a day.
"""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime

from tests.statements import paper
from tests.statements.paper import rows
from tracker.ledger.store import Ledger

MONDAY = date(2026, 11, 2)
AS_OF = date(2026, 11, 9)
ENTERED = datetime(2026, 11, 9, 20, 0, tzinfo=UTC)


def tables() -> paper.Tables:
    """The set-up: day shifts alone, a belt, a fleet, stops of the site and of the belt."""
    found = copy.deepcopy(paper.FIRST)
    found["shifts"] = found["shifts"][:1]
    found["closures"] = rows("day|reason", "2026-11-12|invented holiday")
    found["caps"] = rows("per|movements|reference", "day|8|invented condition 1")
    found["belts"] = rows(
        "belt|capacity_t_per_h|running_share|source|width_m|trough_deg|surcharge_deg"
        "|speed_m_per_s|loose_density_t_per_m3|length_m|lift_m",
        "belt-1|100|0.5|invented sheet|0.65|30|15|1.25|1.6|500|10",
    )
    found["fleets"] = rows(
        "fleet|vehicle|routes|lorries|loaders|load_min|away_min|source",
        "tippers|rigid|R-ROAD|4|1|10|90|invented plan",
    )
    found["stops"] = rows(
        "kind|about|first_day|last_day|weekdays|starts|ends|reason|reference",
        "site||2026-11-06|2026-11-06||||invented shutdown|",
        "belt|belt-1|2026-11-10|2026-11-10||||invented maintenance|",
    )
    return found


HOLDS = rows(
    "decided_at|zone|hold|status|permit|decided_by",
    "2026-10-21 15:00|B|1|released|P-2|coordinator",
    "2026-11-07 06:00|B|2|released|P-3|coordinator",
)
RETURNS = rows(
    "work_date|shift|zone|stage|stream|basis|bank_m3|from_level_m|to_level_m|lowest_level_m"
    "|nil_reason|delays",
    "2026-11-02|day|B|1|clay|measured|100|104|103|103||",
    "2026-11-03|day|B|1|clay|measured|10|103|102.9|102.9||rain:540",
    "2026-11-04|day|B|1|clay|measured|290|102.9|100|100||",
    "2026-11-05|day|B|1|||||||props|",
    "2026-11-07|day|B|2|clay|measured|38|100|99.62|99.6||",
    "2026-11-09|day|B|2|||||||no crew|",
)
BELT = rows(
    "read_at|work_date|shift|totaliser_t|event|energy_kwh|running_min",
    "2026-11-02 07:00|2026-11-02|day|1000|reading||",
    "2026-11-02 19:00|2026-11-02|day|1200|reading|90|150",
    "2026-11-03 19:00|2026-11-03|day|1220|reading|8|15",
    "2026-11-04 19:00|2026-11-04|day|1800|reading|261|420",
)
# On Saturday the belt is out: four loads of clay by road, the second round of two lorries.
LOADS = rows(
    "ticket_number|gate_in_at|gate_out_at|registration|gross_t|tare_t",
    "1|2026-11-07 07:30|2026-11-07 08:00|INV 1|31|12",
    "2|2026-11-07 07:40|2026-11-07 08:20|INV 2|31|12",
    "3|2026-11-07 09:40|2026-11-07 10:10|INV 1|31|12",
    "4|2026-11-07 10:10|2026-11-07 10:40|INV 2|31|12",
)


def enter(book: Ledger) -> None:
    """Adopt the set-up and record the week."""
    paper.adopt(book, tables(), "the pit")
    for kind, lines, always in (
        ("holds", HOLDS, {}),
        ("returns", RETURNS, {}),
        ("belt", BELT, {"belt": "belt-1", "route": "R-BELT", "stream": "clay"}),
        ("loads", LOADS, {"stream": "clay", "route": "R-ROAD", "weight_basis": "weighed"}),
    ):
        for line in lines:
            fields = {name: text for name, text in line.items() if text}
            paper.enter(book, kind, **(always | fields))
