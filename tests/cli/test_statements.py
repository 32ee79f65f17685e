"""statement and history, run as people run them."""

from __future__ import annotations

import csv
import json

import pytest
from python_calamine import CalamineWorkbook

NAMES = (
    "day",
    "progress",
    "movements",
    "carbon",
    "gate",
    "spoil",
    "balance",
    "exceptions",
    "delays",
    "holds",
)


def words_of(name: str) -> list[str]:
    edition = ["--factor-year", "2025"] if name == "carbon" else []
    return ["statement", name, "--as-of", "2026-11-02", *edition]


@pytest.mark.parametrize("name", NAMES)
def test_every_statement_prints_lines_and_json(season, name):
    said, data = season.done(*words_of(name)), season.json(*words_of(name))
    headline = data["claim"] if name == "movements" else data["headline"]
    first = next(line for line in said.splitlines() if not line.startswith("BREACH "))
    assert first == headline
    for line in (*data["basis_lines"], *data["basis"]["cautions"]):
        assert line in said


@pytest.mark.parametrize("name", NAMES)
def test_every_statement_is_written_as_csv_xlsx_and_json(season, name):
    for suffix in ("csv", "xlsx", "json"):
        out = f"{name}.{suffix}"
        said = season.json(*words_of(name), "--out", out)
        assert said == {"file": out, "bytes": (season.folder / out).stat().st_size}
    assert json.loads((season.folder / f"{name}.json").read_text()) == season.json(*words_of(name))
    assert "basis" in CalamineWorkbook.from_path(f"{name}.xlsx").sheet_names
    with (season.folder / f"{name}.csv").open(newline="") as file:
        assert ["basis"] in list(csv.reader(file))


def test_the_last_work_date_recorded_is_taken_unless_told(season):
    assert season.json("statement", "day")["basis"]["as_of"] == "2026-11-02"


def test_the_period_and_its_grain_can_be_chosen(season):
    words = ["statement", "movements", "--as-of", "2026-11-02", "--since", "2026-10-24"]
    data = season.json(*words, "--grain", "week")
    assert (data["since"], data["grain"], len(data["lines"])) == ("2026-10-24", "week", 3)
    assert season.json(*words, "--grain", "total")["lines"] == [data["total"]]


def test_the_balance_is_parted_into_weeks_where_asked(season):
    words = ["statement", "balance", "--as-of", "2026-11-02"]
    data = season.json(*words, "--grain", "week")
    assert (data["grain"], len(data["lines"]), len(data["totals"])) == ("week", 4, 2)
    assert season.json(*words)["grain"] == "total"
    assert "week of Mon 26 Oct 2026" in season.done(*words, "--grain", "week")


def test_the_spoil_statement_names_what_to_look_at(season):
    said = season.done("statement", "spoil", "--as-of", "2026-10-31", "--since", "2026-10-19")
    for part in (
        "Loads with no receipt: 6.",
        "gate 4 of 2026-10-23: sent on as gate 5 to Invented tip",
        "2026-10-22 gate 3 INV 3: not weighed, no weight on the ticket  [t3]",
        "no_transfer_note: Waste left without a transfer note.",
        "Resets, swaps, rollovers: 1.",
        "belt-1: reset at 10.0 t",
    ):
        assert part in said


def test_what_was_known_at_a_moment_before_the_records_is_nothing(season):
    said = season.refused("statement", "day", "--known-at", "2020-01-01T00:00")
    assert "No set-up" in said
    now = season.json("statement", "day", "--known-at", "2036-01-01T00:00+01:00")
    assert now["basis"]["known_at"] == "2035-12-31T23:00:00+00:00"


def test_a_belts_own_carbon_gives_its_break_even(season):
    data = season.json(*words_of("carbon"), "--fixed-kgco2e", "1000")
    assert data["break_even_t"] == pytest.approx(280.13, abs=0.01)
    assert "is paid back after 280 t by belt" in season.done(
        *words_of("carbon"), "--fixed-kgco2e", "1000"
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["statement", "days"], "Did you mean “day”?"),
        (["statement", "day", "--as-of", "02/11/2026"], "--as-of is “02/11/2026”; write the date"),
        (["statement", "day", "--known-at", "noon"], "--known-at is “noon”; write a moment"),
        (["statement", "day", "--known-at", "2026-03-29T01:30"], "never happened"),
        (["statement", "exceptions", "--grain", "week"], "it is for movements, balance"),
        (["statement", "movements", "--grain", "year"], "Grain “year” is unknown"),
        (["statement", "movements", "--since", "2026-12-01"], "swap the dates"),
        (["statement", "movements", "--since", "soon"], "--since is “soon”"),
        (["statement", "gate", "--since", "2026-12-01"], "swap the dates"),
        (["statement", "balance", "--grain", "day"], "Grain “day” is unknown; use total, month"),
        (["statement", "balance", "--since", "2026-12-01"], "swap the dates"),
        (["statement", "spoil", "--since", "2026-12-01"], "swap the dates"),
        (["statement", "carbon", "--since", "2026-12-01"], "swap them"),
        (["statement", "carbon"], "in 2026"),
        (["statement", "carbon", "--factor-year", "1999"], "in 1999"),
        (["statement", "carbon", "--factor-year", "soon"], "factor-year"),
        (["statement", "carbon", "--factor-year", "2025", "--fixed-kgco2e", "-1"], "0 kg"),
        (["statement", "carbon", "--factor-year", "2025", "--fixed-kgco2e", "nan"], "0 kg"),
        (["statement", "day", "--out", "day.pdf"], "end it in .csv, .xlsx or .json"),
        (["statement", "day", "--out", "no/day.csv"], "Cannot write no/day.csv"),
        (["statement", "day", "--ledger", "nowhere.sqlite"], "spoil init"),
        (["history", "nothing"], "No entry has the id “nothing”"),
        (["history", "nothing", "--ledger", "nowhere.sqlite"], "spoil init"),
    ],
)
def test_what_cannot_be_stated_is_refused_with_a_sentence(season, words, said):
    assert said in season.refused(*words)


@pytest.mark.parametrize("name", NAMES)
def test_an_empty_ledger_says_what_to_do(here, name):
    here.done("init")
    assert "adopt one with `spoil init --setup FOLDER`" in here.refused("statement", name)


@pytest.mark.parametrize("name", ["movements", "carbon"])
def test_without_a_baseline_the_claim_is_refused(here, name):
    here.done("init", "--setup", "setup")
    assert "spoil import baseline" in here.refused("statement", name)


def test_spoil_of_a_set_up_without_records_is_stated(here):
    here.done("init", "--setup", "setup")
    asked = ("--as-of", "2026-10-19")
    assert "no spoil left the site" in here.done("statement", "spoil", *asked)
    assert "nothing dug, nothing moved" in here.done("statement", "balance", *asked)


@pytest.mark.parametrize("name", ["day", "progress"])
def test_a_set_up_without_records_is_stated(here, name):
    here.done("init", "--setup", "setup")
    assert "No zone is below its permitted level." in here.done(
        "statement", name, "--as-of", "2026-10-19"
    )
