"""Statements as CSV, XLSX and JSON: the same numbers in each, the basis with each."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest
from python_calamine import CalamineWorkbook

from tests.statements import paper
from tests.statements.conftest import STATEMENTS
from tracker.statements import day_statement, progress_statement, records_statement
from tracker.statements.export import (
    UNCERTAINTY_NOTE,
    as_data,
    frames,
    tables,
    to_csv,
    to_json,
    to_xlsx,
)
from tracker.statements.shapes import ZoneProgress


@pytest.fixture(params=list(STATEMENTS))
def statement(request, book):
    return STATEMENTS[request.param](book, paper.LAST_DAY)


def csv_tables(text: str) -> dict[str, list[dict[str, str]]]:
    """The tables of a CSV: a name, the headings, the rows, a blank line."""
    found = {}
    for block in text.strip("\n").split("\n\n"):
        (name,), headings, *rows = csv.reader(io.StringIO(block))
        found[name] = [dict(zip(headings, row, strict=True)) for row in rows]
    return found


def sheets(data: bytes) -> dict[str, list[list[Any]]]:
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


def test_csv_xlsx_and_json_hold_the_same_numbers(statement):
    expected = tables(statement)
    in_csv, in_xlsx = csv_tables(to_csv(statement)), sheets(to_xlsx(statement))
    assert set(in_csv) == set(in_xlsx) == set(expected)
    for name, rows in expected.items():
        headings, *cells = in_xlsx[name]
        assert headings == list(rows[0])
        for row, csv_row, xlsx_row in zip(rows, in_csv[name], cells, strict=True):
            for value, text, cell in zip(row.values(), csv_row.values(), xlsx_row, strict=True):
                if isinstance(value, int | float) and not isinstance(value, bool):
                    assert float(text) == cell == pytest.approx(value, rel=5e-9)


def test_frames_hold_the_rows_with_dates_as_dates(statement):
    made = frames(statement)
    for name, rows in tables(statement).items():
        assert list(made[name].columns) == list(rows[0])
        assert len(made[name]) == len(rows)
    dated = {c: made[n][c].dtype.kind for n in made for c in made[n] if c in ("day", "work_date")}
    assert set(dated.values()) <= {"M"}
    if "curve" in made:
        assert made["curve"]["planned_bank_m3"].sum() == pytest.approx(
            sum(point.planned_bank_m3 for point in statement.curve)
        )


def test_json_holds_the_whole_statement(statement):
    data = json.loads(to_json(statement))
    assert data["basis_lines"] == list(statement.basis.lines)
    for name, rows in tables(statement).items():
        if name in data and isinstance(data[name], list) and isinstance(data[name][0], dict):
            assert len(data[name]) == len(rows)
            for row, found in zip(rows, data[name], strict=True):
                for key, value in row.items():
                    if isinstance(value, int | float):
                        assert found[key] == value


def test_dates_are_real_dates_in_a_workbook_and_iso_text_elsewhere(book):
    statement = progress_statement(book, paper.LAST_DAY)
    headings, *cells = sheets(to_xlsx(statement))["curve"]
    assert cells[0][headings.index("day")] == date(2026, 10, 22)
    assert csv_tables(to_csv(statement))["curve"][0]["day"] == "2026-10-22"
    assert as_data(statement)["curve"][0]["day"] == "2026-10-22"


def test_the_basis_and_the_cautions_go_with_each(statement):
    own = (*statement.basis.lines, *statement.basis.cautions)
    words = (*own, UNCERTAINTY_NOTE)
    assert [row["line"] for row in csv_tables(to_csv(statement))["basis"]] == list(words)
    assert [row[0] for row in sheets(to_xlsx(statement))["basis"]] == ["line", *words]
    data = as_data(statement)
    assert [*data["basis_lines"], *data["basis"]["cautions"]] == list(own)
    assert data["note"] == UNCERTAINTY_NOTE
    assert "u_ is one standard uncertainty" in UNCERTAINTY_NOTE


def test_no_sum_of_decimals_stands_with_more_than_nine_digits(own):
    statement = replace(
        day_statement(own, date(2026, 10, 22)),
        belt_t=496.35999999999996,
        lorry_t=1234567.0,
    )
    row = csv_tables(to_csv(statement))["figures"][0]
    assert [row[name] for name in ("belt_t", "lorry_t")] == [
        "496.36",
        "1234567.0",
    ]
    headings, cells = sheets(to_xlsx(statement))["figures"]
    assert cells[headings.index("belt_t")] == 496.36
    assert as_data(statement)["belt_t"] == 496.35999999999996


def test_no_cell_is_a_formula(own):
    # The intake refuses texts that begin like a formula; an export must not rely on that.
    statement = day_statement(own, date(2026, 10, 22))
    hostile = replace(statement, headline="=1+1", gate_window="@SUM(A1)")
    with zipfile.ZipFile(io.BytesIO(to_xlsx(hostile))) as archive:
        for name in archive.namelist():
            if name.startswith("xl/worksheets/"):
                assert b"<f>" not in archive.read(name)
    figures = csv_tables(to_csv(hostile))["figures"][0]
    assert (figures["headline"], figures["gate_window"]) == ("'=1+1", "'@SUM(A1)")
    headings, cells = sheets(to_xlsx(hostile))["figures"]
    assert cells[headings.index("headline")] == "=1+1"


def test_inner_lists_become_tables_that_name_their_zone(book):
    found = tables(progress_statement(book, paper.LAST_DAY))
    assert {row["zone"] for row in found["zones_stages"]} == {"A", "B", "C"}
    assert len(found["zones_ground"]) == 4
    assert "stages" not in found["zones"][0]


def test_every_row_of_a_table_has_the_same_columns_even_where_an_inner_list_is_empty(book):
    statement = progress_statement(book, paper.LAST_DAY)
    first, *others = statement.zones
    bare: ZoneProgress = replace(first, ground=())
    rows = tables(replace(statement, zones=(bare, *others)))["zones"]
    assert {tuple(row) for row in rows} == {tuple(rows[1])}


def test_moments_of_records_stand_in_each_format(book):
    statement = records_statement(book, kind="lorry_loads", limit=1)
    (row,) = csv_tables(to_csv(statement))["lines"]
    assert datetime.fromisoformat(row["recorded_at"]) == statement.lines[0].recorded_at
    assert json.loads(to_json(statement))["lines"][0]["recorded_at"] == row["recorded_at"]
    headings, cells = sheets(to_xlsx(statement))["lines"]
    found = cells[headings.index("recorded_at")]
    assert found == statement.lines[0].recorded_at.replace(tzinfo=None)
