"""Holds: every hold point zone by zone, and how long formation has lain open. A safety matter."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from tracker.domain.levels import CAUTION
from tracker.statements.capacity_shapes import HoldStatement
from tracker.statements.formation import Formation, formation_steps, formation_timer, formations
from tracker.statements.frame import basis, framed
from tracker.statements.hold_points import (
    HoldPoint,
    LateHold,
    hold_line,
    hold_points,
    late_holds,
)
from tracker.statements.levels import open_breaches, standings
from tracker.statements.shapes import OpenException
from tracker.statements.zone_shifts import dug_out, zone_shifts

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

CAUTIONS = (
    CAUTION,
    "Days and hours follow from what was recorded. Whether ground may be dug, or formation built"
    " on, is for the permit and the people who sign it.",
)
_METHOD = (
    "A hold runs from the end of the shift in which the stage above was dug out until it is"
    " released, and again while it is suspended; planned days are those of the set-up.",
    "Formation lies open from reached, by the record or else by the level, to blinded. A blinding"
    " covers the reached part of its own reference; else what was reached last before it.",
)


def holds_statement(
    ledger: LedgerReads, as_of: date, *, known_at: datetime | None = None
) -> HoldStatement:
    """Every hold point with its decision and its days, and the formation of every zone.

    Raises NotEnoughData if the ledger has no set-up.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        out = dug_out(frame, zone_shifts(frame))
        points = list(hold_points(frame, out))
        found = list(formations(frame, out, formation_steps(frame)))
        breaches = open_breaches(frame, standings(frame))
        late = late_holds(points, frame.moment)
        return HoldStatement(
            basis=basis(frame, frame.site.first_date, quality=_METHOD, cautions=CAUTIONS),
            headline=_headline(breaches, points, late, found),
            holds=tuple(hold_line(frame, point) for point in points),
            formation=tuple(formation_timer(frame, one) for one in found),
        )


def _headline(
    breaches: Sequence[OpenException],
    points: Sequence[HoldPoint],
    late: Sequence[LateHold],
    found: Sequence[Formation],
) -> str:
    said = [breach.sentence for breach in breaches]
    over = [one.zone.zone for one in found if one.over]
    if over:
        said.append(
            f"Formation of zone {', '.join(over)} lies open longer than allowed: ask the temporary"
            " works coordinator and the designer."
        )
    running = sum(point.dug_out is not None and not point.open for point in points)
    if not running:
        return " ".join([*said, "No hold runs."])
    runs = f"{running} hold runs" if running == 1 else f"{running} holds run"
    if not late:
        return " ".join([*said, f"{runs}, none a day or more longer than planned."])
    most = max(late, key=lambda one: one.late_days)
    return " ".join(
        [
            *said,
            f"{runs}, {len(late)} of them longer than planned; most in zone {most.point.zone.zone},"
            f" {most.late_days:.1f} days over the {most.above.hold_days} for {most.above.support}.",
        ]
    )
