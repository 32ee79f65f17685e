"""Entries about the plan and about formation: stages of a frozen plan, steps of a formation."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from tracker.ledger.base import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStage(Entry):
    """One stage of a plan, frozen on a date: when it is dug, and the hold that follows it.

    All rows of one `plan` make the plan. A later plan stands beside the earlier ones and alters
    none of them. The design volume is frozen with it.
    """

    KIND: ClassVar[str] = "planned_stages"
    UNIQUE: ClassVar[tuple[str, ...]] = ("plan", "zone", "stage")

    plan: str
    frozen_on: date
    zone: str
    stage: int
    planned_start: date
    planned_finish: date
    hold_days: int
    design_l: int
    reference: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FormationStep(Entry):
    """A part of a zone's formation that was reached, inspected or blinded; areas add up."""

    KIND: ClassVar[str] = "formation_steps"
    UNIQUE: ClassVar[tuple[str, ...]] = ("zone", "step", "done_at")

    done_at: datetime
    work_date: date
    zone: str
    step: str  # reached | inspected | blinded
    area_dm2: int
    checked_by: str
    reference: str = ""
