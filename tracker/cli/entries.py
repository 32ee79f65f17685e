"""Commands that write one entry: record, amend, withdraw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.answers import show, spoken
from tracker.cli.places import PLACE, AsJson, By, LedgerPlace, Reason, named_by, opened
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.recording.entry import Recorded

KindName = Annotated[str, typer.Argument(metavar="KIND", help="A kind of record, as in import.")]
Pairs = Annotated[
    list[str], typer.Argument(metavar="FIELD=VALUE...", help="The columns of `spoil template`.")
]
EntryId = Annotated[str, typer.Argument(metavar="ENTRY", help="The id of the entry.")]


def add_to(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    app.command(
        epilog="Example: spoil record returns work_date=2026-10-27 shift=day zone=A stage=3"
        " stream=clay basis=measured bank_m3=240 lowest_level_m=93.4"
    )(record)
    app.command(epilog="Example: spoil amend 7f0c2a bank_m3=260 --reason 'tally recounted'")(amend)
    app.command(epilog="Example: spoil withdraw 7f0c2a --reason 'entered for the wrong site'")(
        withdraw
    )


@spoken
def record(
    kind: KindName,
    pairs: Pairs,
    ledger: LedgerPlace = PLACE,
    entry_id: Annotated[
        str, typer.Option("--id", help="An id of your own: sent twice, stored once.")
    ] = "",
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Record one entry, typed as FIELD=VALUE."""
    from tracker.recording.entry import record as write

    done = write(opened(ledger), kind, _fields(pairs), by=named_by(by), entry_id=entry_id or None)
    _say(done, as_json, "Recorded")


@spoken
def amend(
    entry_id: EntryId,
    pairs: Pairs,
    reason: Reason,
    ledger: LedgerPlace = PLACE,
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Correct an entry: a new one supersedes it, with a reason; the old one stays in history."""
    from tracker.recording.entry import amend as write

    done = write(opened(ledger), entry_id, _fields(pairs), reason=reason, by=named_by(by))
    _say(done, as_json, "Amended")


@spoken
def withdraw(
    entry_id: EntryId,
    reason: Reason,
    ledger: LedgerPlace = PLACE,
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Withdraw an entry: it stays in the history and counts no more."""
    from tracker.recording.entry import withdraw as write

    done = write(opened(ledger), entry_id, reason=reason, by=named_by(by))
    _say(done, as_json, "Withdrawn")


def _fields(pairs: list[str]) -> dict[str, str]:
    fields: dict[str, str] = {}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals:
            raise InputError(f"“{pair}” is not FIELD=VALUE, such as zone=A.")
        if name.strip() in fields:
            raise InputError(f"{name.strip()} is given twice. Keep one of them.")
        fields[name.strip()] = value.strip()
    return fields


def _say(done: Recorded, as_json: bool, word: str) -> None:
    warnings = [p.message for p in done.problems]
    said = f"{word}: entry {done.entry_id}."
    if done.already:
        said = f"Recorded before: entry {done.entry_id}. Nothing was added."
    show(
        {"entry_id": done.entry_id, "already": done.already, "warnings": warnings},
        as_json,
        [said, *(f"  warning: {message}" for message in warnings)],
    )
