from dataclasses import replace
from datetime import date

import pytest

from dashboard import theme
from dashboard.pages import today
from tests.dashboard.pieces import texts_of
from tracker.recording.demo import DEMO_DAY
from tracker.statements import day_statement
from tracker.statements.gate_shapes import HourLine


@pytest.fixture
def statement(demo):
    return day_statement(demo, DEMO_DAY)


def test_an_open_breach_stands_before_every_figure(statement):
    shown = today.shown(statement, 1240)
    assert list(shown)[:2] == ["headline", "breaches"]
    assert "Zone D: lowest level 90.410 m is 0.190 m below" in texts_of(shown["breaches"])


def test_formation_that_lies_open_says_by_when_to_blind_it_above_every_figure(statement):
    (timer,) = statement.formation
    assert (timer.zone, timer.blind_by, timer.over) == ("A", "2026-10-28 16:30", False)
    said = texts_of(today.shown(statement, 390)["breaches"])
    assert "Formation lies open for more than half of its limit: 32 h of 48 h" in said
    assert "blind by Wed 28 Oct 16:30" in said


def test_formation_over_its_limit_stands_there_too(demo):
    (timer,) = day_statement(demo, date(2026, 10, 29)).formation
    assert "beyond its limit" in texts_of(today.timer_line(timer))
    assert "exception serious" in today.timer_line(timer).className


def test_formation_within_half_of_its_limit_is_not_shown_yet(demo):
    assert day_statement(demo, date(2026, 9, 23)).formation == ()


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


def test_the_count_of_returns_says_how_many_are_not_due_yet(statement):
    day = [s for s in statement.shifts if s.work_date == DEMO_DAY]
    due = sum(s.state == "due" for s in day)
    assert due > 0
    assert f"{due} not due yet" in texts_of(today.figures(statement))


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
