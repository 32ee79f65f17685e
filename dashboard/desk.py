"""What a page is given when it is wired: the ledger it asks, the clock, and who sits there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from dashboard.at_work import SurveysAtWork


@dataclass(frozen=True, slots=True)
class Desk:
    """The ledger (handed on to statements and recording, never opened here), today, the user."""

    ledger: Any
    today: Callable[[], date]
    user: str
    work: SurveysAtWork = field(default_factory=SurveysAtWork)  # surveys on their way in
