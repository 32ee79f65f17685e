"""What every entry is made of: an id its author made, where it came from, a free note."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import ClassVar
from uuid import uuid4

_GENERATED = re.compile("[0-9a-f]{32}")


def new_id() -> str:
    """A fresh entry id; made by whoever makes the entry, so that sending twice stores once."""
    return uuid4().hex


def is_generated(entry_id: str) -> bool:
    """Whether a program made the id, so that no other entry can have it.

    >>> is_generated(new_id()), is_generated("17"), is_generated("return-17")
    (True, False, False)
    """
    return _GENERATED.fullmatch(entry_id) is not None


@dataclass(frozen=True, slots=True)
class Delay:
    """Minutes of a shift lost to one coded cause."""

    cause: str
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry has: its id, and the file and row it came from (empty when typed)."""

    KIND: ClassVar[str]
    UNIQUE: ClassVar[tuple[str, ...]] = ()  # the columns that say which fact it states
    LARGE: ClassVar[tuple[str, ...]] = ()  # columns for programs: neither searched nor listed
    LATER: ClassVar[tuple[str, ...]] = ()  # columns added since; see `recording.fields.content_id`

    entry_id: str = field(default_factory=new_id)
    source: str = ""
    note: str = ""
