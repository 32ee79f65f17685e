"""Levels as reported, held to what a zone can have."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tracker.recording.fields import Fields
from tracker.recording.levels import read_level


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("1", "101"),  # above the national datum, 100 m below the site's
        ("201", "101"),
        ("-101", "101"),
        ("331.365", "101"),
        ("101000", "101"),
    ],
)
def test_a_level_in_another_guise_is_refused_with_the_one_that_is_meant(sheet, site, text, meant):
    row = Fields(sheet("returns"), {"to_level_m": text}, 2)
    assert read_level(row, "to_level_m", site.zone("A")) is None
    assert row.problems[0].message.endswith(f"write {meant}.")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(93_000, 105_000))
def test_every_level_that_a_zone_can_have_is_kept_to_the_millimetre(sheet, site, level_mm):
    row = Fields(sheet("returns"), {"to_level_m": f"{level_mm / 1000:.3f}"}, 2)
    assert read_level(row, "to_level_m", site.zone("A")) == level_mm
    assert bool(row.problems) == (level_mm < 96_000)  # below formation: a warning
    assert not row.failed


def test_a_level_of_an_unknown_zone_is_only_read(sheet):
    row = Fields(sheet("returns"), {"to_level_m": "7.5"}, 2)
    assert read_level(row, "to_level_m", None) == 7_500
