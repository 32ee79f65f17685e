"""Tickets against each other and against receipts: numbers that are missing, loads unanswered.

One row a load, so a ticket that never reached the ledger is a load that nobody counted.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from tracker.domain.calendar import shifts_on
from tracker.ledger.entries import LorryLoad
from tracker.ledger.tickets import TicketUse, loads_without_receipt, tickets_used
from tracker.statements.frame import Frame

# Common practice, no source.
RECEIPT_WORKING_DAYS = 2  # whole days with shifts, between the load and the day of the statement
NEW_BOOK = 200  # numbers: a jump over more is another book, not a gap
BACK_IN_TIME = timedelta(days=7)  # a higher number on an earlier date is another book as well
_LOOK_BACK = timedelta(days=31)  # for the ticket before the first of a period

_NUMBERED = re.compile(r"(.*?)(\d{1,18})")


@dataclass(frozen=True, slots=True)
class Gap:
    """Numbers of a book that no load carries, between two that do."""

    issuer: str
    after_number: str  # the ticket before the gap
    after_day: date
    before_number: str  # the ticket after it
    missing: int
    missing_numbers: str  # “41565” or “41565 to 41570”
    before_entry_id: str
    day: date  # of the ticket after the gap


def receipts_due_for(frame: Frame) -> date | None:
    """The last date whose loads should have a receipt by now; None where none can be due."""
    day, worked = frame.as_of, 0
    while worked < RECEIPT_WORKING_DAYS:
        day -= timedelta(days=1)
        if day <= frame.set_ups[0][1].first_date:
            return None
        worked += bool(shifts_on(frame.site_on(day), day))
    return day - timedelta(days=1)


def missing_receipts(frame: Frame, since: date = date.min) -> list[LorryLoad]:
    """Loads with no receipt after two working days, the oldest first. A rejected load needs none.

    A working day is one on which the calendar of the set-up has a shift.
    """
    due = receipts_due_for(frame)
    if due is None or due < since:
        return []
    return loads_without_receipt(frame.ledger, since, due, frame.as_of, frame.known_at)


def ticket_gaps(frame: Frame, since: date, until: date) -> list[Gap]:
    """Numbers missing from the books of each issuer, where the ticket after them is of a period.

    A book is what precedes the digits at the end of a number; a number that ends otherwise is in
    none. Tickets of withdrawn loads are accounted for, and so are numbers used on a later date.
    """
    earlier = max(since, date.min + _LOOK_BACK) - _LOOK_BACK
    used = tickets_used(frame.ledger, earlier, frame.as_of, frame.known_at)
    found = [gap for (_, prefix), book in _books(used).items() for gap in _gaps(prefix, book)]
    return sorted(
        (gap for gap in found if since <= gap.day <= until),
        key=lambda gap: (gap.day, gap.issuer, gap.before_number),
    )


def book_of(number: str) -> tuple[str, int] | None:
    """What precedes the digits at the end of a ticket number, and the digits; None without any.

    >>> book_of("WB 40117"), book_of("A-7/0042"), book_of("40117B")
    (('WB ', 40117), ('A-7/', 42), None)
    """
    match = _NUMBERED.fullmatch(number)
    return (match[1], int(match[2])) if match else None


def _books(used: Iterable[TicketUse]) -> dict[tuple[str, str], dict[int, TicketUse]]:
    """Issuer and book -> number -> the ticket, by rising number."""
    books: dict[tuple[str, str], dict[int, TicketUse]] = defaultdict(dict)
    for use in used:
        book = book_of(use.number)
        if book:
            books[use.issuer, book[0]][book[1]] = use
    return {key: dict(sorted(book.items())) for key, book in books.items()}


def _gaps(prefix: str, book: dict[int, TicketUse]) -> Iterator[Gap]:
    for (before, last), (after, first) in pairwise(book.items()):
        missing = after - before - 1
        another_book = missing >= NEW_BOOK or first.gate_date < last.gate_date - BACK_IN_TIME
        if missing and not another_book:
            digits = len(last.number) - len(prefix)
            names = [f"{prefix}{number:0{digits}d}" for number in (before + 1, after - 1)]
            yield Gap(
                issuer=last.issuer,
                after_number=last.number,
                after_day=last.gate_date,
                before_number=first.number,
                missing=missing,
                missing_numbers=names[0] if missing == 1 else " to ".join(names),
                before_entry_id=first.entry_id,
                day=first.gate_date,
            )
