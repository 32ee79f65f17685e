"""The parts every page is made of: headings, tables, fields, notices, charts. Looks, no wiring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import dash_mantine_components as dmc
import plotly.graph_objects as go
from dash import dcc, html
from dash.development.base_component import Component

from dashboard import theme
from tracker.statements.basis import Basis

Part = Component | str | None


def page(heading: str, *parts: Part, id: str = "") -> html.Article:
    """A page: its heading, which takes the focus when the page opens, and its parts."""
    named = {"id": id} if id else {}
    return html.Article(
        [html.H1(heading, tabIndex=-1, className="page-heading", **named), *parts],
        className="page",
    )


def block(title: str, *parts: Part, className: str = "") -> html.Section:
    """A part of a page under a heading and a hairline."""
    return html.Section([html.H2(title), *parts], className=f"block {className}".strip())


def slot(id: str, *, className: str = "") -> html.Div:
    """An empty place that a callback fills."""
    return html.Div(id=id, className=className)


# --- charts --------------------------------------------------------------------------------------
def graph(id: str, words: str, figure: go.Figure | None = None) -> html.Div:
    """The only maker of charts: no tool bar, nothing that could reach another server.

    Without a figure a callback draws it. `words` name the chart to those who cannot see it; its
    sentence and its rows stand below it.
    """
    drawn = dcc.Graph(
        id=id,
        figure=figure or theme.empty_figure("Loading …"),
        className="chart",
        config={
            "displayModeBar": False,
            "displaylogo": False,
            "showSendToCloud": False,
            "plotlyServerURL": "",
            "scrollZoom": False,
            "doubleClick": False,
            "showTips": False,
        },
    )
    return html.Div(drawn, role="img", **{"aria-label": words})


def chart(title: str, graph_id: str, note_id: str, *, className: str = "") -> html.Section:
    """A chart under its title, with a place for its sentence and its rows."""
    return block(title, graph(graph_id, title), slot(note_id), className=f"chart-block {className}")


def chart_note(sentence: str | Component, rows: Component, *, more: Part = None) -> list[Part]:
    """The sentence that says what a chart shows, and its rows behind a disclosure."""
    return [
        html.P(sentence, className="summary"),
        more,
        html.Details(
            [html.Summary("Rows behind this chart"), rows],
            className="rows",
        ),
    ]


# --- tables --------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Head:
    """A column of a table: its heading with the unit, whether it holds numbers or short words."""

    words: str
    numeric: bool = False
    short: bool = False

    @property
    def look(self) -> str:
        """Its style."""
        return "numeric" if self.numeric else "short" if self.short else ""


def table(caption: str, heads: Sequence[Head], rows: Iterable[Sequence[Any]]) -> Component:
    """A table; on a phone each row becomes a small card with the headings beside the values."""
    body = [
        html.Tr(
            [
                html.Td(
                    cell,
                    role="cell",
                    className=head.look,
                    **{"data-label": head.words},
                )
                for head, cell in zip(heads, row, strict=True)
            ],
            role="row",
        )
        for row in rows
    ]
    if not body:
        return html.P(f"{caption}: none.", className="empty")
    head_row = [
        html.Th(head.words, role="columnheader", scope="col", className=head.look) for head in heads
    ]
    return html.Table(
        [
            html.Caption(caption),
            html.Thead(html.Tr(head_row, role="row"), role="rowgroup"),
            html.Tbody(body, role="rowgroup"),
        ],
        role="table",
        className="table",
    )


def matrix(
    caption: str,
    corner: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[Any]],
    *,
    words_last: bool = False,
) -> Component:
    """A small table by two names that keeps its form on a phone; the last column may be words."""
    if not rows:
        return html.P(f"{caption}: none.", className="empty")
    head = html.Tr([html.Th(c, scope="col") for c in (corner, *columns)])
    body = [
        html.Tr([html.Th(first, scope="row"), *(html.Td(cell) for cell in cells)])
        for first, *cells in rows
    ]
    look = "matrix words-last" if words_last else "matrix"
    parts = [html.Caption(caption), html.Thead(head), html.Tbody(body)]
    return html.Table(parts, className=look)


def long_table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Component:
    """A table of many rows and few columns of plain text: numbers after the first column.

    One component, however long it is: a component a cell would keep the browser busy for seconds.
    """
    body = [list(row) for row in rows]
    if not body:
        return html.P(f"{caption}: none.", className="empty")
    data = {"caption": caption, "head": list(heads), "body": body}
    return dmc.Table(data=data, captionSide="top", className="long-table")


def key_figures(figures: Iterable[tuple[str, str, str]]) -> html.Dl:
    """A row of (name, value with unit, what stands beside it)."""
    return html.Dl(
        [
            html.Div([html.Dt(name), html.Dd(value), html.Dd(beside, className="beside")])
            for name, value, beside in figures
        ],
        className="key-figures",
    )


# --- words ---------------------------------------------------------------------------------------
def mark(words: str, meaning: str = "") -> html.Span:
    """Words with a coloured mark before them; meaning is breach, warning, planned or done."""
    return html.Span(words, className=f"mark {meaning}".strip())


def notice(words: str, *parts: Part, meaning: str = "warning", alert: bool = False) -> html.Div:
    """A sentence that must be seen, with what can be done about it."""
    role = {"role": "alert"} if alert else {"role": "status"}
    return html.Div([html.P(words), *parts], className=f"notice {meaning}", **role)


def basis_block(basis: Basis, *, attribution: Sequence[str] = ()) -> html.Div:
    """What the statement stands on, and the cautions that go with it."""
    return html.Div(
        [
            html.H2("Basis"),
            html.Ul([html.Li(line) for line in (*basis.lines, *attribution)]),
        ],
        className="basis",
    )


def cautions(basis: Basis) -> html.Div:
    """The cautions of a statement, beside the figures they belong to."""
    return html.Div([html.P(words) for words in basis.cautions], className="cautions")


def empty_state(words: str) -> html.Div:
    """What stands on a page that has nothing to show yet, and what to do about it."""
    return html.Div([html.P(words)], className="empty-state")


def record_link(entry_id: str, words: str = "See the row") -> dcc.Link:
    """A link to one entry with all its versions."""
    return dcc.Link(words, href=f"/records?entry={entry_id}", className="link")


def button(words: str, id: Any, *, main: bool = False) -> html.Button:
    """A button with words on it."""
    look = "button main" if main else "button"
    return html.Button(words, id=id, n_clicks=0, type="button", className=look)


# --- fields --------------------------------------------------------------------------------------
def text_field(id: Any, label: str, help: str = "", **more: Any) -> dmc.TextInput:
    """A line of text."""
    return dmc.TextInput(id=id, label=label, description=help or None, value="", **more)


def decimal_field(id: Any, label: str, help: str = "", **more: Any) -> dmc.TextInput:
    """A number as text: decimal keyboard, read strictly on the server, never clamped."""
    keyboard = {"input": {"inputMode": "decimal", "autoComplete": "off"}}
    return text_field(id, label, help, attributes=keyboard, **more)


def choice(id: Any, label: str, help: str = "", **more: Any) -> dmc.Select:
    """One of a list that a callback fills."""
    return dmc.Select(
        id=id,
        label=label,
        description=help or None,
        data=more.pop("data", []),
        allowDeselect=more.pop("allowDeselect", False),
        withCheckIcon=True,
        withScrollArea=False,
        comboboxProps={"withinPortal": False, "transitionProps": {"duration": 0}},
        **more,
    )


def date_field(id: Any, label: str, **more: Any) -> dmc.DatePickerInput:
    """A date picked from a calendar: nothing can be mistyped."""
    return dmc.DatePickerInput(
        id=id,
        label=label,
        valueFormat="ddd D MMM YYYY",
        firstDayOfWeek=1,
        weekendDays=[],
        hideOutsideDates=True,
        ariaLabels={"nextMonth": "Next month", "previousMonth": "Month before"},
        # Its own roles name a dialog by an id that the field replaces.
        popoverProps={
            "transitionProps": {"duration": 0},
            "withRoles": False,
            "withinPortal": False,
        },
        **more,
    )
