"""Commands that write one entry: record, amend, withdraw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.answers import show, spoken
from tracker.cli.places import (
    PLACE,
    AsJson,
    By,
    LedgerPlace,
    Reason,
    a_work_date,
    named_by,
    opened,
)
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.recording.entry import Recorded
    from tracker.recording.plan import Frozen

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
    app.command(
        epilog="Example: spoil freeze 'programme 2' --on 2026-09-14 --reference 'letter 12: belt'"
    )(freeze)


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


@spoken
def freeze(
    plan: Annotated[str, typer.Argument(metavar="PLAN", help="Name of the plan, a new one.")],
    reference: Annotated[
        str, typer.Option(help="The document that freezes it, and why it is a new plan.")
    ],
    ledger: LedgerPlace = PLACE,
    on: Annotated[
        str, typer.Option(metavar="DATE", help="Date of freezing; else the last work date.")
    ] = "",
    again: Annotated[
        bool, typer.Option("--again", help="Freeze it although an earlier plan is just like it.")
    ] = False,
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Freeze the plan of the set-up: later ones stand beside it and alter nothing of it."""
    from tracker.recording.plan import freeze_plan

    book = opened(ledger)
    day = a_work_date("--on", on, book)
    done = freeze_plan(book, plan, on=day, reference=reference, by=named_by(by), again=again)
    data = {
        "plan": done.plan,
        "frozen_on": done.frozen_on.isoformat(),
        "stages": done.stages,
        "was_current": done.was_current,
        "becomes_current": done.becomes_current,
        "finishes": [
            {
                "excavation": line.excavation,
                "finish": line.finish.isoformat(),
                "later_days": line.later_days,
            }
            for line in done.finishes
        ],
    }
    show(data, as_json, _frozen_lines(done))


def _frozen_lines(done: Frozen) -> list[str]:
    """What was frozen, and what it makes of the finish of each excavation."""
    from tracker.statements.words import count_words

    said = [f"Frozen: {done.plan} as of {done.frozen_on}, {done.stages} stages."]
    for line in done.finishes:
        days = line.later_days
        moved = ""
        if days is not None:
            way = "later" if days > 0 else "earlier"
            apart = f"{count_words(abs(days), 'day')} {way} than" if days else "the same as"
            moved = f", {apart} by {done.was_current} ({line.before})"
        said.append(f"  {line.name} finishes on {line.finish}{moved}.")
    if not done.becomes_current:
        said.append(f"  {done.was_current} stays the current plan: it was frozen later.")
    return said


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
