"""What is asked for later than the first look, and what stands in its place until it is there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import plotly.graph_objects as go
from dash import ClientsideFunction, Dash, Input, State, html
from dash.exceptions import PreventUpdate

from dashboard import theme
from tracker.statements.basis import Basis

RECENT_DAYS = 28


@dataclass(frozen=True, slots=True)
class Asked:
    """What the first look shows, for those who come after it: day, excavation, width."""

    day: date
    excavation: str
    width_px: int

    @property
    def data(self) -> dict[str, Any]:
        """As the browser keeps it."""
        return {"day": self.day.isoformat(), "of": self.excavation, "width": self.width_px}


def asked(data: dict[str, Any] | None) -> Asked:
    """What the browser kept; a callback waits until there is something."""
    if not data:
        raise PreventUpdate
    return Asked(date.fromisoformat(data["day"]), data["of"], data["width"])


def recent(day: date, span: str) -> date | None:
    """The first of the last four weeks; none where the whole job is asked for."""
    return None if span == "all" else day - timedelta(RECENT_DAYS - 1)


def waiting(what: str, height_px: int = 160) -> go.Figure:
    """An empty chart as high as the one to come, so that nothing jumps."""
    return theme.empty_figure(f"Working out {what} …", height_px)


def own_cautions(basis: Basis, first_look: Basis) -> html.Div:
    """The cautions of a later part that the first look has not said already."""
    said = [words for words in basis.cautions if words not in first_look.cautions]
    return html.Div([html.P(words) for words in said], className="cautions")


def asked_when_seen(app: Dash, shown_id: str, place_id: str, seen_id: str) -> None:
    """Hand on what is shown once its place is scrolled near."""
    app.clientside_callback(
        ClientsideFunction("shell", "seen"),
        Input(shown_id, "data"),
        State(place_id, "id"),
        State(seen_id, "id"),
        prevent_initial_call=True,
    )
