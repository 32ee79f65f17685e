"""Freezing the plan of the set-up: its dates, holds and design volumes, on a date, under a name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.domain.levels import stage_volume
from tracker.errors import DuplicateEntry, InputError
from tracker.ledger.entries import PlannedStage
from tracker.ledger.store import Ledger
from tracker.recording.entry import record
from tracker.recording.texts import thousandths_text


@dataclass(frozen=True, slots=True)
class Frozen:
    """What freezing a plan wrote."""

    plan: str
    frozen_on: date
    stages: int


def freeze_plan(
    ledger: Ledger,
    plan: str,
    *,
    on: date,
    reference: str,
    by: str,
    now: datetime | None = None,
) -> Frozen:
    """Record every stage of the set-up in force on a date as one frozen plan, all or none.

    Raises InputError for an empty name or reference or a date to come, DuplicateEntry for a name
    that a plan has already, NotEnoughData without a set-up.
    """
    if not plan.strip():
        raise InputError("A frozen plan needs a name, such as programme 2.", field="plan")
    with ledger.writing():
        if any(e.plan == plan.strip() for e in ledger.current(PlannedStage.KIND)):
            raise DuplicateEntry(
                f"There is a plan “{plan.strip()}” already, and a frozen plan stays as it is."
                " Give the new one another name."
            )
        site = ledger.site(on)
        for stage in site.stages:
            stages = site.stages_of(stage.zone)
            volume_m3 = stage_volume(site.zone(stage.zone), stages, stage.stage)
            fields = {
                "plan": plan,
                "frozen_on": on.isoformat(),
                "zone": stage.zone,
                "stage": str(stage.stage),
                "planned_start": stage.planned_start.isoformat(),
                "planned_finish": stage.planned_finish.isoformat(),
                "hold_days": str(stage.hold_days),
                "design_m3": thousandths_text(round(volume_m3 * 1000)),
                "reference": reference,
            }
            record(ledger, "plan", fields, by=by, now=now)
    return Frozen(plan.strip(), on, len(site.stages))
