"""What people are told of an error: a sentence of ours, or the number it was logged under."""

from __future__ import annotations

import logging
import secrets

from tracker.errors import TrackerError

LOG = logging.getLogger("spoil.dashboard")


def sentence_of(error: Exception) -> str:
    """A sentence of ours as it is; anything else is logged under a number, which is told."""
    if isinstance(error, TrackerError):
        return str(error)
    number = secrets.token_hex(4)
    LOG.error("error %s", number, exc_info=error)
    return (
        f"Something went wrong that should not have (error {number}). Nothing was saved."
        " Try again; if it stays, pass this number on with what you did."
    )
