"""Papers of ground that leaves the site: what a note covers, how long it is kept, how much is left.

Years of keeping: SI 2011/988 regulation 35 and SI 2005/894 (second-hand).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

import pytest

from tracker.domain.papers import (
    ReuseStanding,
    covers_one,
    is_waste,
    keep_until,
    note_findings,
    reuse_warning,
)

DAY = date(2026, 4, 7)
NOON = datetime(2026, 4, 7, 11, tzinfo=UTC)


@dataclass(frozen=True)
class Note:
    note_number: str = "N-1"
    form: str = "season"
    made_out_at: datetime = datetime(2026, 4, 1, 8, tzinfo=UTC)
    valid_from: date = date(2026, 4, 1)
    valid_to: date = date(2026, 4, 30)
    stream: str = "clay"
    carrier: str = "haul"
    destination: str = "quarry"


@dataclass(frozen=True)
class Load:
    gate_date: date = DAY
    gate_out_at: datetime = NOON
    stream: str = "clay"
    carrier: str = "haul"
    destination: str = "quarry"


def test_a_season_note_covers_the_loads_of_its_dates_first_and_last_included():
    for day in (date(2026, 4, 1), date(2026, 4, 30)):
        assert note_findings(Note(), Load(gate_date=day)) == ()
    for day in (date(2026, 3, 31), date(2026, 5, 1)):
        (said,) = note_findings(Note(), Load(gate_date=day))
        assert "covers 2026-04-01 to 2026-04-30" in said


@pytest.mark.parametrize("what", ["stream", "carrier", "destination"])
def test_a_note_for_another_party_or_ground_does_not_cover(what):
    (said,) = note_findings(Note(), replace(Load(), **{what: "other"}))
    assert said == f"Note N-1 is for {what} {getattr(Note(), what)}; the load has other."


def test_every_reason_is_said_at_once():
    said = note_findings(Note(), Load(gate_date=date(2026, 5, 1), carrier="x", destination="y"))
    assert len(said) == 3


def test_a_consignment_note_is_made_out_before_the_move():
    after = Note(form="consignment", made_out_at=datetime(2026, 4, 7, 11, 1, tzinfo=UTC))
    assert "before the move" in note_findings(after, Load())[0]
    assert note_findings(replace(after, made_out_at=NOON), Load()) == ()
    assert note_findings(replace(after, form="transfer"), Load()) == ()


def test_only_a_season_note_covers_many_loads():
    assert [covers_one(Note(form=f)) for f in ("transfer", "season", "consignment")] == [
        True,
        False,
        True,
    ]


@pytest.mark.parametrize(
    ("form", "nation", "last_day", "until"),
    [
        ("transfer", "England", date(2026, 10, 27), date(2028, 10, 27)),
        ("season", "Wales", date(2026, 10, 27), date(2028, 10, 27)),
        ("consignment", "England", date(2026, 10, 27), date(2029, 10, 27)),
        ("season", "England", date(2028, 2, 29), date(2030, 3, 1)),
        ("season", "Scotland", date(2026, 10, 27), None),
    ],
)
def test_notes_are_kept_two_years_and_consignment_notes_three_in_england_and_wales(
    form, nation, last_day, until
):
    assert keep_until(form, nation, last_day) == until


@pytest.mark.parametrize(
    ("moved", "reached"), [(0, 0), (799.9, 0), (800, 80), (900, 90), (999, 90), (1000, 100)]
)
def test_warnings_come_at_80_90_and_100_percent(moved, reached):
    standing = ReuseStanding(1000.0, moved)
    assert standing.reached_percent == reached
    assert bool(reuse_warning("D-1", standing, "t")) == bool(reached)


def test_a_used_up_declaration_says_stop():
    said = reuse_warning("D-1", ReuseStanding(1000.0, 1003.0), "m³ bank")
    assert said.startswith("Re-use declaration D-1: 1,003 m³ bank of 1,000 m³ bank moved (100.3 %)")
    assert "Stop" in said


def test_ground_for_re_use_is_no_waste():
    assert is_waste("non-hazardous waste")
    assert is_waste("hazardous waste")
    assert not is_waste("declared re-use elsewhere")
    assert not is_waste("natural re-use on site")
