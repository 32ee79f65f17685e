"""Decisions on hold points and steps of formation held against the levels reported."""

from __future__ import annotations

import csv
from datetime import timedelta

import pytest

from tests.recording.test_around import HOLD, RETURN, STEP, warnings, write
from tracker.recording.files import import_file

SECOND = HOLD | {"hold": "2", "decided_at": "2026-04-08 06:00"}
FORMATION = HOLD | {"hold": "formation", "decided_at": "2026-04-09 06:00", "accepted_m2": "60"}
REACHED = STEP | {"step": "reached", "done_at": "2026-04-09 08:00"}


@pytest.fixture
def begun(book, now):
    """Stage 1 of zone A released, and dug from 104 to 100.9 of its 100 m."""
    write(book, now, "holds", HOLD)
    write(book, now, "returns", RETURN)
    return book


def dug(book, now, day, level_m, **other):
    given = {"work_date": f"2026-04-{day:02}", "lowest_level_m": level_m, "to_level_m": level_m}
    return write(book, now, "returns", RETURN | given | other)


def rule_of(done):
    return [(p.field, p.rule) for p in done.problems]


# --- hold points ---------------------------------------------------------------------------------
def test_a_release_below_a_stage_that_is_not_dug_out_is_said(begun, now):
    done = write(begun, now, "holds", SECOND)
    assert warnings(done) == [
        "Stage 1 of zone A is not dug out: lowest point 100.900 m, it ends at 100.000 m. Its upper"
        " props cannot be in. Is it zone A?"
    ]
    assert rule_of(done) == [("hold", "released_early")]


@pytest.mark.parametrize("level_m", ["100", "100.05"])
def test_a_release_below_a_stage_that_is_dug_out_is_no_matter(begun, now, level_m):
    dug(begun, now, 7, level_m, stream="made")
    assert warnings(write(begun, now, "holds", SECOND)) == []


def test_a_level_reported_after_the_day_of_the_release_does_not_count(begun, now):
    dug(begun, now, 9, "100")
    assert "is not dug out" in warnings(write(begun, now, "holds", SECOND))[0]


def test_the_first_stage_and_what_stops_digging_are_never_held_against_levels(book, now):
    assert warnings(write(book, now, "holds", HOLD)) == []
    assert warnings(write(book, now, "holds", SECOND | {"status": "not released"})) == []


def test_a_zone_without_any_level_is_said_of_one_entry_and_not_of_a_file(book, now, tmp_path):
    write(book, now, "holds", HOLD)
    path = tmp_path / "holds.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.DictWriter(file, SECOND)
        out.writeheader()
        out.writerow(SECOND)
    assert import_file(book, "holds", path, by="tests", dry_run=True).problems == []
    assert "no level is reported" in warnings(write(book, now, "holds", SECOND))[0]


def test_formation_released_above_its_level_and_without_an_area_is_said(begun, now):
    write(begun, now, "holds", SECOND)
    done = write(begun, now, "holds", FORMATION | {"accepted_m2": ""})
    assert [w.partition(":")[0] for w in warnings(done)] == [
        "Stage 2 of zone A is not dug out",
        "A release of formation without an area accepts nothing",
    ]
    assert "Formation cannot be accepted there" in warnings(done)[0]


def test_less_accepted_in_all_than_before_is_said(begun, now):
    write(begun, now, "holds", SECOND)
    dug(begun, now, 8, "96", stage="2")
    assert warnings(write(begun, now, "holds", FORMATION)) == []
    later = FORMATION | {"decided_at": "2026-04-10 06:00", "accepted_m2": "40"}
    assert "40 m² is less than the 60 m²" in warnings(write(begun, now, "holds", later))[0]
    more = FORMATION | {"decided_at": "2026-04-11 06:00", "accepted_m2": "100"}
    assert warnings(write(begun, now, "holds", more)) == []


def test_a_release_dated_before_a_breach_that_is_reported_says_that_it_stays(begun, now):
    dug(begun, now, 8, "99.2", stage="2")
    done = write(begun, now, "holds", SECOND)
    assert warnings(done) == [
        "This release would permit a level that was reported below the permitted one on 2026-04-08"
        " (return of the day shift, 99.200 m): that breach stays open until it is closed with a"
        " reason."
    ]
    after = SECOND | {"decided_at": "2026-04-08 20:00"}
    assert warnings(write(begun, now + timedelta(days=1), "holds", after)) == []


# --- formation -----------------------------------------------------------------------------------
def test_formation_reached_while_the_lowest_point_is_above_it_is_said(begun, now):
    assert warnings(write(begun, now, "formation", REACHED)) == [
        "Formation of zone A lies at 96.000 m and is not reached: lowest point 100.900 m. Is it"
        " zone A?"
    ]


def test_more_blinded_than_reached_or_inspected_is_said(begun, now):
    dug(begun, now, 9, "96", stage="2")
    assert warnings(write(begun, now, "formation", REACHED)) == []
    inspected = REACHED | {"step": "inspected", "area_m2": "50", "done_at": "2026-04-09 10:00"}
    write(begun, now, "formation", inspected)
    blinded = REACHED | {"step": "blinded", "area_m2": "40", "done_at": "2026-04-09 12:00"}
    assert warnings(write(begun, now, "formation", blinded)) == []
    more = blinded | {"area_m2": "15", "done_at": "2026-04-09 14:00"}
    assert (
        "55 m² of zone A are blinded, and 50 m² inspected"
        in warnings(write(begun, now, "formation", more))[0]
    )
    early = blinded | {"area_m2": "5", "done_at": "2026-04-09 07:00"}
    assert "0 m² reached" in warnings(write(begun, now, "formation", early))[0]


def test_what_the_release_of_formation_accepts_counts_as_inspected(begun, now):
    write(begun, now, "holds", SECOND)
    dug(begun, now, 8, "96", stage="2")
    write(begun, now, "holds", FORMATION)
    blinded = STEP | {"done_at": "2026-04-09 12:00"}
    assert warnings(write(begun, now, "formation", blinded)) == []
    more = STEP | {"done_at": "2026-04-09 14:00", "area_m2": "10"}
    assert "70 m² of zone A are blinded" in warnings(write(begun, now, "formation", more))[0]
