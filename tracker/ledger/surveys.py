"""What statements ask of surveyed surfaces and of what was stated against the returns."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import literal

from tracker.errors import EntryNotFound
from tracker.ledger.entries import SurveyCheck, SurveySurface
from tracker.ledger.reads import LedgerReads, current_rows, entry_of
from tracker.ledger.schema import TABLES


def surfaces_to(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> list[SurveySurface]:
    """Surveyed surfaces to a date, oldest first, without their pictures."""
    table = TABLES["survey_surfaces"]
    light = [c for c in table.c if c.name != "picture"]
    query = (
        current_rows(table, known_at)
        .with_only_columns(*light, literal("").label("picture"))
        .where(table.c.work_date <= until)
        .order_by(table.c.surveyed_at, table.c.entry_id)
    )
    with ledger.reading() as conn:
        return [entry_of("survey_surfaces", row) for row in conn.execute(query)]


def picture_of_survey(ledger: LedgerReads, entry_id: str) -> str:
    """The picture of a surveyed surface as text. Raises EntryNotFound."""
    entry = ledger.stored(entry_id).entry
    if not isinstance(entry, SurveySurface):
        raise EntryNotFound(f"Entry {entry_id} is no surveyed surface.")
    return entry.picture


def survey_checks(
    ledger: LedgerReads, until: date, known_at: datetime | None = None
) -> dict[tuple[str, str], SurveyCheck]:
    """(excavation, survey) -> the check that stands, of surveys to a date."""
    found = ledger.current("survey_checks", known_at=known_at, until=until)
    return {(check.excavation, check.survey): check for check in found}
