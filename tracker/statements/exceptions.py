"""What is open: breaches first, then every rule that the records break and nobody has closed."""

from __future__ import annotations

from tracker.domain.calendar import local_time
from tracker.ledger.entries import LorryLoad
from tracker.ledger.questions import closed_exceptions, flagged_loads, summed
from tracker.statements.frame import Frame
from tracker.statements.shapes import OpenException
from tracker.statements.words import date_words

CAP_RULE = "over_movement_cap"

_SENTENCES = {
    "over_plate": "gross {gross:.2f} t is above the plated {plate:g} t: stop loading so, it is"
    " unlawful and unsafe",
    "short_cycle": "left again sooner than the {cycle:g} min a round trip takes: check the ticket",
    "outside_window": "passed the gate at {out:%H:%M}, outside the gate window",
    "override": "was sent although a rule forbade it: {reason}",
    "unknown_authorisation": "carrier or destination without a recorded authorisation",
}


def open_warnings(frame: Frame) -> tuple[OpenException, ...]:
    """Open exceptions that are no breach, newest first."""
    closed = closed_exceptions(frame.ledger, frame.known_at)
    found = [*_of_loads(frame), *_of_caps(frame)]
    still_open = [e for e in found if (e.rule, e.about) not in closed]
    return tuple(sorted(still_open, key=lambda e: (e.work_date, e.about), reverse=True))


def _of_loads(frame: Frame) -> list[OpenException]:
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
    caps = {cap.per: cap for cap in frame.site.caps}
    if "day" not in caps:
        return []
    cap = caps["day"]
    by_day = summed(
        frame.ledger, ["movements"], ["day"], until=frame.as_of, known_at=frame.known_at
    )
    return [
        OpenException(
            rule=CAP_RULE,
            severity="warning",
            about=f"day {day}",
            kind="",
            work_date=day,
            zone="",
            sentence=f"{count} movements on {date_words(day)}, {count - cap.movements} more than"
            f" the cap of {cap.movements} a day ({cap.reference}).",
        )
        for (_, day), count in by_day.items()
        if count > cap.movements
    ]
