"""What is open: breaches first, then every rule that the records break and nobody has closed."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from tracker.domain import rules
from tracker.domain.calendar import local_time
from tracker.domain.rules import CAP_RULE
from tracker.domain.site import MovementCap
from tracker.ledger.entries import LorryLoad
from tracker.ledger.questions import closed_exceptions, exceeded, flagged_loads
from tracker.statements.frame import Frame, set_up_periods
from tracker.statements.shapes import OpenException
from tracker.statements.survey_against_returns import open_disagreements
from tracker.statements.surveyed import taken_to
from tracker.statements.words import date_words

# What a cap counts, and by which columns of the totals.
_CAPPED = {
    "day": (("movements",), ("day",)),
    "hour": (("moves_in", "moves_out"), ("day", "detail")),
}

_SENTENCES = {
    rules.OVER_PLATE: "gross {gross:.2f} t is above the plated {plate:g} t: stop loading so, it is"
    " unlawful and unsafe",
    rules.SHORT_CYCLE: "left again sooner than the {cycle:g} min a round trip takes: check the"
    " ticket",
    rules.OUTSIDE_WINDOW: "passed the gate at {out:%H:%M}, outside the gate window",
    rules.OVERRIDE: "was sent although a rule forbade it: {reason}",
    rules.UNKNOWN_AUTHORISATION: "carrier or destination without a recorded authorisation",
}


def open_warnings(frame: Frame) -> tuple[OpenException, ...]:
    """Open exceptions that are no breach, newest first."""
    closed = closed_exceptions(frame.ledger, frame.known_at)
    above_caps = [e for e in _of_caps(frame) if (e.rule, e.about) not in closed]
    surveyed = open_disagreements(frame, taken_to(frame), closed)
    found = [*_of_loads(frame, closed), *above_caps, *surveyed]
    return tuple(sorted(found, key=lambda e: (e.work_date, e.about), reverse=True))


def _of_loads(frame: Frame, closed: set[tuple[str, str]]) -> list[OpenException]:
    return [
        OpenException(
            rule=flag,
            severity="warning",
            about=load.entry_id,
            kind="lorry_loads",
            work_date=load.gate_date,
            zone=load.zone,
            sentence=_load_sentence(frame, load, flag),
        )
        for load in flagged_loads(frame.ledger, frame.as_of, frame.known_at)
        for flag in load.flags.split()
        if (flag, load.entry_id) not in closed
    ]


def _load_sentence(frame: Frame, load: LorryLoad, flag: str) -> str:
    vehicle = frame.vehicle(load.vehicle)
    said = _SENTENCES.get(flag, flag.replace("_", " ")).format(
        gross=(load.gross_kg or 0) / 1000.0,
        plate=vehicle.plated_gross_t,
        cycle=vehicle.min_cycle_min,
        out=local_time(load.gate_out_at, frame.site.time_zone),
        reason=load.override_reason,
    )
    plate = load.registration or "no plate"
    return f"Load {load.ticket_issuer} {load.ticket_number} ({plate}) {said}."


def _of_caps(frame: Frame) -> list[OpenException]:
    """Days above the cap of a day; hours of the last month above that of an hour.

    On the night when the clocks go back, the hour that comes twice counts as one.
    """
    hours_since = frame.as_of - timedelta(days=30)
    found = []
    for site, start, end in set_up_periods(frame, frame.site.first_date, frame.as_of):
        for cap in site.caps:
            since = start if cap.per == "day" else max(start, hours_since)
            asked: dict[str, Any] = {"since": since, "until": end, "known_at": frame.known_at}
            above = exceeded(frame.ledger, *_CAPPED[cap.per], cap.movements, **asked)
            found += [_cap_exception(cap, key, count) for key, count in above.items()]
    return found


def _cap_exception(cap: MovementCap, key: tuple[Any, ...], count: int) -> OpenException:
    day = key[0]
    hour = f", {key[1]}:00 to {key[1]}:59" if cap.per == "hour" else ""
    return OpenException(
        rule=CAP_RULE,
        severity="warning",
        about=f"{cap.per} {' '.join(map(str, key))}",
        kind="",
        work_date=day,
        zone="",
        sentence=f"{count} movements on {date_words(day)}{hour}, {count - cap.movements} more than"
        f" the cap of {cap.movements} a{'n' if hour else ''} {cap.per} ({cap.reference}).",
    )
