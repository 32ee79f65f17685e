from datetime import UTC, datetime

import pytest

from dashboard.fields import readable_field
from dashboard.pages import records
from tests.dashboard.pieces import texts_of
from tracker.errors import InputError
from tracker.recording.entry import amend, withdraw
from tracker.statements import history_statement, records_statement


def newest_return(ledger):
    return records_statement(ledger, kind="dig_returns", current_only=True, limit=1).lines[0]


def test_a_search_by_kind_and_words_finds_those_only(desk):
    statement = records.found(desk, "hold_releases", "PTD-C4", None, None, None, None)
    assert statement.found == 1
    assert "zone C, hold 4: released" in texts_of(records.entry_rows(statement))


def test_a_search_by_dates_keeps_to_them(desk):
    statement = records.found(desk, "dig_returns", "", "2026-10-20", "2026-10-21", None, None)
    assert statement.found > 0
    assert {str(line.work_date) for line in statement.lines} == {"2026-10-20", "2026-10-21"}


def test_each_press_of_show_more_shows_more(desk):
    first = records.found(desk, "", "", None, None, None, None)
    second = records.found(desk, "", "", None, None, None, None, more=1)
    assert len(first.lines) == records.STEP
    assert len(second.lines) == 2 * records.STEP


def test_as_known_before_anything_was_recorded_nothing_is_known(desk):
    statement = records.found(desk, "dig_returns", "", None, None, "2020-01-01", "06:30")
    assert statement.found == 0
    assert "as known at Wed 1 Jan 2020 06:30 UTC" in records.found_words(statement)


def test_a_date_without_a_time_means_the_end_of_that_day():
    assert records.known_moment("2026-10-20", None) == datetime(
        2026, 10, 20, 23, 59, 59, tzinfo=UTC
    )


def test_a_time_without_a_date_is_refused_with_what_to_do():
    with pytest.raises(InputError, match="pick the date"):
        records.known_moment(None, "06:30")


def test_a_time_that_is_none_is_refused_with_how_to_write_it():
    with pytest.raises(InputError, match="write it as 06:30"):
        records.known_moment("2026-10-20", "half six")


def test_the_history_shows_every_version_with_who_when_and_why(own_demo):
    line = newest_return(own_demo)
    done = amend(own_demo, line.entry_id, {"note": "Seen again."}, reason="Wrong note.", by="AB")
    words = texts_of(records.history(history_statement(own_demo, done.entry_id)))
    assert "Version 1, recorded by demo" in words
    assert "Version 2, amended by AB" in words
    assert "Reason: Wrong note." in words
    assert "Seen again." in words


def test_a_return_that_stands_can_be_amended_or_withdrawn_from_its_row(demo):
    line = newest_return(demo)
    links = records.changes(line).children
    assert [link.href for link in links] == [
        f"/dig-return?amend={line.entry_id}",
        f"/dig-return?withdraw={line.entry_id}",
    ]


def test_a_withdrawn_return_offers_no_further_change(own_demo):
    line = newest_return(own_demo)
    withdraw(own_demo, line.entry_id, reason="Twice.", by="AB")
    last = history_statement(own_demo, line.entry_id).lines[-1]
    assert records.changes(last) is None
    assert "withdrawn: Twice." in texts_of(records.state(last))


def test_stored_fields_are_read_in_metres_cubic_metres_and_tonnes():
    assert readable_field("bank_l", "240500") == ("bank", "240.500 m³")
    assert readable_field("net_kg", "19860") == ("net", "19.860 t")
    assert readable_field("accepted_area_dm2", "43200") == ("accepted area", "432.00 m²")
    assert readable_field("stage", "3") == ("stage", "3")


def test_every_kind_of_entry_has_a_title(demo):
    found = records_statement(demo, limit=10000)
    assert {line.kind for line in found.lines} <= set(records.TITLES)
