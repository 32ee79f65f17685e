"""Surveys of the paper pit: against the returns, in the progress, as breaches; worked by hand."""

from __future__ import annotations

from datetime import date
from math import hypot
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.statements import paper
from tests.survey_points import floor_points, write_points
from tracker.domain.rules import SURVEY_RULE
from tracker.errors import InputError, NotEnoughData, UnknownName
from tracker.ledger.store import Ledger
from tracker.recording.entry import close_exception, withdraw
from tracker.recording.surveys import SurveyQuestions, examine_survey, record_survey
from tracker.statements import (
    day_statement,
    progress_statement,
    survey_list,
    survey_picture,
    survey_statement,
)
from tracker.statements.export import as_data, tables, to_csv, to_xlsx

ON = date(2026, 10, 24)


@pytest.fixture
def pit(own: Ledger) -> Ledger:
    """Three shifts of zone A, one of B: 200 m3 of A before 06:30 on the 23rd, 90 m3 after."""
    for zone in "AB":
        paper.enter(own, "holds", decided_at="2026-10-21 15:00", zone=zone, hold="1",
                    status="released", permit="P", decided_by="coordinator")  # fmt: skip
    for day, shift, zone, bank, top, bottom in (
        ("2026-10-22", "day", "A", "100", "104", "103"),
        ("2026-10-22", "night", "A", "100", "103", "102"),
        ("2026-10-23", "day", "A", "90", "102", "101.1"),
        ("2026-10-22", "day", "B", "50", "104", "103.5"),
    ):
        dug(own, work_date=day, shift=shift, zone=zone, bank_m3=bank, from_level_m=top,
            to_level_m=bottom, lowest_level_m=bottom)  # fmt: skip
    return own


def dug(book: Ledger, **fields: str) -> str:
    given = {"stage": "1", "stream": "clay", "basis": "measured"}
    return paper.enter(book, "returns", **(given | fields))


@pytest.fixture
def surveyed(tmp_path: Path):
    """Record a survey of flat floors; by default at 06:30 between the night and the day shift."""

    def record_one(book: Ledger, levels=(102.1, 103.5), **changes: Any) -> str:
        survey = changes.get("survey", "S1")
        path = write_points(tmp_path / f"{survey}.csv", floor_points(levels))
        given: dict[str, Any] = {
            "path": path, "survey": survey, "excavation": "BOX", "order": "ENZ",
            "surveyed_at": "2026-10-23 06:30",
        }  # fmt: skip
        examined = examine_survey(book, SurveyQuestions(**(given | changes)), now=book.now())
        return record_survey(book, examined, by="surveyor")

    return record_one


def adopt(book: Ledger, **of_zone_a: str) -> None:
    """Describe zone A otherwise from 24 October on."""
    tables = {name: [dict(row) for row in rows] for name, rows in paper.FIRST.items()}
    tables["zones"][0] |= of_zone_a
    tables["ground"][0]["upper_level_m"] = tables["zones"][0]["ground_level_m"]
    paper.adopt(book, tables, "put right", ON)


def line(statement, zone: str, stage: int | None = None):
    (found,) = [v for v in statement.volumes if (v.zone, v.stage) == (zone, stage)]
    return found


def zone(statement, name: str):
    (found,) = [z for z in statement.zones if z.zone == name]
    return found


# --- against the returns -------------------------------------------------------------------------
def test_a_survey_is_held_against_the_returns_of_shifts_that_ended_before_it(pit, surveyed):
    surveyed(pit)
    found = survey_statement(pit, ON)
    west = line(found, "A")
    assert (west.surveyed_m3, west.returned_m3) == (pytest.approx(190.0), pytest.approx(200.0))
    assert west.difference_m3 == pytest.approx(10.0)
    assert west.percent == pytest.approx(100 * 10 / 190)
    # level 100 m2 x 10 mm; wall 30 m x 1.9 m x 10 mm; 2 % of 200 m3 measured
    assert west.u_surveyed_m3 == pytest.approx(hypot(1.0, 0.57), abs=0.02)
    assert west.u_returned_m3 == pytest.approx(4.0)
    assert (west.verdict, west.severity) == ("returns say too much", "amber")
    assert line(found, "B").verdict == "agree within their uncertainty"
    assert found.total.net_m3 == pytest.approx(240.0)
    assert found.total.returned_m3 == pytest.approx(250.0)


