"""Carbon by leg of each option: vehicle operation, energy supply, or both where unsplit."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import wrapped
from tracker.statements.shapes import CarbonStatement, LegLine

ROW_PX = 40


def carbon_figure(statement: CarbonStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """One bar a leg, as moved in ink and the baseline in blue; supply of energy is paler."""
    legs = statement.legs
    if not legs:
        return theme.empty_figure("No spoil has left the site in this period.")
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure()
    for option in dict.fromkeys(leg.option for leg in legs):
        _draw_option(figure, legs, option)
    high = max(leg.total_kgco2e for leg in legs) / 1000
    row_px = 56 if narrow else ROW_PX
    figure.update_layout(
        template=theme.template(),
        barmode="stack",
        width=width_px,
        height=48 + row_px * len(legs),
        margin={"l": 150 if narrow else 380, "r": 8, "t": 8, "b": 40},
        xaxis={
            "title": {"text": "t CO2e"},
            "showgrid": True,
            "tickformat": ",",
            "range": [0, (high or 1.0) * (1.45 if narrow else 1.2)],
            "nticks": 4 if narrow else 8,
        },
        yaxis={
            "tickvals": list(range(len(legs))),
            "ticktext": [_leg_words(leg, narrow) for leg in legs],
            "range": [len(legs) - 0.4, -0.6],
            "showgrid": False,
            "tickfont": {"color": theme.INK, "size": 11 if narrow else 12},
        },
    )
    _draw_totals(figure, legs)
    return figure


def carbon_summary(statement: CarbonStatement) -> str:
    """The options in one sentence."""
    parts = [
        f"{o.option} {theme.number(o.total_kgco2e / 1000, 't CO2e', 1)}"
        f" ({theme.number(o.per_t_kgco2e, 'kg a tonne', 2)})"
        for o in statement.options
    ]
    return f"Over the same tonnes: {', '.join(parts)}." if parts else "Nothing moved yet."


def _draw_option(figure: go.Figure, legs: tuple[LegLine, ...], option: str) -> None:
    rows = [(row, leg) for row, leg in enumerate(legs) if leg.option == option]
    colour = theme.PLANNED if option == "baseline" else theme.INK
    for name, tint, kilograms in (
        ("operation", colour, [_operation(leg) for _, leg in rows]),
        ("energy supply", theme.paler(colour, 0.55), [leg.supply_kgco2e or 0.0 for _, leg in rows]),
    ):
        figure.add_bar(
            y=[row for row, _ in rows],
            x=[kg / 1000 for kg in kilograms],
            orientation="h",
            marker={"color": tint},
            width=0.5,
            hovertext=[_leg_numbers(leg, name) for _, leg in rows],
            hoverinfo="text",
        )


def _operation(leg: LegLine) -> float:
    """Operation, or everything where the factor is not split."""
    return leg.total_kgco2e if leg.operation_kgco2e is None else leg.operation_kgco2e


def _leg_words(leg: LegLine, narrow: bool) -> str:
    words = f"{leg.from_place} to {leg.to_place} by {leg.mode}, {leg.distance_km:g} km"
    lines = wrapped(f"{leg.option}: {words}", 11 if narrow else 12, 138 if narrow else 366)
    shown = lines[:3] if narrow else lines[:2]
    if len(shown) < len(lines):
        shown[-1] += " …"
    return "<br>".join(shown)


def _leg_numbers(leg: LegLine, part: str) -> str:
    return "<br>".join(
        (
            f"<b>{leg.option}, {leg.mode}</b> · {part}",
            f"{theme.number(leg.mass_t, 't')} over {leg.distance_km:g} km",
            f"{theme.number(leg.activity_tkm, 't.km')}",
            f"{theme.number(leg.total_kgco2e / 1000, 't CO2e', 1)},"
            f" {theme.number(leg.per_t_kgco2e, 'kg a tonne', 2)}",
        )
    )


def _draw_totals(figure: go.Figure, legs: tuple[LegLine, ...]) -> None:
    for row, leg in enumerate(legs):
        figure.add_annotation(
            x=leg.total_kgco2e / 1000,
            y=row,
            xanchor="left",
            xshift=6,
            text=f"<b>{theme.number(leg.total_kgco2e / 1000, 't', 1)}</b>",
            showarrow=False,
            font={"size": 12},
        )
