"""The gate statement as lines of text."""

from __future__ import annotations

from tracker.cli.answers import table
from tracker.statements.gate_shapes import GateBreach, GateStatement


def gate_lines(s: GateStatement) -> list[str]:
    """The gate for reading: headline, caps, hours, what is booked ahead, what went beyond."""
    room = [] if s.loads_left is None else [f"Room for spoil, in loads: {s.loads_left}."]
    why_none = [] if any(cap.forecast is not None for cap in s.caps) else [s.forecast]
    return [
        s.headline,
        "",
        f"Gate window: {s.gate_window}. As it stands: {s.at}.",
        *(f"By permission: {reference}." for reference in s.permissions),
        *(f"Cap {_cap(cap.per, cap.direction)}: {cap.sentence}" for cap in s.caps),
        *room,
        *why_none,
        *s.warnings,
        "",
        *_hours(s),
        "",
        *_ahead(s),
        *_beyond(s),
    ]


def _cap(per: str, direction: str) -> str:
    way = "both ways" if direction == "both" else direction
    return f"{'an hour' if per == 'hour' else 'a day'}, {way}"


def _hours(s: GateStatement) -> list[str]:
    heads = ["hour", "spoil in", "out", "other in", "out", "booked in", "out", "movements", "left"]
    rows = [
        [
            f"{h.hour:02d}:00",
            *map(str, (h.spoil_in, h.spoil_out, h.other_in, h.other_out)),
            *map(str, (h.booked_in, h.booked_out, h.movements)),
            "–" if h.left is None else str(h.left),
        ]
        for h in s.hours
    ]
    return table(heads, rows) if rows else ["No movement is recorded or booked on this day."]


def _ahead(s: GateStatement) -> list[str]:
    if not s.ahead:
        return ["Nothing is booked for the two weeks ahead."]
    return ["Booked ahead:", *(f"  {' '.join((day.sentence, *day.warnings))}" for day in s.ahead)]


def _beyond(s: GateStatement) -> list[str]:
    if not s.breaches:
        return [f"Since {s.since} no cap was passed, and nobody passed outside the window."]
    lines = [f"Beyond caps and windows since {s.since}: {len(s.breaches)}."]
    for breach in s.breaches:
        lines += _breach(breach)
    return lines


def _breach(breach: GateBreach) -> list[str]:
    state = "closed" if breach.closed else "open"
    behind = ", ".join(f"{one.what} [{one.entry_id}]" for one in breach.passes)
    return [f"  {state}: {breach.sentence} [{breach.about}]", f"    {behind}"]
