"""Rows of every kind, whatever stands in them."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tracker.errors import Problem
from tracker.recording.columns import KINDS
from tracker.recording.fields import text_of
from tracker.recording.rows import entry_from_fields

CELLS = st.one_of(
    st.none(),
    st.booleans(),
    st.text(max_size=20),
    st.floats(),
    st.integers(-(10**20), 10**20),
    st.dates(),
    st.times(),
    st.datetimes(),
    st.timedeltas(),
    st.sampled_from(["A", "1", "day", "clay", "2026-04-07", "2026-04-07 09:00", "haul", "R-ROAD"]),
)


@pytest.mark.parametrize("kind", sorted(KINDS))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(data=st.data())
def test_any_row_becomes_an_entry_or_sentences(sheet, kind, data):
    columns = [c.name for c in KINDS[kind].columns]
    given_cells = {name: data.draw(CELLS) for name in columns}
    entry, problems = entry_from_fields(sheet(kind), given_cells, 2)
    assert all(isinstance(p, Problem) and p.message.endswith(".") for p in problems)
    assert (entry is None) == any(p.severity == "error" for p in problems)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_an_empty_row_names_every_column_that_must_be_filled(sheet, kind):
    entry, problems = entry_from_fields(sheet(kind), {}, 7)
    assert entry is None
    assert {p.field for p in problems if p.message == "This must be filled."} >= set(
        KINDS[kind].required
    )
    assert {(p.file, p.row) for p in problems} == {("f.csv", 7)}


def test_a_number_of_a_workbook_is_the_text_a_person_would_type():
    assert [text_of(v) for v in (None, 123.0, 1.5, True, "x")] == ["", "123", "1.5", "yes", "x"]


def test_each_kind_has_one_reader_and_every_column_a_purpose():
    assert all(len({c.name for c in kind.columns}) == len(kind.columns) for kind in KINDS.values())
