"""Level bands of each zone: design volume as an outline, dug volume filled in."""

from __future__ import annotations

import plotly.graph_objects as go
from plotly.subplots import make_subplots

from dashboard import theme
from tracker.statements.shapes import BandLine, ProgressStatement


def bands_figure(
    statement: ProgressStatement, excavation: str, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """One column a zone: at each level band the design volume and what has been dug of it."""
    bands = [b for b in statement.bands if b.excavation == excavation]
    if not bands:
        return theme.empty_figure("No level bands for this excavation yet.")
    zones = list(dict.fromkeys(b.zone for b in bands))
    narrow = width_px < theme.PHONE_PX
    figure = make_subplots(
        rows=1,
        cols=len(zones),
        shared_yaxes=True,
        horizontal_spacing=0.02 if narrow else 0.03,
        subplot_titles=[z if narrow else f"Zone {z}" for z in zones],
    )
    for column, zone in enumerate(zones, start=1):
        _draw_zone(figure, [b for b in bands if b.zone == zone], column)
    most = max(max(b.design_bank_m3, b.dug_bank_m3) for b in bands) or 1.0
    figure.update_layout(
        template=theme.template(),
        barmode="overlay",
        width=min(width_px, 200 + 200 * len(zones)),
        height=320,
        margin={"l": 40 if narrow else 64, "r": 16, "t": 32, "b": 48},
    )
    figure.update_xaxes(
        range=[0, most * 1.05],
        tickformat=",",
        nticks=2 if narrow else 4,
        tickfont={"size": 11},
        showticklabels=not narrow,
    )
    figure.update_yaxes(showgrid=False)
    figure.update_layout(yaxis={"title": {"text": "" if narrow else "m above site datum"}})
    figure.update_annotations(font={"size": 13, "color": theme.INK})
    _draw_names(figure, most * 1.05, narrow)
    return figure


def _draw_names(figure: go.Figure, column: float, narrow: bool) -> None:
    """What the colours mean; on a phone the width of a column in place of its axis."""
    words = (
        f"<span style='color:{theme.PLANNED}'><b>design</b></span> and"
        f" <span style='color:{theme.DONE_TEXT}'><b>dug</b></span>, bank m³ a band"
    )
    figure.add_annotation(
        x=0.5,
        y=0,
        xref="paper",
        yref="paper",
        yanchor="top",
        yshift=-10 if narrow else -24,
        showarrow=False,
        text=f"{words}; a column is {theme.number(column)}" if narrow else words,
        font={"size": 12, "color": theme.GREY},
    )


def bands_summary(statement: ProgressStatement, excavation: str) -> str:
    """The bands in one sentence."""
    bands = [b for b in statement.bands if b.excavation == excavation]
    full = sum(b.dug_bank_m3 >= 0.995 * b.design_bank_m3 for b in bands)
    return f"{full} of {len(bands)} level bands are dug out to their design volume."


def _draw_zone(figure: go.Figure, bands: list[BandLine], column: int) -> None:
    places = [(b.upper_level_m + b.lower_level_m) / 2 for b in bands]
    widths = [(b.upper_level_m - b.lower_level_m) * 0.86 for b in bands]
    texts = [_band_numbers(b) for b in bands]
    for values, marker in (
        ([b.dug_bank_m3 for b in bands], {"color": theme.paler(theme.DONE, 0.35)}),
        (
            [b.design_bank_m3 for b in bands],
            {"color": "rgba(0,0,0,0)", "line": {"color": theme.PLANNED, "width": 1.25}},
        ),
    ):
        figure.add_bar(
            x=values,
            y=places,
            width=widths,
            orientation="h",
            marker=marker,
            customdata=[[b.zone] for b in bands],
            hovertext=texts,
            hoverinfo="text",
            row=1,
            col=column,
        )


def _band_numbers(band: BandLine) -> str:
    return (
        f"<b>Zone {band.zone}</b>, {theme.level(band.upper_level_m)} to"
        f" {theme.level(band.lower_level_m, 'm')}<br>dug {theme.number(band.dug_bank_m3)} of"
        f" {theme.number(band.design_bank_m3, 'm³ bank')}"
    )
