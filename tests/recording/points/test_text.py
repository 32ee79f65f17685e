import hashlib

import numpy as np
import pytest

from tests.recording.points.files import floor_points, rows_text
from tracker.errors import InputError
from tracker.recording.points.text import layout_of, order_named, orders_possible, read_text

POINTS = floor_points(50)


def read(path, text, order="ENZ", encoding="utf-8"):
    path.write_text(text, encoding, newline="")
    return read_text(path, order, layout_of(path)).points


@pytest.mark.parametrize("order", ["ENZ", "NEZ", "PENZ", "PNEZ", "PENZD", "PNEZD"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_every_order_and_separator_gives_the_same_points(tmp_path, order, separator):
    text = rows_text(POINTS, order, separator)
    if separator == ",":
        text = text.replace("floor, wet", "floor wet")
    assert read(tmp_path / "a.csv", text, order) == pytest.approx(POINTS, abs=6e-4)


def test_blanks_between_columns_are_columns(tmp_path):
    text = rows_text(POINTS, "PENZ", "   ")
    assert read(tmp_path / "a.txt", text, "PENZ") == pytest.approx(POINTS, abs=6e-4)


def test_headings_comments_blank_lines_and_any_line_end_are_passed_over(tmp_path):
    text = (
        "# from the total station\r\nE,N,Z\r\n" + rows_text(POINTS).replace("\n", "\r\n") + "\r\n"
    )
    assert len(read(tmp_path / "a.csv", text)) == 50


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_other_encodings_are_read(tmp_path, encoding):
    text = rows_text(POINTS, "PENZD", ";").replace("floor, wet", "Böschung")
    assert len(read(tmp_path / "a.csv", text, "PENZD", encoding)) == 50


def test_the_hash_is_of_the_bytes(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"1,2,3\n")
    assert layout_of(tmp_path / "a.csv").sha256 == hashlib.sha256(b"1,2,3\n").hexdigest()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1,2,3\n4,5,six\n", "line 2: the level “six” is not a number"),
        ("1,2,3\n4,5,\n", "line 2: the level is blank"),
        ("1,2,3\n4,5\n", "line 2: only 2 cells"),
        ("1,2,3\n4,nan,6\n", "line 2: the northing is “nan”"),
        ("1,2,3\n4,5,inf\n", "line 2: the level is “inf”"),
        ("1;2;3\n4;5;-7,25\n", "line 2: the level “-7,25” has a comma"),
        ("1,2,3\n530012,5,180004,2,-7,25\n", "line 2: 6 cells where the first line has 3"),
        ("12,5,30,2,-7,25\n", "6 columns where order ENZ names 3"),
        ("E,N,Z\n", "only headings"),
        ("", "is empty"),
        ("\n\n", "is empty"),
        ("1,2\n3,4\n", "has 2 columns; order ENZ needs 3"),
        ("1,2,3\n" + "9" * 5000 + ",2,3\n", "longer than 4,096"),
    ],
)
def test_a_line_that_is_no_point_is_named_with_what_is_wrong(tmp_path, text, said):
    with pytest.raises(InputError, match=said):
        read(tmp_path / "a.csv", text)


def test_a_line_without_end_is_refused_before_it_fills_the_memory(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"1,2,3\n" + b"7" * 5_000_000)
    with pytest.raises(InputError, match="line 2 is longer"):
        layout_of(tmp_path / "a.csv")


def test_a_file_that_is_no_text_is_refused(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"PK\x03\x04\x00\x00binary")
    with pytest.raises(InputError, match="no text file"):
        layout_of(tmp_path / "a.csv")


def test_thousands_commas_in_quotes_are_refused_not_guessed(tmp_path):
    with pytest.raises(InputError, match="has a comma"):
        read(tmp_path / "a.csv", '1;2;3\n"530,012.5";5;6\n')


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("1,2,3\n", "ENZ"),
        ("easting,northing,level\n1,2,3\n", "ENZ"),
        ("Northing,Easting,RL\n1,2,3\n", "NEZ"),
        ("point,y,x,z,code\nA,1,2,3,d\n", "PNEZD"),
        ("A,1,2,3\n", "PENZ"),
        ("A,1,2,3,d\n", "PENZD"),
    ],
)
def test_headings_and_the_number_of_columns_propose_an_order(tmp_path, text, first):
    (tmp_path / "a.csv").write_text(text)
    assert orders_possible(layout_of(tmp_path / "a.csv"))[0] == first


def test_orders_have_names_and_xyz_is_one(tmp_path):
    assert order_named("xyz") == "ENZ"
    assert order_named("P,N,E,Z,D") == "PNEZD"
    with pytest.raises(InputError, match="“ZZZ” is not known"):
        order_named("ZZZ")


def test_many_lines_are_read_in_portions_and_progress_is_told(tmp_path):
    count = 1_200_000
    block = np.tile(np.array(rows_text(POINTS[:48]).splitlines()), count // 48)
    (tmp_path / "a.csv").write_text("\n".join(block) + "\n")
    seen = []
    layout = layout_of(tmp_path / "a.csv")
    found = read_text(tmp_path / "a.csv", "ENZ", layout, lambda done, of: seen.append((done, of)))
    assert len(found.points) == count
    assert [done for done, _ in seen] == [500_000, 1_000_000, count]
    assert seen[0][1] == count + 1
