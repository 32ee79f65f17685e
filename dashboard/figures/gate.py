"""The hours of a day at the gate: spoil, other traffic, what is booked, the caps and the window."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from tracker.statements.gate_shapes import GateCapLine, GateHourLine, GateStatement

NOTHING = "No movement is recorded or booked on this day, and the gate has no window."
SHUT = "#eef0f2"  # the ground tone of the hours in which the gate is shut


def gate_figure(statement: GateStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """One bar an hour, other traffic on top of spoil, the booked ones hatched on top of both."""
    hours = statement.hours
    if not hours:
        return theme.empty_figure(NOTHING, 96)
    narrow = width_px < theme.PHONE_PX
    caps = _caps_of_an_hour(statement)
    first, last = max(0, hours[0].hour - 1), min(24, hours[-1].hour + 2)
    high = max([*(h.movements + h.awaited for h in hours), *caps, 4]) * 1.2
    figure = go.Figure(data=_bars(hours, narrow))
    figure.update_layout(
        template=theme.template(),
        barmode="stack",
        bargap=0.2,
        width=width_px,
        height=280,
        margin={"l": 32, "r": 8, "t": 60 if narrow else 40, "b": 44},
        shapes=[*_shut(statement, first, last), *map(_cap_line, caps), *_now(statement)],
        annotations=[_key(narrow), *map(_cap_name, caps), *_now_name(statement, high)],
        yaxis={"range": [0, high], "nticks": 5},
        xaxis={
            "range": [first, last],
            "dtick": 2 if narrow and last - first > 10 else 1,
            "title": {"text": "local time, hours"},
        },
    )
    return figure


def gate_summary(statement: GateStatement) -> str:
    """The hours in one sentence, with how the day may end."""
    if not statement.hours:
        return NOTHING
    spoil = sum(h.spoil_in + h.spoil_out for h in statement.hours)
    other = sum(h.other_in + h.other_out for h in statement.hours)
    awaited = sum(h.awaited for h in statement.hours)
    booked = f", {awaited} more booked" if awaited else ""
    above = sum(h.over_cap for h in statement.hours)
    caps = ""
    if any(cap.per == "hour" for cap in statement.caps):
        plural = "hour is" if above == 1 else "hours are"
        caps = f" {above or 'No'} {plural} over the cap of an hour."
    stands = f"{spoil} movements of spoil and {other} of other traffic{booked}."
    return f"{stands}{caps} {statement.forecast}".strip()


def _caps_of_an_hour(statement: GateStatement) -> list[int]:
    """The caps that a bar of both ways can be held against."""
    return [cap.cap for cap in statement.caps if _is_of_an_hour(cap)]


def _is_of_an_hour(cap: GateCapLine) -> bool:
    return cap.per == "hour" and cap.direction == "both"


def _bars(hours: Sequence[GateHourLine], narrow: bool) -> list[go.Bar]:
    places = [h.hour + 0.5 for h in hours]
    told = {"hovertext": [hour_numbers(h) for h in hours], "hoverinfo": "text"}
    inks = [theme.BREACH if h.over_cap else theme.INK for h in hours]
    spoil = go.Bar(
        x=places,
        y=[h.spoil_in + h.spoil_out for h in hours],
        marker={"color": inks},
        **told,
    )
    other = go.Bar(
        x=places,
        y=[h.other_in + h.other_out for h in hours],
        marker={"color": [theme.paler(ink) for ink in inks]},
        **told,
    )
    booked = go.Bar(
        x=places,
        y=[h.awaited for h in hours],
        marker={
            "color": theme.PAPER,
            "line": {"color": theme.GREY, "width": [1 if h.awaited else 0 for h in hours]},
            "pattern": {"shape": "/", "fgcolor": theme.GREY, "size": 6, "solidity": 0.3},
        },
        text=[_over_bar(h, narrow) for h in hours],
        textposition="outside",
        constraintext="none",
        textfont={"size": 11, "color": theme.GREY},
        cliponaxis=False,
        **told,
    )
    return [spoil, other, booked]


def _over_bar(hour: GateHourLine, narrow: bool) -> str:
    if hour.over_cap:
        return "over" if narrow else "over cap"
    count = hour.movements + hour.awaited
    return str(count) if count else ""


def hour_numbers(hour: GateHourLine) -> str:
    """The numbers of an hour as they stand beside the pointer."""
    lines = [
        f"<b>{hour.hour:02d}:00 to {hour.hour:02d}:59</b>",
        f"spoil {hour.spoil_in} in, {hour.spoil_out} out",
        f"other {hour.other_in} in, {hour.other_out} out",
    ]
    if hour.booked_in or hour.booked_out:
        lines.append(
            f"booked {hour.booked_in} in, {hour.booked_out} out; {hour.awaited} still to come"
        )
    if hour.left is not None:
        words = f"{hour.left} left" if hour.left >= 0 else f"{-hour.left} more than the cap"
        lines.append(f"<b>{words}</b>")
    if not hour.open_min:
        lines.append("the gate is shut")
    return "<br>".join(lines)


def _shut(statement: GateStatement, first: int, last: int) -> list[dict[str, Any]]:
    """The hours in which the gate is shut, as a ground tone behind the bars."""
    spans, place = [], float(first)
    for window in statement.windows:
        spans.append((place, window.opens_h))
        place = window.closes_h
    spans.append((place, float(last)))
    return [
        {
            "type": "rect",
            "layer": "below",
            "x0": max(start, first),
            "x1": min(end, last),
            "y0": 0,
            "y1": 1,
            "yref": "paper",
            "fillcolor": SHUT,
            "line": {"width": 0},
        }
        for start, end in spans
        if min(end, last) > max(start, first)
    ]


def _cap_line(cap: int) -> dict[str, Any]:
    line = {"color": theme.PLANNED, "width": 2, "dash": "5px,3px"}
    return {
        "type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": cap, "y1": cap, "line": line,
    }  # fmt: skip


def _cap_name(cap: int) -> dict[str, Any]:
    return {
        "x": 1,
        "xref": "paper",
        "xanchor": "right",
        "y": cap,
        "yanchor": "bottom",
        "text": f"cap {cap} an hour",
        "showarrow": False,
        "font": {"color": theme.PLANNED, "size": 12},
    }


def _now_h(statement: GateStatement) -> float | None:
    """The moment of the statement in hours of its day; None if that is over or not begun."""
    if ":" not in statement.at:
        return None
    hours, minutes = statement.at.split(":")
    return int(hours) + int(minutes) / 60.0


def _now(statement: GateStatement) -> list[dict[str, Any]]:
    now_h = _now_h(statement)
    if now_h is None:
        return []
    line = {"color": theme.GREY, "width": 1, "dash": "2px,2px"}
    return [
        {"type": "line", "yref": "paper", "x0": now_h, "x1": now_h, "y0": 0, "y1": 1, "line": line}
    ]


def _now_name(statement: GateStatement, high: float) -> list[dict[str, Any]]:
    now_h = _now_h(statement)
    if now_h is None:
        return []
    return [
        {
            "x": now_h,
            "y": high,
            "xanchor": "left",
            "yanchor": "top",
            "text": statement.at,
            "showarrow": False,
            "font": {"color": theme.GREY, "size": 11},
        }
    ]


def _key(narrow: bool) -> dict[str, Any]:
    """What the bars and the ground tone mean, over the chart."""
    words = (
        f"<b>spoil</b>   <span style='color:{theme.GREY}'><b>other traffic</b>, paler"
        f"{'<br>' if narrow else '   '}<b>booked</b>, hatched   grey ground: gate shut</span>"
    )
    return {
        "x": 0,
        "y": 1,
        "xref": "paper",
        "yref": "paper",
        "xanchor": "left",
        "yanchor": "bottom",
        "yshift": 6,
        "align": "left",
        "text": words,
        "showarrow": False,
    }
