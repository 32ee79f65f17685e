"""Records: who wrote what. Search over entries, and the history of one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from tracker.domain.site import Site
from tracker.errors import EntryNotFound, UnknownName
from tracker.ledger import entries as e
from tracker.ledger.questions import search
from tracker.ledger.schema import WORK_DATE
from tracker.statements.shapes import RecordLine, RecordsStatement

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads


def records_statement(
    ledger: LedgerReads,
    *,
    kind: str = "",
    text: str = "",
    since: date | None = None,
    until: date | None = None,
    known_at: datetime | None = None,
    limit: int = 50,
    current_only: bool = False,
) -> RecordsStatement:
    """Entries of a kind (empty: every kind) that hold a text, newest first.

    Raises UnknownName for a kind that is none.
    """
    if kind and kind not in e.KINDS:
        raise UnknownName("kind of entry", kind, e.KINDS)
    count, found = search(
        ledger,
        [kind] if kind else list(e.KINDS),
        text=text,
        since=since,
        until=until,
        known_at=known_at,
        current_only=current_only,
        limit=limit,
    )
    return RecordsStatement(known_at, count, tuple(_line(ledger, stored) for stored in found))


def history_statement(ledger: LedgerReads, entry_id: str) -> RecordsStatement:
    """Every version of the fact that an entry states, oldest first. Raises EntryNotFound."""
    versions = ledger.history(entry_id)
    return RecordsStatement(
        None, len(versions), tuple(_line(ledger, stored) for stored in versions)
    )


def site_in_force(ledger: LedgerReads, day: date | None = None) -> Site:
    """The set-up in force on a work date (None: the latest). Raises NotEnoughData."""
    return ledger.site(day)


def entry_words(ledger: LedgerReads, entry: e.Entry) -> str:
    """An entry in a sentence, also one that is not recorded yet."""
    return _what(ledger, entry)


def _line(ledger: LedgerReads, stored: e.Stored) -> RecordLine:
    entry = stored.entry
    stated = entry or _last_stated(ledger, stored)
    dated = WORK_DATE[stored.kind]
    return RecordLine(
        kind=stored.kind,
        entry_id=stored.entry_id,
        work_date=getattr(stated, dated) if dated else None,
        what=_what(ledger, stated) if entry else f"withdrawn: {_what(ledger, stated)}",
        action=stored.action,
        recorded_at=stored.recorded_at,
        recorded_by=stored.recorded_by,
        supersedes=stored.supersedes or "",
        superseded_by=stored.superseded_by or "",
        reason=stored.reason,
        fields=() if entry is None else _fields(entry),
    )


def _last_stated(ledger: LedgerReads, withdrawal: e.Stored) -> e.Entry:
    """What a withdrawal withdrew."""
    assert withdrawal.supersedes
    entry = ledger.stored(withdrawal.supersedes).entry
    assert entry is not None, "a withdrawal is of an entry, never of a withdrawal"
    return entry


def _what(ledger: LedgerReads, entry: e.Entry) -> str:
    """An entry in a sentence; a closed exception with what it is about."""
    said = _WHAT[type(entry)](entry)
    if not isinstance(entry, e.ClosedException):
        return said
    try:
        about = ledger.stored(entry.about).entry
    except EntryNotFound:  # a day or an hour above the cap was raised by no single entry
        return f"{said} ({entry.about})"
    return f"{said} ({_WHAT[type(about)](about)})" if about else said


def _fields(entry: e.Entry) -> tuple[tuple[str, str], ...]:
    return tuple(
        (name, _text(value))
        for name, value in e.as_row(entry).items()
        if name not in entry.LARGE and value not in (None, "", ())
    )


def _text(value: Any) -> str:
    if isinstance(value, tuple):
        return "; ".join(f"{delay.cause}:{delay.minutes}" for delay in value)
    return str(value)


def _metres(level_mm: int | None) -> str:
    return "no level" if level_mm is None else f"{level_mm / 1000:.3f} m"


def _return(x: e.DigReturn) -> str:
    where = f"{x.shift} shift, zone {x.zone}, stage {x.stage}"
    if x.nil_reason:
        return f"{where}: nil, {x.nil_reason}"
    amount = {
        "counted": f"{x.count} × {(x.capacity_l or 0) / 1000:g} m³ loose",
        "weighed": f"{(x.mass_kg or 0) / 1000:,.3f} t",
    }.get(x.basis, f"{(x.bank_l or 0) / 1000:,.3f} m³ bank")
    return f"{where}: {amount} of {x.stream}, {x.basis}; lowest {_metres(x.lowest_level_mm)}"


def _load(x: e.LorryLoad) -> str:
    mass = "no weight" if x.net_kg is None else f"{x.net_kg / 1000:,.3f} t"
    return (
        f"ticket {x.ticket_issuer} {x.ticket_number}: {mass} of {x.stream} to {x.destination}"
        f" ({x.registration or 'no plate'}), {x.outcome}"
    )


def _reuse(x: e.SiteReuse) -> str:
    amount = {
        "bank": f"{(x.bank_l or 0) / 1000:,.1f} m³ bank",
        "compacted": f"{(x.compacted_l or 0) / 1000:,.1f} m³ in place",
    }.get(x.basis, f"{(x.mass_kg or 0) / 1000:,.3f} t")
    return f"{amount} of {x.stream} placed at {x.location}"


def _declared(x: e.ReuseDeclaration) -> str:
    if x.declared_kg:
        return f"{x.declared_kg / 1000:,.0f} t"
    return f"{(x.declared_l or 0) / 1000:,.0f} m³ bank"


_WHAT: Mapping[type[e.Entry], Callable[[Any], str]] = {
    e.SetupRevision: lambda x: f"set-up “{x.title}” in force from {x.effective_date}",
    e.DigReturn: _return,
    e.BeltReading: lambda x: f"belt {x.belt}: totaliser {x.totaliser_kg / 1000:,.3f} t, {x.event}",
    e.LorryLoad: _load,
    e.BeltCheck: lambda x: (
        f"{x.method} check of belt {x.belt}: {(x.shown_kg - x.reference_kg) / 1000:+,.3f} t off"
    ),
    e.SiteReuse: _reuse,
    e.TransferNote: lambda x: (
        f"{x.form} note {x.note_number}: {x.waste_code} of {x.stream} by {x.carrier} to"
        f" {x.destination}, {x.valid_from} to {x.valid_to}"
    ),
    e.ReuseDeclaration: lambda x: (
        f"re-use declaration {x.declaration}: {x.stream} to {x.destination},"
        f" {_declared(x)}, received {x.received_on}"
    ),
    e.GateTraffic: lambda x: (
        f"{x.vehicles} vehicles {'in and out' if x.direction == 'both' else x.direction},"
        f" {x.purpose}, in the hour from {x.hour:02d}:00"
    ),
    e.GateBooking: lambda x: (
        f"booking {x.booking}: {x.purpose}, {x.movements_in} in and {x.movements_out} out,"
        f" {x.from_hour:02d}:00 to {x.to_hour:02d}:00"
    ),
    e.StockCount: lambda x: f"heap {x.location}: {x.loose_l / 1000:,.1f} m³ loose of {x.stream}",
    e.HoldRelease: lambda x: (
        f"zone {x.zone}, hold {x.hold}: {x.status} (permit {x.permit})"
        + (f", on condition: {x.condition}" if x.condition else "")
    ),
    e.FormationStep: lambda x: (
        f"zone {x.zone}: {x.area_dm2 / 100:,.0f} m² of formation {x.step}, by {x.checked_by}"
    ),
    e.PlannedStage: lambda x: (
        f"plan “{x.plan}”, zone {x.zone}, stage {x.stage}: {x.planned_start} to"
        f" {x.planned_finish}, then {x.hold_days} days of hold"
    ),
    e.SurveyLevel: lambda x: (
        f"survey {x.survey}, zone {x.zone}: lowest {_metres(x.lowest_level_mm)}"
    ),
    e.SurveySurface: lambda x: (
        f"survey {x.survey} of {x.excavation}: {x.points_used:,} of {x.points_in:,} points of"
        f" {x.source}"
    ),
    e.SurveyCheck: lambda x: f"survey {x.survey} of {x.excavation} held against the returns",
    e.Receipt: lambda x: (
        f"receipt {x.receipt_number}: {x.accepted_kg / 1000:,.3f} t of ticket {x.ticket_number},"
        f" {x.outcome}"
    ),
    e.Baseline: lambda x: f"baseline “{x.baseline}”, {x.payload_kg / 1000:g} t a load",
    e.ClosedException: lambda x: f"{x.rule} closed by {x.closed_by}: {x.reason}",
}
