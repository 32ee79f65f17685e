from dataclasses import replace
from datetime import date

import pytest

from dashboard import theme
from dashboard.pages import today
from tests.dashboard.pieces import texts_of
from tracker.errors import InputError
from tracker.recording.demo import DEMO_DAY
from tracker.recording.entry import close_exception
from tracker.statements import day_statement
from tracker.statements.shapes import HourLine


@pytest.fixture
def statement(demo):
    return day_statement(demo, DEMO_DAY)


def test_an_open_breach_stands_before_every_figure(statement):
    shown = today.shown(statement, 1240)
    assert list(shown)[:2] == ["headline", "breaches"]
    assert "Zone D: lowest level 90.410 m is 0.190 m below" in texts_of(shown["breaches"])


def test_a_zone_in_breach_says_how_far_below_permitted_it_is(statement):
    assert "0.19 m below permitted: stop and ask" in texts_of(today.levels_table(statement))


def test_a_zone_without_a_level_says_so():
    assert today.standing(None, 96.4, False) == "no level yet"


def test_a_zone_at_its_permitted_level_is_not_above_it():
    assert today.standing(96.4, 96.4, False) == "at the permitted level"


def test_movements_over_the_cap_are_said_to_be_over(statement):
    assert today.of_cap(121, 120) == "121 of 120, over cap"
    assert today.of_cap(120, 120) == "120 of 120"
    assert today.of_cap(8, None) == "8, no cap set"


def test_the_shifts_of_two_days_show_what_came_in_and_what_did_not(statement):
    words = texts_of(today.shifts_matrix(statement))
    assert "Mon 26 Oct, night" in words
    assert "due" in words
    assert "nil" in words


def test_every_exception_leads_to_its_row(statement):
    line = today.exception_line(statement.breaches[0])
    link = line.children[-1].children[0]
    assert link.href == f"/records?entry={statement.breaches[0].about}"


def test_a_day_over_the_cap_leads_to_the_loads_of_that_day(statement):
    over = next(e for e in statement.exceptions if e.rule == "over_movement_cap")
    link = today.exception_line(over).children[-1].children[0]
    assert link.href == f"/records?kind=lorry_loads&since={over.work_date}&until={over.work_date}"


def test_many_exceptions_show_the_newest_and_keep_the_rest_behind_a_disclosure(statement):
    many = tuple(replace(statement.exceptions[0], about=str(n)) for n in range(9))
    parts = today.exceptions_list(many)
    assert len(parts) == 6
    assert "4 older open exceptions" in texts_of(parts[-1])


def test_a_day_without_exceptions_says_so():
    assert texts_of(today.exceptions_list(())) == "No exception is open."


def test_the_count_of_returns_says_how_many_are_not_due_yet(statement):
    day = [s for s in statement.shifts if s.work_date == DEMO_DAY]
    due = sum(s.state == "due" for s in day)
    assert due > 0
    assert f"{due} not due yet" in texts_of(today.figures(statement))


def test_a_breach_says_who_closes_it_and_a_warning_does_not(statement):
    assert "closed by the temporary works coordinator" in today.role_help(statement.breaches[0])
    assert today.role_help(statement.exceptions[0]) == today.ROLE_OF_WARNING


def test_closing_needs_a_reason_a_role_and_a_name():
    assert all(today.missing(" ", "", None))
    assert not any(today.missing("Filled with lean concrete.", "coordinator", "AB"))


def test_a_closed_breach_is_gone_from_the_day(own_demo):
    breach = day_statement(own_demo, DEMO_DAY).breaches[0]
    close_exception(
        own_demo, breach.rule, breach.about, reason="Filled.", closed_by="coordinator", by="AB"
    )
    after = day_statement(own_demo, DEMO_DAY)
    assert after.breaches == ()
    with pytest.raises(InputError, match="closed already"):
        today.exception_of(after, breach.rule, breach.about)
    assert today.shown(after, 1240)["headline"]


def test_a_day_before_the_start_shows_no_returns(demo):
    early = day_statement(demo, date(2026, 3, 3))
    words = texts_of(today.figures(early))
    assert "0 of 0" in words
    assert "Bank m³ of each return, by shift and zone: none." in texts_of(
        today.shifts_matrix(early)
    )


def test_the_rows_behind_the_hours_are_the_hours(statement):
    with_hours = replace(statement, hours=(HourLine(9, 7, 9, 1, 1),), cap_hour=16)
    assert "09:00 7 9 1 1 18" in texts_of(today.hours_rows(with_hours))
    assert "1 hour is over the cap of 16" in texts_of(today.hours_note(with_hours))


def test_the_levels_are_given_with_their_cautions(statement):
    words = texts_of(today.shown(statement, 358)["levels"])
    assert "The permit on site and the temporary works coordinator govern" in words
    assert theme.level(90.41) in words
