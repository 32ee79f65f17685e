"""What every statement carries: dates, set-up, completeness, data quality, cautions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from tracker.statements.words import date_words, percent_words


@dataclass(frozen=True, slots=True)
class Basis:
    """The ground a statement stands on; printed beside its figures."""

    site: str
    as_of: date
    known_at: datetime | None  # None: everything recorded so far
    revision: str  # title of the set-up revision in force on the as-of date
    revision_from: date
    datum: str
    returns_expected: int
    returns_received: int  # nil returns included
    returns_nil: int
    quality: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def completeness_percent(self) -> float | None:
        """Returns received of those the calendar expects [%]; None if none are expected yet."""
        if not self.returns_expected:
            return None
        return 100.0 * self.returns_received / self.returns_expected

    @property
    def lines(self) -> tuple[str, ...]:
        """The basis in sentences, for screens, paper and exports."""
        known = f"{self.known_at:%Y-%m-%d %H:%M} UTC" if self.known_at else "now"
        share = self.completeness_percent
        complete = (
            "No returns are expected yet."
            if share is None
            else f"Returns received: {self.returns_received} of {self.returns_expected} expected"
            f" ({percent_words(share)}), {self.returns_nil} of them nil."
        )
        return (
            f"{self.site}, as of {date_words(self.as_of)}, as known"
            f" {'at ' if self.known_at else ''}{known}.",
            f"Set-up revision “{self.revision}”, in force from {date_words(self.revision_from)}."
            f" {self.datum}",
            complete,
            *self.quality,
        )
