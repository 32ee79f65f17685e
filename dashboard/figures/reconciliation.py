"""What each party says of the same ground: bars on one axis, and a close look at where they end.

The bars start at nothing, so that their lengths can be compared; what matters is the last few
percent, drawn again beside them with intervals of 95 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.reconciliation_shapes import ALL, Bar, BarPart, ReconciliationStatement
from tracker.statements.reconciliation_words import COVER

BANK, MASS = "bank m³", "t"
ORDER = ("survey", "returns", "weighed", "receipts", "adjusted")
COLOURS = {"survey": theme.SURVEYED, "returns": theme.WALL, "adjusted": theme.INK}
_PART_SHADES = {
    "lorries": 0.4,
    "accepted": 0.55,
    "lorries not": 0.65,
    "re-used": 0.75,
    "heaps": 0.8,
}
_OF_BAR = {"survey": "survey", "dug": "survey", "returns": "returns", "receipts": "receipts"}
_FACTORS = ("density", "bulking")


def shown_bars(statement: ReconciliationStatement, stream: str) -> list[Bar]:
    """The bars of a stream from the top down."""
    of_stream = {bar.bar: bar for bar in statement.bars if bar.stream == stream}
    return [of_stream[name] for name in ORDER if name in of_stream]


def value_of(bar: Bar | BarPart, unit: str) -> float:
    """Its amount in the unit of the axis."""
    return bar.mass_t if unit == MASS else bar.bank_m3


def half_of(bar: Bar, unit: str) -> float:
    """Half the length of its 95 % interval in the unit of the axis."""
    return COVER * (bar.u_mass_t if unit == MASS else bar.u_bank_m3)


def bars_figure(
    statement: ReconciliationStatement,
    stream: str = ALL,
    unit: str = BANK,
    width_px: int = theme.WIDE_PX,
) -> go.Figure:
    """The bars from nothing, and beside them (on a phone: below) their ends with intervals."""
    bars = shown_bars(statement, stream)
    if not bars:
        return theme.empty_figure("Nothing to compare yet.")
    narrow = width_px < theme.PHONE_PX
    figure = go.Figure()
    _draw_bars(figure, bars, unit)
    _draw_ends(figure, bars, unit)
    words = [_name(statement, bar) for bar in bars]
    rows_px = 44 if narrow else 48
    height = (2 * rows_px * len(bars) + 130) if narrow else (rows_px * len(bars) + 84)
    figure.update_layout(
        template=theme.template(),
        barmode="relative",
        width=width_px,
        height=height,
        margin={"l": 8 if narrow else 190, "r": 8, "t": 34, "b": 40},
        annotations=_headings(narrow) + (_names(bars, unit, words) if narrow else []),
        **_axes(bars, unit, words, narrow),
    )
    _draw_adjusted(figure, bars, unit)
    return figure


def _axes(
    bars: Sequence[Bar], unit: str, words: Sequence[str], narrow: bool
) -> dict[str, dict[str, Any]]:
    rows = {
        "range": [len(bars) - 0.45, -0.75 if narrow else -0.55],
        "showgrid": False,
        "tickvals": list(range(len(bars))),
        "tickfont": {"color": theme.INK, "size": 13},
    }
    high = max(value_of(bar, unit) for bar in bars)
    low, up = _close_range(bars, unit)
    shared = {"showgrid": True, "tickformat": ",", "nticks": 4}
    ends = {**shared, "range": [low, up], "anchor": "y2", "domain": [0, 1] if narrow else [0.56, 1]}
    whole = {**shared, "range": [0, high * 1.02], "domain": [0, 1] if narrow else [0, 0.38]}
    blank = {"showticklabels": False, "ticks": ""}
    amounts = {"ticktext": [_amount(bar, unit) for bar in bars], "anchor": "x2", "domain": [0, 1]}
    return {
        "xaxis": whole | {"title": {"text": unit}},
        "xaxis2": ends | {"title": {"text": unit}},
        "yaxis": rows
        | ({**blank, "domain": [0.56, 1]} if narrow else {"ticktext": words, "domain": [0, 1]}),
        "yaxis2": rows | (blank | {"anchor": "x2", "domain": [0, 0.42]} if narrow else amounts),
    }


def _close_range(bars: Sequence[Bar], unit: str) -> tuple[float, float]:
    low = min(value_of(bar, unit) - half_of(bar, unit) for bar in bars)
    high = max(value_of(bar, unit) + half_of(bar, unit) for bar in bars)
    room = 0.06 * (high - low) or 1.0
    return low - room, high + room


def _draw_bars(figure: go.Figure, bars: Sequence[Bar], unit: str) -> None:
    for row, bar in enumerate(bars):
        parts = bar.parts or (BarPart(bar.name, bar.mass_t, bar.bank_m3),)
        for part in parts:
            amount = value_of(part, unit)
            shade = _shade(part.part) if bar.parts else 0.0
            colour = theme.paler(COLOURS.get(bar.bar, theme.INK), shade) if shade else None
            figure.add_bar(
                x=[amount],
                y=[row],
                orientation="h",
                width=0.46,
                marker={
                    "color": colour or COLOURS.get(bar.bar, theme.INK),
                    "line": {"color": theme.PAPER, "width": 1},
                    "pattern": {"shape": "/" if part.part == "heaps" else ""},
                },
                hovertext=f"<b>{bar.name}</b><br>{part.part}: {theme.number(amount, unit)}",
                hoverinfo="text",
            )


def _shade(part: str) -> float:
    """How much paler a part is than ink; a belt, whatever its name, is ink."""
    found = [shade for start, shade in _PART_SHADES.items() if part.startswith(start)]
    return found[-1] if found else 0.0


def _draw_ends(figure: go.Figure, bars: Sequence[Bar], unit: str) -> None:
    """Each bar's end with its interval, close up."""
    for row, bar in enumerate(bars):
        figure.add_scatter(
            x=[value_of(bar, unit)],
            y=[row],
            xaxis="x2",
            yaxis="y2",
            mode="markers",
            marker={
                "size": 11,
                "symbol": "diamond" if bar.bar == "adjusted" else "circle",
                "color": COLOURS.get(bar.bar, theme.INK),
            },
            error_x={
                "type": "data",
                "array": [half_of(bar, unit)],
                "color": COLOURS.get(bar.bar, theme.INK),
                "thickness": 2,
                "width": 6,
            },
            hovertext=_numbers(bar, unit),
            hoverinfo="text",
        )


