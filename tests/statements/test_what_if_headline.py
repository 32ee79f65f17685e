"""The sentences of a comparison, from written results."""

from __future__ import annotations

from datetime import date

import pytest

from tracker.domain.options import AddedShift, BeltChange, BeltOut, FleetChange, Option
from tracker.statements.forecast_shapes import GovernsLine, OptionFormation, OptionResult
from tracker.statements.options import option_of
from tracker.statements.what_if_headline import differences, gain, governs_most, headline
from tracker.statements.what_if_words import AS_SET_UP, formulae, label


def formation(day, excavation="BOX"):
    p80 = date.fromisoformat(day) if day else None
    return OptionFormation(excavation, f"the {excavation.lower()}", None, p80, p80, p80, 1, None)


def result(name, *formations, movements=100.0, cause="hold"):
    governs = tuple(GovernsLine(f.excavation, "", cause, cause, 0.9) for f in formations)
    return OptionResult(
        name, (), formations, 1.0, 2.0, 1.0, 1.0, 50.0, movements, 5.0, 5.0, governs, (), ()
    )


def said(a, b):
    return headline(a, b, alike=False)


NINTH = result(AS_SET_UP, formation("2026-12-09"))


def test_days_are_bought_and_no_movement_is_paid():
    assert said(NINTH, result("a Saturday shift", formation("2026-12-03"))) == (
        "A Saturday shift buys 6 days to formation of the box (P80 3 Dec 2026 instead of"
        " 9 Dec 2026) and costs no movement; the hold point above governs both."
    )


def test_days_are_lost_and_movements_added():
    b = result("x", formation("2026-12-10"), movements=102.0, cause="gate")
    assert said(NINTH, b) == (
        "X costs 1 day to formation of the box (P80 10 Dec 2026 instead of 9 Dec 2026), with"
        " 2 movements more; the hold point above governs A, gate windows and movement caps govern"
        " B."
    )


def test_movements_alone_may_change():
    b = result("x", formation("2026-12-09"), movements=40.0)
    assert (
        "changes no P80 date of formation (the box: 9 Dec 2026), with 60 movements fewer"
        in said(NINTH, b)
    )


def test_a_movement_in_a_hundred_is_hardly_one():
    b = result("x", formation("2026-12-03"), movements=101.0)
    assert "9 Dec 2026) and costs hardly a movement (+1);" in said(NINTH, b)


def test_of_several_excavations_the_one_that_moves_most_is_told():
    a = result(AS_SET_UP, formation("2026-12-09"), formation("2026-11-09", "SHAFT"))
    b = result("x", formation("2026-12-08"), formation("2026-11-05", "SHAFT"))
    assert "buys 4 days to formation of the shaft" in said(a, b)


def test_two_changed_options_are_both_named():
    b = result("two", formation("2026-12-09"))
    assert said(result("one", formation("2026-12-09")), b).startswith("B (two) against A (one)")


def test_movements_that_are_not_known_are_not_spoken_of():
    b = result("x", formation("2026-12-03"), movements=None)
    assert "movement" not in said(NINTH, b)


def test_no_gain_is_counted_to_a_date_beyond_the_calendar():
    assert gain(formation("2026-12-09"), formation(None)) is None
    assert gain(formation("2026-12-09"), formation("2026-12-01")) == 8
    assert "P80 9 Dec 2026 in A, later in B" in differences(NINTH, result("x", formation(None)))[0]


def test_what_governs_most_is_asked_of_one_excavation():
    assert governs_most(NINTH, "BOX") == "hold"
    assert governs_most(NINTH, "SHAFT") == "dig"


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (Option(), AS_SET_UP),
        (Option("Plan 3", cap_day=3), "Plan 3"),
        (Option(cap_hour=12), "a cap of 12 movements an hour"),
        (Option(payload_t=18.5), "a payload of 18.5 t"),
        (Option(zones_at_once=1), "digging 1 zone at once"),
        (Option(fleet=FleetChange("rigids", 1, 2)), "fleet rigids of 1 lorry and 2 loaders"),
        (Option(belt=BeltChange("main", 1.2, 2.5)), "belt main 1.2 m wide at 2.5 m/s"),
        (
            Option(belt_out=BeltOut("main", date(2026, 11, 2), date(2026, 11, 2)), cap_day=3),
            "belt main out for 1 day with 1 more change",
        ),
    ],
)
def test_an_option_is_called_by_its_name_or_its_change(option, words):
    assert label(option) == words


def test_a_shift_of_one_weekday_is_called_by_it():
    hours = {"added_shift.starts": "08:00", "added_shift.ends": "16:00", "added_shift.name": "x"}
    assert label(option_of(hours | {"added_shift.weekdays": "Sun"})) == "a Sunday shift"
    assert isinstance(
        option_of(hours | {"added_shift.weekdays": "Sat Sun"}).added_shift, AddedShift
    )
    assert label(option_of(hours | {"added_shift.weekdays": "Sat Sun"})) == "the shift x"


def test_every_formula_has_a_name_of_its_own():
    names = [name for name, _ in formulae()]
    assert len(set(names)) == len(names) == 7
