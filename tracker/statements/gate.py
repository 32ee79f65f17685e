"""Gate: movements used, booked and left on a day, how it may end, and what went beyond."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from tracker.domain import gate as g
from tracker.domain.calendar import caps_on, gate_windows, local_time, window_words
from tracker.domain.site import MovementCap, Site
from tracker.errors import InputError
from tracker.ledger.entries import GateBooking
from tracker.ledger.questions import summed
from tracker.statements import gate_words as words
from tracker.statements.frame import Frame, basis, framed, midnight
from tracker.statements.gate_breaches import gate_breaches
from tracker.statements.gate_shapes import (
    DayAhead,
    GateCapLine,
    GateHourLine,
    GateOpening,
    GateStatement,
)

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

REACH_DAYS = 30  # how far back breaches are listed unless told
AHEAD_DAYS = 14  # how far ahead bookings are held against the caps
GATE_CAUTION = (
    "A lorry counts once its load is recorded; those still on site are not in these figures. The"
    " conditions and permits of the site govern, not this screen."
)
# Totals by hour -> what the domain calls them.
PASSES = {
    "moves_in": "spoil_in",
    "moves_out": "spoil_out",
    "other_in": "other_in",
    "other_out": "other_out",
}


def gate_statement(
    ledger: LedgerReads,
    as_of: date,
    *,
    since: date | None = None,
    known_at: datetime | None = None,
) -> GateStatement:
    """The gate on a day as it stands now, or at its end; breaches since a date, 30 days if None.

    Raises NotEnoughData without a set-up, InputError for a period that ends before it starts.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        start = _start(frame, since)
        bookings = bookings_from(frame, as_of + timedelta(days=AHEAD_DAYS))
        hours = hours_of_day(frame, bookings.get(as_of, []))
        caps = caps_on(frame.site, as_of)
        found = [(g.cap_standing(cap, hours), g.forecast(cap, hours)) for cap in caps]
        windows = gate_windows(frame.site, as_of)
        window = window_words(windows)
        left = g.loads_left(caps, hours)
        headline = words.headline(as_of, [one for one, _ in found], hours, window, left)
        ahead = [
            _day_ahead(frame, day, booked)
            for day, booked in sorted(bookings.items())
            if day > as_of
        ]
        return GateStatement(
            basis=basis(frame, start, cautions=(GATE_CAUTION,)),
            headline=f"{headline} {_tomorrow(frame, hours, ahead)}".strip(),
            since=start,
            at=_at(frame),
            gate_window=window,
            windows=tuple(_opening(*each) for each in windows),
            permissions=_permissions(frame.site, as_of),
            hours=tuple(_hour_line(hour, caps) for hour in hours if _matters(hour)),
            caps=tuple(_cap_line(*one, hours) for one in found),
            loads_left=left,
            forecast=_forecast(caps, found, hours),
            warnings=words.booking_warnings(caps, hours, window),
            breaches=gate_breaches(frame, start),
            ahead=tuple(ahead),
        )


def _permissions(site: Site, day: date) -> tuple[str, ...]:
    """The references of the permissions that hold on a day, each once."""
    held = (leave.reference for leave in site.gate_permissions if leave.holds_on(day))
    return tuple(dict.fromkeys(held))


def _tomorrow(frame: Frame, hours: tuple[g.GateHour, ...], ahead: list[DayAhead]) -> str:
    """What is booked for the day after, once the gate opens no more on this one."""
    closed = not any(h.open_left_min for h in hours)
    next_day = frame.as_of + timedelta(days=1)
    return next((d.sentence for d in ahead if closed and d.day == next_day), "")


def _start(frame: Frame, since: date | None) -> date:
    if since is not None and since > frame.as_of:
        raise InputError(
            f"The period starts on {since}, after it ends on {frame.as_of}: swap the dates.",
            field="since",
        )
    usual = frame.as_of - timedelta(days=REACH_DAYS - 1)
    return max(frame.site.first_date, since or usual)


def bookings_from(frame: Frame, until: date) -> dict[date, list[GateBooking]]:
    """Day -> what is booked for it, from the as-of date to a later one."""
    by_day: dict[date, list[GateBooking]] = {}
    for booking in frame.ledger.current(
        "gate_bookings", known_at=frame.known_at, since=frame.as_of, until=until
    ):
        by_day.setdefault(booking.gate_date, []).append(booking)
    return by_day


def hours_of_day(frame: Frame, bookings: list[GateBooking]) -> tuple[g.GateHour, ...]:
    """The hours of the as-of date as they stand at the moment of the statement."""
    day = frame.as_of
    sums = summed(
        frame.ledger, tuple(PASSES), ("detail",), since=day, until=day, known_at=frame.known_at
    )
    passed = {(PASSES[measure], int(hour)): n for (measure, hour), n in sums.items()}
    return g.gate_hours(
        passed,
        [_booked(b) for b in bookings],
        gate_windows(frame.site, day),
        day,
        frame.moment,
        frame.site.time_zone,
    )


