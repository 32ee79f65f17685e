"""What others than the dig crews state: hold points, surveys, closed exceptions, the baseline."""

from __future__ import annotations

from datetime import datetime
from random import Random

from data_demo.dig import Slice
from data_demo.season import BREACH_CLOSED_ID, SURVEYS, hold_decisions
from data_demo.site_tables import BOX_ZONES, OPENS, VEHICLE, ZONES, Row, design_stages

COORDINATOR = "temporary works coordinator"


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
