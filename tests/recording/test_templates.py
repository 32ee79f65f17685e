"""Files to fill in, and entries written out in the same columns."""

from __future__ import annotations

import csv

import pytest

from tracker.errors import InputError, UnknownName
from tracker.recording.columns import KINDS
from tracker.recording.entry import record
from tracker.recording.files import import_file
from tracker.recording.setup_columns import SETUP
from tracker.recording.sheets import read_rows, read_workbook
from tracker.recording.templates import export_entries, template

NIL = {
    "work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "nil_reason": "wind",
    "lowest_level_m": "103.5", "delays": "rain:60; belt_down:30", "note": "-",
}  # fmt: skip


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_template_has_the_columns_and_a_help_that_the_reader_passes_over(tmp_path, kind, suffix):
    rows = read_rows(template(kind, tmp_path / f"{kind}.{suffix}"), kind)
    assert rows.headings == tuple(c.name for c in KINDS[kind].columns)
    assert list(rows) == []
    assert rows.problems == []


def test_a_filled_template_is_imported(tmp_path, book, now):
    path = template("stock", tmp_path / "stock.csv")
    with path.open("a", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow(["2026-04-07 10:00", "bay", "clay", "12.5", "cone", *[""] * 6])
    report = import_file(book, "stock", path, by="tests", now=now)
    assert (report.recorded, report.problems) == (1, [])


def test_the_set_up_is_a_workbook_or_a_folder_of_tables(tmp_path):
    folder = template("setup", tmp_path / "setup")
    assert {p.stem for p in folder.iterdir()} == set(SETUP)
    assert list(read_workbook(template("setup", tmp_path / "setup.xlsx"))) == list(SETUP)


def test_a_template_that_cannot_be_written_says_so(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        template("returns", tmp_path / "no" / "such" / "f.csv")
    with pytest.raises(InputError, match="cannot be written"):
        template("returns", tmp_path / "no" / "such" / "f.xlsx")
    with pytest.raises(UnknownName, match="Did you mean “returns”"):
        template("return", tmp_path / "f.csv")


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_what_is_written_out_can_be_sent_in_again(tmp_path, book, now, suffix):
    done = record(book, "returns", NIL | {"note": "damp"}, by="tests", now=now)
    path = tmp_path / f"returns.{suffix}"
    assert export_entries(book, "returns", path) == 1
    report = import_file(book, "returns", path, by="tests", now=now)
    assert (report.recorded, report.already, report.problems) == (0, 1, [])
    ((_, cells),) = read_rows(path, "returns")
    assert dict(zip(read_rows(path).headings, cells, strict=True))["entry_id"] == done.entry_id


def test_only_current_entries_are_written_out(tmp_path, book, now):
    assert export_entries(book, "returns", tmp_path / "r.csv") == 0
    assert read_rows(tmp_path / "r.csv").headings[0] == "work_date"
