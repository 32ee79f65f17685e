"""The progress statement of the paper pit, against what a reader works out from paper.py."""

from __future__ import annotations

from datetime import date
from math import hypot, sqrt

import pytest

from tests.statements import paper
from tracker.statements import progress_statement


@pytest.fixture(scope="module")
def now(book):
    return progress_statement(book, paper.LAST_DAY)


def zone(statement, name: str):
    (found,) = [z for z in statement.zones if z.zone == name]
    return found


# Dug to 2 November [m3 bank]:
#   A, stage 1: 100 (corrected from 120) + 10 x 12 / 1.2 + 200 t / 2.0 + 10 + 100 = 410
#   A, stage 2: 100 + 290 + 30 = 420, of which the last 30 m3 ran from 96.1 to 95.8 m: two thirds of
#               them, 20 m3, below formation at 96 m
#   B, stage 1: 100 + 50 + 250 + 10 = 410; stage 2: 15
#   C, stage 1: 25 + 3 x 10 / 1.5 = 45
def test_dug_volume_adds_up_over_bases_and_streams(now):
    assert zone(now, "A").dug_net_m3 + zone(now, "A").overdig_m3 == pytest.approx(410 + 420)
    assert zone(now, "B").dug_net_m3 == pytest.approx(410 + 15)
    assert zone(now, "C").dug_net_m3 == pytest.approx(45)


def test_net_volume_and_overdig_stand_apart(now):
    assert zone(now, "A").overdig_m3 == pytest.approx(20)
    assert zone(now, "A").dug_net_m3 == pytest.approx(810)
    assert zone(now, "B").overdig_m3 == 0


def test_the_three_figures_of_an_excavation(now):
    box, pit = now.excavations
    assert (box.design_bank_m3, box.dug_net_m3, box.overdig_m3) == (
        pytest.approx(2 * 10 * 10 * 8),
        pytest.approx(810 + 425),
        pytest.approx(20),
    )
    # Reached: A 1 (100.0), A 2 (95.8), B 1 (99.75). C stands at 102.2, above its 101.
    assert (box.stages_total, box.stages_released, box.stages_reached) == (4, 4, 3)
    assert (pit.stages_total, pit.stages_released, pit.stages_reached) == (1, 1, 0)
    assert (box.formation_m2, box.accepted_m2) == (pytest.approx(200), 60)
    assert (pit.formation_m2, pit.accepted_m2) == (pytest.approx(25), 0)


def test_stages_say_when_they_were_released_and_reached(now):
    first, second = zone(now, "A").stages
    assert (first.status, first.decided_on, first.reached_on) == (
        "released",
        date(2026, 10, 21),
        date(2026, 10, 23),
    )
    # Decided on Saturday at 05:00, in the night shift of Friday: the date on the calendar.
    assert (second.decided_on, second.reached_on) == (date(2026, 10, 24), date(2026, 10, 27))
    assert (first.support_released, second.support_released) == (True, True)
    assert (first.top_level_m, first.design_level_m, first.design_bank_m3) == (104, 100, 400)
    assert [s.dug_bank_m3 for s in (first, second)] == [pytest.approx(410), pytest.approx(420)]


def test_a_part_of_formation_accepted_is_a_part(now):
    assert zone(now, "A").accepted_m2 == 60
    assert zone(now, "A").waits_for == "60 of 100 m² of formation inspected and accepted."


def test_the_uncertainty_is_that_of_the_factors_and_adds_up_within_a_stream(now):
    # u = (high - low) / sqrt(12) of each factor; measured volumes use none.
    u_of_bulking = 100 * (0.2 / sqrt(12)) / 1.2  # A: 100 m3 counted in made ground
    u_of_density = 100 * (0.2 / sqrt(12)) / 2.0  # A: 100 m3 weighed in clay
    assert zone(now, "A").u_dug_m3 == pytest.approx(hypot(u_of_bulking, u_of_density))
    assert zone(now, "B").u_dug_m3 == 0
    assert zone(now, "C").u_dug_m3 == pytest.approx(20 * (0.2 / sqrt(12)) / 1.5)


def test_bases_are_shared_out_in_a_sentence(now):
    # 1,300 m3 in all: 120 counted, 100 weighed, 50 estimated, the rest measured.
    assert now.basis.quality[:2] == (
        "Zone A, B, C: by returns alone; the ± covers the conversion factors only.",
        "Dug volume as returned, by basis: 79 % measured, 9 % counted, 8 % weighed, 4 % estimated.",
    )


def test_bands_hold_design_and_dug_by_the_metre(now):
    bands = {b.upper_level_m: b for b in now.bands if b.zone == "A"}
    dug = {upper: band.dug_bank_m3 for upper, band in bands.items()}
    assert dug == {
        104: pytest.approx(100),
        103: pytest.approx(100),
        102: pytest.approx(100),
        101: pytest.approx(100),
        100: pytest.approx(100),
        99: pytest.approx(100),  # 290 m3 from 99 to 96.1: 100 m3 a metre
        98: pytest.approx(100),
        97: pytest.approx(90 + 10),  # to 96.1, then 96.1 to 96.0
        96: pytest.approx(20),  # below formation
    }
    assert bands[97].design_bank_m3 == 100
    assert bands[96].design_bank_m3 == 0
    assert "10 m³ was dug by returns without levels: in no level band." in now.basis.quality


