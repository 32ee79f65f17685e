"""Options that several commands share, and how their text is read."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.ledger.store import Ledger

LedgerPlace = Annotated[
    str,
    typer.Option(
        "--ledger",
        envvar="SPOIL_LEDGER",
        metavar="FILE|URL",
        help="An SQLite file or a postgresql+psycopg:// address.",
    ),
]
By = Annotated[
    str, typer.Option(envvar="SPOIL_BY", metavar="NAME", help="Who records this; kept for good.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, unrounded.")]
Reason = Annotated[str, typer.Option(metavar="TEXT", help="Why; kept for good.")]
AsOf = Annotated[
    str, typer.Option(metavar="DATE", help="Work date, YYYY-MM-DD; the last one recorded if empty.")
]
KnownAt = Annotated[
    str,
    typer.Option(metavar="MOMENT", help="As known at a moment, such as 2026-10-01T18:00+01:00."),
]
PLACE = "site.sqlite"


def opened(place: str, *, create: bool = False) -> Ledger:
    """The ledger at a place. Raises the ledger's own sentences."""
    from tracker.ledger.store import open_ledger

    return open_ledger(place, create=create)


def a_day(option: str, text: str) -> date | None:
    """The date of an option; None where it was left out. Raises InputError that names it."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"{option} is “{text}”; write the date as YYYY-MM-DD, such as 2026-10-27.", field=option
        ) from None


def a_moment(option: str, text: str, ledger: Ledger) -> datetime | None:
    """The moment of an option, local to the site unless it has an offset; None where left out."""
    if not text:
        return None
    from tracker.domain.calendar import local_stamp

    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(
            f"{option} is “{text}”; write a moment such as 2026-10-27T18:00.", field=option
        ) from None
    if moment.tzinfo is None:
        return local_stamp(moment, ledger.site().time_zone)[0]
    return moment.astimezone(UTC)


def a_work_date(option: str, text: str, ledger: Ledger) -> date:
    """The date of an option, or the last work date with anything recorded, or today."""
    from tracker.ledger.questions import last_work_date

    return a_day(option, text) or last_work_date(ledger) or datetime.now().astimezone().date()


def named_by(by: str) -> str:
    """Who records: the option, or else the name of the account."""
    import getpass

    return by.strip() or getpass.getuser()
