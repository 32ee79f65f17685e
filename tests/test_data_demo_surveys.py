"""The typed surveys of the invented site: one a week, true to its digging, and no new breach."""

from __future__ import annotations

import csv
from collections import defaultdict
from datetime import date, datetime
from functools import cache
from pathlib import Path

import pytest

import data_demo
from data_demo.dig import dug_ground
from data_demo.floors import TRIM_MEAN_M
from data_demo.generate import subject_random
from data_demo.season import hold_decisions
from data_demo.site_tables import GROUND_LEVEL_M, OPENS, design_stages, plan_area

DEMO = Path(data_demo.__file__).parent
FIRST, LAST = date(2026, 4, 11), date(2026, 10, 24)
SCANNED = {"2026-05-30T10:00", "2026-07-11T10:00", "2026-09-05T10:00", "2026-10-17T10:00"}
NOISE_M = 0.03  # three times the noise of a week and a zone over the plan area


@cache
def surveys() -> list[dict[str, str]]:
    with (DEMO / "records" / "surveys.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@cache
def true_m3(zone: str, surveyed_at: str) -> float:
    at = datetime.fromisoformat(surveyed_at)
    slices = dug_ground(subject_random("dig"))
    return sum(s.bank_m3 for s in slices if s.zone == zone and s.shift.ends_at <= at)


def mean_m(row: dict[str, str]) -> float:
    zone = row["zone"]
    return GROUND_LEVEL_M[zone] - float(row["dug_bank_m3"]) / plan_area(zone)


def test_every_open_zone_is_surveyed_on_every_saturday_and_the_box_scanned_on_four() -> None:
    surveyed = defaultdict(set)
    for row in surveys():
        surveyed[row["surveyed_at"]].add(row["zone"])
    for day in map(date.fromordinal, range(FIRST.toordinal(), LAST.toordinal() + 1, 7)):
        at = f"{day}T10:00"
        opened = {zone for zone, opens in OPENS.items() if opens < str(day)}
        assert surveyed.pop(at, set()) == (opened & {"S"} if at in SCANNED else opened), day
    assert not surveyed


def test_a_weekly_survey_is_named_by_its_week_and_a_scan_of_the_shaft_by_that_of_the_box() -> None:
    for row in surveys():
        year, week, weekday = datetime.fromisoformat(row["surveyed_at"]).isocalendar()
        assert weekday == 6
        weekly = row["surveyed_at"] not in SCANNED
        assert row["survey"] == f"W{year}-{week:02d}" if weekly else row["survey"].startswith("SV")
        assert row["method"] == ("total station" if weekly else "scan")


def test_volumes_to_date_are_the_true_digging_but_for_noise_and_a_trimmed_floor() -> None:
    for row in surveys():
        zone = row["zone"]
        short_m3 = true_m3(zone, row["surveyed_at"]) - float(row["dug_bank_m3"])
        assert -NOISE_M < short_m3 / plan_area(zone) < TRIM_MEAN_M + NOISE_M, row


def test_the_surveys_of_the_season_are_neither_high_nor_low_by_their_noise() -> None:
    last = [row for row in surveys() if row["surveyed_at"].startswith("2026-08")]
    true = sum(true_m3(row["zone"], row["surveyed_at"]) for row in last)
    assert sum(float(row["dug_bank_m3"]) for row in last) == pytest.approx(true, rel=0.005)


def permitted_m(zone: str, surveyed_at: str) -> float:
    at = datetime.fromisoformat(surveyed_at)
    decided = [d for d in hold_decisions() if d.zone == zone and d.decided_at <= at]
    status = {d.stage: d.status for d in decided}
    level_m = GROUND_LEVEL_M[zone]
    for stage, (design_m, _, _) in enumerate(design_stages(zone), start=1):
        if status.get(stage) != "released":
            break
        level_m = design_m
    return level_m


def test_no_survey_is_below_the_permitted_level_or_has_its_lowest_point_above_the_mean() -> None:
    for row in surveys():
        lowest_m = float(row["lowest_level_m"])
        assert lowest_m >= permitted_m(row["zone"], row["surveyed_at"])
        assert lowest_m < mean_m(row) + NOISE_M


def test_the_surveyor_stayed_out_of_the_fenced_strip_and_says_so() -> None:
    noted = [row for row in surveys() if row["note"]]
    assert [(row["zone"], row["surveyed_at"][:10]) for row in noted] == [("B", "2026-06-20")]
    assert "fenced strip" in noted[0]["note"]
