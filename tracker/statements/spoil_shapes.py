"""The shapes of the spoil statement: frozen answers with units in their names. No arithmetic."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.statements.balance_shapes import EnduranceView, HeapLine
from tracker.statements.basis import Basis


@dataclass(frozen=True, slots=True)
class MovedLine:
    """What left in a period, and what the belts ran and used for it."""

    label: str  # day | period
    starts: date
    ends: date
    belt_t: float
    lorry_t: float
    loads: int
    belt_running_h: float | None  # None: nobody read the hours
    belt_kwh: float | None  # None: nobody read the meter
    belt_kwh_per_t: float | None  # of the tonnes that were metered


# --- receivers -----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class DestinationLine:
    """What went to one place by lorry, and what its receipts say of the same loads."""

    destination: str
    name: str
    kind: str
    loads: int
    carried_on: int  # more, that carry on a load which another place rejected
    loads_rejected: int
    dispatched_t: float  # of loads that were not rejected
    receipts: int
    accepted_t: float
    refused_by_receipt: int
    difference_t: float  # dispatched less accepted, of the loads that have a receipt
    without_receipt: int
    without_receipt_t: float
    overdue: int  # of these, those older than two working days


@dataclass(frozen=True, slots=True)
class MissingReceipt:
    """A load with no receipt after two working days."""

    entry_id: str
    ticket: str
    gate_date: date
    days_waiting: int
    destination: str
    mass_t: float | None


# --- tickets -------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class IssuerLine:
    """The tickets of one book of one issuer in the period."""

    issuer: str
    book: str  # what precedes the digits at the end of its numbers
    first_number: str
    last_number: str
    tickets: int
    gaps: int
    missing: int  # numbers


@dataclass(frozen=True, slots=True)
class GapLine:
    """Numbers of a book that no load carries, between two that do."""

    issuer: str
    missing_numbers: str
    missing: int
    after_number: str
    after_day: date
    before_number: str
    before_day: date
    before_entry_id: str


@dataclass(frozen=True, slots=True)
class TicketFinding:
    """Something about one load that somebody should look at."""

    what: str
    entry_id: str
    gate_date: date
    ticket: str
    registration: str
    sentence: str


@dataclass(frozen=True, slots=True)
class ChainLine:
    """A rejected load and the load that carried it on; its weight counts once."""

    rejected_ticket: str
    rejected_entry_id: str  # empty where the rejected load is not recorded
    rejected_on: date | None
    sent_on_ticket: str  # empty where it was not sent on
    sent_on_entry_id: str
    sent_on_to: str
    mass_t: float | None
    state: str


# --- papers --------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class NoteLine:
    """A note that loads of the period went under, or that was valid in it; and how long to keep it.

    Dates are None where the note is not on record; `keep_until` also where no law is known for it.
    """

    note_number: str
    form: str  # transfer | season | consignment; empty where it is not on record
    entry_id: str
    stream: str
    waste_code: str
    carrier: str
    destination: str
    valid_from: date | None
    valid_to: date | None
    loads: int
    mass_t: float
    last_load_on: date | None
    keep_until: date | None
    state: str  # on record | not on record


@dataclass(frozen=True, slots=True)
class PaperFinding:
    """In what the papers of a load, or of a stream to a destination, are wanting."""

    rule: str
    entry_id: str  # the load
    day: date
    ticket: str
    sentence: str


@dataclass(frozen=True, slots=True)
class DeclarationLine:
    """What was moved of a stream to a destination against what was declared for re-use there."""

    stream: str
    destination: str
    declarations: str  # all of them together
    received_on: date  # the first
    declared_t: float
    moved_t: float  # since the start, as far as it was weighed
    percent: float
    reached_percent: int  # 0, 80, 90 or 100
    warning: str


@dataclass(frozen=True, slots=True)
class AuthorisationLine:
    """A carrier or destination whose registration ends soon, has ended or is not known."""

    what: str  # carrier | destination
    code: str
    name: str
    number: str
    valid_to: date | None
    days_left: int | None  # negative: it ended
    loads: int  # of the period
    state: str


# --- belt ----------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading of a belt, and what it carried since the one before."""

    entry_id: str
    belt: str
    read_at: datetime
    work_date: date
    shift: str
    event: str  # reading | reset | swap | rollover
    totaliser_t: float
    run_t: float | None  # None: there was no reading before, or the count began anew
    running_h: float | None
    kwh: float | None


@dataclass(frozen=True, slots=True)
class UnreadDay:
    """A work date on which ground that goes by belt was dug and the belt was not read.

    Where lorries took it all, the belt may have stood; a reading would show it.
    """

    belt: str
    day: date
    stream: str
    dug_t: float
    lorries_t: float


@dataclass(frozen=True, slots=True)
class CheckLine:
    """A belt weigher checked with nothing on it, or with ground that was weighed elsewhere."""

    entry_id: str
    belt: str
    checked_at: datetime
    work_date: date
    method: str  # zero | material
    shown_t: float
    reference_t: float
    error_t: float
    error_percent: float | None  # of the reference
    allowed_t: float | None
    verdict: str  # within what is allowed | more than is allowed | nothing stated as allowed


@dataclass(frozen=True, slots=True)
class SpoilStatement:
    """Where the spoil went, by what, and how whole its tickets and papers are."""

    basis: Basis
    since: date
    until: date
    headline: str
    moved: tuple[MovedLine, ...]
    heaps: tuple[HeapLine, ...]
    endurance: EnduranceView
    destinations: tuple[DestinationLine, ...]
    missing_receipts: tuple[MissingReceipt, ...]
    issuers: tuple[IssuerLine, ...]
    gaps: tuple[GapLine, ...]  # the first of them
    gaps_found: int
    tickets: tuple[TicketFinding, ...]
    chains: tuple[ChainLine, ...]
    notes: tuple[NoteLine, ...]
    papers: tuple[PaperFinding, ...]
    declarations: tuple[DeclarationLine, ...]
    authorisations: tuple[AuthorisationLine, ...]
    readings: tuple[ReadingLine, ...]
    checks: tuple[CheckLine, ...]
    unread_days: tuple[UnreadDay, ...]
