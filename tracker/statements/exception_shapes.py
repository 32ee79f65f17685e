"""The shape of the list of exceptions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from tracker.statements.basis import Basis
from tracker.statements.shapes import OpenException


@dataclass(frozen=True, slots=True)
class ExceptionsOfRule:
    """How many exceptions of a rule are open, since when, and who usually closes them."""

    rule: str
    severity: str
    count: int
    oldest: date
    closes: str


@dataclass(frozen=True, slots=True)
class ExceptionsStatement:
    """Everything open, the worst first."""

    basis: Basis
    headline: str
    rules: tuple[ExceptionsOfRule, ...]
    lines: tuple[OpenException, ...]
