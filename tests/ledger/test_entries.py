from dataclasses import FrozenInstanceError

import pytest

from tests.ledger.samples import a_load, one_of_each
from tracker.ledger.entries import KINDS, as_row, field_names, is_generated, new_id


def test_an_entry_never_changes():
    for entry in one_of_each():
        with pytest.raises(FrozenInstanceError):
            entry.note = "better"


def test_each_kind_says_which_fact_it_states():
    for kind, cls in KINDS.items():
        assert kind == cls.KIND
        assert cls.UNIQUE
        assert set(cls.UNIQUE) <= set(field_names(cls))


def test_ids_are_made_with_the_entry_and_never_twice():
    ids = {a_load().entry_id for _ in range(1_000)}
    assert len(ids) == 1_000
    assert all(is_generated(entry_id) for entry_id in ids)
    assert not any(is_generated(given) for given in ("", "7", "T-1", new_id()[:-1], new_id() + "0"))


def test_an_entry_as_a_row_makes_the_entry_again():
    for entry in one_of_each():
        row = as_row(entry)
        assert next(iter(row)) == "entry_id"
        assert type(entry)(**row) == entry
