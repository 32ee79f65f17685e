from datetime import date

import pytest

from dashboard.desk import Desk
from dashboard.forms.fields import RECORDS
from dashboard.pages import spoil_out
from dashboard.spoil.look import endurance_figure, look_figures, movements_figure, stock_figure
from dashboard.spoil.records import last_words, records_panel
from tests.dashboard.pieces import parts_of, texts_of
from tracker.statements import gate_statement, spoil_statement

DAY = date(2026, 10, 27)


@pytest.fixture(scope="module")
def spoil(demo):
    return spoil_statement(demo, DAY)


@pytest.fixture(scope="module")
def gate(demo):
    return gate_statement(demo, DAY)


def test_the_first_look_says_where_the_spoil_of_the_day_went(spoil, gate):
    words = texts_of(look_figures(spoil, gate))
    day = spoil.moved[0]
    assert f"{day.belt_t:,.0f} t" in words
    assert f"{day.loads} loads, {2 * day.loads} movements" in words
    assert "If the belt stops" in words


def test_movements_count_other_traffic_against_the_cap(gate):
    name, used, beside = movements_figure(gate)
    (cap,) = (c for c in gate.caps if c.per == "day")
    assert cap.other > 0
    assert cap.spoil + cap.other == cap.used
    assert used == f"{cap.used} of {cap.cap}"
    assert f"{cap.spoil} of spoil, {cap.other} other" in beside
    assert name == "Movements, this day"


def test_stock_is_the_sum_of_the_heaps_as_last_counted(spoil):
    _name, loose, _beside = stock_figure(spoil)
    assert loose == f"{sum(h.loose_m3 for h in spoil.heaps):,.0f} m³ loose"


def test_before_the_first_heap_nothing_is_said_of_stock_or_of_hours(demo):
    early = spoil_statement(demo, date(2026, 3, 2))
    assert stock_figure(early)[1] == "not known"
    assert endurance_figure(early.endurance)[1] == "not known"
    assert endurance_figure(early.endurance)[2] == early.endurance.sentence


@pytest.mark.parametrize("part", spoil_out.PARTS)
def test_every_part_can_be_worked_out_on_the_last_and_on_the_first_day(desk, part):
    _name, show = spoil_out.PARTS[part]
    for day in (DAY, date(2026, 3, 2)):
        since = spoil_out.since_of(desk, day, "month")
        assert len(texts_of(show(desk, day, since, 358))) > 20


@pytest.mark.parametrize(
    ("day", "period", "since"),
    [
        (DAY, "month", date(2026, 10, 1)),
        (DAY, "30", date(2026, 9, 28)),
        (DAY, "all", date(2026, 3, 2)),
        (date(2026, 3, 5), "30", date(2026, 3, 2)),
        (date(2026, 2, 1), "all", date(2026, 2, 1)),
    ],
)
def test_a_period_begins_neither_before_the_site_nor_after_its_day(desk, day, period, since):
    assert spoil_out.since_of(desk, day, period) == since


@pytest.mark.parametrize("kind", RECORDS)
def test_an_address_opens_the_form_of_a_kind(kind):
    heading = texts_of(spoil_out.layout(record=kind))
    assert f"Record a {RECORDS[kind]}" in heading
    assert f"Amend a {RECORDS[kind]}" in texts_of(spoil_out.layout(record=kind, amend="x"))
    assert f"Withdraw a {RECORDS[kind]}" in texts_of(spoil_out.layout(record=kind, withdraw="x"))


def test_an_address_that_names_nothing_we_know_opens_the_page():
    for query in ({"record": "payroll"}, {"part": "nowhere"}, {"other": "1"}):
        assert texts_of(spoil_out.layout(**query)).startswith("Spoil out")


def test_each_kind_can_be_entered_imported_and_searched(desk):
    links = [part.href for part in parts_of(records_panel(desk)) if hasattr(part, "href")]
    for kind in RECORDS:
        assert f"/spoil-out?record={kind}" in links
        assert f"/spoil-out?import={kind}" in links
    assert "/records?kind=lorry_loads" in links


def test_the_last_entry_of_a_kind_is_said_in_words(desk):
    assert "recorded; last of" in last_words(desk, "loads")


def test_a_kind_without_entries_says_so(empty):
    assert last_words(Desk(empty, lambda: DAY, "x"), "loads") == "None recorded yet."