def test_a_shift_that_runs_across_the_survey_counts_as_after_it(pit, surveyed):
    surveyed(pit, surveyed_at="2026-10-23 02:00")
    assert line(survey_statement(pit, ON), "A").returned_m3 == pytest.approx(100.0)


def test_a_shift_that_the_set_up_no_longer_has_ended_with_its_day(pit, surveyed):
    surveyed(pit)
    tables = {name: [dict(row) for row in rows] for name, rows in paper.FIRST.items()}
    tables["shifts"] = tables["shifts"][:1]  # no night shift any more, from the 22nd on
    paper.adopt(pit, tables, "days only", date(2026, 10, 22))
    assert line(survey_statement(pit, ON), "A").returned_m3 == pytest.approx(200.0)
    assert zone(progress_statement(pit, ON), "A").dug_net_m3 == pytest.approx(280.0)


def test_stages_are_compared_as_well_and_nothing_is_lost_below_formation(pit, surveyed):
    dug(pit, work_date="2026-10-22", shift="night", zone="B", stage="2", bank_m3="7")
    surveyed(pit, (95.5, 99.0))
    found = survey_statement(pit, ON)
    assert [line(found, "A", stage).surveyed_m3 for stage in (1, 2, 0)] == pytest.approx(
        [400.0, 400.0, 50.0]
    )
    assert line(found, "A", 2).returned_m3 == 0.0
    below = line(found, "A", 0)
    assert (below.from_level_m, below.to_level_m) == (96.0, None)
    assert (line(found, "B", 2).surveyed_m3, line(found, "B", 2).returned_m3) == (
        pytest.approx(100.0),
        pytest.approx(7.0),
    )
    over = zone(found, "A")
    assert (over.below_formation_m3, over.below_formation_m2) == (
        pytest.approx(50.0),
        pytest.approx(100.0),
    )
    assert over.above_formation_m3 == pytest.approx(0.0, abs=1e-6)
    assert zone(found, "B").above_formation_m3 == pytest.approx(300.0)


def test_bands_sum_to_the_volume_and_reach_from_the_ground_down(pit, surveyed):
    surveyed(pit, (95.5, 99.0))
    found = survey_statement(pit, ON)
    mine = [band for band in found.bands if band.zone == "A"]
    assert sum(band.net_m3 for band in mine) == pytest.approx(850.0)
    assert [band.from_level_m for band in mine][:2] == [104.0, 103.0]
    assert mine[-1].to_level_m == 95.0


def test_between_two_surveys_both_sides_count_what_came_between(pit, surveyed):
    surveyed(pit)
    surveyed(pit, (101.15, 103.5), survey="S2", surveyed_at="2026-10-23 20:00")
    found = survey_statement(pit, ON, since="S1")
    assert (found.survey, found.since) == ("S2", "S1")
    assert line(found, "A").surveyed_m3 == pytest.approx(95.0)
    assert line(found, "A").returned_m3 == pytest.approx(90.0)
    assert line(found, "B").surveyed_m3 == pytest.approx(0.0, abs=1e-6)
    with pytest.raises(InputError, match="was not made before S1"):
        survey_statement(pit, ON, survey="S1", since="S2")


def test_late_returns_change_the_check_and_the_old_one_can_still_be_drawn(pit, surveyed, clock):
    surveyed(pit)
    before = clock.moment
    clock.moment = before.replace(hour=12)
    dug(pit, work_date="2026-10-22", shift="night", zone="B", bank_m3="30")
    assert line(survey_statement(pit, ON), "B").returned_m3 == pytest.approx(80.0)
    then = survey_statement(pit, ON, known_at=before)
    assert line(then, "B").returned_m3 == pytest.approx(50.0)


