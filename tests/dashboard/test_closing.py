"""The list of open exceptions, and closing one."""

from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import pytest

from dashboard import closing
from dashboard.ids import TodayClose
from tests.dashboard.pieces import texts_of
from tracker.errors import InputError
from tracker.recording.demo import DEMO_DAY
from tracker.recording.entry import close_exception
from tracker.statements import day_statement, exceptions_statement


@pytest.fixture(scope="module")
def found(demo):
    return exceptions_statement(demo, DEMO_DAY).lines


def of_rule(found, rule):
    return next(e for e in found if e.rule == rule)


def query_of(exception):
    return parse_qs(urlsplit(closing.records_link(exception).href).query)


def test_every_exception_leads_to_its_row(found):
    assert closing.records_link(found[0]).href == f"/records?entry={found[0].about}"


def test_a_day_over_the_cap_leads_to_the_loads_of_that_day(found):
    over = of_rule(found, "over_movement_cap")
    day = over.work_date.isoformat()
    assert query_of(over) == {"kind": ["lorry_loads"], "since": [day], "until": [day]}


def test_a_note_leads_to_what_names_it(found):
    note = of_rule(found, "note_not_recorded")
    assert query_of(note) == {"text": [note.look_for]}


def test_what_is_serious_stands_open_and_each_other_rule_behind_its_count(found):
    parts = closing.exceptions_list(found, TodayClose)
    warnings = [e for e in found if e.severity == "warning"]
    rules = {e.rule for e in warnings}
    words = [texts_of(part.children[0]) for part in parts[-len(rules) :]]
    receipts = [e for e in warnings if e.rule == "no_receipt"]
    assert any(w.startswith(f"No receipt: {len(receipts)}, the oldest since") for w in words)
    assert all("usually closed by: " in w for w in words)
    assert texts_of(parts[0]).startswith("Breach")


def test_many_serious_ones_keep_the_rest_behind_a_disclosure(found):
    many = [replace(of_rule(found, "over_plate"), about=str(n)) for n in range(9)]
    parts = closing.exceptions_list(many, TodayClose)
    assert len(parts) == 6
    assert "4 more beyond a limit" in texts_of(parts[-1])


def test_a_day_without_exceptions_says_so():
    assert texts_of(closing.exceptions_list((), TodayClose)) == "No exception is open."


def test_an_exception_says_since_when_it_is_open_and_who_closes_it(found):
    line = closing.exception_line(of_rule(found, "over_plate"), TodayClose)
    assert "over plate, since 8 May 2026" in texts_of(line) or "since 23 Jul 2026" in texts_of(line)
    assert closing.role_help(found[0].closes) == "Usually closed by: temporary works coordinator."


def test_closing_needs_a_reason_a_role_and_a_name():
    assert all(closing.missing(" ", "", None))
    assert not any(closing.missing("Filled with lean concrete.", "coordinator", "AB"))


def test_a_closed_breach_is_gone_from_the_day(own_demo):
    breach = day_statement(own_demo, DEMO_DAY).breaches[0]
    close_exception(
        own_demo, breach.rule, breach.about, reason="Filled.", closed_by="coordinator", by="AB"
    )
    after = day_statement(own_demo, DEMO_DAY)
    assert after.breaches == ()
    with pytest.raises(InputError, match="closed already"):
        closing.exception_of(after.breaches, breach.rule, breach.about)
