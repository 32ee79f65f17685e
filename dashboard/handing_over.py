"""How a file comes from the browser: as it is, in one request of its own."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import Any

from dash import Dash, html
from flask import request

from dashboard.at_work import FilesAtWork
from tracker.errors import InputError


@dataclass(frozen=True, slots=True)
class Handing:
    """How one page takes its files.

    `prefix` is that of the page's ids, `kinds` what a file may be for, `sender` who sends such
    files and `too_large` what to do with one above `most_mb`.
    """

    address: str
    prefix: str
    kinds: tuple[str, ...]
    most_mb: int
    sender: str
    too_large: str


def register_handing_over(app: Dash, handing: Handing, works: FilesAtWork) -> None:
    """Take files; the guard has checked the token of the page before."""

    def take_file() -> tuple[dict[str, Any], int]:
        try:
            return handed_over(handing, works), 200
        except InputError as error:
            return {"refused": str(error)}, 400

    app.server.add_url_rule(handing.address, handing.address, take_file, methods=["POST"])


def handed_over(handing: Handing, works: FilesAtWork) -> dict[str, Any]:
    """Keep the file of the request under the token it names; gives the token and the name.

    Raises InputError for a file that is too large, empty, or of no known kind.
    """
    kind, name = request.args.get("kind", ""), request.args.get("name", "")
    if kind not in handing.kinds:
        raise InputError(f"“{kind}” is no kind of file that this page takes.")
    size = request.content_length or 0
    if size > handing.most_mb * 1_000_000:
        raise InputError(f"{name} is {large_words(handing)}")
    if not size:
        raise InputError(f"{name} is empty. Choose the file that {handing.sender} sent.")
    work = works.opened(request.args.get("work", ""))
    path = work.place(kind, name)
    with path.open("wb") as file:
        shutil.copyfileobj(request.stream, file)
    return {"work": work.token, "name": path.name}


def large_words(handing: Handing) -> str:
    """That a file is too large for a page, and what to do with it."""
    return f"larger than {handing.most_mb} MB, more than this page takes. {handing.too_large}"


def file_field(handing: Handing, id: str, kind: str, label: str, help: str) -> html.Div:
    """A file to choose; the browser puts its own control in, with its own keyboard."""
    control = f"{id}-file"
    data = {
        "data-kind": kind,
        "data-control": control,
        "data-address": handing.address,
        "data-prefix": handing.prefix,
        "data-most-mb": str(handing.most_mb),
        "data-too-large": large_words(handing),
    }
    return html.Div(
        [
            html.Label(label, htmlFor=control, className="field-label"),
            html.P(help, className="field-help"),
            html.Div(id=id, className="file-place", **data),
        ]
    )
