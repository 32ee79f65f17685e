"""What a page is given when it is wired: the ledger it asks, the clock, and who sits there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from dashboard.at_work import FilesAtWork


@dataclass(frozen=True, slots=True)
class Desk:
    """The ledger (handed on to statements and recording, never opened here), today, the user."""

    ledger: Any
    today: Callable[[], date]
    user: str
    work: FilesAtWork = field(default_factory=FilesAtWork)  # surveys on their way in
    imports: FilesAtWork = field(default_factory=FilesAtWork)  # files of records
