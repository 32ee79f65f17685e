"""A small pit dug at one steady rate, so that chance has nothing to do. Nothing in it is real.

Zone A of the paper pit is 10 m x 10 m, 4 m deep to its first level and 4 m below it: 400 m³ each.
It gives 20 m³ in every day shift; on Friday 23 October 2026 half of the first stage is dug.
"""

from __future__ import annotations

import copy
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from tests.statements import paper
from tests.statements.conftest import Clock
from tracker.ledger.store import Ledger, open_ledger

FRIDAY = date(2026, 10, 23)


def pit() -> paper.Tables:
    """Zone A alone, a day shift from Monday to Friday, clay by belt and its fall-back by road."""
    tables = copy.deepcopy(paper.FIRST)
    tables["site"][0] |= {"first_date": "2026-10-05", "factor_year": "2025"}
    tables["excavations"] = tables["excavations"][:1]
    tables["zones"] = [tables["zones"][0] | {"opens": "2026-10-12"}]
    tables["stages"] = [row | {"hold_days": "1"} for row in tables["stages"][:2]]
    tables["ground"] = paper.rows("zone|upper_level_m|lower_level_m|stream", "A|104|95|clay")
    tables["shifts"] = paper.rows("shift|name|starts|ends|weekdays", "day|Day|07:00|19:00|Mon-Fri")
    tables["closures"] = []
    tables["caps"] = paper.rows("per|movements|reference", "day|100|invented condition 1")
    tables["belts"] = paper.rows(
        "belt|capacity_t_per_h|running_share|source|width_m|trough_deg|surcharge_deg"
        "|speed_m_per_s|loose_density_t_per_m3|length_m|lift_m",
        "belt-1|100|0.5|invented|0.65|30|15|1.25|1.56|100|10",
    )
    tables["fleets"] = paper.rows(
        "fleet|vehicle|routes|lorries|loaders|load_min|away_min|source",
        "rigids|rigid||8|1|6|54|invented",
    )
    return tables


def dug(book: Ledger, clock: Clock, leaves: bool = True) -> None:
    """Ten day shifts of 20 m³, 40 t: 30 t by belt at 0.6 kWh/t and a load of 10 t."""
    total_t = 1000
    reading = {"belt": "belt-1", "route": "R-BELT", "stream": "clay", "event": "reading"}
    for n in range(10):
        day = date(2026, 10, 12) + timedelta(days=n + 2 * (n // 5))
        clock.moment = datetime(day.year, day.month, day.day, 19, tzinfo=UTC)
        paper.enter(
            book, "returns", work_date=str(day), shift="day", zone="A", stage="1", stream="clay",
            basis="measured", bank_m3="20", from_level_m=f"{104 - 0.2 * n:.1f}",
            to_level_m=f"{103.8 - 0.2 * n:.1f}", lowest_level_m=f"{103.8 - 0.2 * n:.1f}",
        )  # fmt: skip
        if not leaves:
            continue
        for hour, more_t in ((7, 0), (18, 30)):
            total_t += more_t
            paper.enter(
                book, "belt", read_at=f"{day} {hour:02}:00", work_date=str(day), shift="day",
                totaliser_t=str(total_t), energy_kwh="18" if more_t else "", **reading,
            )  # fmt: skip
        paper.enter(
            book, "loads", ticket_number=f"L{n}", gate_in_at=f"{day} 09:00",
            gate_out_at=f"{day} 09:20", registration="INV 1", stream="clay", route="R-ROAD",
            gross_t="22", tare_t="12", weight_basis="weighed",
        )  # fmt: skip


def opened(place: Path, leaves: bool = True, **more: list[dict[str, str]]) -> tuple[Ledger, Clock]:
    """The pit on Friday evening, and its clock; with `more` tables in its set-up."""
    clock = Clock()
    clock.moment = datetime(2026, 10, 5, 8, tzinfo=UTC)
    book = open_ledger(place / "pit.sqlite", create=True, clock=clock)
    paper.adopt(book, pit() | more, "first")
    baseline = {k: v for k, v in paper.BASELINE[0].items() if k != "entered"}
    paper.enter(book, "baseline", **baseline | {"frozen_on": "2026-10-05"})
    hold = {k: v for k, v in paper.HOLDS[0].items() if k != "entered" and v}
    paper.enter(book, "holds", **hold | {"decided_at": "2026-10-05 07:00"})
    dug(book, clock, leaves)
    clock.moment = datetime(2026, 10, 23, 20, tzinfo=UTC)
    return book, clock
