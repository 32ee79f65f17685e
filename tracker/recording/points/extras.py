"""Libraries of the extra `survey`, imported only where a file needs them."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from tracker.errors import InputError


def survey_library(name: str, kind: str) -> Any:
    """A module of the extra. Raises InputError with the command that installs it."""
    try:
        return import_module(name)
    except ImportError:
        raise InputError(
            f"Reading {kind} needs the extra “survey”: pip install 'spoil-ledger[survey]'. Or"
            " export the points as CSV.",
            field="file",
        ) from None
