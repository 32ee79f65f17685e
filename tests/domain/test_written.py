"""Values as people write them."""

from __future__ import annotations

import math
from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import written
from tracker.errors import InputError


@pytest.mark.parametrize(
    ("text", "thousandths"),
    [
        ("1234.5", 1_234_500),
        ("1,234.5", 1_234_500),
        ("1,234,567", 1_234_567_000),
        (" 240.5 ", 240_500),
        ("-4.25", -4_250),
        ("+3", 3_000),
        ("0.001", 1),
        (240.5, 240_500),
        (0.1 + 0.2, 300),
        (7, 7_000),
    ],
)
def test_a_number_becomes_whole_thousandths(text, thousandths):
    assert written.whole_thousandths(text) == thousandths


@pytest.mark.parametrize(
    "text",
    [
        "240,5", "1,23", "12,34,567", "0,234", "1.234,5", "", " ", None, "abc", "12 t", "1e3",
        "nan", "inf", "-inf", "=1+1", "+A1", "-", "@SUM(A1)", "1.2.3", "１２", "٣", "1_000",
        math.nan, math.inf, True, "12345678901234",
    ],
)  # fmt: skip
def test_what_is_not_plainly_a_number_is_refused(text):
    with pytest.raises(InputError):
        written.whole_thousandths(text)


def test_a_decimal_comma_never_becomes_another_number():
    with pytest.raises(InputError, match=r"240,5.*comma.*1234\.5"):
        written.whole_thousandths("240,5")


def test_a_formula_is_named_as_one():
    with pytest.raises(InputError, match="formula"):
        written.decimal_number("=1+1")


def test_more_than_three_decimals_are_refused_and_said():
    with pytest.raises(InputError, match="more than three decimals"):
        written.whole_thousandths("1.2345")


@given(st.integers(min_value=-(10**12), max_value=10**12))
def test_every_whole_number_of_thousandths_comes_back(thousandths):
    sign = "-" if thousandths < 0 else ""
    whole, rest = divmod(abs(thousandths), 1000)
    assert written.whole_thousandths(f"{sign}{whole}.{rest:03d}") == thousandths
    assert written.whole_thousandths(f"{sign}{whole:,}.{rest:03d}") == thousandths


@given(st.text(max_size=12))
def test_any_text_is_a_number_or_a_sentence(text):
    try:
        number = written.decimal_number(text)
    except InputError as error:
        said = str(error)
    else:
        said = f"{number}." if math.isfinite(number) else ""
    assert said.endswith(".")


def test_a_whole_number_has_no_decimals():
    assert written.whole_number("12") == 12
    assert written.whole_number(3.0) == 3
    with pytest.raises(InputError, match="not a whole number"):
        written.whole_number("1.5")


@pytest.mark.parametrize("value", ["2026-11-05", date(2026, 11, 5), datetime(2026, 11, 5)])  # noqa: DTZ001 a cell
def test_a_date_is_year_month_day(value):
    assert written.iso_date(value) == date(2026, 11, 5)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("05/11/2026", "2026-11-05 for 5 November 2026 or 2026-05-11 for 11 May 2026"),
        ("26/10/2026", "2026-10-26"),
        ("10-26-2026", "2026-10-26"),
        ("05/05/2026", "2026-05-05 for 5 May 2026"),
        ("31/31/2026", "no day of the calendar"),
        ("2026-02-30", "no day of the calendar"),
        ("5 Nov 26", "year-month-day"),
        ("20261105", "year-month-day"),
        ("", "blank"),
        (datetime(2026, 11, 5, 7, 30), "time of day"),  # noqa: DTZ001 a cell has no zone
    ],
)
def test_any_other_date_is_refused_with_the_one_to_write(text, says):
    with pytest.raises(InputError, match=says):
        written.iso_date(text)


def test_a_date_that_reads_one_way_only_is_not_called_ambiguous():
    with pytest.raises(InputError) as caught:
        written.iso_date("26/10/2026")
    assert "two ways" not in str(caught.value)


@pytest.mark.parametrize(("text", "value"), [("07:30", time(7, 30)), ("7:05:00", time(7, 5))])
def test_a_time_is_hours_and_minutes(text, value):
    assert written.clock_time(text) == value


@pytest.mark.parametrize("text", ["", "7.30", "24:00", "07:60", "7am"])
def test_any_other_time_is_refused(text):
    with pytest.raises(InputError, match="HH:MM"):
        written.clock_time(text)


def test_weekdays_are_names_or_ranges():
    assert written.weekday_numbers("Mon-Fri") == (0, 1, 2, 3, 4)
    assert written.weekday_numbers("sat, Sunday") == (5, 6)
    for text in ("", "Fri-Mon", "Someday", "Mon-"):
        with pytest.raises(InputError, match="Mon Tue Wed"):
            written.weekday_numbers(text)


def test_yes_and_no_are_words():
    assert [written.yes_no(v) for v in ("yes", "No", True)] == [True, False, True]
    with pytest.raises(InputError, match="Write yes or no"):
        written.yes_no("1")


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-x", "@a", "a\x00b", "x" * 2001])
def test_text_that_could_do_harm_is_refused(text):
    with pytest.raises(InputError):
        written.plain_text(text)


def test_text_may_run_over_lines():
    assert written.plain_text(" one\ntwo ") == "one\ntwo"


@pytest.mark.parametrize("text", ["170504", "17-05-04", "17 05", "17 05 04 *", "inert"])
def test_a_waste_code_is_three_pairs_of_digits(text):
    with pytest.raises(InputError, match="17 05 04"):
        written.waste_code(text)


@given(st.text(max_size=20))
def test_no_exported_cell_begins_a_formula(text):
    cell = written.safe_cell(text)
    assert cell.endswith(text)
    if cell[:1] in ("=", "+", "-", "@"):
        assert math.isfinite(written.decimal_number(cell))
