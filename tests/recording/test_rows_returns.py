"""Dig returns: what is refused, what goes in with a warning, and what goes in."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tracker.ledger.entries import Delay, DigReturn
from tracker.recording.rows_returns import CARRIES, QUANTITIES

GOOD = {
    "work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "stream": "clay",
    "basis": "measured", "bank_m3": "98.5", "from_level_m": "102", "to_level_m": "101",
    "lowest_level_m": "100.9", "delays": "belt_down:90; rain:30",
}  # fmt: skip
NIL = {"work_date": "2026-04-07", "shift": "day", "zone": "A", "stage": "1", "nil_reason": "wind"}


def said(row, severity):
    return [f"{p.field}: {p.message}" for p in row.problems if p.severity == severity]


def test_a_good_return_becomes_an_entry_in_whole_units(read):
    row = read("returns", GOOD)
    assert row.problems == []
    entry = row.entry
    assert isinstance(entry, DigReturn)
    assert (entry.bank_l, entry.from_level_mm, entry.to_level_mm) == (98_500, 102_000, 101_000)
    assert entry.delays == (Delay("belt_down", 90), Delay("rain", 30))
    assert entry.source == "f.csv row 2"


@pytest.mark.parametrize(
    ("changes", "column", "sentence"),
    [
        ({"zone": "AA"}, "zone", "Did you mean “A”?"),
        ({"zone": ""}, "zone", "must be filled"),
        ({"stage": "3"}, "stage", "has no stage 3; it has 1, 2"),
        ({"stage": "1.5"}, "stage", "not a whole number"),
        ({"stream": "clya"}, "stream", "Did you mean “clay”?"),
        ({"stream": ""}, "stream", "names its material stream"),
        ({"shift": "dya"}, "shift", "Did you mean “day”?"),
        ({"basis": "guessed"}, "basis", "not known"),
        ({"basis": ""}, "basis", "how the quantity is known"),
        ({"bank_m3": "240,5"}, "bank_m3", "comma"),
        ({"bank_m3": "=1+1"}, "bank_m3", "formula"),
        ({"bank_m3": "-5"}, "bank_m3", "negative"),
        ({"bank_m3": "0"}, "bank_m3", "record a nil shift"),
        ({"bank_m3": ""}, "bank_m3", "A measured quantity needs bank_m3"),
        ({"bank_m3": "", "basis": ""}, "nil_reason", "Nothing says what was dug"),
        ({"bank_m3": "98500"}, "bank_m3", "more than all of zone A"),
        ({"mass_t": "200"}, "mass_t", "leave mass_t empty or change the basis"),
        ({"basis": "counted"}, "count", "needs count"),
        ({"basis": "weighed", "bank_m3": "", "mass_t": "198600"}, "mass_t", "not kilograms"),
        ({"basis": "counted", "bank_m3": "", "count": "9", "capacity_m3": "9000"},
         "capacity_m3", "not litres"),
        ({"nil_reason": "wind"}, "nil_reason", "has no basis and no quantity"),
        ({"to_level_m": "103"}, "to_level_m", "above its start"),
        ({"lowest_level_m": "101.5"}, "lowest_level_m", "above the level at the end"),
        ({"bank_m3": "400"}, "bank_m3", "the whole zone holds 100 m³ there"),
        ({"lowest_level_m": "0.9"}, "lowest_level_m", "above ODN: write 100.9"),
        ({"lowest_level_m": "200.9"}, "lowest_level_m", "100 m too high: write 100.9"),
        ({"lowest_level_m": "-100.9"}, "lowest_level_m", "slip of the sign: write 100.9"),
        ({"lowest_level_m": "331.04"}, "lowest_level_m", "feet: write 100.901"),
        ({"lowest_level_m": "100900"}, "lowest_level_m", "millimetres: write 100.9"),
        ({"lowest_level_m": "50"}, "lowest_level_m", "no level of zone A"),
        ({"work_date": "2027-01-04"}, "work_date", "in the future"),
        ({"work_date": "2026-02-02"}, "work_date", "before the first date"),
        ({"work_date": "05/11/2026"}, "work_date", "2026-11-05"),
        ({"delays": "rain"}, "delays", "cause:minutes"),
        ({"delays": "rian:30"}, "delays", "Did you mean “rain”?"),
        ({"delays": "rain:30; rain:20"}, "delays", "given twice"),
        ({"delays": "rain:721"}, "delays", "has only 720 min"),
        ({"note": "=cmd()"}, "note", "formula"),
        ({"entry_id": "x" * 49}, "entry_id", "at most 48"),
    ],
)  # fmt: skip
def test_each_slip_keeps_the_row_out_with_a_sentence(read, changes, column, sentence):
    row = read("returns", GOOD | changes)
    assert row.entry is None
    assert any(s.startswith(f"{column}:") and sentence in s for s in said(row, "error")), (
        row.problems
    )


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"bank_m3": "160"}, "far from the 100 m³"),
        ({"lowest_level_m": "99.6"}, "m below the level at the end of the shift"),
        ({"work_date": "2026-04-05"}, "has no day shift on Sunday"),
        ({"work_date": "2026-04-03"}, "has no day shift on Friday 2026-04-03"),
        ({"stream": "made", "zone": "B"}, "has no made in zone B"),
        ({"to_level_m": "99.5", "lowest_level_m": "99.4", "bank_m3": "240"}, "below stage 1"),
        ({"lowest_level_m": "95.5"}, "below the formation"),
        ({"work_date": "2026-03-01"}, "opens only on 2026-03-02"),
    ],
)
def test_what_is_only_hard_to_believe_goes_in_with_a_warning(read, changes, sentence):
    row = read("returns", GOOD | changes)
    assert row.entry is not None, row.problems
    assert any(sentence in s for s in said(row, "warning")), row.problems


def test_every_problem_of_a_row_comes_at_once(read):
    wrong = GOOD | {"zone": "Z", "bank_m3": "1,5", "work_date": "1/2/2026", "delays": "rain:x"}
    fields = {p.field for p in read("returns", wrong).problems}
    assert fields == {"zone", "bank_m3", "work_date", "delays"}


def test_a_nil_return_has_its_reason_and_nothing_else(read):
    entry = read("returns", NIL).entry
    assert isinstance(entry, DigReturn)
    assert (entry.nil_reason, entry.basis, entry.stream, entry.bank_l) == ("wind", "", "", None)


def test_a_stream_on_a_nil_return_is_left_out_and_said(read):
    row = read("returns", NIL | {"stream": "clay"})
    assert isinstance(row.entry, DigReturn)
    assert row.entry.stream == ""
    assert said(row, "warning") == ["stream: A nil shift has no stream; it is left out."]


def test_a_return_without_quantity_or_reason_is_refused(read):
    row = read("returns", NIL | {"nil_reason": ""})
    assert ["reason why nothing was dug" in s for s in said(row, "error")] == [True]


@pytest.mark.parametrize("basis", sorted(CARRIES))
def test_each_basis_carries_its_own_quantities(read, basis):
    amounts = {"bank_m3": "98", "count": "13", "capacity_m3": "10", "mass_t": "197"}
    own = {name: amounts[name] for name in CARRIES[basis]}
    blank = dict.fromkeys(QUANTITIES, "")
    row = read("returns", GOOD | blank | own | {"basis": basis})
    assert row.problems == []
    for extra in set(QUANTITIES) - set(own):
        assert read("returns", GOOD | blank | own | {"basis": basis, extra: "9"}).failed


def test_delays_are_held_against_the_real_length_of_a_night_when_the_clocks_change(read):
    long_night = NIL | {"work_date": "2026-10-24", "shift": "night", "delays": "rain:540"}
    assert read("returns", long_night).problems == []
    short_night = long_night | {"work_date": "2026-03-28", "delays": "rain:421"}
    assert said(read("returns", short_night), "error")[0].startswith("delays: 421 min are lost")


def test_a_shift_that_has_not_begun_is_refused(read):
    before = datetime(2026, 4, 7, 5, 30, tzinfo=UTC)  # 06:30 local; the shift starts at 07:00
    assert read("returns", GOOD, now=before).failed
    assert not read("returns", GOOD, now=before.replace(hour=6, minute=1)).failed


def test_a_comma_is_refused_where_columns_are_separated_by_semicolons(read):
    changes = {"basis": "weighed", "bank_m3": "", "mass_t": "1,200"}
    assert not read("returns", GOOD | changes | {"to_level_m": "", "lowest_level_m": ""}).failed
    row = read("returns", GOOD | changes, comma_is_decimal=True)
    assert "semicolons" in said(row, "error")[0]


def test_the_same_content_has_the_same_id_wherever_it_stands(read, sheet):
    first, moved = read("returns", GOOD), read("returns", GOOD | {"bank_m3": "98.500"})
    assert first.entry.entry_id == moved.entry.entry_id
    other = read("returns", GOOD | {"bank_m3": "98.6"})
    assert other.entry.entry_id != first.entry.entry_id


def test_an_id_of_ones_own_is_kept(read):
    assert read("returns", GOOD | {"entry_id": "mine-1"}).entry.entry_id == "mine-1"
