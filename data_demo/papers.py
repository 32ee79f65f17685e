"""Season notes and the re-use declaration of the invented site; all parties are invented."""

from __future__ import annotations

import math
from datetime import date, datetime, time, timedelta

from data_demo.site_tables import CLAY, MADE_GROUND, Row
from data_demo.tickets import DESTINATIONS, NOTES

WASTE_CODE = "17 05 04"
FORGOTTEN_NOTE = "WTN-2026-10-CL-2"  # never handed in, so that its loads have no note on record
ENDS_EARLY = "WTN-2026-05-CL-2"  # ends the day before the last loads that name it
DECLARED_T = 30_600  # of which some 93 % were moved by the end of the season
WORDS = {
    MADE_GROUND: "made ground: soil and stones with brick, no hazardous substances",
    CLAY: "natural stiff clay, grey, as dug",
}
SIGNED_IN = {"carrier_1": "First invented haulier", "carrier_2": "Second invented haulier"}


def _made_out_at(first: date) -> datetime:
    """Three in the afternoon of the last weekday before a month."""
    day = first - timedelta(days=1)
    while day.weekday() > 4:
        day -= timedelta(days=1)
    return datetime.combine(day, time(15))


def _month_end(first: date) -> date:
    return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def _note(number: str, tickets: list[Row]) -> Row:
    """The season note of a month under which some tickets went."""
    _, year, month, code, _ = number.split("-")
    first, carrier = date(int(year), int(month), 1), tickets[0]["carrier"]
    last_load = date.fromisoformat(max(t["gate_out_at"] for t in tickets)[:10])
    ends = last_load - timedelta(days=1) if number == ENDS_EARLY else _month_end(first)
    route = next(name for name, (_, short) in NOTES.items() if short == code)
    estimate_t = 100 * math.ceil(0.22 * len(tickets))  # some 20 t a load, and a tenth more
    return {
        "note_number": number,
        "form": "season",
        "made_out_at": _made_out_at(first).isoformat(timespec="minutes"),
        "valid_from": str(first),
        "valid_to": str(ends),
        "stream": tickets[0]["stream"],
        "waste_code": WASTE_CODE,
        "description": WORDS[tickets[0]["stream"]],
        "quantity_t": str(estimate_t),
        "quantity_basis": "estimated",
        "container": "loose in a sheeted tipper",
        "place": "gate of the invented site",
        "transferor": "Invented contractor",
        "transferor_status": "producer",
        "carrier": carrier,
        "destination": DESTINATIONS[route],
        "industry_code": "43.12",
        "hierarchy_confirmed": "yes",
        "signed_out_by": "environmental manager, invented contractor",
        "signed_in_by": f"transport office, {SIGNED_IN[carrier]}",
    }


def notes_table(tickets: list[Row]) -> list[Row]:
    """The season notes of waste in the order made out, but for the one forgotten.

    Gravel goes under delivery notes, because its re-use is declared and it is no waste.
    """
    named: dict[str, list[Row]] = {}
    for ticket in tickets:
        if ticket["transfer_note"].startswith("WTN"):
            named.setdefault(ticket["transfer_note"], []).append(ticket)
    return [_note(n, named[n]) for n in sorted(named) if n != FORGOTTEN_NOTE]


def declarations_table() -> list[Row]:
    """The declaration under which the gravel goes to the embankment."""
    return [
        {
            "declaration": "INV-MMP-02",
            "received_on": "2026-03-30",
            "stream": "gravel",
            "destination": "haul_road",
            "declared_m3": "",
            "declared_t": str(DECLARED_T),
        }
    ]
