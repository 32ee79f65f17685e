"""The error of a refused entry."""

from __future__ import annotations

from tracker.errors import InputError, Problem
from tracker.recording.refused import RowRefused


def test_it_carries_every_problem_and_names_the_first_few():
    problems = [Problem("form", 0, f"f{n}", "", f"Sentence {n}.") for n in range(9)]
    error = RowRefused(problems)
    assert isinstance(error, InputError)
    assert error.problems == tuple(problems)
    assert error.field == "f0"
    assert str(error).startswith("f0: Sentence 0. f1: Sentence 1.")
    assert str(error).endswith("And 3 more.")
