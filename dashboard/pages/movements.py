"""Movements and carbon: what may be claimed, and what the claim rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import dash_mantine_components as dmc
from dash import Dash, Input, Output, State, ctx, dcc, html

from dashboard import theme
from dashboard.components import (
    Head,
    basis_block,
    block,
    button,
    chart,
    chart_note,
    date_field,
    key_figures,
    long_table,
    page,
    slot,
    table,
)
from dashboard.controls import as_date, as_width, exports, register_exports
from dashboard.desk import Desk
from dashboard.figures.carbon import carbon_figure, carbon_summary
from dashboard.figures.movements import movements_figure, movements_summary
from dashboard.ids import Movements, Shell
from tracker.statements import carbon_statement, movements_statement, site_in_force
from tracker.statements.shapes import BaselineView, CarbonStatement, MovementsStatement, OptionLine

PATH, NAME, SHORT = "/movements", "Movements and carbon", "Movements"


def layout(**_query: str) -> html.Article:
    """The shell of the page."""
    return page(
        NAME,
        _controls(),
        html.Div(
            [
                html.P(id=Movements.HEADLINE, className="headline"),
                html.Blockquote(id=Movements.CLAIM, className="claim"),
                copy_button(Movements.COPY, Movements.CLAIM, "Copy the claim"),
            ]
        ),
        slot(Movements.SUPPORT),
        chart("Movements made, avoided and in the baseline", Movements.BARS, Movements.BARS_NOTE),
        block("By route", slot(Movements.ROUTES)),
        slot(Movements.BASIS),
        exports(Movements.EXPORT, Movements.DOWNLOAD),
        html.H2("Carbon", className="second-heading"),
        html.Blockquote(id=Movements.CARBON_HEADLINE, className="claim"),
        copy_button(Movements.CARBON_COPY, Movements.CARBON_HEADLINE, "Copy the carbon sentence"),
        chart("Carbon by leg of each option", Movements.CARBON, Movements.CARBON_NOTE),
        block("Per tonne, by route", slot(Movements.CARBON_ROUTES)),
        slot(Movements.CARBON_BASIS),
        exports(Movements.CARBON_EXPORT, Movements.CARBON_DOWNLOAD),
    )


def copy_button(id_: Movements, target: Movements, words: str) -> html.Div:
    """A button that copies a sentence whole."""
    button = dcc.Clipboard(
        id=id_,
        target_id=target,
        children=words,
        copied_children="Copied",
        title=words,
        className="button copy",
    )
    return html.Div([button], className="buttons no-print")


def _controls() -> html.Div:
    return html.Div(
        [
            html.Div(
                [date_field(Movements.SINCE, "From"), date_field(Movements.UNTIL, "To")],
                className="pair",
            ),
            html.Div(
                [
                    button("Last 7 days", Movements.WEEK),
                    button("This month", Movements.MONTH),
                    button("Since the start", Movements.ALL),
                ],
                className="buttons",
            ),
            dmc.SegmentedControl(
                id=Movements.GRAIN,
                data=[{"value": g, "label": f"By {g}"} for g in ("day", "week", "month")],
                value="month",
                className="segments",
            ),
        ],
        className="controls no-print",
    )


def register(app: Dash, desk: Desk) -> None:
    """Wire the page."""
    _register_period(app, desk)
    period = [State(Movements.SINCE, "value"), State(Movements.UNTIL, "value")]
    register_exports(
        app,
        Movements.EXPORT,
        Movements.DOWNLOAD,
        [*period, State(Movements.GRAIN, "value")],
        "movements",
        lambda since, until, grain: _movements(desk, since, until, grain),
    )
    register_exports(
        app,
        Movements.CARBON_EXPORT,
        Movements.CARBON_DOWNLOAD,
        period,
        "carbon",
        lambda since, until: _carbon(desk, since, until),
    )
    _register_answers(app, desk)


def _register_answers(app: Dash, desk: Desk) -> None:
    inputs = (Input(Movements.SINCE, "value"), Input(Movements.UNTIL, "value"))

    @app.callback(
        output={
            "headline": Output(Movements.HEADLINE, "children"),
            "claim": Output(Movements.CLAIM, "children"),
            "support": Output(Movements.SUPPORT, "children"),
            "bars": Output(Movements.BARS, "figure"),
            "note": Output(Movements.BARS_NOTE, "children"),
            "routes": Output(Movements.ROUTES, "children"),
            "basis": Output(Movements.BASIS, "children"),
        },
        inputs=(*inputs, Input(Movements.GRAIN, "value"), Input(Shell.WIDTH, "data")),
    )
    def show_movements(since: str | None, until: str | None, grain: str, width: int | None):
        return movements_shown(_movements(desk, since, until, grain), as_width(width))

    @app.callback(
        output={
            "headline": Output(Movements.CARBON_HEADLINE, "children"),
            "carbon": Output(Movements.CARBON, "figure"),
            "note": Output(Movements.CARBON_NOTE, "children"),
            "routes": Output(Movements.CARBON_ROUTES, "children"),
            "basis": Output(Movements.CARBON_BASIS, "children"),
        },
        inputs=(*inputs, Input(Shell.WIDTH, "data")),
    )
    def show_carbon(since: str | None, until: str | None, width: int | None):
        statement = _carbon(desk, since, until)
        site = site_in_force(desk.ledger, desk.today())
        return carbon_shown(statement, as_width(width), {r.route: r.name for r in site.routes})


def _register_period(app: Dash, desk: Desk) -> None:
    @app.callback(
        Output(Movements.SINCE, "value"),
        Output(Movements.UNTIL, "value"),
        Input(Movements.WEEK, "n_clicks"),
        Input(Movements.MONTH, "n_clicks"),
        Input(Movements.ALL, "n_clicks"),
    )
    def set_period(_week: int, _month: int, _all: int):
        today = desk.today()
        first = site_in_force(desk.ledger, today).first_date
        since = {
            Movements.WEEK: today - timedelta(days=6),
            Movements.MONTH: today.replace(day=1),
        }.get(ctx.triggered_id, first)
        return since.isoformat(), today.isoformat()


def _movements(desk: Desk, since: str | None, until: str | None, grain: str) -> MovementsStatement:
    first, last = _period(since, until)
    return desk.stated(movements_statement, last, since=first, grain=grain)


def _carbon(desk: Desk, since: str | None, until: str | None) -> CarbonStatement:
    first, last = _period(since, until)
    return desk.stated(carbon_statement, last, since=first)


def _period(since: str | None, until: str | None) -> tuple[date, date]:
    first, last = as_date(since), as_date(until)
    return min(first, last), max(first, last)


# --- movements -----------------------------------------------------------------------------------
def movements_shown(statement: MovementsStatement, width_px: int) -> dict[str, Any]:
    """Every part of the first half of the page."""
    return {
        "headline": headline(statement),
        "claim": statement.claim,
        "support": support(statement),
        "bars": movements_figure(statement, width_px),
        "note": chart_note(movements_summary(statement), period_rows(statement)),
        "routes": route_rows(statement),
        "basis": basis_block(statement.basis),
    }


def headline(statement: MovementsStatement) -> str:
    """Movements avoided, with their range, before anything else."""
    total = statement.total
    low, high = total.avoided_movements_low, total.avoided_movements_high
    spread = f"range {theme.number(low)} to {theme.number(high)}"
    if low <= 0:
        return f"No avoided lorry movement can be claimed: {spread}."
    onward = 2.0 * statement.onward_loads
    still = f" {theme.number(onward)} still run beyond the belt's end." if onward else ""
    avoided = theme.number(total.avoided_movements)
    return f"{avoided} lorry movements avoided at the site gate, {spread}.{still}"


def support(statement: MovementsStatement) -> html.Dl:
    """What stands beside every avoided figure."""
    total, base = statement.total, statement.baseline
    weighed = theme.percent(statement.weighed_percent, 1)
    observed = (
        f"observed {theme.number(statement.observed_payload_t, 't', 2)} over"
        f" {theme.number(statement.observed_payload_loads)} weighed loads"
    )
    payload = f"{base.payload_t:g} t ({base.payload_low_t:g} to {base.payload_high_t:g})"
    onward = f"{theme.number(2.0 * statement.onward_loads)} movements"
    conveyor = f"{theme.number(statement.conveyor_movements)} movements"
    made = f"{theme.number(total.movements)} movements"
    loads = f"{theme.number(total.loads)} loads, 2 movements each"
    frozen = f"{base.baseline}, {theme.short_day(base.frozen_on)}"
    saved_km = theme.number(statement.avoided_lorry_km, "km")
    return key_figures(
        [
            ("Spoil", theme.number(total.spoil_t, "t"), f"{weighed} of it weighed"),
            ("Made", made, loads),
            ("Baseline payload", payload, observed),
            ("By conveyor alone", conveyor, f"{theme.number(total.belt_t, 't')} on the belt"),
            ("Still by road, further on", onward, "beyond the belt's end, not avoided there"),
            ("Lorry distance avoided", saved_km, "onward road legs deducted"),
            ("Frozen baseline", frozen, baseline_words(base)),
        ]
    )


def baseline_words(base: BaselineView) -> str:
    """What the frozen baseline assumes."""
    empty = "empty return counted" if base.empty_return else "no empty return"
    return (
        f"{base.vehicle}, {base.distance_km:g} km one way to {base.destination}, {empty};"
        f" {base.reference}"
    )


def period_rows(statement: MovementsStatement) -> Any:
    """Periods as rows, with the total at the end."""
    rows = [
        (
            line.label,
            theme.number(line.belt_t),
            theme.number(line.lorry_t),
            theme.number(line.movements),
            f"{theme.number(line.avoided_movements)} ({theme.number(line.avoided_movements_low)}"
            f" to {theme.number(line.avoided_movements_high)})",
        )
        for line in (*statement.lines, statement.total)
    ]
    heads = ("Period", "Belt, t", "Lorry, t", "Made", "Avoided (range)")
    return long_table("Movements by period: the baseline is made plus avoided", heads, rows)


def route_rows(statement: MovementsStatement) -> Any:
    """Routes as rows, with the road legs that are not avoided."""
    rows = [
        (
            line.name,
            f"{line.destination} ({line.destination_kind})",
            theme.number(line.mass_t),
            theme.number(line.loads),
            theme.number(line.road_km_per_load, decimals=1),
            line.onward_road_legs or "none",
        )
        for line in statement.routes
    ]
    heads = [
        Head("Route"),
        Head("To"),
        Head("Mass, t", True),
        Head("Loads at the gate", True),
        Head("Road, km a load", True),
        Head("Road legs further on"),
    ]
    return table("Spoil by route", heads, rows)


# --- carbon --------------------------------------------------------------------------------------
def carbon_shown(
    statement: CarbonStatement, width_px: int, names: Mapping[str, str]
) -> dict[str, Any]:
    """Every part of the second half of the page."""
    return {
        "headline": statement.headline,
        "carbon": carbon_figure(statement, width_px),
        "note": chart_note(
            carbon_summary(statement), leg_rows(statement), more=option_rows(statement)
        ),
        "routes": carbon_routes(statement, names),
        "basis": basis_block(
            statement.basis, attribution=(*statement.editions, statement.attribution)
        ),
    }


def option_rows(statement: CarbonStatement) -> Any:
    """The two options side by side over the same tonnes."""
    return _options("Carbon of each option", statement.options, {})


def carbon_routes(statement: CarbonStatement, names: Mapping[str, str]) -> list[Any]:
    """Each route as moved, a tonne; break-even if a fixed carbon was stated."""
    parts: list[Any] = [_options("Carbon of each route as moved", statement.routes, names)]
    if statement.break_even_t is not None:
        words = (
            f"Break-even of the belt's own {theme.number(statement.fixed_kgco2e, 'kg CO2e')}:"
            f" {theme.number(statement.break_even_t, 't')}."
        )
        parts.append(html.P(words))
    return parts


def _options(caption: str, options: Sequence[OptionLine], names: Mapping[str, str]) -> Any:
    rows = [
        (
            names.get(o.option, o.option),
            theme.number(o.mass_t),
            theme.number(o.operation_kgco2e / 1000, decimals=1),
            theme.number(o.supply_kgco2e / 1000, decimals=1),
            theme.number(o.unsplit_kgco2e / 1000, decimals=1),
            theme.number(o.total_kgco2e / 1000, decimals=1),
            theme.number(o.per_t_kgco2e, decimals=2),
        )
        for o in options
    ]
    heads = [
        Head("Option"),
        Head("Mass, t", True),
        Head("Operation, t CO2e", True),
        Head("Energy supply, t CO2e", True),
        Head("Unsplit, t CO2e", True),
        Head("Total, t CO2e", True),
        Head("kg CO2e a tonne", True),
    ]
    return table(caption, heads, rows)


def leg_rows(statement: CarbonStatement) -> Any:
    """Every leg as a row, with the factor it used."""
    rows = [
        (
            leg.option,
            f"{leg.from_place} to {leg.to_place}",
            leg.mode,
            theme.number(leg.distance_km, decimals=1),
            theme.number(leg.mass_t),
            theme.number(leg.activity_tkm),
            theme.number(leg.total_kgco2e / 1000, decimals=2),
            theme.number(leg.per_t_kgco2e, decimals=3),
            leg.factor,
        )
        for leg in statement.legs
    ]
    heads = [
        Head("Option"),
        Head("Leg"),
        Head("By"),
        Head("km", True),
        Head("Mass, t", True),
        Head("Activity, t.km", True),
        Head("Total, t CO2e", True),
        Head("kg CO2e a tonne", True),
        Head("Factor"),
    ]
    return table("Carbon by leg", heads, rows)
