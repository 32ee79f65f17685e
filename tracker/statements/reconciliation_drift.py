"""Whether each belt weigher has changed against the surveys, stream by stream, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tracker.domain.reconcile.drift import Drift, DriftPoint, belt_drift
from tracker.domain.reconcile.run_length import LIMIT
from tracker.domain.reconcile.stated import Season
from tracker.errors import NotEnoughData
from tracker.statements.frame import Frame
from tracker.statements.reconciliation_season import LORRIES, NOT_WEIGHED
from tracker.statements.reconciliation_shapes import (
    BeltDrift,
    DriftDelay,
    DriftStep,
    MaterialCheck,
)
from tracker.statements.reconciliation_words import belt_name, listed, period_words

SAID_DELAYS = (0.015, 0.02)


def drifts(
    frame: Frame, season: Season, streams: Mapping[str, str], suspect: str = ""
) -> list[BeltDrift]:
    """The drift of every belt in every stream that it carried; `suspect` is the source named."""
    pairs = {
        (way.by, one.stream): None
        for one in season.stated
        for way in one.carried
        if way.by not in (LORRIES, NOT_WEIGHED)
    }
    checks = material_checks(frame) if pairs else {}
    found = [
        _drift(season, belt, stream, streams.get(stream, stream), checks.get(belt, ()))
        for belt, stream in pairs
    ]
    return [_beside_suspect(one, suspect) for one in found]


def _beside_suspect(one: BeltDrift, suspect: str) -> BeltDrift:
    """An alarm may be the doing of another source that is named: say so before it is believed."""
    if not one.alarm or suspect in ("", one.belt):
        return one
    words = " Another statement is suspect, see above: the alarm may be its doing. Settle it first."
    return replace(one, sentence=one.sentence + words)


def material_checks(frame: Frame) -> dict[str, tuple[MaterialCheck, ...]]:
    """Belt -> its checks with weighed material, oldest first."""
    found: dict[str, tuple[MaterialCheck, ...]] = {}
    for check in frame.ledger.current(
        "belt_checks",
        known_at=frame.known_at,
        until=frame.as_of,
        where={"method": "material"},
    ):
        if check.reference_kg > 0:
            percent = 100.0 * (check.shown_kg / check.reference_kg - 1.0)
            one = MaterialCheck(check.work_date, percent, check.entry_id)
            found[check.belt] = (*found.get(check.belt, ()), one)
    return found


def _drift(
    season: Season, belt: str, stream: str, name: str, checks: Sequence[MaterialCheck]
) -> BeltDrift:
    try:
        found = belt_drift(season, stream, belt=belt)
    except NotEnoughData as error:
        return _shown(belt, stream, name, None, str(error), checks)
    return _shown(belt, stream, name, found, "", checks)


def _checked_words(checks: Sequence[MaterialCheck]) -> str:
    said = ", ".join(
        f"{one.work_date.day} {one.work_date:%b %Y} {one.percent:+.1f} %".replace("-", "−")
        for one in checks
    )
    return f" Checked with weighed material: {said}." if said else ""


def _subject(belt: str, name: str) -> str:
    words = belt_name(belt)
    return f"{words[0].upper()}{words[1:]}, {name.lower()}"


def _shown(
    belt: str,
    stream: str,
    name: str,
    found: Drift | None,
    missing: str,
    checks: Sequence[MaterialCheck],
) -> BeltDrift:
    points = found.points if found else ()
    said = missing if found is None else drift_sentence(belt, name, found)
    return BeltDrift(
        belt=belt,
        stream=stream,
        name=_subject(belt, name),
        missing=missing,
        sentence=said + _checked_words(checks),
        limit=found.limit if found else LIMIT,
        alarm=(found.alarm or "") if found else "",
        reads=(found.reads or "") if found else "",
        since=(found.since or "") if found else "",
        false_alarm_periods=found.false_alarm_periods if found else 0.0,
        points=tuple(
            DriftStep(p.period, p.ratio, p.u_ratio, p.step, p.upper, p.lower) for p in points
        ),
        delays=tuple(DriftDelay(100.0 * d.ratio, d.periods) for d in found.delays) if found else (),
        checks=tuple(checks),
    )


def _mean_ratio(points: Sequence[DriftPoint]) -> float:
    """Mean of the ratios, each by its certainty: little spoil on the belt says little of it."""
    weights = [point.u_ratio**-2 for point in points]
    if not weights:
        return 0.0
    return sum(w * p.ratio for w, p in zip(weights, points, strict=True)) / sum(weights)


def drift_sentence(belt: str, name: str, found: Drift) -> str:
    """What the chart says, how soon it would, and how often it is wrong."""
    count = len(found.points)
    subject = _subject(belt, name)
    if found.alarm and found.since:
        began = [point.period for point in found.points].index(found.since)
        apart = _mean_ratio(found.points[began:]) - _mean_ratio(found.points[:began])
        says = (
            f"{subject}: alarm in the period to {period_words(found.alarm)}. It reads {found.reads}"
            f" against the surveys, most likely since the period to {period_words(found.since)}, by"
            f" about {100.0 * abs(apart):.1f} %. Check it with test weights."
        )
    else:
        slow = [d for d in found.delays if d.ratio in SAID_DELAYS and d.periods > count]
        few = f", too few to see {100.0 * slow[-1].ratio:g} %" if slow else ""
        says = f"{subject}: no alarm in {count} periods{few}."
    delays = [
        f"{100.0 * delay.ratio:g} % after {delay.periods:.0f} periods"
        for delay in found.delays
        if delay.ratio in SAID_DELAYS
    ]
    return (
        f"{says} On average it sees a lasting change of {listed(delays)}, and gives a false alarm"
        f" every {found.false_alarm_periods:,.0f} periods. An error that was there from the start"
        " it does not see."
    )
