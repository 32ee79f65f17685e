"""Whether each belt weigher has changed against the surveys, stream by stream, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tracker.domain.reconcile.drift import Drift, DriftPoint, belt_drift
from tracker.domain.reconcile.run_length import LIMIT
from tracker.domain.reconcile.stated import Season
from tracker.errors import NotEnoughData
from tracker.statements.reconciliation_season import LORRIES, NOT_WEIGHED
from tracker.statements.reconciliation_shapes import BeltDrift, DriftDelay, DriftStep
from tracker.statements.reconciliation_words import belt_name, listed, period_words

SAID_DELAYS = (0.015, 0.02)


def drifts(season: Season, streams: Mapping[str, str]) -> list[BeltDrift]:
    """The drift of every belt in every stream that it carried."""
    pairs = {
        (way.by, one.stream): None
        for one in season.stated
        for way in one.carried
        if way.by not in (LORRIES, NOT_WEIGHED)
    }
    return [_drift(season, belt, stream, streams.get(stream, stream)) for belt, stream in pairs]


def _drift(season: Season, belt: str, stream: str, name: str) -> BeltDrift:
    try:
        found = belt_drift(season, stream, belt=belt)
    except NotEnoughData as error:
        return _shown(belt, stream, name, None, str(error), "")
    return _shown(belt, stream, name, found, "", drift_sentence(belt, name, found))


def _subject(belt: str, name: str) -> str:
    words = belt_name(belt)
    return f"{words[0].upper()}{words[1:]}, {name.lower()}"


def _shown(
    belt: str, stream: str, name: str, found: Drift | None, missing: str, sentence: str
) -> BeltDrift:
    points = found.points if found else ()
    return BeltDrift(
        belt=belt,
        stream=stream,
        name=_subject(belt, name),
        missing=missing,
        sentence=sentence or missing,
        limit=found.limit if found else LIMIT,
        alarm=(found.alarm or "") if found else "",
        reads=(found.reads or "") if found else "",
        since=(found.since or "") if found else "",
        false_alarm_periods=found.false_alarm_periods if found else 0.0,
        points=tuple(
            DriftStep(p.period, p.ratio, p.u_ratio, p.step, p.upper, p.lower) for p in points
        ),
        delays=tuple(DriftDelay(100.0 * d.ratio, d.periods) for d in found.delays) if found else (),
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
        says = f"{subject}: no change against the surveys in {count} periods."
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
