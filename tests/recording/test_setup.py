"""The set-up from folders and workbooks, and its adoption."""

from __future__ import annotations

import csv
import json
from datetime import date, datetime

import pytest
import xlsxwriter

from tracker.errors import InputError
from tracker.ledger.store import open_ledger
from tracker.recording.setup import adopt_setup, read_setup

BASELINE = (
    "baseline,frozen_on,vehicle,payload_low_t,payload_t,payload_high_t,distance_km,destination,"
    "empty_return,reference\nall by lorry,2026-03-02,rigid,18,19,20,46,quarry,yes,plan 7\n"
)


@pytest.fixture
def folder(tmp_path, tables):
    """The small set-up as a folder of CSVs."""
    place = tmp_path / "setup"
    place.mkdir()
    for name, rows in tables.items():
        with (place / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    return place


@pytest.fixture
def empty(new_sqlite):
    ledger = open_ledger(new_sqlite())
    yield ledger
    ledger.close()


def test_a_folder_a_workbook_and_the_tables_say_the_same(folder, tables, tmp_path, site):
    path = tmp_path / "setup.xlsx"
    book = xlsxwriter.Workbook(str(path), {"strings_to_numbers": True})
    for name, rows in tables.items():
        sheet = book.add_worksheet(name)
        sheet.write_row(0, 0, list(rows[0]))
        for number, row in enumerate(rows, start=1):
            sheet.write_row(number, 0, list(row.values()))
    book.close()
    assert read_setup(folder)[0] == site
    assert read_setup(path)[0] == site
    assert read_setup(tables)[0] == site


def test_real_dates_and_numbers_of_a_workbook_are_taken(tables, site):
    tables["site"][0]["first_date"] = datetime(2026, 3, 1)  # noqa: DTZ001 a cell has no zone
    tables["stages"][0] |= {"stage": 1.0, "design_level_m": 100.0}
    assert read_setup(tables)[0] == site


def test_problems_name_the_row_of_the_file(folder):
    ground = folder / "ground.csv"
    heading, *lines = ground.read_text().splitlines()
    blank, help_line = ",,,", "# zone,top,bottom,stream"
    ground.write_text("\n".join([heading, help_line, blank, *lines]).replace("made", "maed"))
    _, _, problems = read_setup(folder)
    assert ("ground", 4) in {(p.file, p.row) for p in problems if p.severity == "error"}


def test_every_problem_comes_at_once_and_nothing_is_adopted(folder, empty):
    (folder / "causes.csv").unlink()
    zones = folder / "zones.csv"
    zones.write_text(zones.read_text().replace("10 0; 20 0", "8 0; 20 0"))
    streams = folder / "streams.csv"
    streams.write_text(streams.read_text().replace("1.2,1.3,1.4", "1.2,30,1.4"))
    adopted = adopt_setup(empty, folder, title="t", by="tests")
    assert adopted.revision is None
    said = " ".join(p.message for p in adopted.problems)
    for part in ("no table “causes”", "lies over zone A", "percentage of swell"):
        assert part in said
    assert empty.revisions() == []


@pytest.mark.parametrize(
    ("heading", "sentence"), [("sup", "Did you mean “support”?"), ("zone", "stands 2 times")]
)
def test_a_heading_that_is_wrong_is_named(folder, heading, sentence):
    stages = folder / "stages.csv"
    stages.write_text(stages.read_text().replace("support", heading, 1))
    site, _, problems = read_setup(folder)
    assert site is None
    assert any(sentence in p.message or heading == "sup" for p in problems if p.file == "stages")


def test_tables_in_memory_are_held_to_the_same_columns(tables):
    tables["caps"][0]["movments"] = "90"
    site, _, problems = read_setup(tables)
    assert site is None
    assert any("Did you mean “movements”?" in p.message for p in problems)


def test_a_file_that_is_no_table_is_passed_over_with_a_warning(folder):
    (folder / "readme.csv").write_text("a,b\n1,2\n")
    site, tables, problems = read_setup(folder)
    assert site is not None
    assert "readme" not in tables
    assert [p.severity for p in problems if p.file == "readme"] == ["warning"]


@pytest.mark.parametrize("name", ["nowhere", "empty", "f.txt"])
def test_where_there_is_no_set_up_a_sentence_says_so(tmp_path, name):
    (tmp_path / "empty").mkdir()
    (tmp_path / "f.txt").write_text("x")
    with pytest.raises(InputError, match=r"Give a folder|Put one there"):
        read_setup(tmp_path / name)


def test_a_set_up_is_adopted_from_its_first_date_with_its_baseline(folder, empty, now, site):
    (folder / "baseline.csv").write_text(BASELINE)
    adopted = adopt_setup(empty, folder, title="first", by="tests", now=now)
    assert (adopted.new, adopted.baselines) == (True, 1)
    assert adopted.effective_date == date(2026, 3, 1)
    assert empty.site() == site
    (revision,) = empty.revisions()
    assert revision.entry_id == adopted.revision
    assert json.loads(revision.tables)["site"][0]["name"] == "Small pit"


def test_the_same_set_up_again_adds_nothing(folder, empty, now):
    (folder / "baseline.csv").write_text(BASELINE)
    first = adopt_setup(empty, folder, title="first", by="tests", now=now)
    again = adopt_setup(empty, folder, title="again", by="tests", now=now)
    assert (again.revision, again.new, again.baselines) == (first.revision, False, 0)
    assert len(empty.revisions()) == 1


def test_a_change_is_another_revision_with_its_date(tables, empty, now):
    adopt_setup(empty, tables, title="first", by="tests", now=now)
    tables["caps"][0]["movements"] = "90"
    changed = adopt_setup(
        empty, tables, effective_date=date(2026, 6, 1), title="cap", by="tests", now=now
    )
    assert changed.new
    assert [empty.site(d).caps[0].movements for d in (date(2026, 5, 31), date(2026, 6, 1))] == [
        120,
        90,
    ]


# --- public holidays -----------------------------------------------------------------------------
def test_public_holidays_are_written_into_the_closures_that_are_recorded(tables):
    tables["site"][0]["public_holidays"] = "yes"
    site, recorded, problems = read_setup(tables)
    assert site is not None, problems
    assert {date(2026, 4, 3), date(2026, 4, 6), date(2028, 12, 25)} <= site.closed_days
    by_day = {row["day"]: row["reason"] for row in recorded["closures"]}
    assert by_day["2026-04-03"] == "Good Friday"  # its own row is kept
    assert by_day["2026-04-06"] == "public holiday (England): Easter Monday"


def test_a_recorded_set_up_with_public_holidays_reads_as_the_same_site(tables):
    tables["site"][0]["public_holidays"] = "yes"
    site, recorded, _ = read_setup(tables)
    assert read_setup(recorded)[:2] == (site, recorded)


def test_a_nation_without_known_holidays_is_named(tables):
    tables["site"][0] |= {"public_holidays": "yes", "nation": "Atlantis"}
    site, _, problems = read_setup(tables)
    assert site is None
    assert any(p.field == "public_holidays" and "Atlantis" in p.message for p in problems)
