"""Rows of a set-up while it is being checked.

A row is column -> value, `row` is its number in the file, and None is a value that could not be
read: a check passes over rows that lack what it needs, so that every other problem still shows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tracker.errors import Problem

Row = dict[str, Any]
Rows = Mapping[str, Sequence[Row]]


def wrong(table: str, row: Row, column: str, message: str, severity: str = "error") -> Problem:
    """A problem with one column of a row."""
    value = row.get(column)
    text = "; ".join(map(str, value)) if isinstance(value, tuple) else str(value)
    return Problem(table, row["row"], column, "" if value is None else text, message, severity)


def given(row: Row, *columns: str) -> bool:
    """Whether every one of these columns could be read."""
    return all(row.get(column) is not None for column in columns)
