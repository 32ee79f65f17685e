"""What can go wrong, in words a person can act on.

TrackerError                       str() is a sentence: the value, its unit, what to do
├── InputError (ValueError)        the person gave something impossible; shown beside the field
│   ├── OutOfRange                 field, value, low, high, unit, source
│   └── UnknownName (LookupError)  lists the known ones
├── LedgerError                    the record forbids it
│   ├── EntryNotFound
│   ├── AlreadySuperseded
│   ├── DuplicateEntry
│   └── SchemaMismatch
├── FactorMissing (LookupError)    no sourced factor for this material, year or route
├── NotEnoughData                  an estimate that the records do not support; says what is missing
└── NotAllowed                     role or site forbids it
OutsidePublishedRange (UserWarning)  computed, beyond what the source covers; marked, never refused
Problem (frozen dataclass)         what file readers return in lists

Anything that is not a TrackerError is a bug.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


class TrackerError(Exception):
    """Base of every error whose text is meant for a person."""


class InputError(TrackerError, ValueError):
    """Something impossible was given. `field` names where, when known."""

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.field = field


class OutOfRange(InputError):
    """A value outside what is possible or sensible."""

    def __init__(
        self,
        field: str,
        value: float,
        *,
        low: float | None = None,
        high: float | None = None,
        unit: str = "",
        hint: str = "",
    ) -> None:
        if low is not None and high is not None:
            wanted = f"between {low:g} and {high:g}"
        elif low is not None:
            wanted = f"at least {low:g}"
        else:
            wanted = f"at most {high:g}"
        units = f" {unit}" if unit else ""
        super().__init__(
            f"{field} is {value:g}{units}; it must be {wanted}{units}."
            + (f" {hint}" if hint else ""),
            field=field,
        )
        self.value, self.low, self.high, self.unit = value, low, high, unit


class UnknownName(InputError, LookupError):
    """A name that is not in the set-up or the tables; lists the known ones."""

    def __init__(self, what: str, name: str, known: Iterable[str], *, field: str = "") -> None:
        names = sorted(known)
        near = difflib.get_close_matches(name, names, n=1)
        listed = ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")
        super().__init__(
            f"{what} “{name}” is not known."
            + (f" Did you mean “{near[0]}”?" if near else "")
            + (f" Known: {listed}." if names else " None is set up yet."),
            field=field or what.replace(" ", "_"),
        )


class LedgerError(TrackerError):
    """The record forbids it."""


class EntryNotFound(LedgerError):
    """No entry has this id."""


class AlreadySuperseded(LedgerError):
    """The entry already has a successor; an entry is superseded once."""


class DuplicateEntry(LedgerError):
    """Another current entry already states this fact."""


class SchemaMismatch(LedgerError):
    """The database is not a ledger of this version, or its guards are gone."""


class FactorMissing(TrackerError, LookupError):
    """No published or stated factor for this material, year or route."""


class NotEnoughData(TrackerError):
    """The records do not support the estimate; says what is missing."""


class NotAllowed(TrackerError):
    """The role, the network or the site forbids it."""


class OutsidePublishedRange(UserWarning):
    """Computed, but beyond what the source covers."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one field of one row (row 1 is the heading; 0 the whole file)."""

    file: str
    row: int
    field: str
    value: str
    message: str
    severity: str = "error"  # error: the row stays out; warning: it goes in, marked
    rule: str = ""  # the rule that the row breaks, where it is one of the exceptions

    def __str__(self) -> str:
        where = f"{self.file}, row {self.row}" if self.row else self.file
        named = f", {self.field} “{self.value}”" if self.field else ""
        return f"{where}{named}: {self.message}"
