"""Surveys in the ledger: import after a look at the report, list, show, held to the returns."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tracker.cli.answers import level, number, show, spoken, table
from tracker.cli.bars import reading_bar
from tracker.cli.places import (
    PLACE,
    AsJson,
    AsOf,
    By,
    KnownAt,
    LedgerPlace,
    Reason,
    a_moment,
    a_work_date,
    named_by,
    opened,
)
from tracker.cli.statements import Out, show_written
from tracker.cli.volume import (
    DatumU,
    FilterGround,
    Order,
    Shift,
    Sigma,
    Thin,
    Unit,
    WallU,
    thin_cell_m,
)
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.domain.surface.region import Floats
    from tracker.ledger.store import Ledger
    from tracker.recording.surveys import Examined, SurveyQuestions, ZoneFound

CAUTION = "Levels are as surveyed; the permit on site and the temporary works coordinator govern."

Points = Annotated[
    Path, typer.Argument(metavar="POINTS", help="A .csv, .txt, .las, .laz, .xml or .dxf file.")
]
Name = Annotated[str, typer.Argument(metavar="SURVEY", help="Its name; the last one if empty.")]
NewName = Annotated[str, typer.Option("--survey", metavar="NAME", help="Name of the survey.")]
Excavation = Annotated[
    str, typer.Option(metavar="NAME", help="Of the set-up; the first one if empty.")
]
At = Annotated[
    str, typer.Option("--surveyed-at", metavar="MOMENT", help="Local, such as 2026-10-17T10:00.")
]
Method = Annotated[str, typer.Option(metavar="TEXT", help="How it was measured.")]
Datum = Annotated[str, typer.Option(metavar="NAME", help="Of the file's levels: site or national.")]
Boundary = Annotated[
    Path | None, typer.Option(metavar="RING", help="Of a survey of a part: a CSV of corners E,N.")
]
Control = Annotated[
    Path | None, typer.Option(metavar="RING", help="Ground that nobody dug: held to --earlier.")
]
Earlier = Annotated[
    Path | None,
    typer.Option(metavar="POINTS", help="File of the survey before: a part is laid over it."),
]
Ground = Annotated[
    bool, typer.Option("--original-ground", help="The ground before digging: volumes start at it.")
]
Accept = Annotated[bool, typer.Option("--accept", help="Record it; the report was read before.")]
Since = Annotated[
    str, typer.Option(metavar="SURVEY", help="Volumes since that one; else from the ground.")
]
Amber = Annotated[str | None, typer.Option(metavar="PERCENT", help="State this limit from now on.")]
Red = Annotated[str | None, typer.Option(metavar="PERCENT", help="State this limit from now on.")]


def add_to(app: typer.Typer) -> None:
    """Add the group of commands to the command line."""
    group = typer.Typer(
        no_args_is_help=True,
        help="Surveyed ground: import points, list surveys, hold them against the returns.",
        epilog=CAUTION,
    )
    group.command(
        "import",
        epilog="Example: spoil survey import october.csv --survey SV4 --excavation box"
        f" --surveyed-at 2026-10-17T10:00 --order ENZ --filter-ground. {CAUTION}",
    )(import_)
    group.command("list", epilog="Example: spoil survey list --excavation box")(list_)
    group.command("show", epilog="Example: spoil survey show SV4 --since SV3 --json")(show_)
    group.command("check", epilog="Example: spoil survey check SV4 --amber 2 --red 4")(check)
    app.add_typer(group, name="survey")


@spoken
def import_(
    points: Points,
    survey: NewName,
    surveyed_at: At,
    excavation: Excavation = "",
    method: Method = "scan",
    order: Order = "",
    unit: Unit = "m",
    datum: Datum = "site",
    datum_shift: Shift = "0",
    thin: Thin = None,
    filter_ground: FilterGround = False,
    original_ground: Ground = False,
    boundary: Boundary = None,
    control: Control = None,
    earlier: Earlier = None,
    u_point: Sigma = "0.01",
    u_datum: DatumU = "0.01",
    u_wall: WallU = "0.01",
    accept: Accept = False,
    reason: Reason = "",
    ledger: LedgerPlace = PLACE,
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Examine points, show the report, record once accepted.

    Nothing is recorded without --accept, or a yes when asked. A red gate also needs --reason.
    """
    from tracker.domain.surface.uncertainty import Accuracy
    from tracker.recording.surveys import SurveyQuestions

    book = opened(ledger)
    sigma_m, datum_m = number("--u-point", u_point), number("--u-datum", u_datum)
    asked = SurveyQuestions(
        path=points,
        survey=survey,
        excavation=excavation or book.site().excavations[0].excavation,
        surveyed_at=surveyed_at,
        method=method,
        order=order,
        unit=unit,
        datum=datum,
        datum_shift_m=level("--datum-shift", datum_shift),
        thin_m=thin_cell_m(thin),
        filter_ground=filter_ground,
        original_ground=original_ground,
        boundary=_ring(boundary),
        control=_ring(control),
        earlier=earlier,
        accuracy=Accuracy(sigma_m, datum_m, number("--u-wall", u_wall)),
    )
    _look_and_record(book, asked, accept, reason, named_by(by), as_json)


def _look_and_record(
    book: Ledger, asked: SurveyQuestions, accept: bool, reason: str, by: str, as_json: bool
) -> None:
    """The report first; then, if it is accepted, the record."""
    from tracker.recording.surveys import examine_survey, record_survey

    with reading_bar(asked.path) as progress:
        examined = examine_survey(book, asked, progress=progress)
    if not as_json:
        for line in _report(examined):
            typer.echo(line)
    may_ask = not (accept or as_json) and _somebody_there()
    entry = None
    if accept or (may_ask and typer.confirm("Record this survey?")):
        entry = record_survey(book, examined, by=by, reason=reason)
    said = (
        f"Recorded survey {asked.survey} as entry {entry}."
        if entry
        else "Nothing is recorded yet. If the report holds, run this again with --accept."
    )
    show(_data(examined, entry), as_json, ["", said])


