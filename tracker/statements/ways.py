"""How ground left the site of late: the ways out for the ground ahead, from the recent record."""

from __future__ import annotations

from tracker.domain.programme.ways import Ways
from tracker.statements.frame import Frame

RECORD_DAYS = 28  # common practice, no source


def ways_of(frame: Frame) -> Ways:
    """The ways out for the ground that is left, by the last four weeks of the record."""
    return Ways(sentences=(f"Nothing is known of the ways out before {frame.as_of}.",))
