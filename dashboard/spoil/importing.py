"""A file of records of spoil: looked at first, then recorded, both in the background."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx, dcc, html, no_update

from dashboard.at_work import DONE, REFUSED, Progress, Work
from dashboard.components import block, button, choice, slot, text_field
from dashboard.controls import pressed
from dashboard.desk import Desk
from dashboard.forms.fields import RECORDS
from dashboard.handing_over import Handing, file_field, register_handing_over
from dashboard.ids import Shell, SpoilImport
from dashboard.spoil.import_report import report_parts
from dashboard.writing import NO_NAME, refusal
from tracker.errors import InputError, TrackerError
from tracker.recording.columns import KINDS
from tracker.recording.files import ImportReport, import_file, write_rejected
from tracker.recording.templates import template

TICK_MS = 700
GONE = "The file is not on the server any more. Choose it again, then check it."
HANDING = Handing(
    address="/records-file",
    prefix="import",
    kinds=("records", "mapping"),
    most_mb=15,
    sender="they",
    too_large="Record it with the command spoil import on the machine of the ledger: it takes"
    " files of any size.",
)
FILE_STORES = {"storage_type": "session"}  # of this tab only
KEPT = {"persistence": True, "persistence_type": "session"}


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of a file, and whether its good rows are recorded or were only looked at."""

    report: ImportReport
    is_recorded: bool


def import_parts(kind: str) -> list[Any]:
    """The form of a file, what is found in it, and the stores of this tab."""
    kinds = [{"value": name, "label": KINDS[name].title} for name in RECORDS]
    return [
        dcc.Store(id=SpoilImport.HANDED, **FILE_STORES),
        dcc.Store(id=SpoilImport.WORK, **FILE_STORES),
        dcc.Interval(id=SpoilImport.TICK, interval=TICK_MS),
        html.P(
            "A file is first checked and nothing is recorded. Then its good rows go in; rows that"
            " are there already are left alone; the others come back with their reasons."
        ),
        html.Div(
            [
                choice(SpoilImport.KIND, "What the file holds", data=kinds, value=kind),
                file_field(
                    HANDING,
                    SpoilImport.FILE,
                    "records",
                    "File",
                    f"CSV or XLSX with one row a record, up to {HANDING.most_mb} MB",
                ),
                _mapping(),
                html.Div(
                    [button("Check the file", SpoilImport.LOOK, main=True)], className="buttons"
                ),
            ],
            className="form",
        ),
        slot(SpoilImport.SAID),
        slot(SpoilImport.REPORT),
        _saving(),
        slot(SpoilImport.SAVED),
        _templates(),
        dcc.Download(id=SpoilImport.DOWNLOAD),
    ]


def _mapping() -> html.Details:
    return html.Details(
        [
            html.Summary("The file has other headings"),
            file_field(
                HANDING,
                SpoilImport.MAPPING,
                "mapping",
                "Mapping file",
                "TOML that says which of its columns stands for which of ours",
            ),
        ],
        className="rows",
    )


def _saving() -> html.Div:
    return html.Div(
        [
            text_field(SpoilImport.BY, "Your name or initials", "recorded under this name", **KEPT),
            html.Div(
                button("Record the good rows", SpoilImport.SAVE, main=True), className="buttons"
            ),
        ],
        id=SpoilImport.SAVE_BLOCK,
        className="form survey-save",
        hidden=True,
    )


def _templates() -> html.Section:
    buttons = [
        button(words, {"type": SpoilImport.TEMPLATE, "format": name})
        for name, words in (("csv", "CSV"), ("xlsx", "Workbook (XLSX)"))
    ]
    return block(
        "A file to fill in",
        html.P("The columns of what is chosen above, with a line of help under each heading."),
        html.Div(buttons, className="buttons"),
    )


def register_importing(app: Dash, desk: Desk) -> None:
    """Wire the form of a file."""
    register_handing_over(app, HANDING, desk.imports)
    _register_browser(app)
    _register_looking(app, desk)
    _register_saving(app, desk)
    _register_downloads(app, desk)


