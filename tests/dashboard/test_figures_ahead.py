from dataclasses import replace

import pytest

from dashboard import theme
from dashboard.figures.ahead import ahead_figure, ahead_summary, earned_lines
from dashboard.figures.delays import delays_figure, delays_summary
from dashboard.figures.governs import (
    CODED,
    LETTERS,
    causes_of,
    days_across,
    governed_days,
    governs_figure,
    governs_summary,
    letter,
)
from tests.dashboard import examples, examples_ahead
from tracker.domain.programme.governing import WORDS
from tracker.statements.governed_shifts import UNCODED

WIDTHS = (358, 1240)
EARNED = examples_ahead.EARNED
CAPACITY = examples_ahead.capacity()
NO_DAYS = replace(CAPACITY, days=())


def words_of(figure):
    return " ".join(a.text for a in figure.layout.annotations)


def cells(figure):
    """(letter, fill) of every cell of the strip in their order."""
    return [cell for bar in figure.data for cell in zip(bar.text, bar.marker.color, strict=True)]


# --- ahead or behind -----------------------------------------------------------------------------
def test_what_is_behind_is_orange_and_goes_left_what_is_ahead_green_and_goes_right():
    bars = ahead_figure(EARNED, "BOX").data[0]
    by_zone = {
        data[0]: (x, c)
        for data, x, c in zip(bars.customdata, bars.x, bars.marker.color, strict=True)
    }
    assert by_zone["E"] == (-11.5, theme.WARNING)
    assert by_zone["A"] == (2.4, theme.DONE)


@pytest.mark.parametrize("width_px", WIDTHS)
def test_the_days_stand_in_words_beside_each_bar(width_px):
    said = words_of(ahead_figure(EARNED, "BOX", width_px))
    for words in ("11.5 days behind", "2.4 days ahead", "on plan"):
        assert words in said


def test_the_bars_are_of_the_current_plan_and_the_whole_comes_first():
    lines = earned_lines(EARNED, "BOX")
    assert [line.zone for line in lines] == ["", "A", "B", "C", "D", "E"]
    assert all(line.current for line in lines)


def test_the_days_are_summed_up_with_the_zone_that_is_furthest_behind():
    assert ahead_summary(EARNED, "BOX") == (
        "The station box is 6.2 working days behind P2. Furthest behind: Zone E, 11.5 days behind."
    )


def test_without_a_plan_the_bars_say_so():
    assert words_of(ahead_figure((), "BOX")).startswith("No plan")
    assert ahead_summary((), "BOX").startswith("No plan")


# --- what governs --------------------------------------------------------------------------------
def test_every_word_for_what_governs_has_a_letter_of_its_own():
    assert set(WORDS) | {UNCODED} == set(LETTERS)
    assert len(set(LETTERS.values())) == len(LETTERS)
    assert letter("excavator down") == CODED not in LETTERS.values()


@pytest.mark.parametrize("width_px", WIDTHS)
def test_the_strip_has_a_cell_a_day_told_by_letter_and_colour(width_px):
    figure = governs_figure(CAPACITY, "BOX", width_px)
    days = governed_days(CAPACITY, "BOX")
    assert [one for one, _ in cells(figure)] == [LETTERS[day.governs] for day in days]
    fills = dict(cells(figure)[:28])
    assert fills["H"] == theme.PLANNED
    assert fills["L"] == theme.WARNING


def test_days_ahead_are_paler_than_those_of_the_past():
    found = cells(governs_figure(CAPACITY, "BOX"))
    past = {fill for one, fill in found[:28] if one == "H"}
    ahead = {fill for one, fill in found[28:] if one == "H"}
    assert past == {theme.PLANNED}
    assert ahead == {theme.paler(theme.PLANNED, 0.8)}


def test_a_week_is_never_broken_over_two_rows():
    for width_px in (280, 358, 700, 1000, 1240):
        assert days_across(width_px) % 7 == 0
    assert days_across(358) == 14
    figure = governs_figure(CAPACITY, "BOX", 1240)
    assert len({bar.base[0] for bar in figure.data}) == 1


def test_the_strip_marks_where_the_past_ends():
    (line,) = governs_figure(CAPACITY, "BOX").layout.shapes
    monday_before = governed_days(CAPACITY, "BOX")[0].work_date
    assert line.x0 == monday_before.weekday() + (examples.AS_OF - monday_before).days + 1


def test_the_strip_is_summed_up_past_and_ahead():
    said = governs_summary(CAPACITY, "BOX")
    assert said.startswith("So far: the rate of digging 10 days")
    assert "; expected: " in said


def test_a_strip_without_days_says_so():
    assert words_of(governs_figure(NO_DAYS, "BOX")).startswith("No day")
    assert governs_summary(NO_DAYS, "BOX").startswith("No day")


def test_the_key_holds_only_what_occurs():
    found = causes_of(governed_days(CAPACITY, "BOX"))
    assert set(found) == {"dig", "hold", "lorries", "belt", "receiver", "turn", "calendar"}
    assert next(iter(found)) == "dig"


# --- lost ground ---------------------------------------------------------------------------------
def test_the_governing_cause_is_orange_and_named_so():
    figure = delays_figure(examples_ahead.delays())
    assert figure.data[0].marker.color[0] == theme.WARNING
    assert set(figure.data[0].marker.color[1:]) == {theme.WALL}
    assert "1,480 m³</b>, leads" in words_of(figure)


@pytest.mark.parametrize("width_px", WIDTHS)
def test_every_bar_says_its_cause_and_its_volume(width_px):
    figure = delays_figure(examples_ahead.delays(), width_px)
    names = " ".join(figure.layout.yaxis.ticktext) + words_of(figure)
    for line in examples_ahead.DELAY_LINES:
        assert line.name in names
        assert theme.number(line.lost_bank_m3, "m³") in words_of(figure)


def test_the_shares_rise_to_all_of_it():
    cumulated = delays_figure(examples_ahead.delays()).data[1]
    assert list(cumulated.x) == sorted(cumulated.x)
    assert cumulated.x[-1] == pytest.approx(100.0)
    assert cumulated.text[-1].strip() == "100 %"


def test_a_bar_carries_its_cause_to_the_returns_below():
    figure = delays_figure(examples_ahead.delays())
    assert [data[0] for data in figure.data[0].customdata][:2] == ["props", "lorries"]


def test_lost_ground_is_summed_up_with_its_owners():
    said = delays_summary(examples_ahead.delays())
    assert said.startswith("3,200 m³ bank not dug in 5 coded causes from Wed 30 Sep 2026")
    assert "steelwork contractor 46 %" in said


def test_a_period_without_delays_says_so():
    nothing = examples_ahead.delays(lines=(), rows=())
    assert words_of(delays_figure(nothing)).startswith("No coded delay")
    assert delays_summary(nothing).startswith("No coded delay")
