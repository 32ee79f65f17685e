"""Papers of ground that leaves the site: transfer and consignment notes, re-use declarations.

A season note covers many loads, a transfer note one, a consignment note exactly one movement of
hazardous waste and is made out before it. Everything is tested on the date of the load. The tracker
classifies nothing and gives no legal advice: the law that the set-up names governs.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

TRANSFER, SEASON, CONSIGNMENT = "transfer", "season", "consignment"
FORMS = (TRANSFER, SEASON, CONSIGNMENT)
NOTE_YEARS, CONSIGNMENT_YEARS = 2, 3  # si2011_988 regulation 35; si2005_894 (England and Wales)
KEPT_SO_IN = ("England", "Wales")
LONGEST_SEASON_DAYS = 366  # a year: from memory, unconfirmed
DECLARED_REUSE = "declared re-use elsewhere"
HAZARDOUS = "hazardous waste"
REUSE_WARNINGS_PERCENT = (80, 90, 100)


class Note(Protocol):
    """What a note says, as far as a load is held against it."""

    @property
    def note_number(self) -> str: ...
    @property
    def form(self) -> str: ...
    @property
    def made_out_at(self) -> datetime: ...
    @property
    def valid_from(self) -> date: ...
    @property
    def valid_to(self) -> date: ...
    @property
    def stream(self) -> str: ...
    @property
    def carrier(self) -> str: ...
    @property
    def destination(self) -> str: ...


class Load(Protocol):
    """What a load says, as far as its note is concerned."""

    @property
    def gate_date(self) -> date: ...
    @property
    def gate_out_at(self) -> datetime: ...
    @property
    def stream(self) -> str: ...
    @property
    def carrier(self) -> str: ...
    @property
    def destination(self) -> str: ...


def is_waste(regime: str) -> bool:
    """Whether ground of this regime leaves under a note."""
    return regime.endswith("waste")


def note_findings(note: Note, load: Load) -> tuple[str, ...]:
    """In what a note does not cover a load, in sentences; empty if it does."""
    found = []
    if not note.valid_from <= load.gate_date <= note.valid_to:
        found.append(
            f"Note {note.note_number} covers {note.valid_from} to {note.valid_to}; the load is of"
            f" {load.gate_date}."
        )
    for what in ("stream", "carrier", "destination"):
        said, carried = getattr(note, what), getattr(load, what)
        if said != carried:
            found.append(
                f"Note {note.note_number} is for {what} {said}; the load has {carried or 'none'}."
            )
    if note.form == CONSIGNMENT and note.made_out_at > load.gate_out_at:
        found.append(
            f"Consignment note {note.note_number} was made out after the load left; it is made out"
            " before the move."
        )
    return tuple(found)


def covers_one(note: Note) -> bool:
    """Whether the note covers a single load or movement."""
    return note.form != SEASON


def keep_until(form: str, nation: str, last_day: date) -> date | None:
    """The date to which a note is kept at least: years after the last transfer under it.

    Two years for a transfer or season note (si2011_988, regulation 35), three for a consignment
    note (si2005_894). None outside England and Wales: the law that the set-up names says how long.

    >>> keep_until("season", "England", date(2026, 10, 27))
    datetime.date(2028, 10, 27)
    """
    if nation not in KEPT_SO_IN:
        return None
    years = CONSIGNMENT_YEARS if form == CONSIGNMENT else NOTE_YEARS
    try:
        return last_day.replace(year=last_day.year + years)
    except ValueError:  # 29 February
        return date(last_day.year + years, 3, 1)


@dataclass(frozen=True, slots=True)
class ReuseStanding:
    """What was moved under a re-use declaration, in the unit declared (bank m³ or t)."""

    declared: float
    moved: float

    @property
    def percent(self) -> float:
        """Moved of declared [%]."""
        return 100.0 * self.moved / self.declared

    @property
    def reached_percent(self) -> int:
        """The highest warning reached: 0, 80, 90 or 100 [%]. Reaching it is enough."""
        near = self.percent + 1e-9  # a quotient that is 90 on paper may be a little less
        return max((at for at in REUSE_WARNINGS_PERCENT if near >= at), default=0)


def reuse_warning(declaration: str, standing: ReuseStanding, unit: str) -> str:
    """What to say of a declaration that nears its quantity; empty below 80 %."""
    if not standing.reached_percent:
        return ""
    said = (
        f"Re-use declaration {declaration}: {standing.moved:,.0f} {unit} of"
        f" {standing.declared:,.0f} {unit} moved ({standing.percent:.1f} %)."
    )
    if standing.reached_percent >= 100:
        return f"{said} Stop: no more may go under it until it is extended or another is received."
    return f"{said} Extend it, or find another use, before it is used up."