def _register_browser(app: Dash) -> None:
    app.clientside_callback(ClientsideFunction("files", "place"), Input(SpoilImport.HANDED, "data"))
    app.clientside_callback(
        ClientsideFunction("files", "arrive"), Input(SpoilImport.REPORT, "children")
    )
    app.clientside_callback(
        ClientsideFunction("files", "answer"),
        Input(SpoilImport.SAID, "children"),
        Input(SpoilImport.SAVED, "children"),
    )
    app.clientside_callback(
        ClientsideFunction("files", "unlooked"),
        Output(SpoilImport.REPORT, "children", allow_duplicate=True),
        Output(SpoilImport.SAVE_BLOCK, "hidden", allow_duplicate=True),
        Output(SpoilImport.WORK, "data", allow_duplicate=True),
        Input(SpoilImport.KIND, "value"),
        prevent_initial_call=True,
    )


def _register_looking(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(SpoilImport.WORK, "data"),
        Output(SpoilImport.TICK, "disabled"),
        Output(SpoilImport.SAID, "children"),
        Output(SpoilImport.REPORT, "children", allow_duplicate=True),
        Output(SpoilImport.SAVE_BLOCK, "hidden", allow_duplicate=True),
        Output(SpoilImport.SAVED, "children", allow_duplicate=True),
        Input(SpoilImport.LOOK, "n_clicks"),
        State(SpoilImport.HANDED, "data"),
        State(SpoilImport.KIND, "value"),
        prevent_initial_call=True,
    )
    def look(clicks: int | None, handed: dict[str, str] | None, kind: str):
        pressed(clicks)
        try:
            work = looked_at(desk, (handed or {}).get("work", ""), kind)
        except TrackerError as error:
            return None, True, refusal(str(error)), None, True, None
        return work.token, False, progress_part(work, "Checking"), None, True, None

    @app.callback(
        output=TICKED,
        inputs=(Input(SpoilImport.TICK, "n_intervals"), State(SpoilImport.WORK, "data")),
        prevent_initial_call=True,
    )
    def tick(_n: int, token: str | None):
        return dict.fromkeys(TICKED, no_update) | found(desk, token)


TICKED = {
    "said": Output(SpoilImport.SAID, "children", allow_duplicate=True),
    "report": Output(SpoilImport.REPORT, "children"),
    "locked": Output(SpoilImport.SAVE_BLOCK, "hidden"),
    "still": Output(SpoilImport.TICK, "disabled", allow_duplicate=True),
    "changed": Output(Shell.CHANGED, "data", allow_duplicate=True),
}


def _register_saving(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(SpoilImport.SAVED, "children"),
        Output(SpoilImport.SAVE_BLOCK, "hidden", allow_duplicate=True),
        Output(SpoilImport.TICK, "disabled", allow_duplicate=True),
        Input(SpoilImport.SAVE, "n_clicks"),
        State(SpoilImport.WORK, "data"),
        State(SpoilImport.BY, "value"),
        prevent_initial_call=True,
    )
    def save(clicks: int | None, token: str | None, by: str | None):
        pressed(clicks)
        refused = started(desk, token or "", (by or "").strip())
        return refused, no_update if refused else True, False

    @app.callback(
        Output(SpoilImport.BY, "value"),
        Input(SpoilImport.TICK, "id"),
        State(Shell.LAST, "data"),
        State(SpoilImport.BY, "value"),
    )
    def open_name(_id: str, last: dict | None, typed: str | None):
        return typed or (last or {}).get("by") or desk.user


