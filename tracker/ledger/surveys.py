"""What statements ask of surveyed surfaces and of what was stated against the returns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Select, literal, select

from tracker.domain.site import Site
from tracker.domain.surface.dig_region import reduction_levels
from tracker.domain.surface.reduced import ReducedSurvey, at_levels, survey_from_text
from tracker.domain.surface.site_survey import flat_ground, whole_zones
from tracker.errors import EntryNotFound
from tracker.ledger.entries import SurveyCheck, SurveyLevel, SurveySurface
from tracker.ledger.reads import LedgerReads, current_rows, entry_of
from tracker.ledger.schema import TABLES


@dataclass(frozen=True, slots=True)
class Taken:
    """A surveyed surface as the set-up of a site asks for it.

    `between` are levels of the set-up at which the survey was not reduced: near, not exact.
    """

    entry: SurveySurface
    reduced: ReducedSurvey
    whole: tuple[str, ...]  # zones covered from edge to edge
    between: tuple[float, ...]


def taken_surveys(
    ledger: LedgerReads, site: Site, until: date, known_at: datetime | None = None
) -> list[Taken]:
    """Surveyed surfaces of a site's excavations to a date, oldest first."""
    known = {e.excavation for e in site.excavations}
    found = []
    for entry in surfaces_to(ledger, until, known_at):
        if entry.excavation not in known:
            continue
        kept = survey_from_text(entry.void_table)
        reduced, between = at_levels(kept, reduction_levels(site, entry.excavation))
        whole = whole_zones(site, entry.excavation, reduced)
        found.append(Taken(entry, reduced, whole, tuple(between)))
    return found


def ground_before(
    site: Site, excavation: str, taken: Sequence[Taken], moment: datetime
) -> dict[str, ReducedSurvey]:
    """Zone -> the ground that its digging began from, as known by a moment.

    The last survey of original ground that covers the zone; else the level of the set-up.
    """
    flat = flat_ground(site, excavation)
    base = dict.fromkeys(flat.table.zones, flat)
    for survey in taken:
        entry = survey.entry
        if entry.excavation == excavation and entry.original_ground and entry.surveyed_at <= moment:
            base |= dict.fromkeys(survey.whole, survey.reduced)
    return base


def surfaces_to(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> list[SurveySurface]:
    """Surveyed surfaces to a date, oldest first, without their pictures."""
    table = TABLES["survey_surfaces"]
    light = [literal("").label("picture") if c.name == "picture" else c for c in table.c]
    query: Select[Any] = (
        current_rows(table, known_at)
        .with_only_columns(*light)
        .where(table.c.work_date <= until)
        .order_by(table.c.surveyed_at, table.c.entry_id)
    )
    with ledger.reading() as conn:
        return [entry_of("survey_surfaces", row) for row in conn.execute(query)]


def picture_of_survey(ledger: LedgerReads, entry_id: str) -> str:
    """The picture of a surveyed surface as text. Raises EntryNotFound."""
    table = TABLES["survey_surfaces"]
    with ledger.reading() as conn:
        query = select(table.c.picture).where(table.c.entry_id == entry_id)
        picture = conn.execute(query).scalar()
    if not picture:
        raise EntryNotFound(f"Entry {entry_id} is no surveyed surface.")
    return str(picture)


def survey_checks(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> dict[tuple[str, str], SurveyCheck]:
    """(excavation, survey) -> the check that stands, of surveys to a date."""
    found = ledger.current("survey_checks", known_at=known_at, until=until)
    return {(check.excavation, check.survey): check for check in found}


def levels_of(
    ledger: LedgerReads, surface: SurveySurface, known_at: datetime | None = None
) -> dict[str, str]:
    """Zone -> the id of the deepest point that was recorded with a surface and still stands."""
    zones = survey_from_text(surface.void_table).table.zones
    found = ledger.current("survey_levels", known_at=known_at, where={"survey": surface.survey})
    return {level.zone: level.entry_id for level in found if level.zone in zones}


def recorded_with(ledger: LedgerReads, surface: SurveySurface) -> list[str]:
    """The ids of the deepest points and the check recorded with a surface that still stand."""
    where = {"survey": surface.survey, "excavation": surface.excavation}
    checks = ledger.current("survey_checks", where=where)
    return [*levels_of(ledger, surface).values(), *(check.entry_id for check in checks)]


def surface_of(ledger: LedgerReads, level: SurveyLevel) -> SurveySurface | None:
    """The surveyed surface that a deepest point was recorded with; None if it was typed."""
    for surface in ledger.current("survey_surfaces", where={"survey": level.survey}):
        if level.zone in survey_from_text(surface.void_table).table.zones:
            found: SurveySurface = surface
            return found
    return None
