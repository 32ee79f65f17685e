"""Commands that only read: statements and history."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tracker.cli.answers import show, spoken
from tracker.cli.places import (
    PLACE,
    AsJson,
    AsOf,
    KnownAt,
    LedgerPlace,
    a_day,
    a_moment,
    a_work_date,
    opened,
)
from tracker.errors import InputError, UnknownName

if TYPE_CHECKING:
    from tracker.ledger.store import Ledger

NAMES = (
    "day",
    "progress",
    "movements",
    "carbon",
    "spoil",
    "balance",
    "reconciliation",
    "gate",
    "capacity",
    "exceptions",
    "forecast",
    "delays",
    "holds",
)
Name = Annotated[str, typer.Argument(metavar="NAME", help=f"One of {', '.join(NAMES)}.")]
Since = Annotated[str, typer.Option(metavar="DATE", help="First day of the period.")]
Grain = Annotated[
    str, typer.Option(metavar="GRAIN", help="day, week, month or total, as the statement has them.")
]
FactorYear = Annotated[
    int, typer.Option(metavar="YEAR", help="Edition of the carbon factors; 0: as the set-up says.")
]
FixedCarbon = Annotated[
    float | None,
    typer.Option("--fixed-kgco2e", metavar="KG", help="The conveyor's own carbon, for break-even."),
]
LeaveOut = Annotated[
    list[str] | None,
    typer.Option("--leave-out", metavar="CAUSE", help="Leave shifts lost to it out of the record."),
]
HowItHeld = Annotated[
    bool, typer.Option("--backtest", help="Say how the P80 dates of earlier forecasts held.")
]
Walks = Annotated[int | None, typer.Option(metavar="N", help="Walks of a forecast, 100 to 100000.")]
Seed = Annotated[int | None, typer.Option(metavar="N", help="The same seed, the same forecast.")]
Out = Annotated[
    Path | None, typer.Option(metavar="FILE", help="Write a .csv, .xlsx or .json file instead.")
]
_OPTIONS = {"factor_year": "factor-year", "fixed_kgco2e": "fixed-kgco2e", "leave_out": "leave-out"}
EntryId = Annotated[str, typer.Argument(metavar="ENTRY", help="The id of an entry.")]


def add_to(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    app.command(
        epilog="Example: spoil statement movements --grain month --as-of 2026-10-27 --json"
    )(statement)
    app.command(epilog="Example: spoil history 7f0c2a")(history)


@spoken
def statement(
    name: Name,
    ledger: LedgerPlace = PLACE,
    as_of: AsOf = "",
    since: Since = "",
    grain: Grain = "",
    known_at: KnownAt = "",
    factor_year: FactorYear = 0,
    fixed_kgco2e: FixedCarbon = None,
    leave_out: LeaveOut = None,
    backtest: HowItHeld = False,
    walks: Walks = None,
    seed: Seed = None,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Make one of the statements, with what it rests on."""
    from tracker.cli.lines import BREACH_FIRST, breaches_first, statement_lines
    from tracker.statements.export import as_data

    if name not in NAMES:
        raise UnknownName("statement", name, NAMES)
    book = opened(ledger)
    options = {
        "since": a_day("--since", since),
        "grain": grain or None,
        "factor_year": factor_year or None,
        "fixed_kgco2e": fixed_kgco2e,
        "leave_out": names(leave_out),
        "backtest": backtest or None,
        "walks": walks,
        "seed": seed,
    }
    moment = a_moment("--known-at", known_at, book)
    day = a_work_date("--as-of", as_of, book)
    made = _made(book, name, day, moment, options)
    if out is None:
        breaches = breaches_first(book, day, moment) if name in BREACH_FIRST else []
        show(as_data(made), as_json, [*breaches, *statement_lines(made)])
    else:
        show_written(made, out, as_json)


def names(given: Sequence[str] | None) -> list[str] | None:
    """The names of an option that may be repeated or hold several with commas between."""
    found = [name.strip() for text in given or () for name in text.split(",")]
    return [name for name in found if name] or None


def _made(book: Ledger, name: str, as_of: Any, known_at: Any, options: dict[str, Any]) -> Any:
    from tracker import statements as s

    makers: dict[str, tuple[Callable[..., Any], tuple[str, ...]]] = {
        "day": (s.day_statement, ()),
        "progress": (s.progress_statement, ()),
        "movements": (s.movements_statement, ("since", "grain")),
        "carbon": (s.carbon_statement, ("since", "factor_year", "fixed_kgco2e")),
        "spoil": (s.spoil_statement, ("since",)),
        "balance": (s.balance_statement, ("since", "grain")),
        "reconciliation": (s.reconciliation_statement, ("since",)),
        "gate": (s.gate_statement, ("since",)),
        "capacity": (s.capacity_statement, ("since",)),
        "exceptions": (s.exceptions_statement, ()),
        "forecast": (s.forecast_statement, ("leave_out", "backtest", "walks", "seed")),
        "delays": (s.delays_statement, ("since",)),
        "holds": (s.holds_statement, ()),
    }
    make, takes = makers[name]
    for option, value in options.items():
        if value is not None and option not in takes:
            fit = [other for other, (_, of_other) in makers.items() if option in of_other]
            raise InputError(
                f"--{_OPTIONS.get(option, option)} says nothing of {name}; it is for"
                f" {', '.join(fit)}. Leave it out."
            )
    given = {option: options[option] for option in takes if options[option] is not None}
    return make(book, as_of, known_at=known_at, **given)


def show_written(made: Any, out: Path, as_json: bool) -> None:
    """Write a statement to a file of the format that its name ends in, and say so."""
    written = _written(made, out)
    show({"file": str(out), "bytes": written}, as_json, [f"Wrote {out} ({written:,} bytes)."])


def _written(made: Any, out: Path) -> int:
    from tracker.statements.export import to_csv, to_json, to_xlsx

    suffix = out.suffix.lower()
    if suffix == ".xlsx":
        data = to_xlsx(made)
    elif suffix in (".csv", ".json"):
        data = (to_csv if suffix == ".csv" else to_json)(made).encode("utf-8")
    else:
        raise InputError(f"“{out.name}” says no format: end it in .csv, .xlsx or .json.")
    try:
        out.write_bytes(data)
    except OSError as error:
        raise InputError(f"Cannot write {out}: {error.strerror}. Give another place.") from None
    return len(data)


@spoken
def history(entry_id: EntryId, ledger: LedgerPlace = PLACE, as_json: AsJson = False) -> None:
    """Show every version of an entry: who wrote what, when and why."""
    from tracker.statements import history_statement
    from tracker.statements.export import as_data

    found = history_statement(opened(ledger), entry_id)
    lines = [
        f"{line.recorded_at:%Y-%m-%d %H:%M} UTC  {line.action} by {line.recorded_by}: {line.what}"
        + (f" — {line.reason}" if line.reason else "")
        + f"  [{line.entry_id}]"
        for line in found.lines
    ]
    show(as_data(found), as_json, lines)
