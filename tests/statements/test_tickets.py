"""Tickets of the paper pit against each other and against receipts."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from tests.statements import paper
from tracker.recording.entry import amend, withdraw
from tracker.statements.frame import framed
from tracker.statements.tickets import missing_receipts, ticket_gaps

THURSDAY, FRIDAY = date(2026, 10, 22), date(2026, 10, 23)
ALL = (date(2026, 10, 19), paper.LAST_DAY)


def load(book, number, left="2026-10-22 08:30", **fields):
    given = {"stream": "clay", "route": "R-ROAD", "net_t": "18"} | fields
    return paper.enter(book, "loads", ticket_number=number, gate_out_at=left, **given)


def receipt(book, number, day, issuer="gate", **fields):
    given = {"destination": "quarry", "accepted_t": "18", "waste_code": "17 05 04"} | fields
    return paper.enter(
        book,
        "receipts",
        receipt_number=f"R-{number}",
        receipt_date=day,
        ticket_issuer=issuer,
        ticket_number=number,
        **given,
    )


def gaps(book, since=ALL[0], until=ALL[1], **known):
    return ticket_gaps(framed(book, paper.LAST_DAY, **known), since, until)


def unanswered(book, day, since=date.min, **known):
    return [x.ticket_number for x in missing_receipts(framed(book, day, **known), since)]


# --- receipts ------------------------------------------------------------------------------------
def test_a_receipt_is_missing_once_two_whole_working_days_have_passed(own):
    load(own, "1")  # on Thursday; Friday and Saturday are worked, Sunday is not
    assert unanswered(own, date(2026, 10, 24)) == []
    assert unanswered(own, date(2026, 10, 25)) == ["1"]
    load(own, "2", "2026-10-24 10:00")  # on Saturday; Monday and Tuesday follow
    assert unanswered(own, date(2026, 10, 27)) == ["1"]
    assert unanswered(own, date(2026, 10, 28)) == ["1", "2"]
    assert unanswered(own, date(2026, 10, 28), since=date(2026, 10, 23)) == ["2"]


def test_a_holiday_of_the_calendar_is_no_working_day(own):
    load(own, "1", "2026-10-29 10:00")  # Friday 30 October is a holiday, Sunday is not worked
    assert unanswered(own, date(2026, 11, 2)) == []
    assert unanswered(own, date(2026, 11, 3)) == ["1"]


def test_a_receipt_answers_its_ticket_from_its_own_date_and_only_of_its_issuer(own):
    load(own, "1")
    load(own, "2", "2026-10-22 10:00")
    receipt(own, "1", "2026-10-26")
    receipt(own, "2", "2026-10-26", issuer="another gate")
    assert unanswered(own, date(2026, 10, 25)) == ["1", "2"]
    assert unanswered(own, date(2026, 10, 26)) == ["2"]


def test_a_rejected_load_needs_no_receipt_and_a_withdrawn_receipt_is_none(own):
    load(own, "1", outcome="rejected")
    load(own, "2", "2026-10-22 10:00")
    of_2 = receipt(own, "2", "2026-10-23")
    assert unanswered(own, date(2026, 10, 28)) == []
    withdraw(own, of_2, reason="of another site", by="office")
    assert unanswered(own, date(2026, 10, 28)) == ["2"]


def test_receipts_are_counted_as_they_were_known(own, clock):
    load(own, "1")
    then, clock.moment = clock.moment, clock.moment + timedelta(hours=1)
    receipt(own, "1", "2026-10-23")
    assert unanswered(own, paper.LAST_DAY) == []
    assert unanswered(own, paper.LAST_DAY, known_at=then) == ["1"]


def test_no_receipt_is_due_before_the_site_has_worked_two_days(own):
    load(own, "1", "2026-10-19 10:00")
    assert unanswered(own, date(2026, 10, 20)) == []
    assert unanswered(own, date(2026, 10, 22)) == ["1"]


# --- gaps ----------------------------------------------------------------------------------------
def test_missing_numbers_are_a_gap_between_two_tickets(own):
    load(own, "WB-0098", "2026-10-22 08:30")
    load(own, "WB-0099", "2026-10-22 10:30")
    after = load(own, "WB-0102", "2026-10-23 08:30")
    (gap,) = gaps(own)
    assert (gap.after_number, gap.before_number, gap.missing) == ("WB-0099", "WB-0102", 2)
    assert gap.missing_numbers == "WB-0100 to WB-0101"
    assert (gap.after_day, gap.day, gap.before_entry_id) == (THURSDAY, FRIDAY, after)
    load(own, "WB-0101", "2026-10-23 10:00")
    assert [g.missing_numbers for g in gaps(own)] == ["WB-0100"]


def test_books_and_issuers_are_counted_apart(own):
    load(own, "A1", "2026-10-22 08:00")
    load(own, "B2", "2026-10-22 09:00")
    load(own, "A3", "2026-10-22 10:00", ticket_issuer="quarry gate")
    load(own, "4C", "2026-10-22 11:00")
    assert gaps(own) == []


def test_a_book_that_starts_elsewhere_is_no_gap_of_hundreds(own):
    load(own, "100", "2026-10-22 08:00")
    load(own, "301", "2026-10-22 10:00")
    assert gaps(own) == []
    load(own, "300", "2026-10-22 09:00")
    (gap,) = gaps(own)
    assert gap.missing == 199


def test_a_higher_number_of_an_earlier_week_is_another_book(own):
    load(own, "1", "2026-11-02 08:00")
    load(own, "5", "2026-10-22 10:00")
    assert gaps(own) == []


def test_a_withdrawn_ticket_is_accounted_for_and_an_amended_number_is_not(own):
    for number, hour in (("1", "08"), ("2", "10"), ("3", "12")):
        load(own, number, f"2026-10-22 {hour}:00")
    second = own.current("lorry_loads", where={"ticket_number": "2"})[0].entry_id
    changed = amend(
        own, second, {"ticket_number": "4"}, reason="misread", by="office", now=own.now()
    )
    assert [g.missing_numbers for g in gaps(own)] == ["2"]
    withdraw(own, changed.entry_id, reason="spoilt", by="office")
    assert [g.missing_numbers for g in gaps(own)] == ["2"]
    third = own.current("lorry_loads", where={"ticket_number": "3"})[0].entry_id
    withdraw(own, third, reason="spoilt", by="office")
    assert [(g.after_number, g.before_number) for g in gaps(own)] == [("1", "3")]


def test_a_gap_belongs_to_the_day_of_the_ticket_after_it(own):
    load(own, "1", "2026-10-22 08:00")
    load(own, "3", "2026-10-23 08:00")
    assert len(gaps(own, since=FRIDAY, until=FRIDAY)) == 1
    assert gaps(own, since=THURSDAY, until=THURSDAY) == []


def test_gaps_are_those_that_were_known_at_the_time(book):
    # Ticket 2 was found a week late.
    early = datetime(2026, 10, 24, 12, tzinfo=UTC)
    (gap,) = gaps(book, known_at=early)
    assert gap.missing_numbers == "2"
    assert gaps(book) == []


@pytest.mark.parametrize("since", [date.min, date(2026, 10, 1)])
def test_any_first_day_can_be_asked(own, since):
    load(own, "1")
    assert gaps(own, since=since) == []
