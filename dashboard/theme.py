"""Colours by meaning, number and date formats, and the chart template. Nothing decorative.

Accents are of the Okabe-Ito palette (safe for colour-blind readers); a colour never speaks alone,
words stand beside it. The `_TEXT` tones are the same hues darkened until small print on white has
a contrast of at least 4.5 to 1.
"""

from __future__ import annotations

from datetime import date, datetime
from functools import cache

import plotly.graph_objects as go

INK = "#1f2933"
GREY = "#5b6570"
HAIRLINE = "#cfd5db"
PAPER = "#ffffff"

PLANNED = "#0072B2"  # permitted or planned
DONE = "#009E73"  # done or avoided
BREACH = "#D55E00"  # below permitted, over cap
WARNING = "#E69F00"
DONE_TEXT = "#00705a"
BREACH_TEXT = "#a84800"

WALL = "#8a949e"
# Ground tints from the top down, each with a hatch so that no stream is told by colour alone.
GROUND = (
    ("#c9c4bc", "x"),
    ("#ead6a6", "."),
    ("#cfa983", ""),
    ("#b9c4a9", "-"),
    ("#d9bcb4", "/"),
    ("#b3bfca", "\\"),
)

# Surveyed levels from the highest to the lowest: even steps along a straight line in OKLab, from
# sand to aubergine, apart from the accents in hue and each darker than the last.
LEVELS = (
    "#faebcf",
    "#e3d0bf",
    "#ccb6b0",
    "#b69ca0",
    "#a18391",
    "#8b6b81",
    "#775372",
    "#623c62",
    "#4e2453",
)
SURVEYED = LEVELS[-2]  # what a survey measured, beside what was reported

FONT = "Inter, system-ui, sans-serif"
NO_NUMBER = "–"
WIDE_PX = 1180
PHONE_PX = 700  # below this width a drawing takes its narrow form
CARDS_PX = 852  # below this width the rows of a table become cards (900 px of screen)


def paler(colour: str, share: float = 0.55) -> str:
    """The colour mixed with white paper; `share` is how much of it is paper.

    >>> paler("#000000", 0.5)
    '#808080'
    """
    parts = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(p + (255 - p) * share):02x}" for p in parts)


def level_colours(count: int) -> list[str]:
    """That many colours of levels, from the highest to the lowest, between those of LEVELS.

    >>> level_colours(3) == [LEVELS[0], LEVELS[4], LEVELS[8]]
    True
    """
    last = len(LEVELS) - 1
    places = (last * n / max(1, count - 1) for n in range(count))
    return [
        _between(
            LEVELS[min(int(p), last - 1)],
            LEVELS[min(int(p), last - 1) + 1],
            p - min(int(p), last - 1),
        )
        for p in places
    ]


def _between(one: str, other: str, share: float) -> str:
    pairs = ((int(one[i : i + 2], 16), int(other[i : i + 2], 16)) for i in (1, 3, 5))
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def number(value: float | None, unit: str = "", decimals: int = 0) -> str:
    """A number with commas at the thousands, a true minus sign and its unit.

    >>> number(12345.6, "m³"), number(-2.5, "t", 1), number(None, "t"), number(-0.2)
    ('12,346 m³', '−2.5 t', '–', '0')
    """
    if value is None:
        return NO_NUMBER
    text = f"{value:,.{decimals}f}"
    if not any(c in "123456789" for c in text):
        text = text.lstrip("-")
    return text.replace("-", "−") + (f" {unit}" if unit else "")


def level(level_m: float | None, unit: str = "") -> str:
    """A level to the centimetre, or to the millimetre where the last digit is not nought.

    >>> level(96.4, "m"), level(96.405), level(-3.0)
    ('96.40 m', '96.405', '−3.00')
    """
    if level_m is None:
        return NO_NUMBER
    text = f"{level_m:.3f}"
    text = (text[:-1] if text.endswith("0") else text).replace("-", "−")
    return text + (f" {unit}" if unit else "")


def percent(value: float | None, decimals: int = 0) -> str:
    """A share in percent, as in `62 %`."""
    return number(value, "%", decimals)


def share(part: float, whole: float) -> float | None:
    """Part of whole in percent; None where the whole is nothing."""
    return 100.0 * part / whole if whole else None


def day(value: date | None) -> str:
    """A date as people here write it.

    >>> day(date(2026, 10, 27)), day(None)
    ('Tue 27 Oct 2026', '–')
    """
    return f"{value:%a} {value.day} {value:%b %Y}" if value else NO_NUMBER


def short_day(value: date | None) -> str:
    """A date without its weekday.

    >>> short_day(date(2026, 10, 7))
    '7 Oct 2026'
    """
    return f"{value.day} {value:%b %Y}" if value else NO_NUMBER


def moment(value: datetime) -> str:
    """A UTC moment, named so.

    >>> from datetime import UTC
    >>> moment(datetime(2026, 10, 27, 6, 5, tzinfo=UTC))
    'Tue 27 Oct 2026 06:05 UTC'
    """
    return f"{day(value)} {value:%H:%M} UTC"


@cache
def template() -> go.layout.Template:
    """The look of every chart: white paper, hairlines, one ink."""
    axis = {
        "showgrid": True,
        "gridcolor": "#e6eaed",
        "linecolor": HAIRLINE,
        "zeroline": False,
        "ticks": "outside",
        "ticklen": 5,
        "tickcolor": PAPER,
        "automargin": False,
        "tickfont": {"color": GREY, "size": 12},
        "title": {"font": {"color": GREY, "size": 12}},
        "fixedrange": True,
    }
    return go.layout.Template(
        layout={
            "font": {"family": FONT, "size": 13, "color": INK},
            "paper_bgcolor": PAPER,
            "plot_bgcolor": PAPER,
            "colorway": [INK, PLANNED, DONE, GREY],
            "xaxis": {**axis, "showgrid": False},
            "yaxis": axis,
            "margin": {"l": 64, "r": 24, "t": 32, "b": 40},
            "hoverlabel": {
                "bgcolor": PAPER,
                "bordercolor": GREY,
                "font": {"family": FONT, "size": 13, "color": INK},
                "align": "left",
            },
            "showlegend": False,
            "bargap": 0.25,
            "dragmode": False,
        }
    )


def empty_figure(sentence: str, height_px: int = 160) -> go.Figure:
    """What stands where nothing can be drawn yet: the reason in words."""
    figure = go.Figure()
    figure.update_layout(
        template=template(),
        height=height_px,
        xaxis={"visible": False},
        yaxis={"visible": False},
        annotations=[
            {
                "text": sentence,
                "xref": "paper",
                "yref": "paper",
                "x": 0,
                "y": 0.5,
                "xanchor": "left",
                "showarrow": False,
                "font": {"color": GREY, "size": 14},
            }
        ],
        margin={"l": 0, "r": 0, "t": 8, "b": 8},
    )
    return figure
