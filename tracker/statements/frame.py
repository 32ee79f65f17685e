"""The frame of a statement: the set-ups in force over a period, completeness, the basis lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from tracker.domain.calendar import days, shift_times, shifts_on, time_zone
from tracker.domain.levels import CAUTION, FORMATION, RELEASED, plan_area
from tracker.domain.site import Datum, Shift, Site
from tracker.ledger.questions import hold_decisions, received_by_day
from tracker.ledger.setups import site_of
from tracker.statements.basis import Basis

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads


@dataclass(frozen=True, slots=True)
class Frame:
    """Where and when a statement stands: a ledger, a date, a moment of knowledge, the set-up."""

    ledger: LedgerReads
    as_of: date
    known_at: datetime | None
    site: Site
    title: str
    since_date: date

    @property
    def moment(self) -> datetime:
        """The end of the as-of date on site, or now if that comes first [UTC]."""
        zone = time_zone(self.site.time_zone)
        midnight = datetime.combine(self.as_of + timedelta(days=1), time(), zone)
        return min(midnight.astimezone(UTC), self.known_at or self.ledger.now())


def framed(ledger: LedgerReads, as_of: date, known_at: datetime | None = None) -> Frame:
    """The frame of a statement on a date. Raises NotEnoughData if there is no set-up."""
    revision = ledger.revision(as_of, known_at=known_at)
    return Frame(
        ledger, as_of, known_at, site_of(revision.tables), revision.title, revision.effective_date
    )


def set_up_periods(frame: Frame, since: date, until: date) -> list[tuple[Site, date, date]]:
    """(set-up, from, to) over a period: each work date with the set-up in force on it."""
    revisions = frame.ledger.revisions(frame.known_at)
    starts = [since, *(r.effective_date for r in revisions if since < r.effective_date <= until)]
    starts = sorted(set(starts))
    ends = [*(start - timedelta(days=1) for start in starts[1:]), until]
    return [
        (frame.ledger.site(start, known_at=frame.known_at), start, end)
        for start, end in zip(starts, ends, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class Completeness:
    """Returns expected by the calendar and received, one a shift and zone; nil ones included."""

    expected: int
    received: int
    nil: int


def zone_opens_until(frame: Frame) -> dict[str, tuple[date, date]]:
    """Zone -> first and last work date on which a return is expected of it."""
    accepted = {
        decision.zone: decision.work_date
        for decision in hold_decisions(frame.ledger, frame.as_of, frame.known_at)
        if decision.hold == FORMATION
        and decision.status == RELEASED
        and _whole_area(frame.site, decision.zone, decision.accepted_area_dm2)
    }
    return {z.zone: (z.opens, accepted.get(z.zone, date.max)) for z in frame.site.zones}


def _whole_area(site: Site, zone: str, accepted_area_dm2: int | None) -> bool:
    area_m2 = plan_area(site.zone(zone), site.formation_level_m(zone))
    return (accepted_area_dm2 or 0) / 100.0 >= 0.99 * area_m2


def completeness(frame: Frame, since: date, until: date) -> Completeness:
    """Returns expected and received between two dates; a shift counts once it is over.

    A day on which more came in than was expected counts as complete, no more.
    """
    expected = _expected_by_day(frame, since, until)

    def counted(measure: str) -> int:
        found = received_by_day(
            frame.ledger, measure, since=since, until=until, known_at=frame.known_at
        )
        return sum(min(count, expected.get(day, 0)) for day, count in found.items())

    return Completeness(sum(expected.values()), counted("returns"), counted("returns_nil"))


def _expected_by_day(frame: Frame, since: date, until: date) -> dict[date, int]:
    spans = list(zone_opens_until(frame).values())
    expected: dict[date, int] = {}
    for day in days(max(since, frame.site.first_date), until):
        shifts = shifts_on(frame.site, day)
        if day >= frame.as_of - timedelta(days=1):
            shifts = tuple(s for s in shifts if is_over(frame, s, day))
        open_zones = sum(first <= day <= last for first, last in spans)
        if shifts and open_zones:
            expected[day] = len(shifts) * open_zones
    return expected


def is_over(frame: Frame, shift: Shift, work_date: date) -> bool:
    """Whether a shift has ended at the moment of the statement."""
    return shift_times(shift, work_date, frame.site.time_zone)[1] <= frame.moment


def basis(
    frame: Frame,
    since: date,
    *,
    quality: Sequence[str] = (),
    cautions: Sequence[str] = (CAUTION,),
) -> Basis:
    """The basis of a statement over a period that ends on the as-of date."""
    found = completeness(frame, since, frame.as_of)
    return Basis(
        site=frame.site.name,
        as_of=frame.as_of,
        known_at=frame.known_at,
        revision=frame.title,
        revision_from=frame.since_date,
        datum=datum_sentence(frame.site.datum),
        returns_expected=found.expected,
        returns_received=found.received,
        returns_nil=found.nil,
        quality=tuple(quality),
        cautions=tuple(cautions),
    )


def datum_sentence(datum: Datum) -> str:
    """How site levels relate to the national ones."""
    return (
        f"Levels are metres above {datum.name}; {datum.national_name} ="
        f" {datum.name} {datum.offset_m:+.3f} m."
    )
