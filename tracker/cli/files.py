"""Commands that bring files in and take them out: init, import, template, export, rebuild."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tracker.cli.answers import show, spoken
from tracker.cli.places import PLACE, AsJson, By, LedgerPlace, a_day, named_by, opened
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.errors import Problem
    from tracker.recording.files import ImportReport

_SHOWN = 20  # problems printed; the rest are in the file of rejected rows

KindName = Annotated[
    str,
    typer.Argument(
        metavar="KIND",
        help="returns, belt, loads, stock, holds, surveys, receipts, baseline or closures.",
    ),
]
File = Annotated[Path, typer.Argument(metavar="FILE", help="A .csv or .xlsx file.")]
SetupPlace = Annotated[
    Path | None,
    typer.Option("--setup", metavar="PLACE", help="Folder of CSV tables, or one workbook."),
]
Mapping = Annotated[
    Path | None,
    typer.Option(metavar="TOML", help="Says which of the file's columns is which of ours."),
]
Strict = Annotated[bool, typer.Option("--strict", help="All rows or none.")]
Rejected = Annotated[
    Path | None,
    typer.Option(metavar="CSV", help="Where rejected rows go; beside the file if left out."),
]
Out = Annotated[Path | None, typer.Option(metavar="FILE", help="A .csv or .xlsx file to write.")]


def add_to(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    app.command(epilog="Example: spoil init --setup my-site/ --ledger site.sqlite")(init)
    app.command("import", epilog="Example: spoil import loads october.xlsx --strict")(import_)
    app.command(epilog="Example: spoil template returns --out returns.xlsx")(template)
    app.command(epilog="Example: spoil export loads --out loads.csv")(export)
    app.command(epilog="Example: spoil rebuild --ledger site.sqlite")(rebuild)


@spoken
def init(
    ledger: LedgerPlace = PLACE,
    setup: SetupPlace = None,
    title: Annotated[str, typer.Option(help="Name of this revision of the set-up.")] = "",
    in_force_from: Annotated[
        str, typer.Option("--from", metavar="DATE", help="Work date from which it holds.")
    ] = "",
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Make a ledger, or adopt a new revision of the set-up in one that exists."""
    from tracker.recording.setup import adopt_setup

    effective = a_day("--from", in_force_from)
    book = opened(ledger, create=True)
    if setup is None:
        show({"ledger": ledger, "revision": None}, as_json, [f"{ledger} is ready, without set-up."])
        return
    adopted = adopt_setup(
        book, setup, effective_date=effective, title=title or setup.stem, by=named_by(by)
    )
    if adopted.revision is None:
        _refuse(adopted.problems, as_json, "The set-up has problems; nothing was adopted.")
    data = {
        "ledger": ledger,
        "revision": adopted.revision,
        "problems": [str(p) for p in adopted.problems],
    }
    lines = [f"Set-up adopted in {ledger} (revision {adopted.revision})."]
    show(data, as_json, [*lines, *_shown(adopted.problems)])


@spoken
def import_(
    kind: KindName,
    file: File,
    ledger: LedgerPlace = PLACE,
    mapping: Mapping = None,
    strict: Strict = False,
    rejected: Rejected = None,
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Bring a file in: good rows are recorded, bad rows are listed and written out to mend."""
    from tracker.recording.files import import_file, write_rejected

    book = opened(ledger)
    if rejected is not None and not rejected.parent.is_dir():
        raise InputError(f"There is no folder {rejected.parent} for --rejected. Give another.")
    with _bar(f"Importing {file.name}", quiet=as_json) as progress:
        report = import_file(
            book, kind, file, by=named_by(by), mapping=mapping, strict=strict, progress=progress
        )
    kept = None
    if report.rejected_rows:
        kept = rejected or file.with_name(f"{file.stem}.rejected.csv")
        write_rejected(report, kept)
    show(_reported(report, kept), as_json, _report_lines(report, kept))
    nothing_in = report.rejected_rows and not report.recorded and not report.already
    if nothing_in or (strict and any(p.severity == "error" for p in report.problems)):
        raise typer.Exit(2)


def _reported(report: ImportReport, kept: Path | None) -> dict[str, Any]:
    return {
        "kind": report.kind,
        "file": str(report.file),
        "rows": report.rows,
        "recorded": report.recorded,
        "already": report.already,
        "rejected": len(report.rejected_rows),
        "rejected_file": None if kept is None else str(kept),
        "problems": [
            {
                "row": p.row,
                "field": p.field,
                "value": p.value,
                "severity": p.severity,
                "message": p.message,
            }
            for p in report.problems
        ],
    }


def _report_lines(report: ImportReport, kept: Path | None) -> list[str]:
    lines = [
        f"{report.file}: {report.rows:,} rows, {report.recorded:,} recorded,"
        f" {report.already:,} there already, {len(report.rejected_rows):,} rejected."
    ]
    lines += _shown(report.problems)
    if kept is not None:
        lines.append(f"Mend the rejected rows in {kept} and import that file.")
    return lines


def _shown(problems: Any) -> list[str]:
    lines = [f"  {problem.severity}: {problem}" for problem in problems[:_SHOWN]]
    if len(problems) > _SHOWN:
        lines.append(f"  … and {len(problems) - _SHOWN:,} more.")
    return lines


def _refuse(problems: Sequence[Problem], as_json: bool, sentence: str) -> None:
    data = {"error": sentence, "problems": [str(p) for p in problems]}
    show(data, as_json, [])
    if not as_json:
        typer.echo("\n".join([sentence, *_shown(problems)]), err=True)
    raise typer.Exit(2)


def _bar(title: str, *, quiet: bool) -> Any:
    """A progress bar as a context that gives a callback (done, of how many or None)."""
    from contextlib import contextmanager

    from rich.console import Console
    from rich.progress import Progress

    @contextmanager
    def running() -> Any:
        console = Console(stderr=True)
        with Progress(console=console, transient=True, disable=quiet) as bar:
            task = bar.add_task(title, total=None)
            yield lambda done, of: bar.update(task, completed=done, total=of)

    return running()


@spoken
def template(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="A kind of record, or setup.")],
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Write an empty file of a kind, with a line of help under each heading."""
    from tracker.recording.templates import template as write

    place = out or Path("setup.xlsx" if kind == "setup" else f"{kind}.csv")
    write(kind, place)
    show({"kind": kind, "file": str(place)}, as_json, [f"Wrote {place}."])


@spoken
def export(
    kind: KindName,
    ledger: LedgerPlace = PLACE,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Write the current entries of a kind, in the columns in which they can be imported again."""
    from tracker.recording.templates import export_entries

    place = out or Path(f"{kind}.csv")
    count = export_entries(opened(ledger), kind, place)
    show(
        {"kind": kind, "file": str(place), "rows": count},
        as_json,
        [f"Wrote {count:,} current entries to {place}."],
    )


@spoken
def rebuild(
    ledger: LedgerPlace = PLACE,
    migrate: Annotated[bool, typer.Option("--migrate", help="Bring the schema up first.")] = False,
    guards: Annotated[bool, typer.Option("--guards", help="Put lost guards back first.")] = False,
    as_json: AsJson = False,
) -> None:
    """Count every running total anew from the entries, and say how many had been wrong."""
    if migrate or guards:
        from tracker.ledger.store import repair_ledger

        repair_ledger(ledger, migrations=migrate, guards=guards)
    counted, wrong = opened(ledger).rebuild_totals()
    show(
        {"totals": counted, "corrected": wrong},
        as_json,
        [f"{counted:,} running totals counted anew; {wrong:,} had been wrong."],
    )
