"""The spoil balance: what came and where it went, two bars a stream, with what is unexplained."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from dashboard.figures.lettering import text_width, wrapped
from tracker.statements.balance_shapes import BalanceLine, BalanceStatement

EMPTY = "No spoil has been dug, moved or counted in this period."
ROW_PX, NARROW_ROW_PX = 104, 150  # of one stream: two bars and what is said of them
LABEL_PX = 12

STOCK, LORRY = "#8a949e", "#c3cad1"
# What each part is called, its field, and how it is drawn: greys, since the accents have their
# meanings, and hatches beside one another.
CAME = (("dug", "dug_t", theme.INK, ""), ("in stock before", "opening_t", STOCK, "/"))
WENT = (
    ("by belt", "belt_t", theme.GREY, ""),
    ("by lorry", "lorries_t", LORRY, ""),
    ("re-used on site", "reused_t", LORRY, "x"),
    ("in stock after", "closing_t", STOCK, "/"),
)


def balance_figure(statement: BalanceStatement, width_px: int = theme.WIDE_PX) -> go.Figure:
    """Two bars a stream over the whole period; the shorter one is filled up by the remainder."""
    lines = statement.totals
    if not lines:
        return theme.empty_figure(EMPTY)
    narrow = width_px < theme.PHONE_PX
    left = 92 if narrow else 150
    high = 1.04 * max(_reach(line) for line in lines) or 1.0
    px_per_t = (width_px - left - 12) / high
    figure = go.Figure()
    for parts, place in ((CAME, 0.0), (WENT, 1.0)):
        for part in parts:
            _draw_part(figure, lines, part, place, px_per_t)
    _draw_remainders(figure, lines)
    _draw_ranges(figure, lines)
    figure.update_layout(
        template=theme.template(),
        barmode="stack",
        width=width_px,
        height=112 + (NARROW_ROW_PX if narrow else ROW_PX) * len(lines),
        margin={"l": left, "r": 12, "t": 64 if narrow else 44, "b": 44},
        xaxis={
            "title": {"text": "t, moist"},
            "showgrid": True,
            "tickformat": ",",
            "range": [0, high],
            "nticks": 4 if narrow else 8,
        },
        yaxis=_sides(lines, narrow, left),
    )
    _write_remainders(figure, lines, narrow, width_px - left - 12)
    figure.add_annotation(_key(narrow, left))
    return figure


def balance_summary(statement: BalanceStatement) -> str:
    """The bars in one sentence."""
    if not statement.totals:
        return EMPTY
    parts = [f"{line.name}: {remainder_words(line)}" for line in statement.totals]
    return (
        f"{theme.day(statement.since)} to {theme.day(statement.until)}, dug and stock before less"
        f" all that is accounted for. {'; '.join(parts)}. ± is twice the standard uncertainty,"
        " about 95 %."
    )


def remainder_words(line: BalanceLine) -> str:
    """What is unexplained of a stream, with its uncertainty and what that says."""
    if line.remainder_t is None or line.u_remainder_t is None:
        return line.verdict
    sign = "+" if line.remainder_t >= 0.5 else ""
    return (
        f"unexplained {sign}{theme.number(line.remainder_t)} ±"
        f" {theme.number(2.0 * line.u_remainder_t, 't')}, {line.verdict}"
    )


def explained(line: BalanceLine) -> bool:
    """Whether nothing is left to look into: within its uncertainty, and stock never below 0."""
    return line.verdict.startswith("explained") and not line.negative_stock


def _sides(lines: Sequence[BalanceLine], narrow: bool, left_px: int) -> dict[str, Any]:
    """Two bars a stream, named beside them; on a phone the name stands above."""
    named = [
        side if narrow else f"{_name(line, left_px)} {side}"
        for line in lines
        for side in ("came", "went")
    ]
    return {
        "tickvals": [3 * row + place for row in range(len(lines)) for place in (0, 1)],
        "ticktext": named,
        "range": [3 * len(lines) - 0.4, -0.9 if narrow else -0.7],
        "showgrid": False,
        "tickfont": {"color": theme.INK, "size": LABEL_PX},
    }


def _name(line: BalanceLine, left_px: int) -> str:
    words = wrapped(line.name, LABEL_PX, left_px - text_width(" went", LABEL_PX) - 16)
    return "<br>".join(words[:2])


def _sum(line: BalanceLine, parts: Sequence[tuple[str, str, str, str]]) -> float:
    return sum(float(getattr(line, field)) for _, field, _, _ in parts)


def _reach(line: BalanceLine) -> float:
    """How far the bars and the whiskers of a stream go [t]."""
    return max(_sum(line, CAME), _sum(line, WENT) + 2.0 * (line.u_remainder_t or 0.0))


def _draw_part(
    figure: go.Figure,
    lines: Sequence[BalanceLine],
    part: tuple[str, str, str, str],
    place: float,
    px_per_t: float,
) -> None:
    name, field, colour, hatch = part
    masses = [max(0.0, getattr(line, field)) for line in lines]
    words = [f"{name} {theme.number(mass, 't')}" for mass in masses]
    dark = colour in (theme.INK, theme.GREY)
    figure.add_bar(
        x=masses,
        y=[3 * row + place for row in range(len(lines))],
        orientation="h",
        width=0.7,
        marker={
            "color": colour,
            "pattern": {
                "shape": hatch,
                "bgcolor": colour,
                "fgcolor": theme.INK if colour == LORRY else theme.PAPER,
                "solidity": 0.2,
                "size": 6,
            },
        },
        text=[
            said if not hatch and text_width(said, LABEL_PX) + 12 < mass * px_per_t else ""
            for said, mass in zip(words, masses, strict=True)
        ],
        textposition="inside",
        insidetextanchor="start",
        textangle=0,
        textfont={"size": LABEL_PX, "color": theme.PAPER if dark else theme.INK},
        hovertext=[
            f"<b>{line.name}</b><br>{said}" for line, said in zip(lines, words, strict=True)
        ],
        hoverinfo="text",
    )


def _draw_remainders(figure: go.Figure, lines: Sequence[BalanceLine]) -> None:
    """What is missing on the shorter side: orange where the uncertainty does not explain it."""
    known = [(row, line) for row, line in enumerate(lines) if line.remainder_t is not None]
    figure.add_bar(
        x=[abs(line.remainder_t or 0.0) for _, line in known],
        y=[3 * row + (1 if (line.remainder_t or 0.0) > 0 else 0) for row, line in known],
        orientation="h",
        width=0.7,
        marker={
            "color": [theme.PAPER if explained(line) else theme.WARNING for _, line in known],
            "line": {"color": theme.GREY, "width": 1},
        },
        hovertext=[f"<b>{line.name}</b><br>{remainder_words(line)}" for _, line in known],
        hoverinfo="text",
    )


def _draw_ranges(figure: go.Figure, lines: Sequence[BalanceLine]) -> None:
    """Whiskers of twice the uncertainty about the end of what is accounted for."""
    known = [(row, line) for row, line in enumerate(lines) if line.u_remainder_t is not None]
    figure.add_scatter(
        x=[_sum(line, WENT) for _, line in known],
        y=[3 * row + 1 for row, _ in known],
        mode="markers",
        marker={"color": theme.INK, "size": 1},
        error_x={
            "type": "data",
            "array": [2.0 * (line.u_remainder_t or 0.0) for _, line in known],
            "color": theme.INK,
            "thickness": 1.5,
            "width": 5,
        },
        hoverinfo="skip",
    )


def _key(narrow: bool, left_px: int) -> dict[str, Any]:
    """What the greys and hatches mean, above the bars."""
    marks = {"": "■", "/": "▨", "x": "▩"}
    came, went = (
        "   ".join(f"<span style='color:{c}'>{marks[hatch]}</span> {n}" for n, _, c, hatch in parts)
        for parts in (CAME, WENT)
    )
    return {
        "x": 0,
        "y": 1,
        "xref": "paper",
        "yref": "paper",
        "xanchor": "left",
        "yanchor": "bottom",
        "xshift": -left_px + 4,
        "yshift": 8,
        "align": "left",
        "text": f"{came}   <b>□</b> unexplained{'<br>' if narrow else '   '}{went}",
        "showarrow": False,
        "font": {"size": 11 if narrow else LABEL_PX},
    }


def _write_remainders(
    figure: go.Figure, lines: Sequence[BalanceLine], narrow: bool, width_px: float
) -> None:
    """The remainder of each stream in words below its bars; on a phone its name above them."""
    for row, line in enumerate(lines):
        said = wrapped(remainder_words(line), LABEL_PX, width_px)
        meaning = theme.GREY if explained(line) else theme.INK
        _write(figure, 3 * row + 1.42, "<br>".join(said), "top", meaning)
        if narrow:
            _write(figure, 3 * row - 0.4, f"<b>{line.name}</b>", "bottom", theme.INK)


def _write(figure: go.Figure, y: float, text: str, anchor: str, colour: str) -> None:
    figure.add_annotation(
        x=0,
        y=y,
        xanchor="left",
        yanchor=anchor,
        align="left",
        text=text,
        showarrow=False,
        font={"size": LABEL_PX, "color": colour},
    )
