"""The two frozen plans, and how far the formation of zone A has come: decided by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from data_demo.site_tables import (
    GROUND_LEVEL_M,
    PLANNED,
    ZONES,
    Row,
    design_stages,
    plan_area,
)


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan: its name, the date on which it was frozen, why, and its dates by zone and stage."""

    name: str
    frozen_on: date
    reference: str
    dates: dict[str, tuple[tuple[date, date], ...]]


def _day(month_day: str) -> date:
    """A date of the season; one of the first two months lies in the year after it."""
    year = 2027 if month_day < "03" else 2026
    return date.fromisoformat(f"{year}-{month_day}")


def _dated(spans: dict[str, tuple[str, ...]]) -> dict[str, tuple[tuple[date, date], ...]]:
    dated = {}
    for zone, texts in spans.items():
        pairs = [text.split() for text in texts]
        dated[zone] = tuple((_day(starts), _day(finishes)) for starts, finishes in pairs)
    return dated


# Written after the second outage of the belt. What was dug by then has the dates on which it was.
# The crews of zone C's last stage go on to that of zone E.
SECOND_DATES = {
    "A": ("04-07 04-16", "05-06 05-27", "06-29 07-24", "08-20 09-25"),
    "B": ("04-20 04-30", "06-01 06-19", "07-27 08-28", "09-21 11-06"),
    "C": ("05-05 05-14", "06-15 07-03", "08-17 09-25", "10-19 12-04"),
    "D": ("05-18 05-28", "07-06 07-30", "09-21 10-30", "11-23 01-15"),
    "E": ("06-01 06-05", "08-03 08-19", "10-12 11-06", "12-07 01-20"),
    "S": ("07-06 07-09", "07-16 07-31", "08-17 09-04", "09-16 10-07", "10-19 11-04"),
}
PLANS = (
    Plan("programme 1", date(2026, 3, 2), "INV-PRG-01 (invented)", _dated(PLANNED)),
    Plan(
        "programme 2",
        date(2026, 9, 14),
        "INV-PRG-02 (invented): frozen anew after the belt outages of July and August",
        _dated(SECOND_DATES),
    ),
)


@dataclass(frozen=True, slots=True)
class Step:
    """A part of zone A's formation that was trimmed down to, inspected or blinded."""

    done_at: datetime
    step: str
    area_m2: int
    checked_by: str
    reference: str


def _step(done_at: str, step: str, area_m2: int, checked_by: str, reference: str) -> Step:
    return Step(datetime.fromisoformat(done_at), step, area_m2, checked_by, reference)


# The last 40 mm stay as cover from the end of the dig; each group of bays is trimmed just before
# its inspection, and open from then on.
WEST_BAYS_M2, EAST_BAYS_M2 = 432, 288
FORMATION_STEPS = (
    _step("2026-10-07T15:40", "reached", WEST_BAYS_M2, "site engineer", "TRIM-A-01"),
    _step("2026-10-08T10:15", "inspected", WEST_BAYS_M2, "geotechnical engineer", "FIR-A-01"),
    _step("2026-10-08T14:30", "blinded", WEST_BAYS_M2, "concrete foreman", "BLIND-A-WEST"),
    _step("2026-10-26T16:30", "reached", EAST_BAYS_M2, "site engineer", "TRIM-A-02"),
)


def plan_table() -> list[Row]:
    """Every stage of both plans."""
    return [row for plan in PLANS for zone in ZONES for row in _plan_rows(plan, zone)]


def _plan_rows(plan: Plan, zone: str) -> Iterator[Row]:
    top_m = GROUND_LEVEL_M[zone]
    stages = zip(design_stages(zone), plan.dates[zone], strict=True)
    for stage, ((level_m, _, hold_days), (starts, finishes)) in enumerate(stages, start=1):
        yield {
            "plan": plan.name,
            "frozen_on": str(plan.frozen_on),
            "zone": zone,
            "stage": str(stage),
            "planned_start": str(starts),
            "planned_finish": str(finishes),
            "hold_days": str(hold_days),
            "design_m3": f"{plan_area(zone) * (top_m - level_m):.3f}",
            "reference": plan.reference,
        }
        top_m = level_m


def formation_table() -> list[Row]:
    """The steps of zone A's formation in the order in which they were done."""
    return [
        {
            "done_at": step.done_at.isoformat(timespec="minutes"),
            "zone": "A",
            "step": step.step,
            "area_m2": str(step.area_m2),
            "checked_by": step.checked_by,
            "reference": step.reference,
        }
        for step in FORMATION_STEPS
    ]