def test_original_ground_is_what_later_volumes_count_from(pit, surveyed):
    surveyed(pit, (104.2, 103.9), survey="G", surveyed_at="2026-10-20 09:00", original_ground=True)
    surveyed(pit)
    found = survey_statement(pit, ON)
    assert line(found, "A").surveyed_m3 == pytest.approx(210.0)
    assert line(found, "B").surveyed_m3 == pytest.approx(40.0)
    assert "the ground before digging" in survey_statement(pit, ON, survey="G").headline
    assert zone(progress_statement(pit, ON), "A").dug_net_m3 == pytest.approx(210.0 + 90.0)


def test_a_survey_of_a_part_says_what_changed_inside_its_boundary(pit, surveyed, tmp_path):
    surveyed(pit)
    ring = np.array([(2.0, 2.0), (8.0, 2.0), (8.0, 8.0), (2.0, 8.0)])
    surveyed(pit, (101.6, 103.5), survey="S2", surveyed_at="2026-10-23 20:00", boundary=ring,
             earlier=tmp_path / "S1.csv")  # fmt: skip
    found = survey_statement(pit, ON)
    assert found.part_of == "S1"
    assert sum(band.net_m3 for band in found.bands) == pytest.approx(36 * 0.5)
    assert any("Inside its boundary 18.0 m³ were dug in zone A" in note for note in found.notes)
    assert found.volumes == ()
    # progress of the zone still rests on the survey that covers it whole
    assert zone(progress_statement(pit, ON), "A").survey == "S1"


def test_a_survey_claims_what_it_did_when_recorded_and_says_where_the_set_up_differs(pit, surveyed):
    surveyed(pit)
    adopt(pit, ground_level_m="104.3")
    found = survey_statement(pit, ON)
    assert line(found, "A").surveyed_m3 == pytest.approx(220.0)
    said = " ".join(found.basis.quality)
    assert "Zone A: 220 m³ by the set-up in force, 190 m³ when the survey was recorded" in said
    assert "104.300" in said  # a level at which the survey was not reduced


def test_a_zone_drawn_anew_takes_no_volume_from_a_survey_of_the_old_one(pit, surveyed):
    surveyed(pit)
    adopt(pit, outline="0 0; 10 0; 10 11; 0 11")
    found = progress_statement(pit, ON)
    assert (zone(found, "A").survey, zone(found, "B").survey) == ("", "S1")
    assert zone(found, "A").dug_net_m3 == pytest.approx(290.0)


# --- in the progress -----------------------------------------------------------------------------
def test_progress_rests_on_the_survey_to_its_moment_and_on_returns_after_it(pit, surveyed):
    before = zone(progress_statement(pit, ON), "A")
    assert (before.dug_net_m3, before.survey) == (pytest.approx(290.0), "")
    surveyed(pit)
    found = progress_statement(pit, ON)
    west, east = zone(found, "A"), zone(found, "B")
    assert west.dug_net_m3 == pytest.approx(190.0 + 90.0)
    assert (west.survey, west.surveyed_on) == ("S1", date(2026, 10, 23))
    assert west.since_survey_m3 == pytest.approx(90.0)
    assert west.u_dug_m3 == pytest.approx(hypot(1.0, 0.57, 0.02 * 90), abs=0.03)
    assert west.stages[0].dug_bank_m3 == pytest.approx(280.0)
    assert (west.general_level_m, west.general_basis) == (101.1, "reported")
    assert (east.general_level_m, east.general_basis) == (pytest.approx(103.5), "surveyed")
    (said,) = [line for line in found.basis.quality if "by survey" in line]
    assert "zone A, B: by survey S1 of Fri 23 Oct 2026, then 90 m³ by returns after it" in said


