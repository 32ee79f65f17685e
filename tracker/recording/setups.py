"""The set-ups in force, with their names looked up once: what rows are read against."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any

from tracker.domain.calendar import gate_windows, shift_minutes, shift_times, shifts_on
from tracker.domain.levels import design_volume
from tracker.domain.site import Shift, Site
from tracker.ledger.store import Ledger
from tracker.recording.moments import LocalClock


class Setup:
    """One revision of the set-up as dictionaries by name."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.clock = LocalClock(site.time_zone)
        self.zones = {z.zone: z for z in site.zones}
        self.streams = {s.stream: s for s in site.streams}
        self.vehicles = {v.vehicle: v for v in site.vehicles}
        self.carriers = {c.carrier: c for c in site.carriers}
        self.destinations = {d.destination: d for d in site.destinations}
        self.routes = {r.route: r for r in site.routes}
        self.shifts = {s.shift: s for s in site.shifts}
        self.causes = {c.cause: c for c in site.causes}
        self.stages = {(s.zone, s.stage): s for s in site.stages}
        self.formation_m = {z.zone: site.formation_level_m(z.zone) for z in site.zones}
        self.belts: dict[str, list[str]] = defaultdict(list)
        for route in site.routes:
            for leg in route.legs:
                if leg.mode == "belt" and route.route not in self.belts[leg.belt]:
                    self.belts[leg.belt].append(route.route)
        # What documents say of a load, by stream, carrier, destination and date.
        self.verdicts: dict[tuple[Any, ...], tuple[Any, ...]] = {}
        # Asked for every row and the same for all rows of a day.
        self.gate_windows = lru_cache(maxsize=None)(lambda day: gate_windows(site, day))
        self._shifts_on = lru_cache(maxsize=None)(lambda day: shifts_on(site, day))
        self._minutes = lru_cache(maxsize=None)(
            lambda shift, day: shift_minutes(shift, day, site.time_zone)
        )

    def works(self, shift: Shift, day: date) -> bool:
        """Whether the calendar expects this shift to start on this date."""
        return shift in self._shifts_on(day)

    def shift_minutes(self, shift: Shift, day: date) -> int:
        """How long the shift really lasts on this date [min]."""
        return int(self._minutes(shift, day))

    def work_date_of(self, moment: datetime) -> date:
        """The work date a moment belongs to: of the shift it falls in, else the local date."""
        local_date = self.clock.local(moment).date()
        for day in (local_date, local_date - timedelta(days=1)):
            for shift in self._shifts_on(day):
                start, end = shift_times(shift, day, self.site.time_zone)
                if start <= moment < end:
                    return day
        return local_date

    def zone_volume_m3(self, zone: str) -> float:
        """Design bank volume of a zone down to formation [m³]."""
        ground_m = self.zones[zone].ground_level_m
        return design_volume(self.zones[zone], ground_m, self.formation_m[zone])


class Setups:
    """Every revision of the set-up by the date from which it is in force."""

    def __init__(self, revisions: Sequence[tuple[date, Site]]) -> None:
        self._dates = [effective for effective, _ in revisions]
        self._setups = [Setup(site) for _, site in revisions]

    def on(self, day: date) -> Setup:
        """The set-up in force on a work date; before the first one, the first."""
        return self._setups[max(0, bisect_right(self._dates, day) - 1)]

    @property
    def latest(self) -> Setup:
        """The newest set-up."""
        return self._setups[-1]


def setups_of(ledger: Ledger) -> Setups:
    """The set-ups of a ledger. Raises NotEnoughData if none was adopted yet."""
    dates = [revision.effective_date for revision in ledger.revisions()]
    if not dates:
        ledger.site()  # says what to do
    return Setups([(day, ledger.site(day)) for day in dates])
