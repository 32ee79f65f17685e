"""Surveyed files: examined first, recorded when accepted, refused in words with nothing stored."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.survey_points import floor_points, write_points
from tracker.domain.rules import BREACH_RULE
from tracker.domain.surface.report import report_from_text
from tracker.errors import (
    AlreadySuperseded,
    DuplicateEntry,
    EntryNotFound,
    InputError,
    TrackerError,
)
from tracker.ledger.surveys import taken_surveys
from tracker.recording.entry import amend, record, withdraw
from tracker.recording.setup import adopt_setup
from tracker.recording.surveys import (
    SurveyQuestions,
    examine_survey,
    record_survey,
    state_limits,
)

NOW = datetime(2026, 4, 30, 12, 0, tzinfo=UTC)
KINDS = ("survey_surfaces", "survey_levels", "survey_checks")


@pytest.fixture
def ask(tmp_path: Path):
    """Questions about a file of flat floors, one level a zone."""

    def questions(levels=(100.0, 102.0), *, points=None, **changes: Any) -> SurveyQuestions:
        name = changes.get("survey", "S1")
        path = tmp_path / f"{name}.csv"
        write_points(path, floor_points(levels) if points is None else points)
        given = {
            "path": path,
            "survey": "S1",
            "excavation": "BOX",
            "surveyed_at": "2026-03-28 10:00",
            "order": "ENZ",
        }
        return SurveyQuestions(**(given | changes))

    return questions


def permit(book, zone="A", hold="1", when="2026-03-02 07:00"):
    fields = {"decided_at": when, "zone": zone, "hold": hold, "status": "released",
              "permit": "P", "decided_by": "coordinator"}  # fmt: skip
    record(book, "holds", fields, by="office", now=NOW)


def stored(book):
    return {kind: book.current(kind) for kind in KINDS}


def nothing(book):
    return not any(stored(book).values())


def test_examining_records_nothing_and_shows_what_would_be(book, ask):
    found = examine_survey(book, ask(), now=NOW)
    assert nothing(book)
    assert [zone.zone for zone in found.zones] == ["A", "B"]
    assert [zone.total.net_m3 for zone in found.zones] == pytest.approx([400.0, 200.0])
    assert [zone.lowest_level_m for zone in found.zones] == [100.0, 102.0]
    assert found.report.points_used == found.report.points_in == 800
    assert found.report.coverage.covered_percent == pytest.approx(100.0)


def test_an_accepted_survey_is_a_surface_its_deepest_points_and_its_claim(book, ask):
    found = examine_survey(book, ask(method="total station"), now=NOW)
    entry_id = record_survey(book, found, by="surveyor")
    kept = stored(book)
    (surface,) = kept["survey_surfaces"]
    assert surface.entry_id == entry_id
    assert surface.work_date == date(2026, 3, 28)
    assert surface.source == "S1.csv"
    assert report_from_text(surface.report) == found.report
    levels = {level.zone: level for level in kept["survey_levels"]}
    assert {zone: level.lowest_level_mm for zone, level in levels.items()} == {
        "A": 100_000,
        "B": 102_000,
    }
    assert levels["A"].dug_bank_l == pytest.approx(400_000, abs=2)
    (check,) = kept["survey_checks"]
    claimed = {(zone, stage): litres for zone, stage, litres, _ in json.loads(check.lines)}
    assert claimed["A", 1] == pytest.approx(400_000, abs=2)
    assert claimed["A", 2] == claimed["A", 0] == 0
    assert (check.amber_permille, check.red_permille) == (30, 60)


def test_stages_part_the_volume_and_overdig_stands_apart(book, ask):
    found = examine_survey(book, ask((95.5, 98.0)), now=NOW)
    west, east = (
        {stage: round(net.net_m3, 6) for stage, net in z.dug.items()} for z in found.zones
    )
    assert west == {1: 400.0, 2: 400.0, 0: 50.0}
    assert east == {1: 400.0, 2: 200.0, 0: 0.0}


def test_a_point_below_the_permitted_level_is_a_breach_said_at_once(book, ask):
    permit(book)
    found = examine_survey(book, ask((99.0, None), boundary=BOUNDARY_A), now=NOW)
    (breach,) = [p for p in found.problems if p.rule == BREACH_RULE]
    assert "1.000 m below the permitted 100.000 m" in breach.message


BOUNDARY_A = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])


def test_levels_on_the_national_datum_are_moved_to_the_site_s(book, ask):
    national = floor_points((0.0, 2.0))  # national = site - 100
    found = examine_survey(book, ask(points=national, datum="national"), now=NOW)
    assert [zone.lowest_level_m for zone in found.zones] == [100.0, 102.0]
    with pytest.raises(InputError, match="looks like a level"):
        examine_survey(book, ask(points=national + np.array([0, 0, 0.3])), now=NOW)


def test_a_shift_is_added_to_every_level_and_kept(book, ask):
    found = examine_survey(book, ask((99.95, 101.95), datum_shift_m=0.05), now=NOW)
    assert found.surface.datum_shift_mm == 50
    assert [zone.lowest_level_m for zone in found.zones] == [100.0, 102.0]


def test_volumes_count_from_the_original_ground_where_it_was_surveyed(book, ask):
    ground = ask((103.8, 104.1), survey="G", surveyed_at="2026-03-01 09:00", original_ground=True)
    record_survey(book, examine_survey(book, ground, now=NOW), by="surveyor")
    found = examine_survey(book, ask(), now=NOW)
    assert [zone.total.net_m3 for zone in found.zones] == pytest.approx([380.0, 210.0])
    assert found.zones[0].dug[1].net_m3 == pytest.approx(380.0)


def test_a_survey_of_a_part_claims_only_the_zones_it_covers_whole(book, ask):
    boundary = np.array([(0.0, 0.0), (15.0, 0.0), (15.0, 10.0), (0.0, 10.0)])
    found = examine_survey(book, ask(boundary=boundary), now=NOW)
    whole, part = found.zones
    assert whole.total.net_m3 == pytest.approx(400.0)
    assert part.dug is None
    assert {line[0] for line in json.loads(found.check.lines)} == {"A"}


def test_a_survey_of_a_part_is_laid_over_the_earlier_file(book, ask):
    first = ask((100.0, 102.0))
    record_survey(book, examine_survey(book, first, now=NOW), by="surveyor")
    boundary = np.array([(12.0, 2.0), (18.0, 2.0), (18.0, 8.0), (12.0, 8.0)])
    later = ask((100.0, 101.5), survey="S2", surveyed_at="2026-03-30 10:00", boundary=boundary,
                earlier=first.path)  # fmt: skip
    record_survey(book, examine_survey(book, later, now=NOW), by="surveyor")
    surface = taken_surveys(book, book.site(), date(2026, 4, 30))[-1].entry
    assert surface.laid_over == "S1"
    assert surface.earlier_table


def test_only_the_file_of_a_recorded_survey_is_laid_under(book, ask):
    first = ask()
    record_survey(book, examine_survey(book, first, now=NOW), by="surveyor")
    other = write_points(first.path.with_name("other.csv"), floor_points((100.0, 103.0)))
    boundary = np.array([(12.0, 2.0), (18.0, 2.0), (18.0, 8.0), (12.0, 8.0)])
    given = {"survey": "S2", "boundary": boundary}
    with pytest.raises(InputError, match=r"other\.csv is not the file.*Recorded: S1 \(S1\.csv\)"):
        examine_survey(book, ask((100.0, 101.5), earlier=other, **given), now=NOW)
    absent = first.path.with_name("absent.csv")
    with pytest.raises(InputError, match="There is no file"):
        examine_survey(book, ask((100.0, 101.5), earlier=absent, **given), now=NOW)


PATCH = np.array([(21.0, 0.0), (24.0, 0.0), (24.0, 10.0), (21.0, 10.0)])


def with_slab(levels_m, slab_m):
    """Floors, and a slab east of the box that nobody digs."""
    slab = floor_points((slab_m,), east_m=20.5)
    return np.concatenate([floor_points(levels_m), slab])


@pytest.mark.parametrize(
    ("slab_m", "severity"), [(104.005, None), (104.03, "amber"), (103.94, "red")]
)
def test_ground_that_nobody_dug_tells_whether_two_surveys_agree(book, ask, slab_m, severity):
    first = ask(points=with_slab((100.0, 102.0), 104.0))
    record_survey(book, examine_survey(book, first, now=NOW), by="surveyor")
    later = ask(points=with_slab((99.0, 101.0), slab_m), survey="S2", control=PATCH,
                earlier=first.path)  # fmt: skip
    found = examine_survey(book, later, now=NOW)
    marks = [f.severity for f in found.report.findings if f.what == "control patch"]
    assert marks == ([severity] if severity else [])
    assert any(f"{slab_m - 104.0:+.3f} m from S1" in note for note in found.report.notes)


def test_a_control_patch_that_was_hardly_measured_or_has_no_survey_to_hold_to(book, ask):
    first = ask()
    record_survey(book, examine_survey(book, first, now=NOW), by="surveyor")
    with pytest.raises(InputError, match="hold points of both"):
        examine_survey(book, ask((99.0, 101.0), survey="S2", control=PATCH, earlier=first.path),
                       now=NOW)  # fmt: skip
    with pytest.raises(InputError, match="give the file of the earlier one"):
        examine_survey(book, ask((99.0, 101.0), survey="S2", control=PATCH), now=NOW)


def test_a_red_gate_takes_a_reason_which_stays_with_the_survey(book, ask):
    few = floor_points((100.0, 102.0))[::37]
    found = examine_survey(book, ask(points=few), now=NOW)
    assert found.report.is_red
    with pytest.raises(InputError, match="A gate is red"):
        record_survey(book, found, by="surveyor", reason=" ")
    assert nothing(book)
    record_survey(book, found, by="surveyor", reason="only the corners could be reached")
    (surface,) = stored(book)["survey_surfaces"]
    assert surface.note == "only the corners could be reached"


def test_gates_are_those_of_the_set_up(book, ask, tables):
    gates = [{"gate": "wall", "amber": "1", "red": "2"},
             {"gate": "returns", "amber": "1", "red": "2"}]  # fmt: skip
    assert examine_survey(book, ask(), now=NOW).report.findings == ()
    adopted = adopt_setup(
        book, tables | {"gates": gates}, title="gates", by="planner",
        effective_date=date(2026, 3, 10), now=NOW,
    )  # fmt: skip
    assert adopted.revision, adopted.problems
    found = examine_survey(book, ask(), now=NOW)
    assert [(f.what, f.severity) for f in found.report.findings] == [("wall", "red")]
    assert (found.check.amber_permille, found.check.red_permille) == (10, 20)


# --- refused, with nothing stored ----------------------------------------------------------------
@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"surveyed_at": "2026-05-30 10:00"}, "lies in the future"),
        ({"surveyed_at": "28/03/2026"}, "is not a date and time|has no time of day"),
        ({"excavation": "BIX"}, "BOX"),
        ({"survey": " "}, "Give the survey"),
        ({"method": ""}, "Give the method"),
        ({"datum": "local"}, "site"),
        ({"unit": "yd"}, "ft"),
        ({"order": "NEZ"}, "Only 0 of 800 points lie inside zone B"),
        ({"unit": "ft"}, "Only 0 of 800 points lie inside zone B"),
    ],
)
def test_a_question_answered_wrongly_is_refused_in_words(book, ask, changes, said):
    with pytest.raises(TrackerError, match=said):
        examine_survey(book, ask(**changes), now=NOW)
    assert nothing(book)


def test_levels_that_no_zone_can_have_are_all_named_at_once(book, ask):
    with pytest.raises(InputError) as refused:
        examine_survey(book, ask((20.0, 21.0)), now=NOW)
    assert "20 m is no level of zone A" in str(refused.value)
    assert "21 m is no level of zone B" in str(refused.value)
    assert "the site or the national datum" in refused.value.problems[0].message
    assert [p.field for p in refused.value.problems[1:]] == ["lowest_level_m"] * 2
    assert nothing(book)


def test_the_same_name_or_the_same_file_is_not_recorded_twice(book, ask):
    first = ask()
    record_survey(book, examine_survey(book, first, now=NOW), by="surveyor")
    with pytest.raises(DuplicateEntry, match=r"Survey S1 of BOX is recorded already"):
        examine_survey(book, ask((100.0, 101.0)), now=NOW)
    with pytest.raises(DuplicateEntry, match=r"S2\.csv is the file of survey S1 already"):
        examine_survey(book, ask(survey="S2"), now=NOW)


def test_two_who_accept_the_same_survey_record_it_once(book, ask):
    asked = ask()
    one, other = (examine_survey(book, asked, now=NOW) for _ in range(2))
    record_survey(book, one, by="surveyor")
    with pytest.raises(DuplicateEntry):
        record_survey(book, other, by="engineer")
    assert [len(entries) for entries in stored(book).values()] == [1, 2, 1]


# --- changed afterwards --------------------------------------------------------------------------
def test_a_withdrawn_survey_takes_its_levels_and_its_claim_with_it(book, ask):
    entry_id = record_survey(book, examine_survey(book, ask(), now=NOW), by="surveyor")
    withdraw(book, entry_id, reason="wrong instrument height", by="surveyor")
    assert nothing(book)
    again = examine_survey(book, ask(), now=NOW)
    record_survey(book, again, by="surveyor")
    with pytest.raises(AlreadySuperseded):
        withdraw(book, entry_id, reason="again", by="surveyor")


def test_a_level_of_a_surface_stands_or_falls_with_it(book, ask):
    record_survey(book, examine_survey(book, ask(), now=NOW), by="surveyor")
    level = stored(book)["survey_levels"][0]
    with pytest.raises(InputError, match="belongs to the surveyed surface S1"):
        withdraw(book, level.entry_id, reason="deeper", by="surveyor")
    with pytest.raises(InputError, match="belongs to the surveyed surface S1"):
        amend(book, level.entry_id, {"lowest_level_m": "99"}, reason="deeper", by="surveyor")


def test_limits_are_stated_anew_with_a_reason_and_the_old_ones_stay_in_the_history(book, ask):
    record_survey(book, examine_survey(book, ask(), now=NOW), by="surveyor")
    new = state_limits(book, "BOX", "S1", amber_percent=1.5, red_percent=None, reason="agreed",
                       by="manager")  # fmt: skip
    (check,) = stored(book)["survey_checks"]
    assert (check.entry_id, check.amber_permille, check.red_permille) == (new, 15, 60)
    assert len(book.history(new)) == 2
    with pytest.raises(InputError, match="do not go together"):
        state_limits(book, "BOX", "S1", amber_percent=7, red_percent=None, reason="x", by="m")
    withdraw(book, new, reason="not agreed", by="manager")
    with pytest.raises(EntryNotFound, match="withdrawn"):
        state_limits(book, "BOX", "S1", amber_percent=1, red_percent=2, reason="x", by="m")
