"""Invented entries of a small pit, to be changed at will. Nothing in them is real."""

from __future__ import annotations

import csv
import json
from datetime import UTC, date, datetime, timedelta
from importlib import resources
from typing import Any

from tracker.ledger.entries import (
    Baseline,
    BeltCheck,
    BeltReading,
    ClosedException,
    DigReturn,
    Entry,
    FormationStep,
    GateBooking,
    GateTraffic,
    HoldRelease,
    LorryLoad,
    PlannedStage,
    Receipt,
    ReuseDeclaration,
    SetupRevision,
    SiteReuse,
    StockCount,
    SurveyCheck,
    SurveyLevel,
    SurveySurface,
    TransferNote,
)

DAY = date(2026, 10, 1)
MORNING = datetime(2026, 10, 1, 6, 0, tzinfo=UTC)


def at(hours: float) -> datetime:
    """A moment some hours after 06:00 UTC on the first day."""
    return MORNING + timedelta(hours=hours)


def a_return(**changes: Any) -> DigReturn:
    given: dict[str, Any] = {
        "work_date": DAY,
        "shift": "day",
        "zone": "A",
        "stage": 1,
        "stream": "clay",
        "basis": "measured",
        "bank_l": 240_000,
        "from_level_mm": 102_500,
        "to_level_mm": 101_900,
        "lowest_level_mm": 101_850,
    }
    return DigReturn(**(given | changes))


def a_nil_return(**changes: Any) -> DigReturn:
    given = {"work_date": DAY, "shift": "night", "zone": "A", "stage": 1, "nil_reason": "rain"}
    return DigReturn(**(given | changes))


def a_reading(hours: float, totaliser_kg: int, **changes: Any) -> BeltReading:
    """A totaliser reading so many hours after 06:00 UTC on the first day."""
    given: dict[str, Any] = {
        "read_at": at(hours),
        "work_date": at(hours).date(),
        "shift": "day",
        "belt": "belt-1",
        "route": "R-BELT",
        "stream": "clay",
        "totaliser_kg": totaliser_kg,
    }
    return BeltReading(**(given | changes))


def a_load(ticket_number: str = "T-1", **changes: Any) -> LorryLoad:
    given: dict[str, Any] = {
        "ticket_issuer": "gate",
        "ticket_number": ticket_number,
        "gate_in_at": at(1.5),
        "gate_out_at": at(2.25),
        "in_date": DAY,
        "in_hour": 8,  # British Summer Time
        "gate_date": DAY,
        "out_hour": 9,
        "carrier": "haul",
        "vehicle": "rigid",
        "registration": "INV 1",
        "stream": "clay",
        "zone": "A",
        "route": "R-ROAD",
        "destination": "quarry",
        "gross_kg": 31_860,
        "tare_kg": 12_000,
        "net_kg": 19_860,
    }
    return LorryLoad(**(given | changes))


def a_receipt(**changes: Any) -> Receipt:
    given: dict[str, Any] = {
        "receipt_number": "Q-1",
        "receipt_date": DAY,
        "destination": "quarry",
        "ticket_issuer": "gate",
        "ticket_number": "T-1",
        "waste_code": "17 05 04",
        "accepted_kg": 19_800,
    }
    return Receipt(**(given | changes))


def a_release(**changes: Any) -> HoldRelease:
    given: dict[str, Any] = {
        "decided_at": at(0),
        "work_date": DAY,
        "zone": "A",
        "hold": "1",
        "status": "released",
        "permit": "P-1",
        "decided_by": "temporary works coordinator",
    }
    return HoldRelease(**(given | changes))


def a_step(**changes: Any) -> FormationStep:
    given: dict[str, Any] = {
        "done_at": at(4),
        "work_date": DAY,
        "zone": "A",
        "step": "inspected",
        "area_dm2": 20_000,
        "checked_by": "site engineer",
    }
    return FormationStep(**(given | changes))


def a_planned_stage(**changes: Any) -> PlannedStage:
    given: dict[str, Any] = {
        "plan": "plan 1",
        "frozen_on": DAY,
        "zone": "A",
        "stage": 1,
        "planned_start": DAY,
        "planned_finish": DAY + timedelta(days=9),
        "hold_days": 14,
        "design_l": 1_900_000,
        "reference": "programme 1 of the invented pit",
    }
    return PlannedStage(**(given | changes))


def a_survey(**changes: Any) -> SurveyLevel:
    given: dict[str, Any] = {
        "survey": "S-1",
        "surveyed_at": at(10),
        "work_date": DAY,
        "zone": "A",
        "lowest_level_mm": 101_800,
        "dug_bank_l": 230_000,
    }
    return SurveyLevel(**(given | changes))


def a_surface(**changes: Any) -> SurveySurface:
    given: dict[str, Any] = {
        "survey": "S-1",
        "excavation": "box",
        "surveyed_at": at(10),
        "work_date": DAY,
        "sha256": "0" * 64,
        "column_order": "ENZ",
        "unit": "m",
        "datum_shift_mm": 0,
        "method": "scan",
        "points_in": 12_000,
        "points_used": 11_500,
        "void_table": "{}",
        "report": "{}",
        "picture": "",
    }
    return SurveySurface(**(given | changes))


