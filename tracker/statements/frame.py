"""The frame of a statement: the set-ups in force over a period, completeness, the basis lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, TypeVar

from tracker.domain.calendar import days, shift_times, shifts_on, time_zone
from tracker.domain.levels import CAUTION, FORMATION, RELEASED, plan_area
from tracker.domain.site import Datum, DelayCause, Destination, Route, Shift, Site, Vehicle
from tracker.errors import UnknownName
from tracker.ledger.entries import HoldRelease
from tracker.ledger.questions import hold_decisions, summed
from tracker.ledger.setups import site_of
from tracker.statements.basis import Basis

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Frame:
    """Where and when a statement stands: a ledger, a date, a moment of knowledge, the set-ups.

    `site` is the set-up in force on the as-of date; what happened before is held against the one
    that was in force then (`site_on`), so that a later set-up alters no history.
    """

    ledger: LedgerReads
    as_of: date
    known_at: datetime | None
    site: Site
    title: str
    since_date: date
    set_ups: tuple[tuple[date, Site], ...]  # with the work date from which each is in force
    decisions: tuple[HoldRelease, ...]  # on hold points, in the order in which they were made

    def site_on(self, day: date) -> Site:
        """The set-up in force on a work date; before the first one, the first."""
        in_force = [site for starts, site in self.set_ups if starts <= day]
        return in_force[-1] if in_force else self.set_ups[0][1]

    def route(self, name: str) -> Route:
        """A route, by the set-up in force or the newest that still knows it. Raises UnknownName."""
        return self._known(lambda site: site.route(name))

    def vehicle(self, name: str) -> Vehicle:
        """A vehicle, found as a route is. Raises UnknownName."""
        return self._known(lambda site: site.vehicle(name))

    def destination(self, name: str) -> Destination:
        """A destination, found as a route is. Raises UnknownName."""
        return self._known(lambda site: site.destination(name))

    def shift(self, name: str) -> Shift:
        """A shift, found as a route is. Raises UnknownName."""
        return self._known(lambda site: site.shift(name))

    def cause(self, name: str) -> DelayCause:
        """A delay cause, found as a route is. Raises UnknownName."""
        return self._known(lambda site: site.cause(name))

    def _known(self, ask: Callable[[Site], T]) -> T:
        for site in (self.site, *(site for _, site in reversed(self.set_ups))):
            with suppress(UnknownName):
                return ask(site)
        return ask(self.site)

    @property
    def moment(self) -> datetime:
        """The end of the as-of date on site, or now if that comes first [UTC]."""
        end = midnight(self, self.as_of + timedelta(days=1))
        return min(end, self.known_at or self.ledger.now())


def framed(ledger: LedgerReads, as_of: date, known_at: datetime | None = None) -> Frame:
    """The frame of a statement on a date. Raises NotEnoughData if there is no set-up."""
    revision = ledger.revision(as_of, known_at=known_at)
    return Frame(
        ledger,
        as_of,
        known_at,
        site_of(revision.tables),
        revision.title,
        revision.effective_date,
        tuple((r.effective_date, site_of(r.tables)) for r in ledger.revisions(known_at)),
        tuple(hold_decisions(ledger, as_of, known_at)),
    )


def set_up_periods(frame: Frame, since: date, until: date) -> list[tuple[Site, date, date]]:
    """(set-up, from, to) over a period: each work date with the set-up in force on it."""
    starts = sorted({since, *(starts for starts, _ in frame.set_ups if since < starts <= until)})
    ends = [*(start - timedelta(days=1) for start in starts[1:]), until]
    return [(frame.site_on(start), start, end) for start, end in zip(starts, ends, strict=True)]


@dataclass(frozen=True, slots=True)
class Completeness:
    """Returns expected by the calendar and received, one a shift and zone; nil ones included."""

    expected: int
    received: int
    nil: int


def zone_opens_until(frame: Frame) -> dict[str, tuple[date, date]]:
    """Zone -> first and last work date on which a return is expected of it."""
    spans = {}
    for zone in frame.site.zones:
        area_m2 = plan_area(zone, frame.site.formation_level_m(zone.zone))
        accepted = [
            d.work_date
            for d in frame.decisions
            if (d.zone, d.hold, d.status) == (zone.zone, FORMATION, RELEASED)
            and (d.accepted_area_dm2 or 0) / 100.0 >= 0.99 * area_m2
        ]
        spans[zone.zone] = (zone.opens, accepted[0] if accepted else date.max)
    return spans


def completeness(frame: Frame, since: date, until: date) -> Completeness:
    """Returns expected and received between two dates; a shift counts once it is over.

    A return that the calendar did not expect stands in for none that is missing.
    """
    expected = set(expected_slots(frame, since, until))

    stated = summed(
        frame.ledger,
        ("returns", "returns_nil"),
        ("day", "detail", "zone"),
        since=since,
        until=until,
        known_at=frame.known_at,
    )
    received = Counter(measure for measure, *slot in stated if tuple(slot) in expected)
    return Completeness(len(expected), received["returns"], received["returns_nil"])


def expected_slots(frame: Frame, since: date, until: date) -> Iterator[tuple[date, str, str]]:
    """(work date, shift, zone) of every return that is due between two dates."""
    spans = list(zone_opens_until(frame).items())
    for site, start, end in set_up_periods(frame, max(since, frame.site.first_date), until):
        for day in days(start, end):
            open_zones = [zone for zone, (first, last) in spans if first <= day <= last]
            for shift in shifts_on(site, day) if open_zones else ():
                if day < frame.as_of - timedelta(days=1) or is_over(frame, shift, day):
                    yield from ((day, shift.shift, zone) for zone in open_zones)


def is_over(frame: Frame, shift: Shift, work_date: date) -> bool:
    """Whether a shift has ended at the moment of the statement."""
    return shift_times(shift, work_date, frame.site.time_zone)[1] <= frame.moment


def midnight(frame: Frame, day: date) -> datetime:
    """The moment at which a day begins on site [UTC]."""
    return datetime.combine(day, time(), time_zone(frame.site.time_zone)).astimezone(UTC)


def ended_at(frame: Frame, shift: str, work_date: date) -> datetime:
    """When a shift ended; the end of the day for a survey, or a shift that the set-up has not."""
    known = {s.shift: s for s in frame.site_on(work_date).shifts}
    if shift in known:
        return shift_times(known[shift], work_date, frame.site.time_zone)[1]
    return midnight(frame, work_date + timedelta(days=1))


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
