"""The first look at the page Spoil out: where the spoil of a day went, what lies, what may pass."""

from __future__ import annotations

from dash import html

from dashboard import theme
from dashboard.components import key_figures
from tracker.statements.balance_shapes import EnduranceView
from tracker.statements.gate_shapes import GateStatement
from tracker.statements.spoil_shapes import SpoilStatement

NOT_KNOWN = "not known"


def look_figures(spoil: SpoilStatement, gate: GateStatement) -> html.Dl:
    """The day by belt and by lorry, movements against their cap, stock, and how long it lasts."""
    day = next(line for line in spoil.moved if line.label == "day")
    return key_figures(
        [
            ("By belt, this day", theme.number(day.belt_t, "t"), ran_words(day.belt_running_h)),
            ("By lorry, this day", theme.number(day.lorry_t, "t"), loads_words(day.loads)),
            movements_figure(gate),
            stock_figure(spoil),
            endurance_figure(spoil.endurance),
        ]
    )


def ran_words(running_h: float | None) -> str:
    """How long the belt ran, if somebody read it."""
    if running_h is None:
        return "moist tonnes, weigher"
    return f"weigher, ran {theme.number(running_h, 'h', 1)}"


def loads_words(loads: int) -> str:
    """Loads and the movements they are."""
    return f"{loads} load{'' if loads == 1 else 's'}, {2 * loads} movements"


def movements_figure(gate: GateStatement) -> tuple[str, str, str]:
    """All movements of the day against the cap of a day, other traffic counted."""
    name = "Movements, this day"
    cap = next((c for c in gate.caps if c.per == "day" and c.direction == "both"), None)
    if cap is None:
        passed = sum(hour.movements for hour in gate.hours)
        return name, theme.number(passed), "no cap is set up"
    over = f", {-cap.left} over cap" if cap.left < 0 else ""
    booked = f", {cap.booked} booked" if cap.booked else ""
    used = f"{theme.number(cap.used)} of {theme.number(cap.cap)}{over}"
    return name, used, f"{cap.spoil} of spoil, {cap.other} other{booked}"


def stock_figure(spoil: SpoilStatement) -> tuple[str, str, str]:
    """What lies in all heaps, as last counted."""
    if not spoil.heaps:
        return "Stock", NOT_KNOWN, "no heap was counted yet"
    loose_m3 = sum(heap.loose_m3 for heap in spoil.heaps)
    over = [heap.location for heap in spoil.heaps if heap.over_limit]
    days = max(heap.days_old for heap in spoil.heaps)
    age = f"oldest count {days} day{'' if days == 1 else 's'} old" if days else "counted this day"
    beside = f"over its limit: {', '.join(over)}" if over else age
    return "Stock", theme.number(loose_m3, "m³ loose"), beside


def endurance_figure(view: EnduranceView) -> tuple[str, str, str]:
    """Hours of digging until the heaps are full once the belt stops."""
    if view.hours is None:
        return "If the belt stops", NOT_KNOWN, view.sentence
    free = theme.number(view.free_loose_m3, "m³ loose free below the limits")
    return "If the belt stops", theme.number(view.hours, "worked h", 1), f"of digging; {free}"
