"""Spoil out: where it went, by what, and how whole its tickets, receipts and papers are."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from tracker.ledger.entries import LorryLoad
from tracker.ledger.questions import summed
from tracker.statements.basis import Basis
from tracker.statements.belt import belt_readings, check_lines, reading_lines, unread_days
from tracker.statements.endurance import belt_endurance
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.papers import (
    ENDS_WITHIN_DAYS,
    authorisation_lines,
    declaration_lines,
    note_lines,
    paper_findings,
)
from tracker.statements.periods import first_day
from tracker.statements.receivers import destination_lines, missing_lines
from tracker.statements.spoil import spoil, total_of
from tracker.statements.spoil_shapes import MovedLine, SpoilStatement
from tracker.statements.stock import SURCHARGE_CAUTION, counts, heaps
from tracker.statements.ticket_findings import (
    FEWEST_TARES,
    PART_LOAD,
    TARE_OFF_KG,
    chain_lines,
    gap_lines,
    issuer_lines,
    ticket_findings,
)
from tracker.statements.tickets import (
    NEW_BOOK,
    RECEIPT_WORKING_DAYS,
    missing_receipts,
    ticket_gaps,
)
from tracker.statements.words import date_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

MOST_GAPS = 50  # listed; the rest are counted

PAPER_CAUTION = (
    "This tool classifies no waste and gives no legal or tax advice: the law named in the set-up,"
    " the regulator and licensed practice govern. A gross above the plate is unlawful and unsafe."
)


def spoil_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    since: date | None = None,
    known_at: datetime | None = None,
) -> SpoilStatement:
    """What left and where it went over a period (unless told, the month of the as-of date).

    Raises NotEnoughData without a set-up, InputError for swapped dates.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        start = first_day(frame.site.first_date, since or as_of.replace(day=1), as_of)
        loads = _loads(frame, start)
        overdue = missing_receipts(frame, start)
        gaps = ticket_gaps(frame, start, as_of)
        readings = belt_readings(frame, start)
        lying = heaps(frame, counts(frame))
        moved = (_moved(frame, "day", as_of), _moved(frame, "period", start))
        return SpoilStatement(
            basis=_basis(frame, start),
            since=start,
            until=as_of,
            headline=_headline(moved[1], len(overdue), sum(gap.missing for gap in gaps)),
            moved=moved,
            heaps=lying,
            endurance=belt_endurance(frame, lying)[0],
            destinations=destination_lines(frame, start, loads, overdue),
            missing_receipts=missing_lines(frame, overdue),
            issuers=issuer_lines(loads, gaps),
            gaps=gap_lines(gaps[-MOST_GAPS:]),
            gaps_found=len(gaps),
            tickets=ticket_findings(frame, loads),
            chains=chain_lines(frame, loads),
            notes=note_lines(frame, start, loads),
            papers=paper_findings(frame, loads),
            declarations=declaration_lines(frame),
            authorisations=authorisation_lines(frame, loads),
            readings=reading_lines(readings, start),
            checks=check_lines(frame, start),
            unread_days=unread_days(frame, readings, start),
        )


def _loads(frame: Frame, since: date) -> list[LorryLoad]:
    """The loads of the period in the order in which they left."""
    found: list[LorryLoad] = frame.ledger.current(
        "lorry_loads", known_at=frame.known_at, since=since, until=frame.as_of
    )
    return sorted(found, key=lambda load: (load.gate_out_at, load.entry_id))


def _moved(frame: Frame, label: str, since: date) -> MovedLine:
    whole = total_of(spoil(frame, (), since, frame.as_of))
    sums = summed(
        frame.ledger,
        ("belt_min", "belt_wh"),
        since=since,
        until=frame.as_of,
        known_at=frame.known_at,
    )
    minutes, metered_t = sums.get(("belt_min",)), whole.belt_metered_t
    return MovedLine(
        label=label,
        starts=since,
        ends=frame.as_of,
        belt_t=whole.belt_t,
        lorry_t=whole.lorry_t,
        loads=whole.loads,
        belt_running_h=None if minutes is None else minutes / 60.0,
        belt_kwh=whole.belt_kwh if ("belt_wh",) in sums else None,
        belt_kwh_per_t=whole.belt_kwh / metered_t if metered_t else None,
    )


def _headline(moved: MovedLine, overdue: int, missing: int) -> str:
    period = f"{date_words(moved.starts)} to {date_words(moved.ends)}"
    if not moved.belt_t and not moved.loads:
        return f"{period}: no spoil left the site."
    return (
        f"{period}: {moved.belt_t:,.0f} t by belt and {moved.lorry_t:,.0f} t in {moved.loads:,}"
        f" lorry loads. Loads with no receipt after {RECEIPT_WORKING_DAYS} working days: {overdue};"
        f" ticket numbers missing: {missing}."
    )


def _basis(frame: Frame, since: date) -> Basis:
    return basis(
        frame,
        since,
        quality=(
            "Belt tonnes and hours count on the work date of their reading, loads on the calendar"
            " day on which they left. A load without a weight counts at the usual payload.",
            f"A receipt is overdue after {RECEIPT_WORKING_DAYS} whole days on which the calendar"
            f" has a shift. Tickets: a jump over {NEW_BOOK} numbers or more is another book; a part"
            f" load is below {100 * PART_LOAD:g} % of the usual payload; a tare strays by more than"
            f" {TARE_OFF_KG} kg from the median of at least {FEWEST_TARES} of its registration"
            " (common practice, no source).",
            "Papers are tested on the date of each load. Of a declaration, what was weighed,"
            " estimated or, without a weight, the usual payload of the vehicle counts as moved."
            f" Authorisations are listed from {ENDS_WITHIN_DAYS} days before their end"
            " (common practice, no source). Notes are kept two years after the last load,"
            " consignment notes three (SI 2011/988 regulation 35; SI 2005/894: England and Wales);"
            " elsewhere the law named in the set-up says how long: "
            f"{frame.site.governing_law}.",
        ),
        cautions=(PAPER_CAUTION, SURCHARGE_CAUTION),
    )
