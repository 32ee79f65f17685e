"""The statements of delays and of hold points as lines of text."""

from __future__ import annotations

from tracker.cli.answers import table
from tracker.statements.capacity_shapes import DelayStatement, HoldLine, HoldStatement
from tracker.statements.words import span_words

_LISTED = 5  # shares of each zone, the rest are in the export


def delay_lines(s: DelayStatement) -> list[str]:
    """Delays for reading: headline, causes, owners, what governed the shifts."""
    heads = ["cause", "who can remove it", "shifts", "h", "lost m³", "share", "cumulative", ""]
    rows = [
        [
            x.name,
            x.owner,
            f"{x.shifts:,}",
            f"{x.minutes / 60:,.1f}",
            f"{x.lost_bank_m3:,.0f}",
            f"{100 * x.share:.1f} %",
            f"{100 * x.cumulative_share:.1f} %",
            "leads" if x.governing else "",
        ]
        for x in s.lines
    ]
    owners = [
        f"{o.owner or 'nobody on site'}: {o.lost_bank_m3:,.0f} m³ in {o.minutes / 60:,.0f} h"
        f" ({100 * o.share:.0f} %)"
        for o in s.owners
    ]
    return [s.headline, "", *table(heads, rows), "", *owners, "", *_governed(s)]


def _governed(s: DelayStatement) -> list[str]:
    zones = dict.fromkeys(g.zone for g in s.governed)
    lines = ["Shifts by what governed them:"] if s.governed else []
    for zone in zones:
        shares = [f"{g.words} {100 * g.share:.0f} %" for g in s.governed if g.zone == zone]
        lines.append(f"  {f'zone {zone}' if zone else 'all zones'}: {', '.join(shares[:_LISTED])}.")
    return lines


def hold_lines(s: HoldStatement) -> list[str]:
    """Hold points for reading: headline, what runs, formation, then every hold."""
    heads = ["hold", "status", "on", "permit", "stage above dug out", "days", "planned", "late"]
    rows = [
        [
            f"{x.zone} {x.hold}",
            x.standing,
            x.decided_at or "–",
            x.permit or "–",
            str(x.dug_out_on or "–"),
            "–" if x.days is None else f"{_length(x.days)}{' so far' if x.running else ''}",
            str(x.planned_days),
            _length(x.late_days) if x.late_days else "",
        ]
        for x in s.holds
    ]
    return [
        s.headline,
        "",
        *(x.sentence for x in s.holds if _to_say(x)),
        *(f"{'OVER ITS LIMIT ' if x.over else ''}{x.sentence}" for x in s.formation),
        "",
        *table(heads, rows),
    ]


def _length(days: float) -> str:
    """Days as a number, hours with their unit where it is under a day."""
    return span_words(days).removesuffix(" days")


def _to_say(hold: HoldLine) -> bool:
    """Whether a hold needs more than its row: it runs, is suspended or has a condition."""
    return hold.running or hold.status == "suspended" or bool(hold.given_condition)
