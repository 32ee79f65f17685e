"""The reconciliation as lines of text, and as files."""

from __future__ import annotations

import json

from tests.statements.long_season import LongSeason
from tracker.ledger.store import open_ledger


def drifting(pit):
    """A ledger in which the belt reads high from some week on; its last day."""
    book = open_ledger(pit.folder / "long.sqlite", create=True)
    season = LongSeason(5, 24, belt_ratio=0.06, belt_from=12)
    season.entered(book)
    book.close()
    return ("--ledger", "long.sqlite", "--as-of", season.last_day.isoformat())


def test_the_answer_comes_first_then_the_suspect_and_the_bars(pit):
    where = drifting(pit)
    lines = pit.done("statement", "reconciliation", *where).splitlines()
    assert lines[0].startswith("To Sat 17 Apr 2027 the surveys say 35,")
    assert lines[1].startswith("Likeliest: belt-1 for clay would be")
    assert "The records do not tell it from an error of" in lines[1]
    assert lines[2].startswith("All statements together misfit by chi-square")
    assert [line.split(" ")[2] for line in lines if line.startswith("All streams:")] == [
        "Surveys", "Shift", "Belt,", "Belt,", "All",
    ]  # fmt: skip
    assert any(line.startswith("Belt-1, clay: alarm in the period to") for line in lines)
    assert not any(line.startswith("  stream,name,loose_per_bank_low") for line in lines)
    assert "quote it only once the suspect is settled" in lines[1]


def test_a_later_beginning_and_json_give_the_same_statement_in_numbers(pit):
    where = drifting(pit)
    found = pit.json("statement", "reconciliation", *where, "--since", "2027-01-02")
    assert found["since"] == "2027-01-02"
    assert found["periods_reconciled"] == 15
    assert {bar["bar"] for bar in found["bars"]} >= {"survey", "returns", "weighed", "adjusted"}


def test_it_is_written_to_a_file_of_any_format(pit):
    where = drifting(pit)
    for name in ("r.csv", "r.xlsx", "r.json"):
        assert "Wrote" in pit.done("statement", "reconciliation", *where, "--out", name)
    kept = json.loads((pit.folder / "r.json").read_text("utf-8"))
    assert kept["suspect"]["not_told_from"] == ["the assumed density of clay"]


def test_without_surveys_it_says_what_to_do(pit):
    said = pit.done("statement", "reconciliation", "--as-of", "2026-11-02")
    assert said.startswith("Not reconciled: no survey gives a dug volume yet.")
