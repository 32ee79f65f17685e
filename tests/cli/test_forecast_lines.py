"""The forecast on the command line: when, why, and how earlier ones held."""

from __future__ import annotations

import csv
import io
import zipfile

import pytest

from tests.cli.conftest import Here
from tests.statements.steady_pit import begun, first_week, set_up
from tracker.ledger.store import open_ledger

ASKED = ("statement", "forecast", "--as-of", "2026-10-23", "--walks", "100")


@pytest.fixture
def steady(tmp_path, monkeypatch):
    """A ledger that gives the same in every shift of its first week."""
    from tests.statements.conftest import Clock

    monkeypatch.chdir(tmp_path)
    with_clock = open_ledger(tmp_path / "site.sqlite", create=True, clock=Clock())
    begun(with_clock, set_up("A"))
    first_week(with_clock)
    with_clock.close()
    return Here(tmp_path)


def test_the_first_line_is_what_a_project_manager_says(steady):
    lines = steady.done(*ASKED).splitlines()
    assert lines[0].startswith("Formation of The box by Wed 11 Nov 2026 at four chances in five;")
    (box,) = [line for line in lines if line.startswith("The box  ")][:1]
    assert box.split() == [
        "The", "box", "2026-11-11", "2026-11-11", "2026-11-11", "2026-11-10", "below", "1", "%",
        "2026-12-01", "above", "99", "%", "the", "rate", "of", "digging",
    ]  # fmt: skip
    assert "  zone A: the rate of digging 85 %, the hold for upper props 15 %" in lines
    assert any("Nobody has released it." in line for line in lines)
    assert "  BOX, stage 1: 50 m³ in 5 shifts" in lines
    assert "  BOX, stage 2: 50 m³ in 5 shifts, borrowed" in lines
    assert any("permits nothing" in line for line in lines)


def test_a_refused_forecast_says_why_and_shows_the_plan(steady):
    said = steady.done("statement", "forecast", "--as-of", "2026-10-20")
    assert said.startswith("No forecast: The record has 2 worked shifts")
    assert "SPI(t)" in said
    assert "P80" not in said


def test_every_plan_is_listed_with_when_it_was_frozen_and_recorded(steady):
    words = ("freeze", "programme 1", "--on", "2026-10-19", "--reference", "letter 4")
    steady.done(*words)
    (plan,) = steady.json(*ASKED)["plans"]
    (line,) = [x for x in steady.done(*ASKED).splitlines() if x.startswith("programme 1 (current)")]
    told = ["The", "box", "2026-10-19", plan["recorded_on"], "2026-11-10"]
    assert line.split() == ["programme", "1", "(current)", *told]


def test_how_earlier_forecasts_held_is_told_when_asked(steady):
    assert "earlier" not in steady.done(*ASKED)
    assert "No date of an earlier forecast has passed yet" in steady.done(*ASKED, "--backtest")


def test_causes_are_left_out_one_by_one_or_as_a_list(steady):
    assert steady.json(*ASKED, "--leave-out", "rain")["left_out"] == ["rain"]
    assert "cause “snow” is not known" in steady.refused(*ASKED, "--leave-out", "rain,snow")


def test_options_of_the_forecast_belong_to_no_other_statement(steady):
    said = steady.refused("statement", "day", "--leave-out", "rain")
    assert said == "--leave-out says nothing of day; it is for forecast. Leave it out."
    assert "between 100 and 100000" in steady.refused("statement", "forecast", "--walks", "99")


def test_the_forecast_is_written_as_every_statement_is(steady):
    steady.done(*ASKED, "--out", "f.csv")
    text = (steady.folder / "f.csv").read_text("utf-8-sig")
    heads = [row for row in csv.reader(io.StringIO(text)) if "chance_of_plan" in row]
    assert len(heads) == 1
    steady.done(*ASKED, "--out", "f.xlsx")
    assert zipfile.is_zipfile(steady.folder / "f.xlsx")
    data = steady.json(*ASKED)
    assert data["dates"][0]["p80"] == "2026-11-11"
    assert data["basis_lines"]
