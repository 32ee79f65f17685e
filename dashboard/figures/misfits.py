"""Where statements do not fit: each by period and source, as large as its misfit."""

from __future__ import annotations

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.reconciliation_shapes import ALL, ReconciliationStatement, Residual

ODD, VERY_ODD = 2.0, 3.0  # standard deviations
_KINDS = ("survey", "returns", "belt", "lorries", "receipts", "heaps", "density")


def kind_of(source: str) -> str:
    """The row of a source among the misfits."""
    first = source.split(" ")[0]
    if first in ("survey", "returns", "lorries", "receipts", "density"):
        return first
    return {"stock": "heaps", "dug": "", "bulking": "", "re-use": ""}.get(first, "belt")


def misfits_figure(
    statement: ReconciliationStatement, stream: str = ALL, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """Every statement by period and source: a dot as large as its misfit, with words where odd."""
    some = [one for one in statement.residuals if stream in (ALL, one.stream)]
    some = [one for one in some if kind_of(one.source) and one.standardised]
    if not some:
        return theme.empty_figure("No statement has been held against another yet.")
    kinds = [kind for kind in _KINDS if kind in {kind_of(one.source) for one in some}]
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure()
    figure.add_scatter(
        x=[one.period for one in some],
        y=[kinds.index(kind_of(one.source)) for one in some],
        mode="markers",
        marker={
            "size": [4 + (3 if narrow else 4) * min(abs(one.standardised), 5.0) for one in some],
            "color": [_misfit_colour(one.standardised) for one in some],
            "symbol": ["circle" if one.standardised > 0 else "circle-open" for one in some],
            "line": {"width": 1.5},
        },
        hovertext=[_numbers(one) for one in some],
        hoverinfo="text",
    )
    figure.update_layout(
        template=theme.template(),
        width=width_px,
        height=60 + 34 * len(kinds),
        margin={"l": 72, "r": 16, "t": 8, "b": 40},
        xaxis={"type": "date", "showgrid": True, "tickformat": "%b" if narrow else "%b %Y"},
        yaxis={
            "tickvals": list(range(len(kinds))),
            "ticktext": kinds,
            "range": [len(kinds) - 0.4, -0.6],
            "tickfont": {"color": theme.INK, "size": 13},
        },
    )
    return figure


def _numbers(one: Residual) -> str:
    return (
        f"<b>{one.name}</b>, {one.stream}<br>to {one.period}:"
        f" {theme.number(one.stated, one.unit)} stated, {theme.number(one.adjusted)} by all"
        f"<br>{one.standardised:+.1f} standard deviations"
    )


def _misfit_colour(standardised: float) -> str:
    size = abs(standardised)
    return theme.BREACH if size >= VERY_ODD else theme.WARNING if size >= ODD else theme.GREY


def misfits_summary(statement: ReconciliationStatement, stream: str) -> str:
    """The misfits in one sentence."""
    some = [
        abs(one.standardised)
        for one in statement.residuals
        if stream in (ALL, one.stream) and one.standardised
    ]
    if not some:
        return "No statement has been held against another yet."
    odd, very = sum(z >= ODD for z in some), sum(z >= VERY_ODD for z in some)
    return (
        f"{odd} of {len(some)} statements are {ODD:g} standard deviations or more from what all"
        f" say together (about {0.0455 * len(some):.0f} would be by chance), {very} of them"
        f" {VERY_ODD:g} or more. Filled: says more than all together; open: less."
    )
