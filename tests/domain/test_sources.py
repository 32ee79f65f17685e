import csv
from importlib import resources

import pytest

from tracker.domain.sources import SOURCES

TABLES = ("materials", "uk_ghg_factors", "landfill_tax", "waste_codes")


def test_each_source_says_what_it_is_and_how_it_was_confirmed():
    for key, source in SOURCES.items():
        assert source.key == key
        assert source.title
        assert source.confirmed


@pytest.mark.parametrize("table", TABLES)
def test_each_row_of_the_tables_cites_a_source_and_its_confirmation(table):
    file = resources.files("tracker.domain") / "reference" / f"{table}.csv"
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))
    assert rows
    assert {row["source_key"] for row in rows} <= set(SOURCES)
    assert all(row["confirmed"] for row in rows)


def test_the_guide_to_uncertainty_is_a_source():
    assert "JCGM 100:2008" in SOURCES["jcgm100"].edition