def _draw_adjusted(figure: go.Figure, bars: Sequence[Bar], unit: str) -> None:
    """The adjusted figure as a line down the close-up, its interval as a pale band."""
    for bar in bars:
        if bar.bar == "adjusted":
            at, half = value_of(bar, unit), half_of(bar, unit)
            line = {"xref": "x2", "yref": "y2 domain", "y0": 0, "y1": 1, "layer": "below"}
            band = {"fillcolor": theme.paler(theme.INK, 0.88), "line": {"width": 0}}
            figure.add_shape(type="rect", x0=at - half, x1=at + half, **line, **band)
            figure.add_shape(
                type="line", x0=at, x1=at, line={"color": theme.INK, "width": 1.5}, **line
            )


def _headings(narrow: bool) -> list[dict[str, Any]]:
    """What the two halves show."""
    close = "their ends close up, ± 95 %; line and band: all together"
    places = (("from nothing", 0, 1), (close, 0 if narrow else 0.56, 0.42 if narrow else 1))
    look = {"showarrow": False, "xanchor": "left", "yanchor": "bottom", "yshift": 6}
    look |= {"xref": "paper", "yref": "paper", "font": {"size": 12, "color": theme.GREY}}
    return [look | {"text": words, "x": x, "y": y} for words, x, y in places]


def _amount(bar: Bar, unit: str) -> str:
    amount, half = theme.number(value_of(bar, unit)), theme.number(half_of(bar, unit))
    return f"<b>{amount}</b> ± {half}"


def _names(bars: Sequence[Bar], unit: str, words: Sequence[str]) -> list[dict[str, Any]]:
    """On a phone who says it, and how much, over each bar."""
    look = {"showarrow": False, "xanchor": "left", "yanchor": "bottom", "yshift": 11, "x": 0}
    look |= {"xref": "paper", "yref": "y", "font": {"size": 12, "color": theme.INK}}
    return [
        look | {"y": row, "text": f"{words[row].replace('<br>', ', ')}: {_amount(bar, unit)}"}
        for row, bar in enumerate(bars)
    ]


def is_suspected(bar: str, source: str) -> bool:
    """Whether the suspect is one of those whose figures a bar shows.

    >>> is_suspected("weighed", "BELT1"), is_suspected("survey", "density of clay")
    (True, False)
    """
    first = source.split(" ")[0]
    return first not in _FACTORS and bar == _OF_BAR.get(first, "weighed")


def _name(statement: ReconciliationStatement, bar: Bar) -> str:
    """Who says it; the suspect is named so in words."""
    suspect = statement.suspect
    if suspect is not None and is_suspected(bar.bar, suspect.source):
        return f"{bar.name}<br><span style='color:{theme.BREACH_TEXT}'>suspect</span>"
    return f"{bar.name}<br>incomplete" if bar.missing else bar.name


def _numbers(bar: Bar, unit: str) -> str:
    lines = [
        f"<b>{bar.name}</b>",
        f"{theme.number(bar.bank_m3)} ± {theme.number(COVER * bar.u_bank_m3, 'm³ bank')}",
        f"{theme.number(bar.mass_t)} ± {theme.number(COVER * bar.u_mass_t, 't')}",
        f"stated in {bar.stated_in}" if bar.bar != "adjusted" else "all statements together",
    ]
    if bar.missing:
        lines.append(f"lacks {bar.missing}")
    return "<br>".join(lines)


def bars_summary(statement: ReconciliationStatement, stream: str, unit: str) -> str:
    """The bars in one sentence."""
    bars = {bar.bar: bar for bar in shown_bars(statement, stream)}
    if "survey" not in bars:
        return "Nothing to compare yet."
    said = [
        f"{bar.name.lower()} {theme.number(value_of(bar, unit))} ±"
        f" {theme.number(half_of(bar, unit))}"
        for bar in bars.values()
    ]
    whose = dict(statement.streams).get(stream, "All streams")
    return f"{whose}, in {unit}, ± 95 %: {'; '.join(said)}."
