"""The surveyed points of the invented box: true to its digging, and as dirty as a scan is."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

import data_demo
from data_demo.dig import dug_ground
from data_demo.floors import (
    CELL_M,
    TRIM_LOWEST_M,
    TRIM_MEAN_M,
    BoxGround,
    box_ground,
    cell_centres,
)
from data_demo.generate import subject_random
from data_demo.scans import SCENES, in_shadow
from data_demo.season import SURVEYS
from data_demo.site_tables import BOX_ZONES, GROUND_LEVEL_M, outline, plan_area
from tracker.domain.surface.ground_filter import GroundFilter
from tracker.domain.surface.region import region
from tracker.domain.surface.surface import Cleaning
from tracker.recording.points.read import read_survey, surface_from

FOLDER = Path(data_demo.__file__).parent / "surveys"
RING = [(500.0, 200.0), (620.0, 200.0), (620.0, 230.0), (500.0, 230.0)]
MOMENTS = dict(SURVEYS)
NOISE_M = 0.05  # more than the noise of any point of these files


def rows_of(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def points_of(survey: str) -> list[tuple[float, float, float]]:
    return [
        (float(row["easting"]), float(row["northing"]), float(row["level"]))
        for row in rows_of(survey)
    ]


@cache
def ground_of(survey: str) -> BoxGround:
    scene = SCENES.get(survey)
    slices = dug_ground(subject_random("dig"))
    heap = scene.heap if scene else None
    return box_ground(subject_random(f"points {survey}"), slices, MOMENTS[survey], heap)


def floor_points(survey: str, zone: str) -> list[tuple[float, float, float]]:
    """Points of a zone clear of its edges, on the ground and not on plant or the heap."""
    (west_m, south_m), _, (east_m, north_m), _ = outline(zone)
    ground = ground_of(survey)
    bare = BoxGround(ground.floors)
    return [
        (e, n, level_m)
        for e, n, level_m in points_of(survey)
        if west_m + 0.05 < e < east_m - 0.05
        and south_m + 0.05 < n < north_m - 0.05
        and abs(level_m - bare.level_m(e, n)) < NOISE_M
    ]


def test_the_list_of_surveys_names_each_file_with_its_order_and_its_filter() -> None:
    listed = rows_of("surveys")
    assert [row["survey"] for row in listed] == [name for name, _ in SURVEYS]
    assert {row["file"] for row in listed} == {f"{name}.csv" for name, _ in SURVEYS}
    for row in listed:
        path = FOLDER / row["file"]
        survey = read_survey(path, shapely.Polygon(RING), row["order"])
        assert len(survey.points_m) == len(rows_of(row["survey"]))
        assert (row["filter_ground"] == "yes") == (row["method"] == "scan")
        assert row["surveyed_at"] == MOMENTS[row["survey"]].isoformat(timespec="minutes")


def test_point_files_are_small_and_have_a_point_about_every_three_quarters_of_a_metre() -> None:
    assert 1_100 < len(points_of("SV1")) < 1_300
    for scan in SCENES:
        assert (FOLDER / f"{scan}.csv").stat().st_size < 180_000
        assert 5_800 < sum(len(floor_points(scan, zone)) for zone in BOX_ZONES) < 6_400


@pytest.mark.parametrize("survey", [name for name, _ in SURVEYS])
def test_the_true_floor_of_each_zone_keeps_its_mean_and_its_lowest_level(survey: str) -> None:
    slices = dug_ground(subject_random("dig"))
    for floor in ground_of(survey).floors:
        own = floor.own
        levels = [floor.level_m(*place) for place in cell_centres(own.zone)]
        dug_m3 = sum(
            s.bank_m3 for s in slices if s.zone == own.zone and s.shift.ends_at <= MOMENTS[survey]
        )
        area_m2 = len(levels) * CELL_M**2
        ground_m3 = GROUND_LEVEL_M[own.zone] * area_m2
        void_m3 = ground_m3 - sum(levels) * CELL_M**2
        left_m3 = TRIM_MEAN_M * area_m2 if own.lowest_m == own.permitted_m + TRIM_LOWEST_M else 0.0
        assert void_m3 == pytest.approx(dug_m3 - left_m3, abs=0.001)
        if own.opened:
            assert min(levels) >= own.permitted_m + TRIM_LOWEST_M - 1e-9


@pytest.mark.parametrize("survey", [name for name, _ in SURVEYS])
def test_the_mean_level_of_floor_points_agrees_with_the_true_digging(survey: str) -> None:
    for floor in ground_of(survey).floors:
        levels = [level_m for _, _, level_m in floor_points(survey, floor.own.zone)]
        mean_m = sum(levels) / len(levels)
        assert mean_m == pytest.approx(floor.own.mean_m, abs=0.02)


@pytest.mark.parametrize("survey", list(SCENES))
def test_filtered_scans_find_the_true_digging_and_no_breach(survey: str) -> None:
    zones = {zone: shapely.Polygon(outline(zone)) for zone in BOX_ZONES}
    where = region([np.array(RING)], zones)
    scan = read_survey(FOLDER / f"{survey}.csv", order="ENZ")
    surface = surface_from(scan, where, Cleaning(None, GroundFilter()))
    middle_m = sum(surface.corner_levels_m) / 3.0
    for number, floor in enumerate(ground_of(survey).floors):
        own, inside = floor.own, surface.zone == number
        void_m3 = (surface.area_m2 * (GROUND_LEVEL_M[own.zone] - middle_m))[inside].sum()
        true_m3 = (GROUND_LEVEL_M[own.zone] - own.mean_m) * plan_area(own.zone)
        assert void_m3 == pytest.approx(true_m3, rel=0.005)
        assert surface.points_m[surface.point_zone == number, 2].min() >= own.permitted_m


@pytest.mark.parametrize("survey", list(SCENES))
def test_a_scan_has_a_shadow_behind_plant_and_plant_before_it(survey: str) -> None:
    ground, scene = ground_of(survey), SCENES[survey]
    hidden = [p for p in points_of(survey) if in_shadow(scene, p[0], p[1])]
    on_floor = [p for p in hidden if abs(p[2] - ground.level_m(p[0], p[1])) < NOISE_M]
    assert on_floor == []
    high = [p for p in hidden if 1.9 < p[2] - ground.level_m(p[0], p[1]) < 3.6]
    assert len(high) >= 40 * len(scene.plant)


@pytest.mark.parametrize("survey", list(SCENES))
def test_a_scan_has_echoes_points_twice_on_the_wall_and_outside_and_a_station_none(
    survey: str,
) -> None:
    ground = ground_of(survey)
    points = points_of(survey)
    inside = [p for p in points if 500.05 < p[0] < 619.95 and 200.05 < p[1] < 229.95]
    heights = [level_m - ground.level_m(e, n) for e, n, level_m in inside]
    assert sum(height > 5.5 for height in heights) >= 5
    assert sum(height < -0.5 for height in heights) == 2
    assert len(points) - len(set(points)) >= 20
    assert len(points) - len(inside) > 400
    station = ground_of("SV1")
    assert all(abs(z - station.level_m(e, n)) < NOISE_M for e, n, z in points_of("SV1"))
    assert {row["code"] for row in rows_of("SV1")} == {"FL", "TOE", "CREST", "GROUND"}
