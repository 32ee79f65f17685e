from dataclasses import replace
from datetime import date

import pytest
from dash.exceptions import PreventUpdate

from dashboard.progress import delays, formation, governs, holds
from dashboard.progress.waiting import Asked, asked, own_cautions, waiting
from tests.dashboard import examples_ahead
from tests.dashboard.pieces import parts_of, texts_of
from tracker.statements.forecast_shapes import BacktestLine

PROGRESS, FORECAST = examples_ahead.progress(), examples_ahead.forecast()
REFUSED = examples_ahead.refused()


def rows_of(part):
    """The words of each row of the tables in a part."""
    return [texts_of(one) for one in parts_of(part) if type(one).__name__ == "Tr"][1:]


# --- to formation --------------------------------------------------------------------------------
def test_the_answer_is_when_formation_comes_and_what_governs():
    said = texts_of(formation.answer(FORECAST, "BOX"))
    assert "by 14 May 2027 at four chances in five; the hold point above governs." in said
    assert "153 m³ a shift" in said


def test_the_answer_of_a_chosen_zone_is_that_of_its_formation():
    assert texts_of(formation.answer(FORECAST, "BOX", "E")).startswith("Zone E by 2027-05-09")


def test_a_refused_forecast_gives_its_reason_in_place_of_dates():
    said = texts_of(formation.answer(REFUSED, "BOX"))
    assert examples_ahead.REFUSED in said
    assert "The plan and the days ahead or behind still stand" in said
    assert formation.dates_table(REFUSED, PROGRESS, "BOX") is None
    assert "What these dates rest on" not in texts_of(formation.fan_note(PROGRESS, REFUSED, "BOX"))


def test_an_excavation_with_nothing_ahead_is_said_to_be_at_formation():
    done = examples_ahead.forecast(dates=())
    assert texts_of(formation.answer(done, "BOX")) == "Formation of this excavation is reached."


def test_the_table_holds_the_whole_and_every_zone_also_one_that_is_there():
    whole, a, b, *_rest = rows_of(formation.dates_table(FORECAST, PROGRESS, "BOX"))
    assert whole.startswith("Station box 20 Apr 2027 30 Apr 2027 14 May 2027 16 Apr 2027 12 % 76 %")
    assert "reached 7 Oct 2026" in a
    assert b.endswith("the hold point above")


def test_a_chosen_zone_shows_its_stages():
    found = rows_of(formation.dates_table(FORECAST, PROGRESS, "BOX", "E"))
    assert [row.split(" m ")[0] for row in found] == ["3 to 90.60", "4 to 84.80"]


HELD = BacktestLine(
    made_on=date(2026, 5, 12), excavation="", zone="B", stage=3, p20=date(2026, 8, 14),
    p80=date(2026, 8, 24), reached_on=date(2026, 8, 28), held=False,
)  # fmt: skip


def test_how_earlier_dates_held_is_said_with_every_one_and_marked_where_they_ran_late():
    told = replace(
        FORECAST,
        earlier=(HELD, replace(HELD, reached_on=None)),
        earlier_sentence="Of 97 P80 dates, 56 held.",
        earlier_stretch=1.33,
    )
    parts = formation.held_parts(told)
    said = texts_of(parts)
    assert "Of 97 P80 dates, 56 held." in said
    assert "zone B, stage 3" in said
    assert "28 Aug 2026" in said
    assert "not yet" in said
    marks = [one for one in parts_of(parts) if "mark warning" in str(getattr(one, "className", ""))]
    assert len(marks) == 1
    sound = formation.held_parts(replace(told, earlier_stretch=0.97))
    assert not [one for one in parts_of(sound) if "warning" in str(getattr(one, "className", ""))]


def test_without_any_date_that_has_passed_only_the_sentence_stands():
    told = replace(FORECAST, earlier=(), earlier_sentence="Nothing can be said.")
    assert texts_of(formation.held_parts(told)) == "Nothing can be said."


def test_the_rows_of_the_fan_hold_each_survey_the_plan_and_the_chances():
    points = list(PROGRESS.curve)
    points[10] = replace(points[10], survey="SV1", u_dug_m3=21.0)
    statement = replace(PROGRESS, curve=tuple(points))
    said = texts_of(formation.fan_note(statement, FORECAST, "BOX"))
    assert "survey SV1, ± 42 m³" in said
    assert "4 in 5" in said
    assert "P2 (current)" in said


def test_what_the_dates_rest_on_is_said():
    basis = replace(FORECAST.basis, quality=("2 returns missing.", "Output: 449 shifts."))
    said = texts_of(formation.rests_on(replace(FORECAST, basis=basis), PROGRESS, "BOX"))
    assert "2,000 walks" in said
    assert "Output: 449 shifts." in said
    assert "2 returns missing." not in said
    assert "box stage 4" in said
    assert "taken as released at a date of their own: 2" in said


def test_the_earned_schedule_of_the_current_plan_comes_first():
    found = rows_of(formation.earned_rows(FORECAST.earned, "BOX"))
    assert "P2 (current)" in found[0]
    assert "6.2 days behind" in found[0]
    assert "31.0 days behind" in found[-1]


