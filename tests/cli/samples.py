"""Rows of the paper pit as commands and files take them."""

from __future__ import annotations

from tests.statements import paper

RETURN = "work_date=2026-10-22 shift=day zone=A stage=1 stream=clay basis=measured bank_m3=50"


def fields(pairs: str) -> dict[str, str]:
    """FIELD=VALUE words as a row."""
    return dict(pair.split("=") for pair in pairs.split())


def rows_of(kind: str) -> list[dict[str, str]]:
    """The rows of a kind, whole, without the moment at which they were entered."""
    of_every = paper.OF_EVERY_LOAD if kind == "loads" else {}
    rows = paper.KINDS[kind]
    return [of_every | {k: v for k, v in row.items() if k != "entered"} for row in rows]
