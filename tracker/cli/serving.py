"""Commands that open the dashboard: demo and serve."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tracker.cli.answers import show, spoken
from tracker.cli.places import PLACE, AsJson, AsOf, By, LedgerPlace, a_day, opened
from tracker.errors import InputError

if TYPE_CHECKING:
    from tracker.ledger.store import Ledger

Port = Annotated[int, typer.Option(metavar="PORT", min=1, max=65535, help="Port of the dashboard.")]
Host = Annotated[str, typer.Option(metavar="ADDRESS", help="Loopback only, for now.")]
DEMO_PLACE = "demo.sqlite"


def add_to(app: typer.Typer) -> None:
    """Add the commands to the command line."""
    app.command(epilog="Example: spoil demo")(demo)
    app.command(epilog="Example: spoil serve --ledger site.sqlite --port 8050")(serve)


@spoken
def demo(
    ledger: LedgerPlace = DEMO_PLACE,
    port: Port = 8050,
    no_serve: Annotated[
        bool, typer.Option("--no-serve", help="Build the ledger, print the headlines, stop.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Build the invented demonstration site and open its dashboard."""
    from tracker.recording.demo import DEMO_DAY, build_demo

    book = opened(ledger, create=True)
    said = build_demo(book)
    headlines = _headlines(book, DEMO_DAY)
    address = None if no_serve else _address("127.0.0.1", port)
    show(
        {"ledger": ledger, "as_of": DEMO_DAY.isoformat(), **headlines, "dashboard": address},
        as_json,
        [*said, f"Demonstration ledger: {ledger}, as of {DEMO_DAY}. The site is invented.", ""]
        + [f"{who.replace('_', ' ').capitalize()}: {line}" for who, line in headlines.items()]
        + ([f"Dashboard: {address} (stop with Ctrl+C)."] if address else []),
    )
    if not no_serve:
        _serve(book, "127.0.0.1", port, DEMO_DAY, "")


def _headlines(book: Ledger, day: date) -> dict[str, str]:
    """The headline of each of the three users."""
    from tracker.statements import (
        carbon_statement,
        day_statement,
        movements_statement,
        progress_statement,
    )

    movements = movements_statement(book, day, grain="total")
    return {
        "site_team": day_statement(book, day).headline,
        "sustainability_lead": f"{movements.claim} {carbon_statement(book, day).headline}",
        "project_manager": _progress_headline(progress_statement(book, day)),
    }


def _progress_headline(statement: Any) -> str:
    return " ".join(
        f"{e.name}: {e.dug_net_m3:,.0f} of {e.design_bank_m3:,.0f} m³ dug"
        f" ({100 * e.dug_net_m3 / e.design_bank_m3:.0f} %), {e.stages_reached} of {e.stages_total}"
        f" stages reached and {e.stages_released} released, {e.accepted_m2:,.0f} of"
        f" {e.formation_m2:,.0f} m² of formation accepted."
        for e in statement.excavations
    )


@spoken
def serve(
    ledger: LedgerPlace = PLACE,
    host: Host = "127.0.0.1",
    port: Port = 8050,
    as_of: AsOf = "",
    by: By = "",
    as_json: AsJson = False,
) -> None:
    """Serve the dashboard of a ledger on this machine."""
    book, day = opened(ledger), a_day("--as-of", as_of)
    address = _address(host, port)
    show(
        {"ledger": ledger, "dashboard": address},
        as_json,
        [f"Dashboard: {address} (stop with Ctrl+C)."],
    )
    _serve(book, host, port, day, by.strip())


def _address(host: str, port: int) -> str:
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def _serve(book: Ledger, host: str, port: int, day: date | None, user: str) -> None:
    from importlib import import_module

    # By name: the tracker may not depend on the dashboard, which stands on it.
    dashboard = import_module("dashboard.app")
    app = dashboard.create_app(book, today=lambda: day or _today_on(book), user=user)
    try:
        dashboard.serve(app, host, port)
    except OSError as error:
        raise InputError(
            f"Port {port} of {host} cannot be opened ({error.strerror}). Give another with --port."
        ) from None


def _today_on(book: Ledger) -> date:
    """Today by the clocks of the site; by UTC while there is no set-up."""
    from tracker.domain.calendar import local_time
    from tracker.errors import NotEnoughData

    try:
        return local_time(book.now(), book.site().time_zone).date()
    except NotEnoughData:
        return book.now().date()
