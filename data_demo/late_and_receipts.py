"""Late tickets with a few untidy rows among them, and what the receivers say of each ticket."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from data_demo.season import LAST_DAY
from data_demo.site_tables import GRAVEL, Row
from data_demo.tickets import DESTINATIONS

LATE_TICKETS = 40
LATE_BETWEEN = ("2026-06-08", "2026-10-09")
RECEIPT_CHANCE = 0.965
WASTE_CODE = "17 05 04"


def part_late(rng: Random, tickets: list[Row]) -> tuple[list[Row], list[Row]]:
    """The tickets handed in on time and those found weeks later."""
    weeks_old = [
        t["ticket_number"]
        for t in tickets
        if LATE_BETWEEN[0] <= t["gate_out_at"] < LATE_BETWEEN[1] and t["ticket_issuer"] == "WB1"
    ]
    late = set(rng.sample(weeks_old, LATE_TICKETS))
    on_time = [t for t in tickets if t["ticket_number"] not in late]
    return on_time, [
        t | {"note": "ticket found late"} for t in tickets if t["ticket_number"] in late
    ]


def untidy_rows(on_time: list[Row], number_from: int) -> list[Row]:
    """Six rows that no ledger may take, each wrong in one way, made from good ones."""
    good = [t for t in on_time if t["weight_basis"] == "weighed" and t["outcome"] == "accepted"]
    rescanned, typed_again, swapped, backwards, reset_clock, kilograms = (
        dict(good[place]) for place in (300, 710, 900, 1150, 1400, 1620)
    )
    rescanned["note"] = "re-scanned"
    typed_again |= {"zone": "", "note": "typed again from the carbon copy"}
    swapped |= {"gross_t": swapped["tare_t"], "tare_t": swapped["gross_t"]}
    swapped["note"] = "typed from paper"
    backwards |= {
        "gate_in_at": backwards["gate_out_at"],
        "gate_out_at": backwards["gate_in_at"],
        "note": "typed from paper",
    }
    reset_clock |= {
        "gate_in_at": "2010-01-01T00:04",
        "gate_out_at": "2010-01-01T00:27",
        "note": "device restarted after a flat battery",
    }
    for field in ("gross_t", "tare_t", "net_t"):
        kilograms[field] = f"{float(kilograms[field]) * 1000:.0f}"
    kilograms["note"] = "copied from the weighbridge printer"
    for place, row in enumerate((swapped, backwards, reset_clock, kilograms)):
        row["ticket_number"] = str(number_from + place)
    return [rescanned, typed_again, swapped, backwards, reset_clock, kilograms]


def late_table(rng: Random, on_time: list[Row], late: list[Row]) -> list[Row]:
    """The late tickets with the untidy rows strewn among them."""
    number_from = max(int(t["ticket_number"]) for t in on_time if t["ticket_issuer"] == "WB1") + 100
    table = list(late)
    for row in untidy_rows(on_time, number_from):
        table.insert(rng.randrange(len(table)), row)
    return table


def _accepted_t(rng: Random, ticket: Row) -> str:
    if ticket["outcome"] == "rejected":
        return "0"
    net_t = float(ticket["net_t"]) if ticket["weight_basis"] == "weighed" else rng.gauss(19.2, 0.5)
    return f"{round(net_t * (1.0 + rng.gauss(0.0, 0.0006)) * 50) / 50:.2f}"


def receipts_table(rng: Random, tickets: list[Row]) -> list[Row]:
    """The receipts that have come back by the last day, numbered by each destination."""
    numbers = dict.fromkeys(DESTINATIONS.values(), 0)
    rows = []
    for ticket in tickets:
        left = date.fromisoformat(ticket["gate_out_at"][:10])
        back = left + timedelta(days=rng.choices(range(6), (38, 30, 14, 8, 6, 4))[0])
        if rng.random() > RECEIPT_CHANCE or back > LAST_DAY:
            continue
        destination = DESTINATIONS[ticket["route"]]
        numbers[destination] += 1
        rows.append(
            {
                "receipt_number": f"{destination[:2].upper()}-{numbers[destination]:05d}",
                "receipt_date": str(back),
                "destination": destination,
                "ticket_issuer": ticket["ticket_issuer"],
                "ticket_number": ticket["ticket_number"],
                "waste_code": "" if ticket["stream"] == GRAVEL else WASTE_CODE,
                "accepted_t": _accepted_t(rng, ticket),
                "outcome": ticket["outcome"],
            }
        )
    return rows
