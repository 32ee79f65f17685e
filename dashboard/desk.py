"""What a page is given when it is wired: the ledger it asks, the clock, and who sits there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from dashboard.at_work import FilesAtWork
from dashboard.kept import Kept


@dataclass(frozen=True, slots=True)
class Desk:
    """The ledger (handed on to statements and recording, never opened here), today, the user."""

    ledger: Any
    today: Callable[[], date]
    user: str
    work: FilesAtWork = field(default_factory=FilesAtWork)  # surveys on their way in
    imports: FilesAtWork = field(default_factory=FilesAtWork)  # files of records
    kept: Kept = field(default_factory=Kept)

    def stated(self, statement: Callable[..., Any], *asked: Any, **options: Any) -> Any:
        """A statement on the ledger, as kept if nothing was written since, in the same minute.

        Shifts end and gates open by the clock, so an answer is good for the minute it was made in.
        """
        minute = self.ledger.now().replace(second=0, microsecond=0)
        key = (statement, asked, tuple(sorted(options.items())), self.ledger.state(), minute)
        return self.kept.answer(key, lambda: statement(self.ledger, *asked, **options))