def test_bands_and_the_curve_rest_on_the_survey_as_well(pit, surveyed):
    surveyed(pit)
    found = progress_statement(pit, ON)
    of_west = {b.lower_level_m: b.dug_bank_m3 for b in found.bands if b.zone == "A"}
    assert of_west[103.0] == pytest.approx(100.0)
    assert of_west[102.0] == pytest.approx(90.0)
    assert of_west[101.0] == pytest.approx(90.0)
    of_box = {p.day: p for p in found.curve if p.excavation == "BOX"}
    assert of_box[date(2026, 10, 22)].dug_bank_m3 == pytest.approx(250.0)
    step = of_box[date(2026, 10, 23)]
    assert (step.survey, step.dug_bank_m3) == ("S1", pytest.approx(240.0 + 90.0))
    assert step.u_dug_m3 == pytest.approx(hypot(2.0, 0.57 + 0.15), abs=0.05)


def test_the_curve_steps_from_survey_to_survey(pit, surveyed):
    surveyed(pit)
    surveyed(pit, (101.15, 103.4), survey="S2", surveyed_at="2026-10-23 20:00")
    dug(pit, work_date="2026-10-24", shift="day", zone="A", bank_m3="10")
    of_box = {p.day: p for p in progress_statement(pit, ON).curve if p.excavation == "BOX"}
    assert of_box[date(2026, 10, 23)].dug_bank_m3 == pytest.approx(285.0 + 60.0)
    assert of_box[ON].dug_bank_m3 == pytest.approx(285.0 + 60.0 + 10.0)


def test_overdig_that_was_surveyed_and_overdig_returned_later_stand_apart_from_the_volume(
    pit, surveyed
):
    surveyed(pit, (95.5, 103.5))
    dug(pit, work_date="2026-10-24", shift="day", zone="A", stage="2", bank_m3="20",
        from_level_m="95.5", to_level_m="95.3", lowest_level_m="95.3")  # fmt: skip
    west = zone(progress_statement(pit, ON), "A")
    assert west.overdig_m3 == pytest.approx(50.0 + 20.0)
    assert west.dug_net_m3 == pytest.approx(800.0 + 90.0)


def test_on_the_day_of_the_survey_only_shifts_that_ended_after_it_are_added(pit, surveyed):
    surveyed(pit)
    day = date(2026, 10, 23)
    found = progress_statement(pit, day)
    assert zone(found, "A").dug_net_m3 == pytest.approx(190.0 + 90.0)
    assert zone(found, "B").since_survey_m3 == 0.0
    last = next(p for p in found.curve if p.excavation == "BOX" and p.day == day)
    assert last.dug_bank_m3 == pytest.approx(240.0 + 90.0)


def test_before_the_survey_and_without_it_nothing_changes(pit, surveyed):
    entry = surveyed(pit)
    assert zone(progress_statement(pit, date(2026, 10, 22)), "A").survey == ""
    withdraw(pit, entry, reason="wrong benchmark", by="surveyor")
    assert zone(progress_statement(pit, ON), "A").dug_net_m3 == pytest.approx(290.0)
    with pytest.raises(NotEnoughData, match="No survey of The box"):
        survey_statement(pit, ON)


def test_the_section_gets_the_surveyed_profile_along_each_zone(pit, surveyed):
    surveyed(pit)
    points = zone(progress_statement(pit, ON), "B").profile
    assert [p.along_m for p in points] == pytest.approx([10.5 + k for k in range(10)])
    assert {round(p.mean_level_m, 6) for p in points} == {103.5}
    assert zone(progress_statement(pit, ON), "C").profile == ()


