"""Moments: offsets, the clock of the site, and the nights when it changes."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain.calendar import local_time
from tracker.errors import InputError
from tracker.recording.moments import LocalClock

LONDON = LocalClock("Europe/London")


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("2026-07-01 07:30", "2026-07-01T06:30+00:00"),
        ("2026-12-01T07:30", "2026-12-01T07:30+00:00"),
        ("2026-07-01T07:30:05", "2026-07-01T06:30:05+00:00"),
        ("2026-07-01T07:30Z", "2026-07-01T07:30+00:00"),
        ("2021-01-17T09:00:55.952+02:00", "2021-01-17T07:00:55.952+00:00"),
        ("2020-12-16T09:56:46.524+02", "2020-12-16T07:56:46.524+00:00"),
    ],
)
def test_a_moment_is_read_in_utc(text, utc):
    assert LONDON.moment(text).utc == datetime.fromisoformat(utc)


def test_a_moment_with_an_offset_is_shown_by_the_clock_of_the_site():
    assert LONDON.moment("2026-07-01T23:30Z").local == datetime(2026, 7, 2, 0, 30)  # noqa: DTZ001


def test_a_time_that_the_clock_skips_is_refused():
    with pytest.raises(InputError, match="never happened"):
        LONDON.moment("2026-03-29 01:30")


def test_a_time_shown_twice_is_taken_as_the_first():
    moment = LONDON.moment("2026-10-25 01:30")
    assert moment.twice
    assert moment.utc == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert not LONDON.moment("2026-10-25T01:30+00:00").twice


def test_a_workbook_cell_is_rounded_to_its_second():
    cell = datetime(2026, 7, 1, 7, 29, 59, 999_990)  # noqa: DTZ001 a cell has no zone
    assert LONDON.moment(cell).utc == datetime(2026, 7, 1, 6, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    ["", "07:30", "2026-07-01", "01/07/2026 07:30", "2026-W27-3T07:30", "20260701T073000",
     "2026-07-01 7:30", "2026-07-01T25:30", "2026-13-01T07:30", "yesterday morning", 46204.3125,
     date(2026, 7, 1)],
)  # fmt: skip
def test_anything_else_is_refused_with_the_way_to_write_it(text):
    with pytest.raises(InputError, match="2026-11-05 07:30"):
        LONDON.moment(text)


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1)),  # noqa: DTZ001 naive on purpose
    st.sampled_from(
        ["Europe/London", "Africa/Blantyre", "America/St_Johns", "Australia/Lord_Howe"]
    ),
)
def test_the_kept_offsets_agree_with_the_time_zone(naive, zone):
    clock = LocalClock(zone)
    utc = naive.replace(tzinfo=UTC)
    assert clock.local(utc) == local_time(utc, zone).replace(tzinfo=None)


@given(st.integers(0, 366 * 24 * 4))
def test_a_local_time_read_back_is_the_same_moment(quarter):
    utc = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=15 * quarter)
    read = LONDON.moment(LONDON.local(utc))
    assert read.utc == utc or (read.twice and utc - read.utc == timedelta(hours=1))
