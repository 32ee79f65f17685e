from datetime import date, timedelta

from dashboard.progress import shown as progress
from tests.dashboard import examples
from tests.dashboard.pieces import texts_of
from tracker.recording.demo import DEMO_DAY
from tracker.statements import progress_statement


def test_there_are_three_progress_figures_and_overdig_stands_apart():
    words = texts_of(progress.figures(examples.progress().excavations[0], "by returns alone"))
    for name in ("Volume dug", "Stages", "Formation accepted", "Overdig"):
        assert name in words
    assert "Overdig below formation 12 m³ bank not in the volume dug" in words


def test_the_volume_dug_says_twice_its_uncertainty_and_what_it_rests_on():
    statement = examples.progress()
    words = texts_of(progress.figures(statement.excavations[0], "by survey SV9"))
    assert "± 240 m³ (twice the standard uncertainty): by survey SV9" in words


def test_a_volume_rests_on_the_last_survey_and_on_the_returns_after_it():
    zones = tuple(examples.surveyed(z, z.general_level_m) for z in examples.BOX_ZONES)
    said = progress.rests_on(examples.progress(zones), "BOX")
    assert said == "by survey SV9 of 23 Oct 2026, then 1,200 m³ by returns"
    mixed = progress.rests_on(examples.progress((*zones[:4], examples.BOX_ZONES[4])), "BOX")
    assert mixed.endswith("then 960 m³ by returns; zone E by returns alone")
    alone = progress.rests_on(examples.progress(), "BOX")
    assert alone == "by returns alone, ± of the conversion factors only"


def test_a_breach_is_the_headline_of_its_own_excavation_and_is_marked():
    statement = examples.progress()
    headline = progress.headline(statement, "BOX")
    assert headline.className == "mark breach"
    assert texts_of(headline) == statement.excavations[0].headline
    assert isinstance(progress.headline(statement, "SHAFT"), str)


def test_a_stage_that_is_late_says_by_how_many_days():
    zone = examples.progress().zones[0]
    waiting = next(s for s in zone.stages if not s.reached)
    late = progress.stage_row(zone, waiting, waiting.planned_finish + timedelta(days=4))
    assert "not yet, 4 days late" in texts_of(late[6])
    assert "not yet" in progress.stage_row(zone, waiting, waiting.planned_finish)


def test_rows_of_one_zone_hold_that_zone_only():
    statement = examples.progress()
    words = texts_of(progress.zone_rows(statement, "BOX", "B"))
    assert "Zone B" in words
    assert "Zone A" not in words
    assert "Shaft" not in words


def test_rows_of_all_zones_stay_inside_their_excavation():
    words = texts_of(progress.zone_rows(examples.progress(), "SHAFT", progress.ALL_ZONES))
    assert "Shaft" in words
    assert "Zone A" not in words


def test_a_stage_that_waits_says_so():
    words = texts_of(progress.zone_rows(examples.progress(), "BOX", "E"))
    assert "not released" in words
    assert "Zone E: Zone E waits for stage 3 to be released." in words


def test_the_demonstration_shows_box_and_shaft(demo):
    statement = progress_statement(demo, DEMO_DAY)
    for part in statement.excavations:
        shown = progress.shown(statement, part.excavation, 1240)
        assert len(shown["section"].data) > 1
        assert "The permit on site" in texts_of(shown["cautions"])
        assert "Returns received" in texts_of(shown["basis"])


def test_a_day_before_any_digging_is_drawn_all_the_same(demo):
    statement = progress_statement(demo, date(2026, 3, 20))
    shown = progress.shown(statement, statement.excavations[0].excavation, 358)
    assert shown["section"].layout.width == 358
    assert shown["bands"].layout.width <= 358


def test_the_rows_behind_the_drawings_hold_their_numbers():
    statement = examples.progress()
    assert "90.70" in texts_of(progress.levels_rows(statement, "BOX"))
    assert "below permitted" in texts_of(progress.levels_rows(statement, "BOX"))
    assert "101.60" in texts_of(progress.bands_rows(statement, "BOX"))