def _register_downloads(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(SpoilImport.DOWNLOAD, "data"),
        Input({"type": SpoilImport.TEMPLATE, "format": ALL}, "n_clicks"),
        State(SpoilImport.KIND, "value"),
        prevent_initial_call=True,
    )
    def send_template(clicks: list[int | None], kind: str):
        pressed(max((n or 0 for n in clicks), default=0))
        return template_file(kind, ctx.triggered_id["format"])

    @app.callback(
        Output(SpoilImport.DOWNLOAD, "data", allow_duplicate=True),
        Input({"type": SpoilImport.REJECTED, "work": ALL}, "n_clicks"),
        prevent_initial_call=True,
    )
    def send_rejected(clicks: list[int | None]):
        pressed(max((n or 0 for n in clicks), default=0))
        return rejected_file(desk, ctx.triggered_id["work"])


# --- what each step answers ----------------------------------------------------------------------
def looked_at(desk: Desk, token: str, kind: str) -> Work:
    """Begin to check what was handed over, recording nothing. Raises InputError without a file."""
    work = desk.imports.found(token)
    if token and work is None:
        raise InputError(GONE)
    if work is None or "records" not in work.files:
        raise InputError("Choose the file first.")
    desk.imports.start(work, partial(taken_in, desk, work, kind, ""))
    return work


def started(desk: Desk, token: str, by: str) -> html.Div | None:
    """Begin to record the good rows, once however often it is pressed; or why not."""
    work = desk.imports.found(token)
    if work is None:
        return refusal(GONE)
    if not by:
        return refusal(f"{NO_NAME} Nothing is recorded.")
    with work.lock:
        if work.state == DONE and not work.examined.is_recorded:
            kind = work.examined.report.kind
            desk.imports.start(work, partial(taken_in, desk, work, kind, by))
    return None


def taken_in(desk: Desk, work: Work, kind: str, by: str, progress: Progress) -> Imported:
    """Record the file under a name; without one only look what would be recorded."""
    report = import_file(
        desk.ledger,
        kind,
        work.files["records"],
        by=by or "nobody: a look",
        mapping=work.files.get("mapping"),
        dry_run=not by,
        progress=lambda done, of: progress(done, of or 0),
    )
    return Imported(report, bool(by))


def found(desk: Desk, token: str | None) -> dict[str, Any]:
    """How far the file is, what was refused, or what was found; the rest stays as it is."""
    if not token:
        return {"still": True}
    work = desk.imports.found(token)
    if work is None:
        return {"said": refusal(GONE), "report": None, "locked": True, "still": True}
    if work.state == REFUSED:
        return {"said": refusal(work.refusal), "report": None, "locked": True, "still": True}
    if work.state != DONE:
        return {"said": progress_part(work, "Working"), "still": not work.is_under_way}
    done: Imported = work.examined
    return {
        "said": None,
        "report": report_parts(done.report, done.is_recorded, work.token),
        "locked": done.is_recorded or not done.report.recorded,
        "still": True,
        "changed": work.token if done.is_recorded else no_update,
    }


def progress_part(work: Work, verb: str) -> html.Div:
    """How many rows are done; the page can be left meanwhile."""
    done, of = work.done, work.of
    words = f"{verb}: {done:,} of {of:,} rows." if of else f"{verb}: {done:,} rows."
    bar = html.Progress(value=str(done), max=str(of)) if of else html.Progress()
    return html.Div(
        [html.P(f"{words} You can leave this page and come back in this tab."), bar],
        role="status",
        className="at-work",
    )


def template_file(kind: str, suffix: str) -> dict[str, Any]:
    """An empty file of a kind, with its line of help, as a download."""
    with TemporaryDirectory() as folder:
        path = template(kind, Path(folder) / f"{kind}.{suffix}")
        return dcc.send_bytes(path.read_bytes(), path.name)


def rejected_file(desk: Desk, token: str) -> dict[str, Any]:
    """The rows that stayed out, as they came, after their reasons. Raises InputError."""
    work = desk.imports.found(token)
    if work is None or work.examined is None:
        raise InputError(GONE)
    report = work.examined.report
    path = work.folder / "rejected.csv"
    write_rejected(report, path)
    return dcc.send_bytes(path.read_bytes(), f"{report.kind}_rejected.csv")