def _somebody_there() -> bool:
    return sys.stdin.isatty()


def _ring(path: Path | None) -> Floats | None:
    from tracker.recording.points.areas import read_outline

    if path is None:
        return None
    rings = read_outline(path)
    if len(rings) > 1:
        raise InputError(f"{path.name} has {len(rings)} rings; one is wanted.")
    return rings[0]


def _report(examined: Examined) -> list[str]:
    """What should be read before the survey is accepted."""
    from tracker.cli.survey_lines import coverage_lines

    report = examined.report
    rows = [
        [
            zone.zone,
            "whole" if zone.dug is not None else "part",
            _volume(zone),
            f"{zone.lowest_level_m:.3f}",
        ]
        for zone in examined.zones
    ]
    entry = examined.surface
    return [
        f"Survey {entry.survey} of {entry.excavation} from {entry.source} (SHA-256"
        f" {entry.sha256[:12]}…)",
        *coverage_lines(
            report.coverage,
            report.points_used,
            report.points_in,
            report.rejected,
            report.second_method_difference_percent,
        ),
        *(f"{f.severity.capitalize()}: {f.message}" for f in report.findings),
        *report.notes,
        "",
        *table(["zone", "covered", "dug m³ bank ± 2u", "lowest m"], rows),
        *(f"{problem.rule or 'Note'}: {problem.message}" for problem in examined.problems),
        CAUTION,
    ]


def _volume(zone: ZoneFound) -> str:
    total = zone.total
    if total is None:
        return "–"
    return f"{total.net_m3:,.1f} ± {total.uncertainty.expanded_m3:,.1f}"


def _data(examined: Examined, entry: str | None) -> dict[str, Any]:
    from dataclasses import asdict

    report = examined.report
    return {
        "recorded": entry is not None,
        "entry_id": entry,
        "survey": examined.surface.survey,
        "excavation": examined.surface.excavation,
        "sha256": examined.surface.sha256,
        "column_order": examined.surface.column_order,
        **asdict(report),
        "zones": [
            {
                "zone": zone.zone,
                "covered": "part" if zone.dug is None else "whole",
                "dug_m3": None if zone.total is None else zone.total.net_m3,
                "u_dug_m3": None if zone.total is None else zone.total.uncertainty.combined_m3,
                "lowest_level_m": zone.lowest_level_m,
            }
            for zone in examined.zones
        ],
        "warnings": [problem.message for problem in examined.problems],
    }


@spoken
def list_(
    excavation: Excavation = "",
    as_of: AsOf = "",
    known_at: KnownAt = "",
    ledger: LedgerPlace = PLACE,
    as_json: AsJson = False,
) -> None:
    """List the surveys of an excavation, or of all, newest first."""
    from dataclasses import asdict

    from tracker.cli.survey_lines import survey_rows
    from tracker.statements import survey_list

    book = opened(ledger)
    day, moment = a_work_date("--as-of", as_of, book), a_moment("--known-at", known_at, book)
    found = survey_list(book, day, excavation=excavation, known_at=moment)
    lines = survey_rows(found) if found else ["No survey is recorded yet: `spoil survey import`."]
    show({"surveys": [asdict(one) for one in found]}, as_json, lines)


@spoken
def show_(
    survey: Name = "",
    excavation: Excavation = "",
    since: Since = "",
    as_of: AsOf = "",
    known_at: KnownAt = "",
    out: Out = None,
    ledger: LedgerPlace = PLACE,
    as_json: AsJson = False,
) -> None:
    """State a survey: volumes, quality, returns beside them.

    By zone, dig stage and level band, from the ground or since an earlier survey.
    """
    from tracker.cli.lines import statement_lines
    from tracker.statements import survey_statement
    from tracker.statements.export import as_data

    book = opened(ledger)
    made = survey_statement(
        book,
        a_work_date("--as-of", as_of, book),
        excavation=excavation,
        survey=survey,
        since=since,
        known_at=a_moment("--known-at", known_at, book),
    )
    if out is None:
        show(as_data(made), as_json, statement_lines(made))
    else:
        show_written(made, out, as_json)


@spoken
def check(
    survey: Name = "",
    excavation: Excavation = "",
    amber: Amber = None,
    red: Red = None,
    reason: Reason = "",
    ledger: LedgerPlace = PLACE,
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Hold a survey against the returns; state limits.

    The returns are those of shifts that ended by its moment. With --amber or --red, by new limits.
    """
    from dataclasses import asdict

    from tracker.cli.survey_lines import check_lines
    from tracker.recording.surveys import state_limits
    from tracker.statements import survey_statement

    book = opened(ledger)
    day = a_work_date("--as-of", "", book)
    made = survey_statement(book, day, excavation=excavation, survey=survey)
    if amber is not None or red is not None:
        state_limits(
            book,
            made.excavation,
            made.survey,
            amber_percent=None if amber is None else number("--amber", amber),
            red_percent=None if red is None else number("--red", red),
            reason=reason,
            by=named_by(by),
        )
        made = survey_statement(book, day, excavation=made.excavation, survey=made.survey)
    data = {
        "excavation": made.excavation,
        "survey": made.survey,
        "amber_percent": made.amber_percent,
        "red_percent": made.red_percent,
        "total": asdict(made.total),
        "volumes": [asdict(line) for line in made.volumes],
    }
    show(data, as_json, check_lines(made))
