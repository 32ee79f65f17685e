"""Statements as lines of text."""

from __future__ import annotations

import pytest

from tracker.cli.lines import table


def test_a_table_puts_names_to_the_left_and_numbers_to_the_right():
    assert table(["zone", "m"], [["A", "1.000"], ["West end", "12.500"]]) == [
        "zone           m",
        "A          1.000",
        "West end  12.500",
    ]


def test_breaches_stand_at_the_top_of_a_day_with_the_id_to_close_them_by(season):
    lines = season.done("statement", "day", "--as-of", "2026-11-02").splitlines()
    assert lines[0].startswith("Zone B: lowest level 99.700 m")
    assert lines[1].startswith("BREACH 2026-10-28 Zone B:")
    assert lines[1].endswith("[b28d]")
    assert any(line.startswith("West") and line.endswith("BREACH") for line in lines)


@pytest.mark.parametrize("name", ["forecast", "delays", "capacity"])
def test_an_open_breach_stands_before_what_a_statement_says_of_dates_and_losses(season, name):
    lines = season.done("statement", name, "--as-of", "2026-11-02").splitlines()
    assert lines[0].startswith("BREACH 2026-10-28 Zone B: lowest level 99.700 m")
    assert lines[1].startswith("BREACH 2026-10-27 Zone A: lowest level 95.700 m")
    assert lines[2] == season.json("statement", name, "--as-of", "2026-11-02")["headline"]


def test_a_day_says_what_came_in_and_what_went_out(season):
    said = season.done("statement", "day", "--as-of", "2026-10-23")
    assert "Returns of this day and the day before: 6 received, 1 nil, 0 missing." in said
    assert "Dug on the day: 260 m³ bank, 518 t." in said
    assert "By belt 150 t, by lorry 19 t in 1 loads; 2 movements of 5 allowed." in said


def test_progress_shows_three_figures_apart_and_each_stage(season):
    lines = season.done("statement", "progress", "--as-of", "2026-11-02").splitlines()
    (box,) = [line for line in lines if line.startswith("The box")]
    assert box.split() == [
        "The", "box", "1,255", "±", "6", "1,600", "78.4", "%", "20", "4", "/", "3", "/", "4",
        "60", "/", "200",
    ]  # fmt: skip
    assert "Zone A: 60 of 100 m² of formation inspected and accepted." in lines


def test_movements_show_periods_their_total_and_the_road_that_remains(season):
    lines = season.done("statement", "movements", "--as-of", "2026-11-02").splitlines()
    assert [line.split()[0] for line in lines[2:6]] == ["period", "Oct", "Nov", "total"]
    assert (
        "Belt and barge: 270 t in 0 loads to Invented quarry; then 2 km by lorry from jetty to"
        " quarry" in lines
    )


def test_no_number_is_printed_as_minus_nothing(season):
    said = season.done("statement", "movements", "--as-of", "2026-10-23", "--grain", "day")
    assert "-0" not in said.replace("-0.", "")


def test_carbon_shows_a_dash_where_a_factor_is_not_split(season):
    words = ["statement", "carbon", "--as-of", "2026-11-02", "--factor-year", "2025"]
    (barge,) = [line for line in season.done(*words).splitlines() if "2 barge" in line]
    assert barge.split()[-4:] == ["–", "–", "308", "1.140"]