def _booked(booking: GateBooking) -> g.Booked:
    return g.Booked(booking.from_hour, booking.to_hour, booking.movements_in, booking.movements_out)


def _opening(opens: time, closes: time) -> GateOpening:
    ends_h = 24.0 if closes == time.max else closes.hour + closes.minute / 60.0
    return GateOpening(opens.hour + opens.minute / 60.0, ends_h)


def _at(frame: Frame) -> str:
    if frame.moment >= midnight(frame, frame.as_of + timedelta(days=1)):
        return "end of the day"
    local = local_time(frame.moment, frame.site.time_zone)
    return f"{local:%H:%M}" if local.date() == frame.as_of else "before the day"


def _matters(hour: g.GateHour) -> bool:
    return bool(hour.open_gone_min or hour.open_left_min or hour.used() or hour.booked())


def _hour_line(hour: g.GateHour, caps: tuple[MovementCap, ...]) -> GateHourLine:
    of_an_hour = [cap for cap in caps if cap.per == "hour"]
    room = [cap.movements - hour.used(cap.direction) for cap in of_an_hour]
    left = [n - hour.awaited(cap.direction) for n, cap in zip(room, of_an_hour, strict=True)]
    return GateHourLine(
        hour=hour.hour,
        stage=hour.stage,
        spoil_in=hour.spoil_in,
        spoil_out=hour.spoil_out,
        other_in=hour.other_in,
        other_out=hour.other_out,
        booked_in=hour.booked_in,
        booked_out=hour.booked_out,
        awaited=hour.awaited(),
        movements=hour.used(),
        open_min=hour.open_gone_min + hour.open_left_min,
        left=min(left, default=None),
        over_cap=any(n < 0 for n in room),
    )


def _forecast(
    caps: tuple[MovementCap, ...],
    found: list[tuple[g.CapStanding, g.Forecast | None]],
    hours: tuple[g.GateHour, ...],
) -> str:
    said = [words.forecast_sentence(one.cap, made) for one, made in found if one.cap.per == "day"]
    said += [words.forecast_sentence(one.cap, made) for one, made in found if one.cap.per == "hour"]
    return " ".join(filter(None, said)) or words.no_forecast(caps, hours)


def _cap_line(
    standing: g.CapStanding, forecast: g.Forecast | None, hours: tuple[g.GateHour, ...]
) -> GateCapLine:
    cap = standing.cap
    counted = [h for h in hours if standing.hour in (None, h.hour)]
    is_open = any(h.open_left_min for h in hours)
    said = (words.standing_sentence(standing, is_open), words.forecast_sentence(cap, forecast))
    return GateCapLine(
        per=cap.per,
        direction=cap.direction,
        hour=standing.hour,
        cap=cap.movements,
        reference=cap.reference,
        used=standing.used,
        spoil=sum(h.spoil(cap.direction) for h in counted),
        other=sum(h.other(cap.direction) for h in counted),
        booked=standing.awaited,
        left=standing.left,
        forecast=forecast.movements if forecast else None,
        forecast_low=forecast.low if forecast else None,
        forecast_high=forecast.high if forecast else None,
        passes_in_hour=forecast.passes_in_hour if forecast else None,
        sentence=" ".join(filter(None, said)),
    )


def _day_ahead(frame: Frame, day: date, bookings: list[GateBooking]) -> DayAhead:
    site = frame.site_on(day)
    windows, caps, zone = gate_windows(site, day), caps_on(site, day), site.time_zone
    begins = midnight(frame, day)
    hours = g.gate_hours({}, [_booked(b) for b in bookings], windows, day, begins, zone)
    empty = g.gate_hours({}, (), windows, day, begins, zone)
    of_day = [cap.movements for cap in caps if (cap.per, cap.direction) == ("day", "both")]
    window = window_words(windows)
    left, usual = g.loads_left(caps, hours), g.loads_left(caps, empty)
    listed = words.purposes([(b.purpose, b.movements_in + b.movements_out) for b in bookings])
    booked = sum(h.booked() for h in hours)
    return DayAhead(
        day=day,
        window=window,
        booked=booked,
        booked_for=listed,
        cap_day=of_day[0] if of_day else None,
        loads_left=left,
        loads_usual=usual,
        sentence=" ".join(
            (
                words.day_ahead(day, booked, listed, left, usual),
                *words.permission_sentences(_permissions(site, day)),
            )
        ),
        warnings=words.booking_warnings(caps, hours, window),
    )
