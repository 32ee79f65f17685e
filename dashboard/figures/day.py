"""Movements through the gate by local hour, spoil and all others, against the cap an hour."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.gate_shapes import HourLine


def hours_figure(
    hours: Sequence[HourLine], cap_hour: int | None, width_px: int = theme.WIDE_PX
) -> go.Figure:
    """One bar an hour, other traffic on top of spoil; over the cap it is vermilion and says so."""
    if not hours:
        return theme.empty_figure("No lorry has passed the gate on this day.", 96)
    first, last = min(h.hour for h in hours), max(h.hour for h in hours)
    counts = {h.hour: movements_of(h) for h in hours}
    figure = go.Figure(data=_bars(hours, cap_hour))
    high = max([*counts.values(), cap_hour or 0, 1]) * 1.25
    figure.update_layout(
        template=theme.template(),
        barmode="stack",
        width=width_px,
        height=210,
        margin={"l": 32, "r": 8, "t": 20, "b": 44},
        yaxis={"range": [0, high], "nticks": 4},
        xaxis={
            "range": [min(first, 7) - 0.6, max(last, 18) + 0.6],
            "dtick": 2 if width_px < theme.PHONE_PX else 1,
            "title": {"text": "local hour beginning"},
        },
    )
    if cap_hour is not None:
        _draw_cap(figure, cap_hour)
    return figure


def _bars(hours: Sequence[HourLine], cap_hour: int | None) -> list[go.Bar]:
    """Spoil, and other traffic on top of it with the count of both."""
    counts = [movements_of(h) for h in hours]
    told = {
        "x": [h.hour for h in hours],
        "hovertext": [_hour_numbers(h, cap_hour) for h in hours],
        "hoverinfo": "text",
    }
    inks = [_colour(n, cap_hour) for n in counts]
    spoil = go.Bar(
        y=[h.movements_in + h.movements_out for h in hours], marker={"color": inks}, **told
    )
    other = go.Bar(
        y=[h.other_in + h.other_out for h in hours],
        marker={"color": [theme.paler(ink) for ink in inks]},
        text=["over cap" if _over(n, cap_hour) else str(n) for n in counts],
        textposition="outside",
        textfont={"size": 11, "color": theme.GREY},
        cliponaxis=False,
        **told,
    )
    return [spoil, other]


def hours_summary(hours: Sequence[HourLine], cap_hour: int | None) -> str:
    """The hours in one sentence."""
    if not hours:
        return "No lorry has passed the gate on this day."
    counts = {h.hour: movements_of(h) for h in hours}
    over = sum(_over(n, cap_hour) for n in counts.values())
    busiest = max(counts, key=lambda hour: counts[hour])
    words = f"Busiest hour: {busiest:02d}:00, {counts[busiest]} movements."
    other = sum(h.other_in + h.other_out for h in hours)
    if other:
        words += f" Paler: {other} movements of the day that carried no spoil."
    if cap_hour is None:
        return f"{words} No cap an hour is set."
    plural = "hour is" if over == 1 else "hours are"
    return f"{words} {over or 'No'} {plural} over the cap of {cap_hour}."


def movements_of(line: HourLine) -> int:
    """Movements of an hour, both ways: spoil and all other traffic."""
    return line.movements_in + line.movements_out + line.other_in + line.other_out


def _over(count: int, cap: int | None) -> bool:
    return cap is not None and count > cap


def _colour(count: int, cap: int | None) -> str:
    return theme.BREACH if _over(count, cap) else theme.INK


def _hour_numbers(line: HourLine, cap: int | None) -> str:
    count = movements_of(line)
    words = f"<b>{line.hour:02d}:00 to {line.hour + 1:02d}:00</b><br>"
    words += f"spoil {line.movements_in} in, {line.movements_out} out"
    if line.other_in or line.other_out:
        words += f"<br>other {line.other_in} in, {line.other_out} out"
    words += f"<br>{count} movements"
    return words + (f"<br><b>over the cap of {cap}</b>" if _over(count, cap) else "")


def _draw_cap(figure: go.Figure, cap: int) -> None:
    figure.add_hline(y=cap, line={"color": theme.PLANNED, "width": 2, "dash": "5px,3px"})
    figure.add_annotation(
        x=1,
        xref="paper",
        xanchor="right",
        y=cap,
        yanchor="bottom",
        text=f"cap {cap} an hour",
        showarrow=False,
        font={"color": theme.PLANNED, "size": 12},
    )
