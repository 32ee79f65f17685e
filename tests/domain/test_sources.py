import csv
import re
from importlib import resources
from pathlib import Path

import pytest

from tracker.domain.sources import SOURCES

PUBLISHED = Path(__file__).parents[1] / "published"
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


def test_each_check_against_a_published_value_cites_sources_that_exist():
    cited = {
        key
        for file in PUBLISHED.glob("test_*.py")
        for keys in re.findall(r"^Source key: (.+)\.$", file.read_text("utf-8"), re.MULTILINE)
        for key in keys.split(", ")
    }
    assert "jp_examination" in cited
    assert cited <= set(SOURCES)