# --- breaches and disagreements ------------------------------------------------------------------
def test_a_surveyed_point_below_the_permitted_level_is_a_breach_like_any_other(pit, surveyed):
    surveyed(pit, (99.0, 103.5))
    found = day_statement(pit, ON)
    (breach,) = found.breaches
    assert (breach.kind, breach.zone) == ("survey_levels", "A")
    assert "1.000 m below the permitted 100.000 m" in breach.sentence
    said = survey_statement(pit, ON)
    assert said.headline.startswith("Surveyed below the permitted level in zone A")
    close_exception(pit, breach.rule, breach.about, reason="filled", closed_by="TWC", by="x")
    assert day_statement(pit, ON).breaches == ()


def disagreements(book):
    return [e for e in day_statement(book, ON).exceptions if e.rule == SURVEY_RULE]


def test_a_difference_beyond_the_red_limit_is_open_until_closed_with_a_reason(pit, surveyed):
    surveyed(pit, (102.3, 103.5))  # 170 m3 against 200
    (found,) = disagreements(pit)
    assert "Zone A: returns say too much, 200 m³ against 170 m³ of survey S1 (+17.6 %)" in (
        found.sentence
    )
    close_exception(pit, found.rule, found.about, reason="tally put right", closed_by="QS", by="x")
    assert disagreements(pit) == []
    # another survey in its place is another difference
    (surface,) = pit.current("survey_surfaces")
    withdraw(pit, surface.entry_id, reason="set up again", by="surveyor")
    surveyed(pit, (102.31, 103.5))
    assert len(disagreements(pit)) == 1


def test_only_the_last_survey_of_a_zone_can_disagree(pit, surveyed):
    surveyed(pit, (102.3, 103.5))
    surveyed(pit, (101.12, 103.5), survey="S2", surveyed_at="2026-10-23 20:00")
    assert disagreements(pit) == []


def test_a_withdrawn_check_holds_no_limit(pit, surveyed):
    surveyed(pit, (102.3, 103.5))
    (check,) = pit.current("survey_checks")
    withdraw(pit, check.entry_id, reason="settled otherwise", by="QS")
    assert disagreements(pit) == []
    found = survey_statement(pit, ON)
    assert found.red_percent is None
    assert line(found, "A").severity == ""
    assert line(found, "A").verdict == "returns say too much"


# --- lists, pictures, exports --------------------------------------------------------------------
def test_surveys_are_listed_newest_first_with_their_verdict(pit, surveyed):
    assert survey_list(pit, ON) == ()
    surveyed(pit)
    surveyed(pit, (101.15, 103.5), survey="S2", surveyed_at="2026-10-23 20:00")
    found = survey_list(pit, ON)
    assert [one.survey for one in found] == ["S2", "S1"]
    assert found[1].dug_m3 == pytest.approx(240.0)
    assert found[1].verdict == "agree within their uncertainty"
    assert survey_list(pit, ON, excavation="PIT") == ()
    with pytest.raises(UnknownName):
        survey_list(pit, ON, excavation="HOLE")


def test_another_survey_or_excavation_is_refused_with_the_known_ones(pit, surveyed):
    surveyed(pit)
    with pytest.raises(UnknownName, match="S1"):
        survey_statement(pit, ON, survey="S9")
    with pytest.raises(NotEnoughData, match="The pit"):
        survey_statement(pit, ON, excavation="PIT")


def test_the_picture_shows_the_surface_in_the_grid_of_the_site(pit, surveyed):
    picture = survey_picture(pit, surveyed(pit))
    assert picture.zones == ("A", "B")
    assert picture.xyz_m.min(axis=0) == pytest.approx([0.0, 0.0, 102.1])
    assert picture.xyz_m.max(axis=0) == pytest.approx([20.0, 10.0, 103.5])


def test_the_statement_can_be_exported_whole(pit, surveyed):
    surveyed(pit)
    found = survey_statement(pit, ON)
    assert {"volumes", "bands", "zones", "surveys", "total", "quality"} <= set(tables(found))
    assert as_data(found)["volumes"][0]["zone"] == "A"
    assert "returns say too much" in to_csv(found)
    assert to_xlsx(found)[:2] == b"PK"
