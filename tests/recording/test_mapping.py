"""Other people's columns."""

from __future__ import annotations

from datetime import time

import pytest

from tracker.errors import InputError
from tracker.recording.columns import LOADS
from tracker.recording.mapping import mapping_of, read_mapping

CONTENT = {
    "columns": {"net_t": "Weight", "gate_out_at": ["Date", "Time"]},
    "constants": {"vehicle": "rigid"},
    "required": ["registration"],
}


def test_a_mapping_renames_joins_and_fills():
    mapping = mapping_of(CONTENT, LOADS)
    row = mapping.apply({"Weight": "19.4", "Date": "2026-04-07", "Time": "09:40", "note": "wet"})
    assert row["net_t"] == "19.4"
    assert row["gate_out_at"] == "2026-04-07 09:40"
    assert (row["vehicle"], row["note"]) == ("rigid", "wet")
    assert mapping.required == ("registration",)


def test_cells_of_a_workbook_are_joined_as_they_are_written():
    row = mapping_of(CONTENT, LOADS).apply({"Date": "2026-04-07", "Time": time(9, 40)})
    assert row["gate_out_at"] == "2026-04-07 09:40:00"


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ({"colums": {}}, "Did you mean “columns”?"),
        ({"columns": {"net": "W"}}, "column of loads “net” is not known"),
        ({"constants": {"vehicel": "x"}}, "Did you mean “vehicle”?"),
        ({"required": ["nope"]}, "not known"),
        ({"required": "note"}, "is a list"),
        ({"columns": "net_t"}, "are tables"),
        ({"columns": {"net_t": 3}}, "their heading"),
        ({"columns": {"net_t": []}}, "their heading"),
    ],
)
def test_a_mapping_that_means_nothing_is_refused(content, sentence):
    with pytest.raises(InputError, match=sentence.replace("?", r"\?")):
        mapping_of(content, LOADS)


def test_a_mapping_file_that_is_none_is_refused(tmp_path):
    with pytest.raises(InputError, match="no mapping file"):
        read_mapping(tmp_path / "m.toml", LOADS)
    path = tmp_path / "bad.toml"
    path.write_text("columns = [", encoding="utf-8")
    with pytest.raises(InputError, match="not a TOML file"):
        read_mapping(path, LOADS)


def test_a_mapping_file_is_read(tmp_path):
    path = tmp_path / "m.toml"
    path.write_text('[columns]\nnet_t = "Weight"\n[constants]\nvehicle = "rigid"\n', "utf-8")
    assert read_mapping(path, LOADS).columns == {"net_t": ("Weight",)}
