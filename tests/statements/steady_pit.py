"""An invented pit that gives the same in every shift: its forecast can be worked out by hand.

Nothing in it is real. Zone A, 10 m x 10 m, from 104 m: stage 1 to 100 m (400 m³), then a hold of
two days for the props, stage 2 to 96 m (400 m³). One shift from Monday to Friday, 07:00 to 17:00,
in London; the first is that of Monday 19 October 2026. B lies beside A, C apart.
"""

from __future__ import annotations

import copy
from datetime import date, timedelta
from typing import Any

from tests.statements import paper
from tracker.ledger.store import Ledger

MONDAY = date(2026, 10, 19)
FRIDAY = date(2026, 10, 23)


def october(day: int) -> date:
    return date(2026, 10, day)


def november(day: int) -> date:
    return date(2026, 11, day)


def set_up(*zones: str, **site: str) -> paper.Tables:
    """The set-up with some of the zones A, B and C; C is an excavation of its own."""
    tables = copy.deepcopy(paper.FIRST)
    tables["site"][0] |= site
    tables["zones"] = [z | {"opens": "2026-10-19"} for z in tables["zones"] if z["zone"] in zones]
    tables["excavations"] = [
        e
        for e in tables["excavations"]
        if e["excavation"] in {z["excavation"] for z in tables["zones"]}
    ]
    tables["stages"] = [s for s in tables["stages"] if s["zone"] in zones]
    tables["ground"] = [
        {"zone": z["zone"], "upper_level_m": "104", "lower_level_m": "90", "stream": "clay"}
        for z in tables["zones"]
    ]
    tables["shifts"] = paper.rows(
        "shift|name|starts|ends|weekdays", "day|Day|07:00|17:00|Mon Tue Wed Thu Fri"
    )
    tables["closures"] = []
    tables["caps"] = tables["windows"] = []
    plan(tables, "A", 1, "2026-10-19", "2026-10-28")
    plan(tables, "A", 2, "2026-10-30", "2026-11-10")
    return tables


def plan(tables: paper.Tables, zone: str, stage: int, starts: str, ends: str) -> None:
    """Set the planned dates of a stage."""
    for row in tables["stages"]:
        if (row["zone"], row["stage"]) == (zone, str(stage)):
            row |= {"planned_start": starts, "planned_finish": ends}


def begun(book: Ledger, tables: paper.Tables, *zones: str) -> None:
    """Adopt a set-up and release the first stage of its zones."""
    paper.adopt(book, tables, "first")
    for zone in zones or ("A",):
        release(book, zone, "1", "2026-10-19 06:00")


def release(book: Ledger, zone: str, hold: str, decided_at: str, status: str = "released") -> None:
    paper.enter(
        book, "holds", decided_at=decided_at, zone=zone, hold=hold, status=status,
        permit=f"P {decided_at}", decided_by="coordinator",
    )  # fmt: skip


def dig(book: Ledger, day: date, bank_m3: float, to_m: float, **other: str) -> None:
    """A return of zone A, stage 1, unless said otherwise; its levels follow from the volume."""
    fields: dict[str, Any] = {
        "work_date": day.isoformat(), "shift": "day", "zone": "A", "stage": "1", "stream": "clay",
        "basis": "measured", "bank_m3": f"{bank_m3:g}", "to_level_m": f"{to_m:.3f}",
        "from_level_m": f"{to_m + bank_m3 / 100.0:.3f}", "lowest_level_m": f"{to_m:.3f}",
    }  # fmt: skip
    paper.enter(book, "returns", **(fields | other))


def nil(book: Ledger, day: date, reason: str = "no lorries", **other: str) -> None:
    """A nil return of zone A, stage 1, unless said otherwise."""
    fields = {
        "work_date": day.isoformat(), "shift": "day", "zone": "A", "stage": "1",
        "nil_reason": reason,
    }  # fmt: skip
    paper.enter(book, "returns", **(fields | other))


def first_week(book: Ledger, zone: str = "A", bank_m3: float = 50.0) -> None:
    """Monday to Friday, the same in every shift: by Friday 250 of the 400 m³ of stage 1."""
    for n in range(5):
        to_m = 104.0 - bank_m3 / 100.0 * (n + 1)
        dig(book, MONDAY + timedelta(days=n), bank_m3, to_m, zone=zone)
