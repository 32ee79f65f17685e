"""Two options over a small pit dug at one steady rate, worked by hand; and the demonstration."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from tests.statements import paper
from tests.statements.option_pit import FRIDAY, opened, pit
from tracker.domain.carbon import electricity_carbon, lorry_carbon
from tracker.domain.options import AddedShift, BeltChange, BeltOut, FleetChange, Option
from tracker.domain.programme.ways import Ways
from tracker.errors import NotEnoughData
from tracker.ledger.store import Ledger
from tracker.recording.demo import DEMO_DAY
from tracker.recording.entry import amend
from tracker.statements import site_in_force, what_if_of, what_if_statement
from tracker.statements.export import to_csv, to_json, to_xlsx
from tracker.statements.options import (
    AS_SET_UP,
    Comparison,
    WrongOptions,
    comparison_of_query,
)
from tracker.statements.what_if_spoil import with_payload

NO_WAYS = Ways()
SATURDAY = Option(added_shift=AddedShift("saturday", (5,), time(8), time(16)))


@pytest.fixture(scope="module")
def steady(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ledger]:
    """The pit of this module on Friday evening. Not to be written to."""
    book, _ = opened(tmp_path_factory.mktemp("steady"))
    yield book
    book.close()


def compared(book: Ledger, b: Option, a: Option = AS_SET_UP):
    return what_if_statement(book, FRIDAY, a, b)


def p80s(statement):
    return [option.formation[0].p80 for option in statement.options]


# --- dates ---------------------------------------------------------------------------------------
def test_a_shorter_saturday_shift_buys_the_days_that_paper_says(steady):
    """As set up: ten shifts to Friday 6 November, a hold to the Sunday, twenty to 4 December.

    A Saturday of 8 hours gives 20 m³ x 8 / 12. With those of 24 and 31 October stage 1 is dug out
    on Thursday 5 November, the hold takes Friday 6, and stage 2 has its 400 m³ on 2 December: 17
    shifts of 20 m³ by then and four Saturdays from 7 November.
    """
    statement = compared(steady, SATURDAY)
    assert p80s(statement) == [date(2026, 12, 4), date(2026, 12, 2)]
    a, b = (option.formation[0] for option in statement.options)
    assert (a.p20, a.p50, a.days_to_p80) == (a.p80, a.p80, 42)
    assert (a.chance_of_target, b.chance_of_target) == (0.0, 0.0)
    assert statement.headline == (
        "A Saturday shift buys 2 days to formation of The box (P80 2 Dec 2026 instead of"
        " 4 Dec 2026) and costs no movement; the rate of digging governs both."
    )


def test_a_whole_saturday_reaches_the_target(steady):
    whole = AddedShift("saturday", (5,), time(7), time(19))
    option = compared(steady, Option(added_shift=whole)).options[1]
    # Stage 1 on Wednesday 4, stage 2 from Friday 6: twenty shifts to Saturday 28 November.
    assert option.formation[0].p80 == date(2026, 11, 28)
    assert option.formation[0].chance_of_target == 1.0


def test_a_shift_added_later_buys_less(steady):
    late = replace(SATURDAY.added_shift, since=date(2026, 11, 28))
    assert p80s(compared(steady, Option(added_shift=late))) == [date(2026, 12, 4)] * 2


def test_a_set_up_to_come_is_changed_as_well(tmp_path):
    book, _ = opened(tmp_path)
    later = pit()
    later["causes"] = paper.rows("cause|name|owner", "rain|Rain|nobody", "wind|Wind|nobody")
    paper.adopt(book, later, "later", date(2026, 10, 27))
    statement = compared(book, SATURDAY)
    book.close()
    assert p80s(statement) == [date(2026, 12, 4), date(2026, 12, 2)]


def test_two_options_alike_say_so_and_an_option_without_a_change_is_as_set_up(steady):
    statement = compared(steady, Option("Saturdays", SATURDAY.added_shift), SATURDAY)
    a, b = statement.options
    assert (a.name, b.name) == ("a Saturday shift", "Saturdays")
    assert replace(b, name=a.name) == a
    assert "A and B are the same" in statement.headline
    assert compared(steady, AS_SET_UP).options[1].name == "as set up"


def test_a_cap_of_nothing_puts_formation_beyond_the_calendar(steady):
    statement = compared(steady, Option(cap_day=0))
    formation = statement.options[1].formation[0]
    assert (formation.p80, formation.days_to_p80) == (None, None)
    assert formation.chance_of_target == 0.0
    assert "beyond the calendar" in statement.headline
    assert "gate windows and movement caps govern B" in statement.headline
    assert any("do not reach" in words for words in statement.options[1].assumed)
    back = compared(steady, AS_SET_UP, Option(cap_day=0))
    assert "within the calendar" in back.headline
    both = compared(steady, Option(cap_hour=0), Option(cap_day=0))
    assert "does not bring formation" in both.headline


# --- what leaves ---------------------------------------------------------------------------------
def test_the_tonnes_of_the_ground_left_go_as_they_went_of_late(steady):
    """600 m³ x 2 t/m³, three quarters by belt; loads of 19.2 t by the body of the lorry."""
    option = compared(steady, SATURDAY).options[0]
    assert option.bank_m3 == pytest.approx(600.0)
    assert option.mass_t == pytest.approx(1200.0)
    assert (option.belt_t, option.lorry_t) == (pytest.approx(900.0), pytest.approx(300.0))
    assert option.loads == pytest.approx(300.0 / 19.2)
    assert option.movements == pytest.approx(2.0 * 300.0 / 19.2)
    assert option.energy_kwh == pytest.approx(900.0 * 0.6)


def test_the_carbon_is_that_of_each_leg(steady):
    option = compared(steady, SATURDAY).options[0]
    by_belt = electricity_carbon(540.0, 2025).total_kgco2e + 900.0 * 38.0 * 0.03
    onward = lorry_carbon("rigid_over_17t", 18.0, 20.0, 2.0, 2025).total_kgco2e * 900.0 / 18.0
    road = lorry_carbon("rigid_over_17t", 19.2, 20.0, 40.0, 2025).total_kgco2e * 300.0 / 19.2
    assert option.carbon_kgco2e == pytest.approx(by_belt + onward + road)


def test_a_smaller_payload_takes_more_movements_and_one_above_the_plate_is_refused(steady):
    statement = compared(steady, Option(payload_t=12.0))
    a, b = statement.options
    assert b.loads == pytest.approx(25.0)
    assert b.carbon_kgco2e > a.carbon_kgco2e
    assert ", with 19 movements more" in statement.headline
    assert "Movements: B has 19 more." in statement.differences
    with pytest.raises(WrongOptions, match="allows 20 t") as caught:
        compared(steady, Option(payload_t=20.5))
    assert [problem.field for problem in caught.value.problems] == ["b.payload_t"]


def test_a_payload_beyond_the_body_is_computed_and_said(steady):
    assumed = compared(steady, Option(payload_t=19.5)).options[1].assumed
    assert any("holds less than 19.5 t" in words for words in assumed)


def test_the_ways_out_stay_as_they_are_where_no_payload_is_changed(steady):
    site = site_in_force(steady, FRIDAY)
    assert with_payload(site, NO_WAYS, AS_SET_UP) is NO_WAYS
    changed = with_payload(site, NO_WAYS, Option(payload_t=12.0))
    assert changed.payload_t(site, "rigid", "clay") == 12.0


def test_while_the_belt_is_out_its_ground_goes_by_road(steady):
    """Out for the first five shifts: 100 of 600 m³, whose three quarters change to lorries."""
    out = BeltOut("belt-1", date(2026, 10, 26), date(2026, 10, 30))
    statement = compared(steady, Option(belt_out=out))
    option = statement.options[1]
    assert option.belt_t == pytest.approx(750.0)
    assert option.lorry_t == pytest.approx(450.0)
    assert p80s(statement) == [date(2026, 12, 4)] * 2
    assert any(words.startswith("16.7 % of the ground ahead") for words in option.assumed)


def test_days_without_a_belt_that_the_set_up_plans_count_in_both_options(tmp_path):
    stops = paper.rows(
        "kind|about|first_day|last_day|weekdays|starts|ends|reason|reference",
        "belt|belt-1|2026-10-26|2026-10-30||||invented works|W-1",
        "belt|belt-1|2026-11-02|2026-11-30|Mon|07:00|09:00|invented cleaning|W-2",
    )
    book, _ = opened(tmp_path, stops=stops)
    options = compared(book, SATURDAY).options
    book.close()
    assert options[0].belt_t == pytest.approx(750.0)
    assert options[1].belt_t == pytest.approx(750.0)


def test_a_faster_belt_takes_more_energy_for_a_tonne_and_carries_more(steady):
    statement = compared(steady, Option(belt=BeltChange("belt-1", speed_m_per_s=2.5)))
    a, b = statement.options
    limits = [{name: most for name, most, _ in option.limits} for option in (a, b)]
    assert limits[1]["the belt: belt-1"] == pytest.approx(2.0 * limits[0]["the belt: belt-1"])
    assert b.energy_kwh > a.energy_kwh
    assert any("by the model of the changed belt" in words for words in b.assumed)


def test_fewer_lorries_lower_their_limit(steady):
    a, b = compared(steady, Option(fleet=FleetChange("rigids", 4))).options
    name = "the lorries and their round: rigids"
    most = [{limit: m3 for limit, m3, _ in option.limits}[name] for option in (a, b)]
    assert most[1] < most[0]
    assert b.changes == ("Fleet rigids has 4 lorries, instead of 8 lorries.",)


def test_what_cannot_be_told_is_left_open_with_the_reason(tmp_path):
    book, _ = opened(tmp_path, leaves=False)
    option = compared(book, SATURDAY).options[0]
    book.close()
    assert option.formation[0].p80 == date(2026, 12, 4)
    assert (option.mass_t, option.movements, option.carbon_kgco2e) == (None, None, None)
    assert any("Nothing left the site of late" in words for words in option.assumed)


def test_a_site_without_returns_is_refused_with_the_reason(own):
    with pytest.raises(NotEnoughData):
        what_if_statement(own, FRIDAY, AS_SET_UP, Option(cap_day=3))


# --- refused, linked, exported -------------------------------------------------------------------
def test_a_wrong_option_is_refused_under_its_side(steady):
    wrong = Option(added_shift=AddedShift("x", (0,), time(8), time(9)))
    with pytest.raises(WrongOptions, match="overlaps") as caught:
        compared(steady, AS_SET_UP, wrong)
    assert [problem.field for problem in caught.value.problems] == ["a.added_shift.starts"]


def test_a_link_gives_the_same_after_more_was_recorded(tmp_path):
    book, clock = opened(tmp_path)
    before = compared(book, SATURDAY)
    clock.moment += timedelta(hours=1)
    last = book.current("dig_returns")[-1].entry_id
    amend(book, last, {"bank_m3": "15"}, reason="recounted", by="engineer", now=clock.moment)
    now = compared(book, SATURDAY)
    linked = what_if_of(book, comparison_of_query(before.link), as_of=date(2026, 11, 1))
    book.close()
    assert now.options[0].bank_m3 == pytest.approx(605.0)
    assert linked.options == before.options
    assert linked.link == before.link


def test_a_comparison_goes_to_csv_xlsx_and_json(steady):
    statement = compared(steady, SATURDAY)
    assert "A Saturday shift buys" in to_json(statement)
    assert "options_formation" in to_csv(statement)
    assert to_xlsx(statement).startswith(b"PK")


def test_the_formulae_name_their_sources(steady):
    formulae = dict(compared(steady, AS_SET_UP).formulae)
    assert "idlers" in formulae["Belt"]
    assert "2 × loads" in formulae["Loads and movements"]
    assert "conversion" in formulae["Carbon"].lower()


# --- the demonstration ---------------------------------------------------------------------------
def test_more_chance_of_capacity_never_costs_days_on_the_demonstration(demo):
    """Both options meet the same chance, so that a looser cap is never worse by luck."""
    for tight, loose in ((10, 20), (20, 40), (40, 120)):
        a, b = what_if_of(
            demo, Comparison(Option(cap_day=tight), Option(cap_day=loose)), as_of=DEMO_DAY
        ).options
        for before, after in zip(a.formation, b.formation, strict=True):
            assert after.p80 <= before.p80


def test_every_share_of_what_governs_adds_up(demo):
    for option in what_if_of(demo, Comparison(AS_SET_UP, SATURDAY), as_of=DEMO_DAY).options:
        for formation in option.formation:
            shares = [g.share for g in option.governs if g.excavation == formation.excavation]
            assert sum(shares) == pytest.approx(1.0)
