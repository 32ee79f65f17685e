"""A real, untidy gate log (see arrivals/README.md for its credit) through a column mapping."""

from __future__ import annotations

import csv
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tracker.ledger.store import open_ledger
from tracker.recording.files import import_file, write_rejected
from tracker.recording.setup import adopt_setup

HERE = Path(__file__).parent / "arrivals"
NOW = datetime(2022, 6, 1, tzinfo=UTC)


@pytest.fixture
def disposal_site(tables):
    """An invented set-up under which the arrivals can be read."""
    tables["site"][0] |= {
        "nation": "Malawi", "governing_law": "not stated, a test", "time_zone": "Africa/Blantyre",
        "first_date": "2020-12-01",
    }  # fmt: skip
    tables["streams"][0] |= {"stream": "waste", "regime": "non-hazardous waste"}
    for band in tables["ground"]:
        band["stream"] = "waste" if band["stream"] == "clay" else band["stream"]
    tables["vehicles"][0] |= {"vehicle": "skip", "min_cycle_min": "5"}
    tables["legs"][2]["vehicle"] = tables["legs"][3]["vehicle"] = tables["legs"][4]["vehicle"] = (
        "skip"
    )
    tables["carriers"][0] |= {"carrier": "bcc", "valid_from": "2020-01-01"}
    tables["carriers"][1] |= {"carrier": "key"}
    tables["destinations"][0]["valid_from"] = "2020-01-01"
    tables["routes"][1]["route"] = tables["legs"][2]["route"] = "R-SKIP"
    tables["windows"] = []
    return tables


@pytest.fixture
def report(new_sqlite, disposal_site):
    ledger = open_ledger(new_sqlite())
    assert adopt_setup(ledger, disposal_site, title="t", by="tests", now=NOW).revision
    yield import_file(
        ledger, "loads", HERE / "arrivals.csv", by="tests", mapping=HERE / "mapping.toml", now=NOW
    )
    ledger.close()


def untidy_rows():
    """Row number -> what is untidy in it, found here without the importer."""
    found = {}
    with (HERE / "arrivals.csv").open(encoding="utf-8-sig", newline="") as file:
        for number, row in enumerate(csv.DictReader(file), start=2):
            start, end = (datetime.fromisoformat(row[name]) for name in ("start", "end"))
            reset = start.year < 2020
            wrong = {
                "note": not row["skip_origin"],
                "carrier": not row["emptier type"],
                "gate_in_at": reset,
                "gate_out_at": end.year < 2020 or (end < start and not reset),
            }
            found[number] = {name for name, is_wrong in wrong.items() if is_wrong}
    return {number: wrong for number, wrong in found.items() if wrong}


def test_every_untidy_row_comes_back_with_its_number_and_its_fields(report):
    told = {}
    for problem in report.errors:
        told.setdefault(problem.row, set()).add(problem.field)
    assert told == untidy_rows()
    kinds = Counter(field for fields in untidy_rows().values() for field in fields)
    assert {"note", "carrier", "gate_in_at", "gate_out_at"} == set(kinds)


def test_the_good_rows_go_in_and_the_counts_add_up(report):
    untidy = len(untidy_rows())
    assert report.rows == 144
    assert (report.recorded, report.already) == (144 - untidy, 0)
    assert len(report.rejected_rows) == untidy


def test_the_rejected_rows_are_all_there_as_they_came(report, tmp_path):
    write_rejected(report, tmp_path / "r.csv")
    with (HERE / "arrivals.csv").open(encoding="utf-8-sig", newline="") as file:
        whole = dict(enumerate(csv.reader(file), start=1))
    with (tmp_path / "r.csv").open(encoding="utf-8-sig", newline="") as file:
        heading, *rejected = csv.reader(file)
    assert heading[1:] == whole[1]
    assert [row[1:] for row in rejected] == [whole[number] for number in untidy_rows()]
