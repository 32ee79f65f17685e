"""Rows about levels reached and permitted: hold points, surveys."""

from __future__ import annotations

from tracker.domain.levels import FORMATION, RELEASED, STATUSES, plan_area
from tracker.domain.site import Zone
from tracker.errors import UnknownName
from tracker.ledger.entries import Entry, HoldRelease, SurveyLevel
from tracker.recording.fields import Fields
from tracker.recording.levels import read_level


def read_hold(row: Fields) -> Entry | None:
    """A decision about a hold point, or None with the reasons kept in the row."""
    decided = row.moment("decided_at")
    setup = row.setup
    zone = row.named("zone", setup.zones)
    hold = row.text("hold").lower()
    status = row.choice("status", STATUSES)
    area_dm2 = read_area(row, "accepted_m2", zone)
    if hold and zone and hold != FORMATION:
        known = {str(s.stage) for s in setup.site.stages_of(zone.zone)}
        if hold not in known:
            row.wrong("hold", str(UnknownName("hold point", hold, {*known, FORMATION})))
    if area_dm2 is not None and (hold != FORMATION or status != RELEASED):
        row.wrong("accepted_m2", "An area is accepted only when formation is released.")
    condition = row.text("condition")
    if condition and status != RELEASED:
        row.wrong("condition", "A condition belongs to a release. Put other words into the note.")
    permit, decided_by = row.text("permit"), row.text("decided_by")
    if row.failed or not (decided and zone):
        return None
    return row.made(
        HoldRelease,
        decided_at=decided.utc,
        work_date=setup.work_date_of(decided.utc),
        zone=zone.zone,
        hold=hold,
        status=status,
        permit=permit,
        decided_by=decided_by,
        accepted_area_dm2=area_dm2,
        condition=condition or None,
    )


def read_area(row: Fields, column: str, zone: Zone | None) -> int | None:
    """An area of a zone's formation in square decimetres, at most all of it."""
    thousandths = row.thousandths(column)
    if thousandths is None:
        return None
    area_m2 = thousandths / 1000
    if thousandths % 10:
        row.wrong(column, f"{area_m2} m² has more than two decimals. Round it to two.")
    elif zone:
        whole_m2 = plan_area(zone, row.setup.formation_m[zone.zone])
        if area_m2 > 1.02 * whole_m2:
            row.wrong(
                column,
                f"{area_m2:g} m² is more than the whole zone, {whole_m2:.0f} m². Give its area in"
                " m².",
            )
    return thousandths // 10


def read_survey(row: Fields) -> Entry | None:
    """What a survey found in a zone, or None with the reasons kept in the row."""
    surveyed = row.moment("surveyed_at")
    setup = row.setup
    survey = row.text("survey")
    zone = row.named("zone", setup.zones)
    lowest_mm = read_level(row, "lowest_level_m", zone)
    method = row.text("method")
    dug_l = row.thousandths("dug_bank_m3")
    if zone and dug_l is not None and dug_l / 1000 > 1.2 * setup.zone_volume_m3(zone.zone):
        row.wrong(
            "dug_bank_m3",
            f"{dug_l / 1000:,.0f} m³ is more than all of zone {zone.zone},"
            f" {setup.zone_volume_m3(zone.zone):,.0f} m³ bank. Give m³ of this zone alone.",
        )
    if row.failed or not (surveyed and zone) or lowest_mm is None:
        return None
    return row.made(
        SurveyLevel,
        survey=survey,
        surveyed_at=surveyed.utc,
        work_date=setup.work_date_of(surveyed.utc),
        zone=zone.zone,
        lowest_level_mm=lowest_mm,
        dug_bank_l=dug_l,
        method=method,
    )
