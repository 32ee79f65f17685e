"""The surveyed surface in 3D, under the design dig levels."""

from __future__ import annotations

import numpy as np
import pytest

from dashboard.figures.ground import DigLevel, exaggeration, ground_figure, ground_summary
from dashboard.figures.profile import profile_traces, surveys_shown
from tests.dashboard.test_plan import hashable, two_floors
from tracker.recording.demo import DEMO_DAY
from tracker.statements import progress_statement

RING = ((500.0, 200.0), (510.0, 200.0), (510.0, 210.0), (500.0, 210.0))
LEVELS = [DigLevel("A", 1, 95.0, False, RING), DigLevel("A", 2, 88.0, True, RING)]


@pytest.fixture
def picture():
    return hashable(two_floors())


def test_the_surface_and_the_design_levels_stand_at_their_levels(picture):
    figure = ground_figure(picture, LEVELS)
    (mesh,) = [t for t in figure.data if t.type == "mesh3d"]
    assert len(mesh.i) == 4
    assert (min(mesh.z), max(mesh.z)) == (90.0, 95.0)
    lines = [t for t in figure.data if t.type == "scatter3d" and t.mode == "lines"]
    heights = {float(z) for t in lines for z in t.z if z is not None and np.isfinite(z)}
    assert heights == {95.0, 88.0}


def test_without_design_levels_the_surface_is_drawn_alone(picture):
    figure = ground_figure(picture, [])
    assert [t.type for t in figure.data if t.type == "mesh3d"] == ["mesh3d"]
    assert not [t for t in figure.data if t.type == "scatter3d" and t.mode == "lines"]


def test_heights_are_stretched_by_a_round_number_that_is_said(picture):
    scale = exaggeration(picture, LEVELS)
    assert scale == 1
    assert "Heights are true to the plan" in ground_summary(picture, LEVELS)
    wide = hashable(two_floors())
    wide.xyz_m[:, :2] *= 8.0
    assert exaggeration(wide, LEVELS) > 1
    assert f"drawn {exaggeration(wide, LEVELS):g} times up" in ground_summary(wide, LEVELS)
    assert "never measure from it" in ground_summary(wide, LEVELS)


def test_on_a_phone_it_is_lower_and_no_wider_than_the_screen(picture):
    narrow, wide = ground_figure(picture, LEVELS, 358), ground_figure(picture, LEVELS, 1180)
    assert narrow.layout.height < wide.layout.height
    assert narrow.layout.width == 358


# --- the profile on the section ------------------------------------------------------------------
def test_the_profile_of_the_last_survey_runs_through_every_zone_it_covers(demo):
    zones = [z for z in progress_statement(demo, DEMO_DAY).zones if z.excavation == "box"]
    assert surveys_shown(zones) == [("SV4", zones[0].surveyed_on)]
    band, mean = profile_traces(zones)
    known = [(x, y) for x, y in zip(mean["x"], mean["y"], strict=True) if x is not None]
    assert known[0][0] == zones[0].along_from_m
    assert known[-1][0] == zones[-1].along_to_m
    assert min(y for y in band["y"] if y is not None) <= min(y for _, y in known)


def test_zones_without_a_survey_have_no_profile(demo):
    shaft = [z for z in progress_statement(demo, DEMO_DAY).zones if z.excavation == "shaft"]
    assert profile_traces(shaft) == []
    assert surveys_shown(shaft) == []