def test_the_general_level_is_the_last_reported_and_its_lowest_point_apart(now):
    assert (zone(now, "A").general_level_m, zone(now, "A").lowest_level_m) == (95.8, 95.7)
    assert (zone(now, "B").general_level_m, zone(now, "B").lowest_level_m) == (99.75, 99.65)
    assert {z.general_basis for z in now.zones} == {"reported"}


def test_without_levels_the_general_level_comes_from_the_volume(own):
    given = {"shift": "day", "stage": "1", "stream": "clay", "basis": "measured", "bank_m3": "50"}
    paper.enter(own, "returns", work_date="2026-10-22", zone="A", **given)
    found = zone(progress_statement(own, date(2026, 10, 22)), "A")
    assert (found.general_level_m, found.general_basis) == (103.5, "from volume")


def test_the_plan_digs_evenly_on_working_days_and_rests_on_the_others(now):
    planned = {p.day.day: p.planned_bank_m3 for p in now.curve if p.excavation == "BOX"}
    # Per day: A 1 400 / 2 on 22, 23; B 1 400 / 4 on 22, 23, 24, 26 (Sunday rests);
    # A 2 400 / 2 on 26, 27; B 2 400 / 3 on 28, 29, 31 (30 is closed).
    assert [planned[day] for day in (22, 23, 24, 25, 26, 27)] == [
        pytest.approx(x) for x in (300, 600, 700, 700, 1000, 1200)
    ]
    assert [planned[day] for day in (28, 29, 30, 31)] == [
        pytest.approx(1200 + x) for x in (400 / 3, 800 / 3, 800 / 3, 400)
    ]


def test_the_dug_curve_runs_by_work_date_and_stops_at_the_as_of_date(book):
    friday = progress_statement(book, date(2026, 10, 23))
    dug = {p.day.day: p.dug_bank_m3 for p in friday.curve if p.excavation == "BOX"}
    assert [dug[day] for day in (22, 23, 24)] == [
        pytest.approx(100 + 100 + 100),
        pytest.approx(300 + 100 + 10 + 100 + 50),
        None,
    ]


def test_the_statement_of_an_earlier_day_holds_that_day(book):
    friday = progress_statement(book, date(2026, 10, 23))
    assert zone(friday, "A").dug_net_m3 == pytest.approx(410)
    assert zone(friday, "C").dug_net_m3 == 0
    assert friday.basis.revision == "first"


def test_breaches_come_before_any_percentage(now):
    assert now.headline.startswith("Zone B: lowest level 99.700 m")


def test_a_later_set_up_changes_no_volume_from_before_its_date(book, now):
    wednesday = progress_statement(book, date(2026, 10, 28))
    assert wednesday.basis.revision == "first"
    assert now.basis.revision == "second"
    assert zone(wednesday, "A").dug_net_m3 == zone(now, "A").dug_net_m3
    # From its date on it shows: 30 m3 loose are 20 m3 bank, and were 24.
    assert zone(now, "C").dug_net_m3 - zone(wednesday, "C").dug_net_m3 == pytest.approx(20)


def test_ground_dug_where_a_later_set_up_has_no_zone_is_named_and_nothing_breaks(own, clock):
    given = {"shift": "day", "stage": "1", "stream": "clay", "basis": "measured", "bank_m3": "50"}
    paper.enter(own, "returns", work_date="2026-10-26", zone="C", **given)
    smaller = paper.second_setup()
    for table in ("zones", "stages", "ground"):
        smaller[table] = [row for row in smaller[table] if row["zone"] != "C"]
    smaller["excavations"] = smaller["excavations"][:1]
    paper.adopt(own, smaller, "without the pit", date(2026, 10, 29))
    later = progress_statement(own, paper.LAST_DAY)
    assert [e.excavation for e in later.excavations] == ["BOX"]
    assert "50 m³ was dug where this set-up has no zone or stage: C stage 1." in later.basis.quality


def test_completeness_counts_by_the_calendar_of_each_day(now):
    # Expected: 4 on 22, 23, 24; 6 on 26, 27, 28 (C has opened); from 29 on, without night shift,
    # 3 on 29, 31 and 2 November. Sundays and the closed 30 October: none.
    # Received: 4 + 3 + 3, then 6 + 4 + 3, then 3 + 3 + 2; nil of them 1 + 0 + 3, 2 + 2 + 2,
    # 2 + 3 + 2.
    basis = now.basis
    assert (basis.returns_expected, basis.returns_received, basis.returns_nil) == (39, 31, 17)
    assert basis.completeness_percent == pytest.approx(100 * 31 / 39)


def test_no_more_returns_are_expected_of_a_zone_whose_formation_is_accepted(own, clock):
    paper.enter(
        own,
        "holds",
        decided_at="2026-10-23 12:00",
        zone="A",
        hold="formation",
        status="released",
        permit="P",
        decided_by="coordinator",
        accepted_m2="100",
    )
    # A: two shifts on each of 22 and 23 October; B: two on each of 22, 23 and 24 October (its
    # night of the 24th is not over at the end of that day).
    assert progress_statement(own, date(2026, 10, 24)).basis.returns_expected == 4 + 5