# --- what governs --------------------------------------------------------------------------------
def test_the_letters_stand_beside_their_words_in_the_colour_of_the_strip():
    key = governs.letters({"hold": "the hold point above", "pump": "Pump down"})
    assert "H the hold point above" in texts_of(key)
    assert "X Pump down" in texts_of(key)
    looks = [one.className for one in parts_of(key) if type(one).__name__ == "B"]
    assert looks == ["cell cell-hold", "cell cell-out"]


def test_the_days_of_the_strip_stand_as_rows_with_the_ways_out():
    said = texts_of(governs.governs_note(examples_ahead.capacity(), "BOX"))
    assert "Tue 27 Oct 2026" in said
    assert "(expected)" in said
    assert "14.5 h at 43 m³ an hour" in said
    assert "the plan said 91" in said


def test_the_shares_ahead_are_given_by_zone_the_most_first():
    found = [row.replace("\u00a0", " ") for row in rows_of(governs.shares(FORECAST, "BOX"))]
    assert found[0] == "the hold point above 46 % 52 % 61 %"
    assert found[-1] == "the calendar 9 % – –"
    assert governs.shares(REFUSED, "BOX") is None


# --- lost ground ---------------------------------------------------------------------------------
def test_the_causes_stand_with_owner_and_cumulated_share():
    said = texts_of(delays.delays_note(examples_ahead.delays()))
    assert "No lorries at the gate haulier 910 28 % 75 %" in said
    assert "the rate of digging 52 47 %" in said


def test_a_cause_opens_its_returns_the_latest_first():
    statement = examples_ahead.delays()
    found = rows_of(delays.return_rows(statement, "props"))
    assert len(found) == 2
    assert found[0].startswith("Tue 27 Oct 2026 night E, stage 3 Prop installation 90 of 600")
    assert len(rows_of(delays.return_rows(statement, delays.ALL_CAUSES))) == 4


def test_returns_that_are_too_many_to_list_are_counted():
    row = examples_ahead.DELAY_ROWS[0]
    many = examples_ahead.delays(rows=(row,) * (delays.MOST_ROWS + 3))
    assert "3 earlier returns" in texts_of(delays.return_rows(many, "props"))


# --- hold points ---------------------------------------------------------------------------------
def test_what_waits_runs_or_is_late_comes_first_and_the_rest_is_behind_it():
    first, every = holds.hold_parts(examples_ahead.holds(), "BOX")
    assert len(rows_of(first)) == 2
    assert "14 of 9, 5 late" in rows_of(first)[0]
    assert "suspended" in rows_of(first)[1]
    assert "All 4 hold points" in texts_of(every)
    assert len(rows_of(every)) == 4


def test_formation_accepted_in_part_is_not_called_released():
    part = examples_ahead.hold("A", "formation", "partly accepted", running=True, days=0.75,
                               standing="432 of 720 m² accepted")  # fmt: skip
    (row,) = rows_of(holds.holds_table("Holds", [part]))
    assert "432 of 720 m² accepted" in row
    assert "released" not in row
    assert "18 h of 9 so far" in row


def test_releases_that_nobody_gave_are_named_with_their_dates():
    part = holds.assumed_parts(FORECAST, "BOX")
    assert "Nobody has released these yet" in texts_of(part)
    assert "P20: one in five by" in texts_of(part)
    assert "P80: four in five by" in texts_of(part)
    overdue, later = rows_of(part)
    assert overdue.startswith("D, stage 3, overdue lower props 20 Oct 2026 26 Oct 2026")
    assert "cube strength 28 N/mm²" in later
    assert holds.assumed_parts(REFUSED, "BOX") is None


def test_formation_that_lies_open_too_long_is_marked_in_words():
    part = holds.timer_parts(examples_ahead.TIMERS, "BOX")
    a, b = rows_of(part)
    assert "by level since 24 Sep 2026 06:00; last layer trimmed 20 Oct 2026 14:00 as record" in a
    assert "31.5 h of 24 h: over" in b
    assert b.endswith("27 Oct 2026 06:00")
    assert "Not reached yet: Zone C, Zone D, Zone E." in texts_of(part)
    marks = [
        one.className for one in parts_of(part) if "mark" in (getattr(one, "className", "") or "")
    ]
    assert marks == ["mark breach"]


def test_a_zone_without_a_limit_says_so():
    timer = examples_ahead.timer("B", reached_at="2026-10-26 06:00", exposed_h=3.0, limit_h=None)
    assert holds.open_words(timer) == "3.0 h no limit set"


# --- what is asked for later ---------------------------------------------------------------------
def test_what_is_shown_is_handed_on_as_it_was_asked():
    of = Asked(date(2026, 10, 27), "BOX", 1240)
    assert asked(of.data) == of
    with pytest.raises(PreventUpdate):
        asked(None)


def test_a_later_part_repeats_no_caution_of_the_first_look():
    first = PROGRESS.basis
    later = replace(first, cautions=("A forecast permits nothing.", *first.cautions))
    assert texts_of(own_cautions(later, first)) == "A forecast permits nothing."


def test_a_chart_to_come_says_what_is_worked_out_and_keeps_its_place():
    figure = waiting("the dates", 280)
    assert figure.layout.height == 280
    assert figure.layout.annotations[0].text == "Working out the dates …"
