"""The page What if: the form, what it reads, what it refuses, what it shows."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dashboard.desk import Desk
from dashboard.figures.options import NOTHING, ranges_figure, ranges_summary
from dashboard.ids import WhatIf
from dashboard.options.form import form, parts_of, shown_values
from dashboard.options.reading import BLANK, beside, compared, name_of, part_of, written
from dashboard.options.shown import assumed, governs, range_rows, sides
from dashboard.pages import what_if
from tests.dashboard.pieces import parts_of as pieces_of
from tests.dashboard.pieces import texts_of
from tests.statements.option_pit import FRIDAY, opened
from tracker.errors import InputError
from tracker.statements import site_in_force, what_if_of
from tracker.statements.options import (
    FIELDS,
    WrongOptions,
    comparison_of,
    comparison_of_query,
    option_of,
)

SATURDAY = {
    "b.added_shift.name": "saturday",
    "b.added_shift.weekdays": "Sat",
    "b.added_shift.starts": "08:00",
    "b.added_shift.ends": "16:00",
}


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """A desk over the steady pit on Friday evening."""
    book, _ = opened(tmp_path_factory.mktemp("steady"))
    yield Desk(book, lambda: FRIDAY, "A. Tester")
    book.close()


@pytest.fixture(scope="module")
def site(desk):
    return site_in_force(desk.ledger, FRIDAY)


@pytest.fixture(scope="module")
def statement(desk):
    return what_if_of(desk.ledger, comparison_of(SATURDAY), as_of=FRIDAY)


def controls(sections, type):
    """Name -> control of a type."""
    return {
        name_of(part.id): part
        for part in pieces_of(sections)
        if isinstance(getattr(part, "id", None), dict) and part.id["type"] == type
    }


def switches(sections):
    return {
        f"{part.id['side']}.{part.id['part']}": part.checked
        for part in pieces_of(sections)
        if isinstance(getattr(part, "id", None), dict) and part.id["type"] == WhatIf.PART
    }


# --- the form ------------------------------------------------------------------------------------
def test_the_form_asks_for_everything_that_can_be_changed_once_an_option(site):
    sections = form(site)
    asked = {*controls(sections, WhatIf.FIELD), *controls(sections, WhatIf.NUMBER)}
    keys = {field.key for field in FIELDS} - {"belt_out.to"}  # days are counted instead
    assert asked == {f"{side}.{key}" for side in "ab" for key in keys}


def test_every_number_stands_beside_a_slider_of_its_name(site):
    sections = form(site)
    numbers, sliders = (controls(sections, t) for t in (WhatIf.NUMBER, WhatIf.SLIDER))
    assert set(numbers) == set(sliders)
    for name, slider in sliders.items():
        assert slider.min <= slider.value <= slider.max
        assert name.split(".")[0].upper() in slider.thumbLabel


def test_every_change_is_off_at_first_and_opens_as_set_up(site):
    sections = form(site)
    assert set(switches(sections).values()) == {False}
    numbers = controls(sections, WhatIf.NUMBER)
    assert numbers["a.cap_day"].value == "100"
    assert numbers["b.belt.width_m"].value == "0.65"
    assert numbers["b.payload_t"].value == "20"
    assert "As set up: 100 movements." in texts_of(sections)


def test_a_link_fills_the_form_and_switches_its_changes_on(site):
    query = (
        "a.cap_hour=12&b.belt_out.belt=belt-1&b.belt_out.from=2026-10-26&b.belt_out.to=2026-10-30"
    )
    sections = form(site, comparison_of_query(query))
    assert [name for name, on in switches(sections).items() if on] == ["a.cap_hour", "b.belt_out"]
    numbers = controls(sections, WhatIf.NUMBER)
    assert numbers["b.belt_out.days"].value == "5"
    assert numbers["a.cap_hour"].value == "12"
    assert controls(sections, WhatIf.SLIDER)["a.cap_hour"].value == 12


def test_what_a_link_leaves_out_of_a_change_is_not_filled_in(site):
    query = "b.belt.belt=belt-1&b.belt.width_m=1.1"
    numbers = controls(form(site, comparison_of_query(query)), WhatIf.NUMBER)
    assert (numbers["b.belt.width_m"].value, numbers["b.belt.speed_m_per_s"].value) == ("1.1", "")


def test_a_number_beyond_its_slider_stays_as_typed(site):
    sections = form(site, comparison_of_query("b.cap_day=4000"))
    assert controls(sections, WhatIf.NUMBER)["b.cap_day"].value == "4000"
    assert controls(sections, WhatIf.SLIDER)["b.cap_day"].value == 200


def test_what_a_site_does_not_have_is_said_in_its_place(site):
    bare = replace(site, fleets=(), belts=(), routes=(), caps=())
    missing = {part.part: part.missing for part in parts_of(bare) if part.missing}
    assert set(missing) == {"belt_out", "payload_t", "fleet", "belt"}
    assert "fill fleets.csv" in texts_of(form(bare))
    assert "As set up: no cap." in texts_of(form(bare))


def test_an_option_is_shown_with_the_days_that_a_belt_is_out():
    values = {"belt_out.belt": "x", "belt_out.from": "2026-10-26", "belt_out.to": "2026-10-26"}
    assert shown_values(option_of(values))["belt_out.days"] == "1"


# --- reading -------------------------------------------------------------------------------------
def held(**values):
    """Ids and values as the page hands them over: `b__cap_day` is cap_day of B."""
    return [
        ({"type": "x", "side": side, "key": key.replace("__", "-")}, value)
        for name, value in values.items()
        for side, _, key in [name.partition("__")]
    ]


def switched(*names):
    return [({"type": "x", "side": name[0], "part": name[2:]}, True) for name in names]


def test_only_what_is_switched_on_is_read():
    fields = held(a__name="", b__cap_day="90", b__belt_out__days="5", a__payload_t=None)
    assert written(fields, switched("b.cap_day", "a.payload_t")) == {
        "a.name": "",
        "b.cap_day": "90",
        "a.payload_t": "",
    }


def test_a_change_that_is_switched_on_and_left_blank_is_refused():
    with pytest.raises(WrongOptions) as caught:
        compared({"a.cap_day": " ", "b.fleet.fleet": "", "b.fleet.lorries": "", "b.name": ""}, {})
    found = {problem.field: problem.message for problem in caught.value.problems}
    assert found == {"a.cap_day": BLANK, "b.fleet.fleet": BLANK}


def test_the_form_keeps_the_date_and_the_chance_of_the_link_it_came_from():
    link = {"as_of": "2026-10-21", "seed": "4", "a.cap_day": "3"}
    comparison = compared({"b.cap_day": "5"}, link)
    assert (comparison.as_of, comparison.seed) == (date(2026, 10, 21), 4)
    assert comparison.a.as_set_up


def test_sentences_stand_beside_their_fields_and_the_others_are_said_together():
    with pytest.raises(WrongOptions) as caught:
        comparison_of({"b.cap_day": "1,5", "b.belt_out.to": "never", "walks": "3"})
    names = ["b.cap_day", "b.belt_out.days"]
    said, rest = beside(caught.value, names)
    assert set(said) == set(names)
    assert any(words.startswith("walks:") for words in rest)
    assert beside(InputError("The link says it twice."), names) == ({}, ["The link says it twice."])


def test_a_name_belongs_to_its_change():
    assert part_of("b.fleet.lorries") == "b.fleet"


# --- answering -----------------------------------------------------------------------------------
def test_what_is_compared_is_handed_on_as_a_link(desk):
    answer = what_if.answered(desk, SATURDAY, {})
    assert comparison_of_query(answer["compared"]) == comparison_of(SATURDAY)
    assert (answer["said"], answer["errors"]) == (None, {})


def test_a_link_is_compared_as_it_stands(desk):
    answer = what_if.answered(desk, None, SATURDAY | {"as_of": "2026-10-22"})
    assert comparison_of_query(answer["compared"]).as_of == date(2026, 10, 22)


def test_a_wrong_value_is_said_beside_its_field_and_nothing_is_compared(desk):
    answer = what_if.answered(desk, {"b.payload_t": "25"}, {})
    assert answer["compared"] is None
    assert "allows 20 t" in answer["errors"]["b.payload_t"]
    assert "1 value cannot be taken" in texts_of(answer["said"])
    outputs = {"fields": [], "numbers": [{"id": {"side": "b", "key": "payload_t"}}]}
    assert what_if.spread(answer, outputs)["numbers"] == [answer["errors"]["b.payload_t"]]


def test_a_wrong_link_is_said_in_sentences(desk):
    answer = what_if.answered(desk, None, {"b.cap_day": "x"})
    assert "b.cap_day" in texts_of(answer["said"])
    assert what_if.linked({"b.cap_day": "x"}) is None


def test_a_site_that_cannot_be_forecast_says_why(empty):
    desk = Desk(empty, lambda: FRIDAY, "x")
    answer = what_if.answered(desk, SATURDAY, {})
    assert answer["compared"] is None
    assert "set-up" in texts_of(answer["said"])


def test_every_part_of_the_answer_is_filled(statement):
    parts = what_if.shown(statement, 1180)
    assert parts["hidden"] is False
    assert parts["query"].startswith("/what-if?as_of=2026-10-23")
    assert all(part is not None for part in parts.values())


def test_a_link_is_opened_at_its_answer_and_an_empty_page_at_its_form():
    details = [
        next(p for p in pieces_of(what_if.layout(**query)) if type(p).__name__ == "Details")
        for query in ({}, SATURDAY)
    ]
    assert [part.open for part in details] == [True, False]


# --- shown ---------------------------------------------------------------------------------------
def words_of(figure):
    return [one["text"] for one in figure.to_plotly_json()["layout"]["annotations"]]


@pytest.mark.parametrize("width_px", [360, 1180])
def test_both_bars_stand_on_one_axis_with_the_target(statement, width_px):
    figure = ranges_figure(statement, width_px)
    words = words_of(figure)
    assert "target 1 Dec 2026" in words
    assert any("P80 4 Dec 2026, after the target" in one for one in words)
    assert any("P80 2 Dec 2026, after the target" in one for one in words)
    assert {"<b>A</b>", "<b>B</b>", "<b>The box</b>"} <= set(words)
    assert ranges_summary(statement).startswith("The box: formation by 4 Dec 2026 in A")


def test_a_date_beyond_the_calendar_is_said(desk):
    late = what_if_of(desk.ledger, comparison_of({"b.cap_day": "0"}), as_of=FRIDAY)
    assert any("later than the calendar" in words for words in words_of(ranges_figure(late)))
    assert "–" in texts_of(range_rows(late))


def test_a_chart_of_nothing_says_so(statement):
    options = tuple(replace(option, formation=()) for option in statement.options)
    nothing = replace(statement, options=options)
    assert words_of(ranges_figure(nothing)) == [NOTHING]
    assert ranges_summary(nothing) == NOTHING


def test_the_figures_stand_side_by_side_with_their_difference(statement):
    said = texts_of(sides(statement))
    assert "Nothing is changed: the site as it is set up." in said
    assert "Mass, t 1,200 1,200 0" in said
    assert "The box, P80 4 Dec 2026 2 Dec 2026 2 d earlier" in texts_of(range_rows(statement))


def test_what_governs_is_shown_as_shares_with_the_limits(statement):
    said = texts_of(governs(statement))
    assert "the rate of digging 100 % 97 %" in said
    assert "the belt: belt-1 400 400" in said
    assert "100 t/h stated" in said
    unlimited = replace(
        statement, options=tuple(replace(one, limits=()) for one in statement.options)
    )
    assert "No limit is set up" in texts_of(governs(unlimited))


def test_what_is_assumed_in_both_is_said_once_and_the_formulae_follow(statement):
    said = texts_of(assumed(statement))
    assert said.count("Belt belt-1: 0.600 kWh/t metered of late.") == 1
    assert "In B: In the shift saturday" in said
    assert "movements = 2 × loads" in said
