"""Files as rows: encodings, separators, line ends, and what is no file at all."""

from __future__ import annotations

from datetime import date, datetime

import pytest
import xlsxwriter

from tracker.errors import InputError
from tracker.recording.sheets import read_rows, read_workbook


def written(tmp_path, content, name="f.csv"):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def lines(rows):
    return [(number, list(cells)) for number, cells in rows]


@pytest.mark.parametrize(
    "content",
    [
        "a,b\n1,2\n3,4\n",
        "\ufeffa,b\n1,2\n3,4\n",
        "a;b\n1;2\n3;4\n",
        "a\tb\n1\t2\n3\t4\n",
        "a,b\r\n1,2\r\n3,4\r\n",
        "a,b\r1,2\n3,4\r\n",
        'a,b\n"1",2\n3,"4"',
        "a,b\n1,2\n3,4\n".encode("utf-16"),
    ],
)
def test_every_usual_way_of_writing_a_csv_gives_the_same_rows(tmp_path, content):
    rows = read_rows(written(tmp_path, content))
    assert rows.headings == ("a", "b")
    assert lines(rows) == [(2, ["1", "2"]), (3, ["3", "4"])]
    assert rows.problems == []


def test_a_semicolon_between_columns_makes_a_comma_doubtful(tmp_path):
    assert read_rows(written(tmp_path, "a;b\n1;2\n")).comma_is_decimal
    assert not read_rows(written(tmp_path, "a,b\n1,2\n")).comma_is_decimal


def test_another_encoding_is_read_with_a_warning_that_names_the_line(tmp_path):
    rows = read_rows(written(tmp_path, "a,b\n1,2\nm³,é\n".encode("cp1252")))
    assert lines(rows)[1] == (3, ["m³", "é"])
    assert [(p.row, p.severity) for p in rows.problems] == [(3, "warning")]
    assert rows.readable


@pytest.mark.parametrize("content", [b"", b"\n\n", b"\xef\xbb\xbf", b" \r\n"])
def test_an_empty_file_says_so(tmp_path, content):
    rows = read_rows(written(tmp_path, content))
    assert not rows.readable
    assert "empty" in rows.problems[0].message
    assert lines(rows) == []


@pytest.mark.parametrize(
    ("heading", "sentence"), [("a,b,a", "stands 2 times"), ("a,,b", "has no heading")]
)
def test_headings_that_cannot_be_told_apart_stop_the_file(tmp_path, heading, sentence):
    rows = read_rows(written(tmp_path, f"{heading}\n1,2,3\n"))
    assert not rows.readable
    assert sentence in rows.problems[0].message


def test_blank_lines_and_the_line_of_help_are_passed_over_but_counted(tmp_path):
    rows = read_rows(written(tmp_path, "a,b\n# what a is,what b is\n\n,\n1,2\n"))
    assert lines(rows) == [(5, ["1", "2"])]


def test_only_the_first_line_may_be_help(tmp_path):
    rows = read_rows(written(tmp_path, "a,b\n1,2\n#3,4\n"))
    assert [number for number, _ in rows] == [2, 3]


def test_a_row_that_does_not_fit_its_headings_is_said(tmp_path):
    rows = read_rows(written(tmp_path, "a,b\n1\n1,2,3\n1,2,\n1,2\n"))
    said = [rows.misfit(cells) for _, cells in rows]
    assert "cut off" in said[0]
    assert "inside a text" in said[1]
    assert said[2:] == ["", ""]


def test_a_quote_left_open_ends_the_file_with_a_problem(tmp_path):
    rows = read_rows(written(tmp_path, 'a,b\n1,2\n"3,4\n' + "5,6\n" * 40_000))
    assert lines(rows) == [(2, ["1", "2"])]
    assert "double quote" in rows.problems[0].message


def test_a_file_that_is_none_is_refused_with_a_sentence(tmp_path):
    with pytest.raises(InputError, match="no file at"):
        read_rows(tmp_path / "none.csv")
    with pytest.raises(InputError, match="not a text file"):
        read_rows(written(tmp_path, b"PK\x03\x04\x00\x00"))
    with pytest.raises(InputError, match="cannot be opened as a workbook"):
        read_rows(written(tmp_path, b"not a workbook", "f.xlsx"))
    with pytest.raises(InputError, match="no file at"):
        read_rows(tmp_path)


@pytest.fixture
def workbook(tmp_path):
    path = tmp_path / "f.xlsx"
    book = xlsxwriter.Workbook(str(path))
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
    for name in ("notes", "loads"):
        sheet = book.add_worksheet(name)
        sheet.write_row(0, 0, ["day", "at", "net_t", "ticket", "sum"])
        sheet.write_datetime(2, 0, datetime(2026, 4, 7), day)  # noqa: DTZ001 a cell has no zone
        sheet.write_datetime(2, 1, datetime(2026, 4, 7, 9, 40), moment)  # noqa: DTZ001
        sheet.write_number(2, 2, 19.4)
        sheet.write_string(2, 3, f"00123 {name}")
        sheet.write_formula(2, 4, "=1+1", None, 2)
    book.close()
    return path


def test_a_workbook_gives_real_dates_and_numbers_of_the_sheet_named(workbook):
    rows = read_rows(workbook, "loads")
    ((number, cells),) = rows
    assert number == 3
    day = cells[0].date() if isinstance(cells[0], datetime) else cells[0]
    assert (day, cells[2], cells[3]) == (date(2026, 4, 7), 19.4, "00123 loads")
    assert cells[1].hour == 9
    assert cells[4] == 2


def test_the_first_sheet_is_read_where_none_has_the_name(workbook):
    ((_, cells),) = read_rows(workbook, "returns")
    assert cells[3] == "00123 notes"


def test_all_sheets_of_a_workbook_can_be_had(workbook):
    assert list(read_workbook(workbook)) == ["notes", "loads"]
