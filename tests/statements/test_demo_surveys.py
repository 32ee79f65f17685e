"""The surveys of the demonstration against a second method, and the progress that rests on them."""

from __future__ import annotations

from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest
from scipy.interpolate import griddata

from tests.statements import recount
from tracker.recording.demo import DEMO_DAY
from tracker.statements import (
    day_statement,
    progress_statement,
    survey_list,
    survey_statement,
)

SURVEYS = {"SV1": "2026-05-30", "SV2": "2026-07-11", "SV3": "2026-09-05", "SV4": "2026-10-17"}
ZONES = recount.table("setup/zones.csv").set_index("zone")
STEP_M = 0.5
NOISY_M = 1.0  # plant, people and echoes stand further off the median of their neighbours
EDGE_M = 0.3  # nearer than this a point may lie on a wall


def plan(zone: str) -> tuple[float, float, float, float]:
    """West, south, east and north of a zone of the box, which are all rectangles [m]."""
    corners = np.array([[float(v) for v in c.split()] for c in ZONES.outline[zone].split(";")])
    return (*corners.min(axis=0), *corners.max(axis=0))


def points_of(survey: str, zone: str) -> pd.DataFrame:
    """Points of a file inside a zone; of a scan, without those far off their neighbours' median."""
    found = pd.read_csv(recount.FOLDER / "surveys" / f"{survey}.csv")
    west, south, east, north = plan(zone)
    inside = found[
        found.easting.between(west + EDGE_M, east - EDGE_M)
        & found.northing.between(south + EDGE_M, north - EDGE_M)
    ]
    if survey == "SV1":  # a total station sees no plant
        return inside
    cell = [inside.easting // 3, inside.northing // 3]
    off_m = inside["level"] - inside.groupby(cell)["level"].transform("median")
    return inside[off_m.abs() < NOISY_M]


def volume_m3(survey: str, zone: str) -> float:
    """Void below ground level by linear interpolation on a half-metre grid."""
    points = points_of(survey, zone)
    west, south, east, north = plan(zone)
    x = np.arange(west + STEP_M / 2, east, STEP_M)
    y = np.arange(south + STEP_M / 2, north, STEP_M)
    places = np.array(np.meshgrid(x, y)).reshape(2, -1).T
    known, level = points[["easting", "northing"]].to_numpy(), points["level"].to_numpy()
    linear = griddata(known, level, places, "linear")
    nearest = griddata(known, level, places, "nearest")
    floor = np.where(np.isnan(linear), nearest, linear)
    return float((ZONES.ground_level_m[zone] - floor).sum()) * STEP_M**2


@pytest.mark.parametrize("survey", SURVEYS)
def test_surveyed_volumes_agree_with_another_method(demo, survey):
    """The box within 1 %, zones within 3 %: its crude filter leaves the heap and some plant."""
    found = survey_statement(demo, DEMO_DAY, survey=survey)
    assert date.fromisoformat(SURVEYS[survey]) == found.surveyed_at.date()
    zones = [line for line in found.volumes if line.stage is None and line.surveyed_m3 > 100.0]
    others = [volume_m3(survey, line.zone) for line in zones]
    for line, other in zip(zones, others, strict=True):
        assert line.surveyed_m3 == pytest.approx(other, rel=0.03), line.zone
    assert sum(line.surveyed_m3 for line in zones) == pytest.approx(sum(others), rel=0.01)


def returns_after(survey: str) -> pd.Series:
    """Bank volume by zone of shifts that ended after ten o'clock on the day of a survey."""
    dug = recount.dug(recount.season())
    ends = {"day": 19, "night": 24 + 7, "weekend": 24 + 6}
    starts = pd.to_datetime(dug.work_date)
    over = starts + pd.to_timedelta(dug["shift"].map(ends), unit="h")
    later = dug[over > datetime.fromisoformat(f"{SURVEYS[survey]}T10:00")]
    return later.groupby("zone").dug_m3.sum()


def test_progress_is_the_last_survey_and_the_returns_after_it(demo):
    lines = survey_statement(demo, DEMO_DAY).volumes
    surveyed = {line.zone: line.surveyed_m3 for line in lines if line.stage is None}
    later = returns_after("SV4")
    zones = {zone.zone: zone for zone in progress_statement(demo, DEMO_DAY).zones}
    for name, bank_m3 in surveyed.items():
        zone = zones[name]
        assert zone.survey == "SV4"
        expected = bank_m3 + later.get(name, 0.0)
        assert zone.dug_net_m3 + zone.overdig_m3 == pytest.approx(expected)
    shaft = recount.dug(recount.season()).groupby("zone").dug_m3.sum()["S"]
    assert (zones["S"].survey, zones["S"].dug_net_m3) == ("", pytest.approx(shaft))


def test_what_the_returns_say_to_each_survey_is_that_of_the_recount(demo):
    whole = recount.dug(recount.season()).groupby("zone").dug_m3.sum()
    for survey in SURVEYS:
        to_then = whole.sub(returns_after(survey), fill_value=0.0)
        for line in survey_statement(demo, DEMO_DAY, survey=survey).volumes:
            if line.stage is None:
                assert line.returned_m3 == pytest.approx(to_then[line.zone], abs=1e-6)


def test_the_curve_stands_at_each_survey_on_its_day(demo):
    points = progress_statement(demo, DEMO_DAY).curve
    at = {p.survey: p.dug_bank_m3 for p in points if p.survey}
    assert at == {one.survey: pytest.approx(one.dug_m3) for one in survey_list(demo, DEMO_DAY)}


def test_no_survey_of_the_demonstration_is_a_breach_or_disagrees(demo):
    found = day_statement(demo, DEMO_DAY)
    assert {breach.kind for breach in found.breaches} == {"dig_returns"}
    assert not [x for x in found.exceptions if x.rule == "survey_disagrees"]
