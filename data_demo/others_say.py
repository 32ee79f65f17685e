"""What others than the dig crews state: hold points, surveys, closed exceptions, the baseline."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from random import Random

from data_demo.dig import Slice
from data_demo.floors import standing
from data_demo.season import (
    BREACH_CLOSED_ID,
    FIRST_DAY,
    LAST_DAY,
    SURVEYS,
    hold_decisions,
    hold_status,
)
from data_demo.site_tables import (
    BOX_ZONES,
    GROUND_LEVEL_M,
    OPENS,
    VEHICLE,
    ZONES,
    Row,
    design_stages,
    plan_area,
)

COORDINATOR = "temporary works coordinator"
LEVEL_ERROR_M, OWN_ERROR_M = 0.005, 0.008  # of one week's instrument; of one zone's floor
CONDITIONS = {  # on which a stage was released, by permit
    "PTD-A4-01": "prop loads read daily; trim no bay that cannot be blinded within 48 h",
    "PTD-B4-01": "prop loads read daily; trim no bay that cannot be blinded within 48 h",
    "PTD-C4-01": "prop loads of zones B and C read every shift",
    "PTD-E3-02": "prop loads read every shift; dig stops at the amber level",
    "PTD-S5-01": "standby pump on site; last ring looked at every shift",
}
FENCED = ("B", date(2026, 6, 20))  # the over-dug strip of zone B, filled two days later


def _hold(
    decided_at: datetime, zone: str, hold: str, status: str, *, permit: str, area_m2: str = ""
) -> Row:
    return {
        "decided_at": decided_at.isoformat(timespec="minutes"),
        "zone": zone,
        "hold": hold,
        "status": status,
        "permit": permit,
        "decided_by": COORDINATOR,
        "accepted_m2": area_m2,
        "note": "",
        "condition": CONDITIONS.get(permit, "") if status == "released" else "",
    }


def holds_table() -> list[Row]:
    """Every hold point decided in the season, in the order of the decisions."""
    rows = [
        _hold(d.decided_at, d.zone, str(d.stage), d.status, permit=d.permit)
        for d in hold_decisions()
    ]
    for row in rows:
        if row["status"] == "suspended":
            row["note"] = "prop loads above the amber level; readings under review"
    accepted = _hold(
        datetime.fromisoformat("2026-10-08T15:20"),
        "A",
        "formation",
        "released",
        permit="FIR-A-01",
        area_m2="432",
    )
    accepted["note"] = "west bays inspected and blinded; east bays follow"
    return sorted([*rows, accepted], key=lambda row: (row["decided_at"], row["zone"]))


def surveys_table(rng: Random, slices: list[Slice]) -> list[Row]:
    """Deepest point and bank volume to date of the shaft on each survey.

    The box has points instead (`scans.py`).
    """
    rows = []
    for name, surveyed_at in SURVEYS:
        for zone in ZONES:
            before = [s for s in slices if s.zone == zone and s.shift.ends_at <= surveyed_at]
            if OPENS[zone] > str(surveyed_at.date()) or not before:
                continue
            dug_bank_m3 = sum(s.bank_m3 for s in before) * rng.gauss(1.0, 0.003)
            # An over-dug strip was filled again, so that no survey finds it.
            design_m = design_stages(zone)[before[-1].stage - 1][0]
            lowest_m = max(before[-1].lowest_m, design_m)
            rows.append(
                {  # zones of the box too, so that the scatter of the shaft's rows stays the same
                    "survey": name,
                    "surveyed_at": surveyed_at.isoformat(timespec="minutes"),
                    "zone": zone,
                    "lowest_level_m": f"{lowest_m + rng.choice((0.0, 0.01, 0.02)):.2f}",
                    "dug_bank_m3": f"{dug_bank_m3:.0f}",
                    "method": "scan",
                }
            )
    return [row for row in rows if row["zone"] not in BOX_ZONES]


def weekly_surveys_table(rng: Random, slices: list[Slice]) -> list[Row]:
    """Deepest point and bank volume to date of every zone begun, on Saturdays without `SURVEYS`."""
    others = [surveyed_at.date() for _, surveyed_at in SURVEYS]
    days = [FIRST_DAY + timedelta(days=n) for n in range((LAST_DAY - FIRST_DAY).days)]
    rows = []
    for day in days:
        if day.weekday() == 5 and day not in others:
            rows += _weekly_rows(rng, slices, datetime.combine(day, time(10)))
    return rows


def _weekly_rows(rng: Random, slices: list[Slice], surveyed_at: datetime) -> list[Row]:
    rows = []
    day = surveyed_at.date()
    week_error_m = rng.gauss(0.0, LEVEL_ERROR_M)
    for stand in (standing(slices, zone, surveyed_at) for zone in ZONES):
        zone = stand.zone
        if not stand.opened:
            continue
        mean_m = stand.mean_m + week_error_m + rng.gauss(0.0, OWN_ERROR_M)
        dug_bank_m3 = (GROUND_LEVEL_M[zone] - mean_m) * plan_area(zone)
        # A stage suspended since it was released permits nothing, and the floor was clear of it.
        deepest_m = max(stand.lowest_m, _permitted_m(zone, day))
        lowest_m = max(deepest_m, min(mean_m, deepest_m + rng.randrange(0, 25, 5) / 1000))
        fenced = "fenced strip along the south wall not entered" if (zone, day) == FENCED else ""
        rows.append(
            {
                "survey": f"W{day:%G-%V}",
                "surveyed_at": surveyed_at.isoformat(timespec="minutes"),
                "zone": zone,
                "lowest_level_m": f"{lowest_m:.3f}",
                "dug_bank_m3": f"{dug_bank_m3:.1f}",
                "method": "total station",
                "note": fenced,
            }
        )
    return rows


def _permitted_m(zone: str, day: date) -> float:
    """The design level of the deepest stage released without a gap by the end of a date [m]."""
    permitted_m = GROUND_LEVEL_M[zone]
    for stage, (level_m, _, _) in enumerate(design_stages(zone), start=1):
        if hold_status(zone, stage, day) != "released":
            break
        permitted_m = level_m
    return permitted_m


def closures_table() -> list[Row]:
    """The one exception of the season that has been closed."""
    return [
        {
            "rule": "below_permitted_level",
            "about": BREACH_CLOSED_ID,
            "reason": "Dig stopped and area fenced; strip over-dug by 0.25 m filled with lean"
            " concrete on 22 June; wall readings reviewed by the designer; crew briefed again.",
            "closed_by": COORDINATOR,
        }
    ]


def baseline_table() -> list[Row]:
    """The lorry-only case, frozen before the first dig."""
    return [
        {
            "baseline": "all by lorry",
            "frozen_on": "2026-03-02",
            "vehicle": VEHICLE,
            "payload_low_t": "18",
            "payload_t": "19",
            "payload_high_t": "20",
            "distance_km": "46",
            "destination": "restoration",
            "empty_return": "yes",
            "reference": "INV-LOG-07 logistics plan (invented)",
        }
    ]