def a_check(**changes: Any) -> SurveyCheck:
    given: dict[str, Any] = {
        "survey": "S-1",
        "excavation": "box",
        "surveyed_at": at(10),
        "work_date": DAY,
        "amber_permille": 30,
        "red_permille": 60,
        "lines": "[]",
    }
    return SurveyCheck(**(given | changes))


def a_stock_count(**changes: Any) -> StockCount:
    given: dict[str, Any] = {
        "counted_at": at(11),
        "work_date": DAY,
        "location": "north heap",
        "stream": "clay",
        "loose_l": 500_000,
        "method": "survey",
        "surcharge_limit_l": 900_000,
    }
    return StockCount(**(given | changes))


def a_belt_check(**changes: Any) -> BeltCheck:
    given: dict[str, Any] = {
        "checked_at": at(0.5),
        "work_date": DAY,
        "belt": "belt-1",
        "method": "zero",
        "shown_kg": -40,
        "running_min": 6,
        "allowed_kg": 100,
    }
    return BeltCheck(**(given | changes))


def a_reuse(**changes: Any) -> SiteReuse:
    given: dict[str, Any] = {
        "placed_at": at(5),
        "work_date": DAY,
        "stream": "clay",
        "location": "haul ramp",
        "basis": "bank",
        "bank_l": 40_000,
    }
    return SiteReuse(**(given | changes))


def a_note(**changes: Any) -> TransferNote:
    given: dict[str, Any] = {
        "note_number": "N-1",
        "form": "season",
        "made_out_at": at(-2),
        "work_date": DAY,
        "valid_from": DAY,
        "valid_to": DAY + timedelta(days=30),
        "stream": "clay",
        "waste_code": "17 05 04",
        "description": "stiff clay",
        "carrier": "haul",
        "destination": "quarry",
        "container": "loose",
        "place": "site gate",
        "transferor": "invented contractor",
        "transferor_status": "producer",
        "industry_code": "43.12",
        "hierarchy_confirmed": True,
        "signed_out_by": "A. Invented",
        "signed_in_by": "B. Invented",
    }
    return TransferNote(**(given | changes))


def a_declaration(**changes: Any) -> ReuseDeclaration:
    given: dict[str, Any] = {
        "declaration": "D-1",
        "received_on": DAY,
        "stream": "gravel",
        "destination": "embankment",
        "declared_l": 5_000_000,
    }
    return ReuseDeclaration(**(given | changes))


def traffic(**changes: Any) -> GateTraffic:
    given: dict[str, Any] = {
        "passed_at": at(2),
        "gate_date": DAY,
        "hour": 9,
        "purpose": "concrete",
        "vehicles": 6,
        "direction": "both",
        "reference": "pour 12",
    }
    return GateTraffic(**(given | changes))


def a_booking(**changes: Any) -> GateBooking:
    given: dict[str, Any] = {
        "booking": "B-1",
        "gate_date": DAY + timedelta(days=3),
        "from_hour": 8,
        "to_hour": 16,
        "purpose": "concrete",
        "movements_in": 40,
        "movements_out": 40,
        "booked_by": "pour foreman",
    }
    return GateBooking(**(given | changes))


def a_baseline(**changes: Any) -> Baseline:
    given: dict[str, Any] = {
        "baseline": "all by road",
        "frozen_on": DAY,
        "vehicle": "rigid",
        "payload_kg": 19_000,
        "payload_low_kg": 17_000,
        "payload_high_kg": 20_000,
        "distance_m": 46_000,
        "destination": "quarry",
        "empty_return": True,
        "reference": "invented plan 1",
    }
    return Baseline(**(given | changes))


def a_closed_exception(**changes: Any) -> ClosedException:
    given = {"rule": "breach", "about": "some-id", "reason": "filled", "closed_by": "engineer"}
    return ClosedException(**(given | changes))


def a_revision(**changes: Any) -> SetupRevision:
    given: dict[str, Any] = {
        "effective_date": DAY,
        "title": "first set-up",
        "tables": {},
        "digest": "d1",
    }
    given |= changes
    return SetupRevision(**(given | {"tables": json.dumps(given["tables"])}))


def site_tables() -> dict[str, list[dict[str, str]]]:
    """The tables of the invented demonstration site."""
    folder = resources.files("data_demo") / "setup"
    return {
        file.name.removesuffix(".csv"): list(csv.DictReader(file.read_text("utf-8").splitlines()))
        for file in folder.iterdir()
    }


def one_of_each() -> tuple[Entry, ...]:
    """An entry of every kind."""
    return (
        a_revision(),
        a_return(),
        a_reading(0, 1_000_000),
        a_load(),
        a_belt_check(),
        a_stock_count(),
        a_reuse(),
        a_note(),
        a_declaration(),
        traffic(),
        a_booking(),
        a_release(),
        a_step(),
        a_planned_stage(),
        a_survey(),
        a_surface(),
        a_check(),
        a_receipt(),
        a_baseline(),
        a_closed_exception(),
    )
