"""Rows about the plan and about formation: stages of a frozen plan, steps of a formation."""

from __future__ import annotations

from tracker.domain.levels import stage_volume
from tracker.errors import UnknownName
from tracker.ledger.entries import Entry, FormationStep, PlannedStage
from tracker.recording.fields import Fields
from tracker.recording.rows_levels import read_area

STEPS = ("reached", "inspected", "blinded")
LONGEST_HOLD_DAYS = 366  # more is a slip: common practice, no source


def read_formation(row: Fields) -> Entry | None:
    """A step of a formation, or None with the reasons kept in the row."""
    done = row.moment("done_at")
    zone = row.named("zone", row.setup.zones)
    step = row.choice("step", STEPS)
    area_dm2 = read_area(row, "area_m2", zone)
    if area_dm2 == 0:
        row.wrong("area_m2", "An area of 0 m² is no step. Give the area in m².")
    checked_by, reference = row.text("checked_by"), row.text("reference")
    if row.failed or not (done and zone) or area_dm2 is None:
        return None
    return row.made(
        FormationStep,
        done_at=done.utc,
        work_date=row.setup.work_date_of(done.utc),
        zone=zone.zone,
        step=step,
        area_dm2=area_dm2,
        checked_by=checked_by,
        reference=reference,
    )


def read_plan(row: Fields) -> Entry | None:
    """One stage of a frozen plan, or None with the reasons kept in the row."""
    plan, reference = row.text("plan"), row.text("reference")
    frozen_on = row.day("frozen_on", before_the_site=True)
    setup = row.sheet.setups.on(frozen_on) if frozen_on else row.setup
    zone = row.named("zone", setup.zones)
    number, hold_days = row.whole("stage"), row.whole("hold_days")
    starts = row.day("planned_start", to_come=True)
    finishes = row.day("planned_finish", to_come=True)
    design_l = row.thousandths("design_m3")
    stages = setup.site.stages_of(zone.zone) if zone else ()
    if zone and number is not None and number not in {s.stage for s in stages}:
        known = [str(s.stage) for s in stages]
        row.wrong("stage", str(UnknownName(f"stage of zone {zone.zone}", str(number), known)))
    elif zone and number is not None and design_l is None:
        design_l = round(stage_volume(zone, stages, number) * 1000)
    if design_l == 0:
        row.wrong("design_m3", "A stage of 0 m³ is no stage. Give its design volume in m³ bank.")
    if starts and finishes and finishes < starts:
        row.wrong("planned_finish", f"It ends before it starts on {starts}. Swap the dates.")
    if hold_days is not None and hold_days > LONGEST_HOLD_DAYS:
        row.wrong("hold_days", f"{hold_days} days is more than a year. Give calendar days.")
    if row.failed or not (frozen_on and zone and starts and finishes):
        return None
    return row.made(
        PlannedStage,
        plan=plan,
        frozen_on=frozen_on,
        zone=zone.zone,
        stage=number,
        planned_start=starts,
        planned_finish=finishes,
        hold_days=hold_days,
        design_l=design_l,
        reference=reference,
    )
