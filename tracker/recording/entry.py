"""One entry at a time: record, amend, withdraw, close an exception; every problem at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from tracker.errors import DuplicateEntry, EntryNotFound, InputError, Problem, UnknownName
from tracker.ledger.entries import Entry, LorryLoad, SurveyLevel, SurveySurface, new_id
from tracker.ledger.store import Ledger
from tracker.ledger.surveys import recorded_with, surface_of
from tracker.recording.around import Around
from tracker.recording.columns import KINDS, Kind
from tracker.recording.fields import Fields, Given, Sheet
from tracker.recording.refused import RowRefused
from tracker.recording.rows import read_row
from tracker.recording.setups import setups_of
from tracker.recording.texts import BY_LEDGER_KIND, fields_of


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was written: the id of the entry, and the warnings it went in with."""

    entry_id: str
    problems: tuple[Problem, ...] = ()
    already: bool = False  # the same id was recorded before; nothing was written


def record(
    ledger: Ledger,
    kind: str,
    fields: Mapping[str, Given],
    *,
    by: str,
    entry_id: str | None = None,
    now: datetime | None = None,
) -> Recorded:
    """Record one entry from its columns.

    An `entry_id` of the caller's makes sending twice harmless. Raises InputError with every problem
    in `problems`, UnknownName for a kind or column that there is not, DuplicateEntry (also for an
    id that is recorded with other values).
    """
    row = checked_row(ledger, kind_of(kind), fields, now=now)
    entry = _entry(row)
    named = entry_id or (entry.entry_id if row.value("entry_id") else new_id())
    entry = replace(entry, entry_id=named)
    appended = ledger.append([entry], by=by)
    stored = ledger.stored(named).entry if appended.already else entry
    if stored is None or fields_of(stored) != fields_of(entry):
        raise DuplicateEntry(
            f"Entry “{named}” is recorded with other values and stays as it is. Amend it with a"
            " reason, or give this one another id."
        )
    return Recorded(named, tuple(row.problems), bool(appended.already))


def amend(
    ledger: Ledger,
    entry_id: str,
    changes: Mapping[str, Given],
    *,
    reason: str,
    by: str,
    now: datetime | None = None,
) -> Recorded:
    """Record a corrected entry in place of an earlier one, with a reason.

    `changes` holds the columns that differ; an empty value empties a column. Raises as `record`
    does, and EntryNotFound, AlreadySuperseded.
    """
    old = ledger.stored(entry_id)
    if old.entry is None:
        raise EntryNotFound(f"Entry {entry_id} is a withdrawal. Record a new entry instead.")
    _refuse_part_of_survey(ledger, old.entry)
    kind = BY_LEDGER_KIND.get(old.kind)
    if kind is None:
        raise UnknownName("kind of record", old.kind, BY_LEDGER_KIND)
    fields: dict[str, Given] = {**_kept(old.entry, changes), **changes, "entry_id": ""}
    row = checked_row(ledger, kind, fields, now=now, instead_of=entry_id)
    entry = replace(_entry(row), entry_id=new_id(), source=old.entry.source)
    ledger.supersede(entry_id, entry, reason=reason, by=by)
    return Recorded(entry.entry_id, tuple(row.problems))


def _kept(old: Entry, changes: Mapping[str, Given]) -> dict[str, str]:
    """The old columns, without those that were worked out from a column that changes."""
    kept = fields_of(old)
    if isinstance(old, LorryLoad):
        if {"gross_t", "tare_t"} & changes.keys():
            kept["net_t"] = ""
        if {"gross_t", "tare_t", "net_t"} & changes.keys() and old.weight_basis == "none":
            kept["weight_basis"] = ""
        if "route" in changes:
            kept["destination"] = ""
    return kept


def withdraw(ledger: Ledger, entry_id: str, *, reason: str, by: str) -> Recorded:
    """Withdraw an entry: it stays in the history and counts no more.

    A surveyed surface takes its deepest points and its check with it. Raises InputError without a
    reason, EntryNotFound, AlreadySuperseded.
    """
    with ledger.writing():
        entry = ledger.stored(entry_id).entry
        _refuse_part_of_survey(ledger, entry)
        if isinstance(entry, SurveySurface):
            for part in recorded_with(ledger, entry):
                ledger.withdraw(part, reason=reason, by=by)
        return Recorded(ledger.withdraw(entry_id, reason=reason, by=by).entry_id)


def _refuse_part_of_survey(ledger: Ledger, entry: Entry | None) -> None:
    surface = surface_of(ledger, entry) if isinstance(entry, SurveyLevel) else None
    if surface is not None:
        raise InputError(
            f"This level belongs to the surveyed surface {surface.survey} ({surface.source}) and"
            f" stands or falls with it. Withdraw that one (entry {surface.entry_id})."
        )


def close_exception(
    ledger: Ledger, rule: str, about: str, *, reason: str, closed_by: str, by: str
) -> Recorded:
    """Close the exception that an entry raised under a rule, with the reason. Raises InputError."""
    closure = {"rule": rule, "about": about, "reason": reason, "closed_by": closed_by}
    return record(ledger, "closures", closure, by=by)


def kind_of(name: str) -> Kind:
    """The kind of record of this name. Raises UnknownName."""
    if name not in KINDS:
        raise UnknownName("kind of record", name, KINDS)
    return KINDS[name]


def checked_row(
    ledger: Ledger,
    kind: Kind,
    fields: Mapping[str, Given],
    *,
    now: datetime | None = None,
    instead_of: str = "",
) -> Fields:
    """The fields of a form read and held against the records; `failed` if it must stay out.

    Raises UnknownName for a column that the kind has not.
    """
    known = {c.name for c in kind.columns}
    for column in fields:
        if column not in known:
            raise UnknownName(f"column of {kind.name}", column, known)
    row = read_row(Sheet(kind, setups_of(ledger), now or datetime.now(UTC)), fields)
    if not row.failed:
        Around(ledger, instead_of).check(kind.name, [row])
    return row


def _entry(row: Fields) -> Entry:
    if row.failed or row.entry is None:
        raise RowRefused([p for p in row.problems if p.severity == "error"])
    return row.entry
