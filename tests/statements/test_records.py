"""Records: what was entered, by whom, and what became of it."""

from __future__ import annotations

from datetime import date

import pytest

from tests.statements import paper
from tracker.errors import EntryNotFound, UnknownName
from tracker.recording.entry import withdraw
from tracker.statements import history_statement, records_statement, site_in_force


def test_records_come_newest_first_and_say_how_many_there_are(book):
    found = records_statement(book, kind="lorry_loads", limit=3)
    assert (found.found, len(found.lines)) == (10, 3)
    days = [line.work_date for line in found.lines]
    assert days == sorted(days, reverse=True)


def test_a_text_finds_entries_in_any_column(book):
    found = records_statement(book, text="night work agreed")
    assert [line.kind for line in found.lines] == ["closed_exceptions"]
    assert records_statement(book, text="100%").found == 0  # no pattern, a text


def test_a_period_and_a_moment_narrow_the_search(book):
    thursday = date(2026, 10, 22)
    in_all = records_statement(book, kind="lorry_loads", since=thursday, until=thursday)
    then = records_statement(
        book, kind="lorry_loads", since=thursday, until=thursday, known_at=paper.AMENDED_AT
    )
    assert (in_all.found, then.found) == (3, 2)  # ticket 2 was found a week later


def test_only_current_entries_leave_out_what_was_corrected(book):
    asked = {"kind": "dig_returns", "since": date(2026, 10, 22), "until": date(2026, 10, 22)}
    assert records_statement(book, **asked).found == 5
    assert records_statement(book, **asked, current_only=True).found == 4


def test_a_history_shows_every_version_with_who_when_and_why(book):
    first, second = history_statement(book, "a22d").lines
    assert (first.action, second.action) == ("recorded", "amended")
    assert (first.superseded_by, second.supersedes) == (second.entry_id, first.entry_id)
    assert (second.recorded_by, second.reason) == ("engineer", "tally recounted")
    assert second.recorded_at == paper.AMENDED_AT
    assert "120.000 m³ bank of made, measured; lowest 102.900 m" in first.what
    assert "100.000 m³ bank" in second.what
    assert history_statement(book, second.entry_id) == history_statement(book, "a22d")


def test_a_withdrawal_is_a_version_too(own):
    baseline = records_statement(own, kind="baselines").lines[0].entry_id
    withdraw(own, baseline, reason="wrong plan", by="office")
    lines = history_statement(own, baseline).lines
    assert [line.what for line in lines] == [
        "baseline “all by road”, 18 t a load",
        "withdrawn: baseline “all by road”, 18 t a load",
    ]
    assert lines[1].reason == "wrong plan"


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("setup_revisions", "set-up “second” in force from 2026-10-29"),
        ("belt_readings", "belt belt-1: totaliser 130.000 t, reading"),
        ("lorry_loads", "ticket gate 10: 20.400 t of clay to quarry (INV 9), accepted"),
        ("hold_releases", "zone B, hold 2: released (permit P-8)"),
        ("survey_levels", "survey S-1, zone B: lowest 99.650 m"),
        ("baselines", "baseline “all by road”, 18 t a load"),
        ("closed_exceptions", "outside_window closed by site manager: night work agreed"),
    ],
)
def test_every_kind_is_put_into_words(book, kind, words):
    lines = records_statement(book, kind=kind, limit=99).lines
    assert any(line.what.startswith(words) for line in lines)


def test_a_closed_exception_says_what_it_is_about(book):
    closed = records_statement(book, kind="closed_exceptions").lines
    assert any("(ticket gate " in line.what for line in closed)


def test_the_words_of_a_return_follow_its_basis(book):
    words = {
        x.entry_id: x.what for x in records_statement(book, kind="dig_returns", limit=99).lines
    }
    assert words["a22n"].endswith("10 × 12 m³ loose of made, counted; lowest 101.900 m")
    assert words["a23d"].endswith("200.000 t of clay, weighed; lowest 101.000 m")
    assert words["a24n"] == "night shift, zone A, stage 2: nil, rain"
    assert words["a23e"].endswith("lowest no level")


def test_stock_and_receipts_are_put_into_words(own):
    paper.enter(
        own, "stock", counted_at="2026-10-22 12:00", location="north", stream="clay",
        loose_m3="12.5", method="survey",
    )  # fmt: skip
    paper.enter(
        own, "receipts", receipt_number="Q-1", receipt_date="2026-10-23", destination="quarry",
        ticket_issuer="gate", ticket_number="1", accepted_t="18",
    )  # fmt: skip
    words = [line.what for line in records_statement(own).lines]
    assert "heap north: 12.5 m³ loose of clay" in words
    assert "receipt Q-1: 18.000 t of ticket 1, accepted" in words


def test_the_fields_of_an_entry_are_there_to_read(book):
    lines = records_statement(book, kind="dig_returns", limit=99).lines
    fields = dict(next(x for x in lines if x.entry_id == "a24n").fields)
    assert (fields["delays"], fields["nil_reason"]) == ("rain:540", "rain")


def test_names_that_are_none_are_refused(book):
    with pytest.raises(UnknownName, match="dig_returns"):
        records_statement(book, kind="dig_return")
    with pytest.raises(EntryNotFound):
        history_statement(book, "none")


def test_the_set_up_in_force_is_that_of_the_day(book):
    assert len(site_in_force(book, date(2026, 10, 28)).shifts) == 2
    assert len(site_in_force(book, date(2026, 10, 29)).shifts) == 1
    assert site_in_force(book) == site_in_force(book, paper.LAST_DAY)
