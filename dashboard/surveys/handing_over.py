"""How a file of points comes from the browser: as it is, in one request of its own."""

from __future__ import annotations

import shutil
from typing import Any

from dash import Dash
from flask import request

from dashboard.desk import Desk
from tracker.errors import InputError

ADDRESS = "/survey-file"
KINDS = ("points", "boundary", "control", "earlier")
MOST_MB = 40


def register_handing_over(app: Dash, desk: Desk) -> None:
    """Take files; the guard has checked the token of the page before."""

    @app.server.post(ADDRESS)
    def take_file() -> tuple[dict[str, Any], int]:
        try:
            return handed_over(desk), 200
        except InputError as error:
            return {"refused": str(error)}, 400


def handed_over(desk: Desk) -> dict[str, Any]:
    """Keep the file of the request under the token it names; gives the token and the name.

    Raises InputError for a file that is too large, empty, or of no known kind.
    """
    kind, name = request.args.get("kind", ""), request.args.get("name", "")
    if kind not in KINDS:
        raise InputError(f"“{kind}” is no kind of file that a survey has.")
    size = request.content_length or 0
    if size > MOST_MB * 1_000_000:
        raise InputError(too_large(name))
    if not size:
        raise InputError(f"{name} is empty. Choose the file that the surveyor sent.")
    work = desk.work.opened(request.args.get("work", ""))
    path = work.place(kind, name)
    with path.open("wb") as file:
        shutil.copyfileobj(request.stream, file)
    return {"work": work.token, "name": path.name}


def too_large(name: str) -> str:
    """What to do with a file that this page does not take."""
    return (
        f"{name} is larger than {MOST_MB} MB, more than this page takes. Record it with the command"
        " spoil survey import on the machine of the ledger: it takes files of any size."
    )
