"""The statements of delays and of hold points as lines of text."""

from __future__ import annotations

from tracker.cli.answers import table
from tracker.statements.capacity_shapes import DelayStatement

_OF_ALL = 8  # shares of each zone that are listed


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
        lines.append(f"  {f'zone {zone}' if zone else 'all zones'}: {', '.join(shares[:_OF_ALL])}.")
    return lines
