"""Options are read strictly, from a file or a link, and written back exactly."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain.options import AddedShift, BeltChange, BeltOut, FleetChange, Option
from tracker.errors import InputError
from tracker.statements.options import (
    FIELDS,
    Comparison,
    WrongOptions,
    comparison_of_query,
    comparison_of_toml,
    option_of,
    option_values,
    query_of,
)

FILE = """
as_of = 2026-10-27
seed = 7

[a]

[b]
name = "Saturdays"
cap_day = 100
cap_hour = "14"
payload_t = 18.5
zones_at_once = 3

[b.added_shift]
name = "saturday"
weekdays = ["Sat", "Sun"]
starts = 08:00:00
ends = "16:00"
from = 2026-11-07

[b.belt_out]
belt = "main"
from = 2026-11-02
to = "2026-11-06"

[b.fleet]
fleet = "artics"
lorries = 9

[b.belt]
belt = "main"
width_m = 1.0
speed_m_per_s = "2.5"
"""

WHOLE = Comparison(
    Option(),
    Option(
        "Saturdays",
        AddedShift("saturday", (5, 6), time(8), time(16), date(2026, 11, 7)),
        BeltOut("main", date(2026, 11, 2), date(2026, 11, 6)),
        100,
        14,
        18.5,
        3,
        FleetChange("artics", 9),
        BeltChange("main", 1.0, 2.5),
    ),
    date(2026, 10, 27),
    7,
)


def said(read, *given):
    """Name -> sentence of each problem."""
    with pytest.raises(WrongOptions) as caught:
        read(*given)
    return {problem.field: problem.message for problem in caught.value.problems}


def test_a_file_may_change_everything():
    assert comparison_of_toml(FILE) == WHOLE


def test_a_link_says_the_same_as_the_file():
    assert comparison_of_query(query_of(WHOLE)) == WHOLE
    assert "b.belt_out.to=2026-11-06" in query_of(WHOLE)
    assert comparison_of_query("") == Comparison()


def test_an_empty_table_is_the_site_as_it_is_set_up():
    assert comparison_of_toml("[a]\n[b]\ncap_day = 0").a.as_set_up
    assert not comparison_of_toml("[a]\n[b]\ncap_day = 0").b.as_set_up
    assert Option("only a name").as_set_up


def test_every_wrong_value_is_said_at_once_under_its_name():
    problems = said(
        comparison_of_query,
        "as_of=27/10/2026&seed=x&walk=3&a.cap_day=240,5&a.payload_t==1%2B1&b.cap_hour=1.5"
        "&b.added_shift.name=x&b.added_shift.weekdays=Blursday&b.added_shift.starts=25:00"
        "&b.belt.width_m=1000&b.belt.belt=main&b.belt_outt=1",
    )
    assert set(problems) == {
        "as_of", "seed", "walk", "a.cap_day", "a.payload_t", "b.cap_hour",
        "b.added_shift.weekdays", "b.added_shift.starts", "b.added_shift.ends",
        "b.belt.width_m", "b.belt_outt",
    }  # fmt: skip
    assert "2026-10-27" in problems["as_of"]
    assert "comma" in problems["a.cap_day"]
    assert "formula" in problems["a.payload_t"]
    assert "between 0.3 and 2 m" in problems["b.belt.width_m"]
    assert "left out" in problems["b.added_shift.ends"]
    assert "Known:" in problems["b.belt_outt"]


def test_a_name_that_is_nearly_right_is_offered():
    assert "Did you mean cap_day?" in said(option_of, {"cap_days": "3"})["cap_days"]


def test_a_part_that_changes_nothing_is_refused():
    assert "lorries or loaders" in said(option_of, {"fleet.fleet": "artics"})["fleet.lorries"]
    assert "width_m or" in said(option_of, {"belt.belt": "main"})["belt.width_m"]


def test_seconds_are_refused_because_no_shift_has_them():
    shift = {"name": "x", "weekdays": "Sat", "starts": time(8, 0, 30), "ends": "16:00"}
    problems = said(option_of, {f"added_shift.{k}": v for k, v in shift.items()})
    assert "seconds" in problems["added_shift.starts"]


def test_a_list_or_a_table_where_one_value_belongs_is_refused():
    assert "One value" in said(comparison_of_toml, "[a]\ncap_day = [1, 2]")["a.cap_day"]
    assert "cap_day.most" in str(said(comparison_of_toml, "[a.cap_day]\nmost = 2"))


def test_a_file_that_is_no_toml_or_names_no_option_is_refused_with_a_sentence():
    with pytest.raises(InputError, match="not TOML"):
        comparison_of_toml("[a]\npayload_t = 18,5")
    with pytest.raises(InputError, match=r"neither a table \[a\]"):
        comparison_of_toml("as_of = 2026-10-27")
    assert "Only as_of" in said(comparison_of_toml, "a = 3")["a"]


def test_a_link_that_says_a_thing_twice_is_refused():
    with pytest.raises(InputError, match=r"b\.cap_day twice"):
        comparison_of_query("b.cap_day=1&b.cap_day=2")


def test_the_sentence_of_many_problems_names_the_first_six():
    with pytest.raises(WrongOptions, match=r"And 3 more\.$"):
        option_of({f"nothing{n}": "1" for n in range(9)})


def test_blank_values_are_left_out():
    assert option_of({"cap_day": " ", "name": ""}) == Option()


NAMES = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9 &+%=é]{0,20}[A-Za-z0-9]", fullmatch=True)
DATES = st.dates(date(2020, 1, 1), date(2099, 12, 31))
CLOCKS = st.times().map(lambda clock: clock.replace(second=0, microsecond=0))
SHIFTS = st.builds(
    AddedShift,
    NAMES,
    st.sets(st.integers(0, 6), min_size=1).map(lambda days: tuple(sorted(days))),
    CLOCKS,
    CLOCKS,
    st.none() | DATES,
)


def thousandths(low, high):
    return st.integers(low, high).map(lambda whole: whole / 1000.0)


def some(make, **parts):
    """Any of the parts, one of them at least."""
    built = st.builds(make, NAMES, **{name: st.none() | part for name, part in parts.items()})
    return built.filter(lambda made: any(getattr(made, name) is not None for name in parts))


OPTIONS = st.builds(
    Option,
    st.just("") | NAMES,
    st.none() | SHIFTS,
    st.none() | st.builds(BeltOut, NAMES, DATES, DATES),
    st.none() | st.integers(0, 5000),
    st.none() | st.integers(0, 500),
    st.none() | thousandths(1000, 60_000),
    st.none() | st.integers(1, 100),
    st.none() | some(FleetChange, lorries=st.integers(1, 500), loaders=st.integers(1, 20)),
    st.none()
    | some(BeltChange, width_m=thousandths(300, 2000), speed_m_per_s=thousandths(100, 8000)),
)


MOMENTS = st.integers(0, 10**15).map(
    lambda after: datetime(2020, 1, 1, tzinfo=UTC) + timedelta(microseconds=after)
)


@given(OPTIONS, OPTIONS, st.none() | DATES, st.integers(0, 2**31 - 1), st.none() | MOMENTS)
def test_an_option_comes_back_exactly_from_its_link(a, b, as_of, seed, known_at):
    comparison = Comparison(a, b, as_of, seed, known_at)
    assert comparison_of_query(query_of(comparison)) == comparison
    assert option_of(option_values(a)) == a


def test_every_field_is_written_where_it_is_changed():
    full = replace(WHOLE.b, fleet=FleetChange("artics", 9, 2))
    assert {*option_values(full), "belt_out.days"} == {field.key for field in FIELDS}


def test_days_without_a_belt_may_be_counted_instead_of_naming_the_last():
    out = {"belt_out.belt": "main", "belt_out.from": "2026-11-02"}
    assert option_of(out | {"belt_out.days": "5"}).belt_out == WHOLE.b.belt_out
    both = said(option_of, out | {"belt_out.days": "5", "belt_out.to": "2026-11-06"})
    assert "not both" in both["belt_out.days"]
    assert "to or days" in said(option_of, out)["belt_out.to"]


def test_a_moment_needs_its_offset():
    assert comparison_of_query("known_at=2026-10-27T18:00%2B01:00").known_at == datetime(
        2026, 10, 27, 17, tzinfo=UTC
    )
    for wrong in ("yesterday", "2026-10-27T18:00"):
        assert "offset" in said(comparison_of_query, f"known_at={wrong}")["known_at"]
