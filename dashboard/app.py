"""The application: pages in order, the guard before every request, what happens to an error."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any
from urllib.parse import parse_qsl

import dash_mantine_components as dmc
from dash import ClientsideFunction, Dash, Input, Output, State, dcc, html, set_props

from dashboard import guard
from dashboard.components import empty_state, notice, page
from dashboard.desk import Desk
from dashboard.forms.entering import register_entering
from dashboard.ids import Shell
from dashboard.pages import (
    dig_return,
    movements,
    progress,
    reconciliation,
    records,
    spoil_out,
    survey,
    today,
    what_if,
)
from dashboard.sentences import sentence_of
from tracker.errors import NotAllowed, NotEnoughData
from tracker.statements import day_statement, site_in_force

PAGES = (
    today,
    dig_return,
    spoil_out,
    progress,
    what_if,
    survey,
    reconciliation,
    movements,
    records,
)
ON_PHONE = 4  # names in the bar of a phone; the others stand behind More
THREADS = 8

INDEX = """<!DOCTYPE html>
<html lang="en-GB">
<head>
{%metas%}
<title>{%title%}</title>
<link rel="icon" type="image/svg+xml" href="/assets/icon.svg">
{%css%}
</head>
<body>
{%app_entry%}
<footer>{%config%}{%scripts%}{%renderer%}</footer>
</body>
</html>"""


def create_app(ledger: Any, *, today: Callable[[], date], user: str) -> Dash:
    """The dashboard over one ledger. `today` is the clock; `user` is who records by default."""
    desk = Desk(ledger, today, user)
    app = Dash(
        "dashboard",
        title="Spoil ledger",
        update_title="",
        index_string=INDEX,
        meta_tags=[
            {"name": "viewport", "content": "width=device-width, initial-scale=1"},
            {"name": "referrer", "content": "same-origin"},
        ],
        compress=True,
        serve_locally=True,
        add_log_handler=False,
        enable_mcp=False,
        on_error=show_error,
    )
    app.layout = shell(user)
    app.validation_layout = html.Div([app.layout, *every_layout()])
    guard.protect(app)
    _register_shell(app, desk)
    register_entering(app, desk)
    for module in PAGES:
        module.register(app, desk)
    return app


def every_layout() -> list[html.Article]:
    """The shells of all pages, also of those that an address turns into a form."""
    forms = [survey.layout(mode=survey.RECORD)]
    forms += [spoil_out.layout(record="loads"), spoil_out.layout(**{"import": "loads"})]
    return [*(module.layout() for module in PAGES), *forms]


def serve(app: Dash, host: str = "127.0.0.1", port: int = 8050) -> None:
    """Serve until stopped, to this machine only. Raises NotAllowed for any other address."""
    if host not in guard.LOOPBACK:
        raise NotAllowed(
            f"{host} is not an address of this machine. The dashboard listens on 127.0.0.1, ::1 or"
            " localhost only, until accounts exist."
        )
    import waitress

    app.server.config["SPOIL_PORT"] = port
    waitress.serve(app.server, host=host, port=port, threads=THREADS, ident=None)


def shell(user: str) -> dmc.MantineProvider:
    """What stands around every page; it holds no data, so it is never stale."""
    return dmc.MantineProvider(
        [
            dcc.Location(id=Shell.URL),
            dcc.Store(id=Shell.WIDTH),
            dcc.Store(id=Shell.CHANGED),
            dcc.Store(id=Shell.FOCUSED),
            dcc.Store(id=Shell.DRAFT, storage_type="local"),
            dcc.Store(id=Shell.LAST, storage_type="local", data={"by": user}),
            dcc.Store(id=Shell.SPOIL_DRAFTS, storage_type="local"),
            dcc.Store(id=Shell.SPOIL_LAST, storage_type="local"),
            html.A("Skip to the page", href=f"#{Shell.MAIN}", className="skip"),
            # One landmark around both: a second banner would meet the one of an open dialog.
            html.Nav(
                [html.Div(id=Shell.SITE, className="site"), navigation()],
                className="shell-header",
            ),
            html.Div(id=Shell.BREACH),
            html.Div(id=Shell.NOTICE),
            html.Main(id=Shell.MAIN, className="shell-main"),
        ],
        forceColorScheme="light",
        theme={
            "fontFamily": "Inter, system-ui, sans-serif",
            "primaryColor": "ledger",
            "primaryShade": 7,
            "colors": {"ledger": ["#0072B2"] * 7 + ["#005f94"] * 3},
            "defaultRadius": 2,
            "respectReducedMotion": True,
        },
    )


def navigation() -> html.Div:
    """The names of the pages; on a phone four of them, and the rest behind a button."""
    links = [
        dcc.Link(
            [html.Span(p.NAME, className="long"), html.Span(p.SHORT, className="short")],
            href=p.PATH,
            className="nav-link",
        )
        for p in PAGES
    ]
    more = html.Button(
        "More",
        id=Shell.MORE,
        type="button",
        className="nav-link nav-more",
        **{"aria-expanded": "false", "aria-controls": Shell.MORE_LIST},
    )
    rest = html.Div(links[ON_PHONE:], id=Shell.MORE_LIST, className="nav-list")
    return html.Div([*links[:ON_PHONE], more, rest], id=Shell.NAV)


def show_error(error: Exception) -> None:
    """Show a sentence of ours as it is; log anything else under an id and show the id."""
    set_props(Shell.NOTICE, {"children": notice(sentence_of(error), meaning="breach", alert=True)})


def _register_shell(app: Dash, desk: Desk) -> None:
    by_path = {module.PATH: module for module in PAGES}

    @app.callback(
        Output(Shell.MAIN, "children"),
        Output(Shell.NOTICE, "children"),
        Output(Shell.SITE, "children"),
        Input(Shell.URL, "pathname"),
        Input(Shell.URL, "search"),
    )
    def show_page(pathname: str | None, search: str | None):
        return opened(by_path, desk, pathname or "/", search or "")

    @app.callback(
        Output(Shell.BREACH, "children"),
        Input(Shell.URL, "pathname"),
        Input(Shell.CHANGED, "data"),
    )
    def show_breach(pathname: str | None, _changed: Any):
        return None if pathname == today.PATH else breach_banner(desk)

    app.clientside_callback(
        ClientsideFunction("shell", "width"),
        Output(Shell.WIDTH, "data"),
        Input(Shell.URL, "pathname"),
    )
    app.clientside_callback(
        ClientsideFunction("shell", "arrive"),
        Output(Shell.FOCUSED, "data"),
        Input(Shell.MAIN, "children"),
        State(Shell.URL, "pathname"),
    )


def opened(by_path: dict[str, Any], desk: Desk, pathname: str, search: str):
    """The page of an address, no notice, and the name of the site; or why there is no page."""
    module = by_path.get(pathname)
    try:
        site = site_in_force(desk.ledger, desk.today()).name
    except NotEnoughData as error:
        name = module.NAME if module else "No such page"
        return page(name, empty_state(str(error))), None, "No site yet"
    if module is None:
        words = f"There is no page at {pathname}. Choose one of the pages above."
        return page("No such page", empty_state(words)), None, site
    return module.layout(**dict(parse_qsl(search.lstrip("?")))), None, site


def breach_banner(desk: Desk) -> html.Div | None:
    """Open level breaches, said on every page until closed."""
    try:
        breaches = desk.stated(day_statement, desk.today()).breaches
    except NotEnoughData:
        return None
    if not breaches:
        return None
    zones = sorted({breach.zone for breach in breaches})
    where = f"zone{'s' if len(zones) > 1 else ''} {', '.join(zones)}"
    words = f"Open level breach in {where}. Stop and ask the temporary works coordinator."
    link = dcc.Link("See it on Today", href=today.PATH, className="link")
    return notice(words, link, meaning="breach")
