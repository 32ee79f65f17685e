"""What is open: breaches first, then every rule that the records break and nobody has closed."""

from __future__ import annotations

from tracker.domain import rules
from tracker.domain.calendar import local_time
from tracker.ledger.entries import LorryLoad
from tracker.ledger.questions import closed_exceptions, flagged_loads
from tracker.statements.caps import open_caps
from tracker.statements.frame import Frame
from tracker.statements.shapes import OpenException
from tracker.statements.survey_against_returns import open_disagreements
from tracker.statements.surveyed import taken_to

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
    above_caps = [e for e in open_caps(frame) if (e.rule, e.about) not in closed]
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
