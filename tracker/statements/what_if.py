"""What if: two options side by side over the same ground, the same record and the same chance."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from tracker.domain.calendar import days, shifts_on
from tracker.domain.hours import is_stopped, shift_hours
from tracker.domain.options import Option, changed_site, checked_payload
from tracker.domain.programme.capacities import Capacities
from tracker.domain.programme.forecast import CAUTION, Forecast, Reached, forecast
from tracker.domain.programme.governing import WORDS
from tracker.domain.programme.shapes import Programme
from tracker.domain.programme.walk import WALKS_AT_ONCE
from tracker.domain.programme.ways import Ways
from tracker.domain.site import Site
from tracker.errors import InputError, Problem
from tracker.statements.forecast_shapes import (
    GovernsLine,
    OptionFormation,
    OptionResult,
    WhatIfStatement,
)
from tracker.statements.frame import Frame, basis, framed
from tracker.statements.measured import measured_lines
from tracker.statements.options import SEED, Comparison, WrongOptions, query_of
from tracker.statements.programme import Built, programme_of
from tracker.statements.recent import recent
from tracker.statements.stage_record import site_record
from tracker.statements.ways import record_start, ways_of
from tracker.statements.what_if_headline import differences, headline
from tracker.statements.what_if_spoil import Energies, OptionSpoil, option_spoil, with_payload
from tracker.statements.what_if_words import changes, formulae, label
from tracker.statements.words import count_words

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

WALKS = WALKS_AT_ONCE  # walked in one go, so that both options meet the same chance throughout
KWH_PER_T = "kwh_per_t"  # of what is measured
USUAL_WITHIN_DAYS = 28  # in which a usual weekday is looked for
OPTION_CAUTION = (
    "An option permits nothing: caps, windows, plates and permits stand until whoever set them"
    " changes them, and the lorry's plate is never exceeded."
)


@dataclass(frozen=True, slots=True)
class _Asked:
    """An option with the frame and the ways out as they would be."""

    option: Option
    frame: Frame
    ways: Ways

    @property
    def site(self) -> Site:
        """The site with the changes."""
        return self.frame.site


@dataclass(frozen=True, slots=True)
class _Same:
    """What is the same for both options."""

    frame: Frame
    built: Built
    meters: Energies
    usual: date  # the weekday of the limits
    walks: int
    seed: int


def what_if_statement(
    ledger: LedgerReads,
    as_of: date,
    a: Option,
    b: Option,
    *,
    known_at: datetime | None = None,
    walks: int = WALKS,
    seed: int = SEED,
) -> WhatIfStatement:
    """Two options side by side: dates, tonnes, movements, carbon, energy, what governs.

    Raises WrongOptions where the site cannot be changed so, NotEnoughData where the records do not
    support a forecast.
    """
    with ledger.reading():
        frame = framed(ledger, as_of, known_at)
        late = recent(frame, record_start(frame))
        ways, record = ways_of(frame, late), site_record(frame)
        asked = [_asked(frame, ways, side, option) for side, option in (("a", a), ("b", b))]
        alike = replace(a, name="") == replace(b, name="")
        usual = _usual_day(frame.site, asked)
        built = programme_of(frame, record=record, ways=ways)
        meters = {m.about: m for m in measured_lines(frame.site, late) if m.what == KWH_PER_T}
        same = _Same(frame, built, meters, usual, walks, seed)
        first = _result(asked[0], same)
        second = first if alike else _result(asked[1], same)
        results = (first, replace(second, name=label(b)))
        return WhatIfStatement(
            basis=basis(
                frame,
                frame.site.first_date,
                quality=built.basis,
                cautions=(CAUTION, OPTION_CAUTION),
            ),
            headline=headline(*results, alike=alike),
            options=results,
            differences=differences(*results),
            link=query_of(Comparison(a, b, as_of, seed, known_at or ledger.now())),
            formulae=formulae(),
            made_at=ledger.now(),
        )


def _asked(frame: Frame, ways: Ways, side: str, option: Option) -> _Asked:
    """An option put to the site, and to the set-ups to come. Raises WrongOptions."""
    try:
        site = changed_site(frame.site, option, frame.as_of)
        if option.payload_t is not None:
            checked_payload(site, option.payload_t)
        set_ups = tuple(
            (starts, changed_site(later, option, frame.as_of) if starts > frame.as_of else later)
            for starts, later in frame.set_ups
        )
    except InputError as error:
        field = f"{side}.{error.field}" if error.field else side
        raise WrongOptions([Problem("", 0, field, "", str(error))]) from None
    changed = replace(frame, site=site, set_ups=set_ups)
    return _Asked(option, changed, with_payload(site, ways, option))


def _result(asked: _Asked, same: _Same) -> OptionResult:
    frame, usual = same.frame, same.usual
    programme = _programme(asked, same.built)
    found = forecast(programme, walks=same.walks, seed=same.seed)
    bank_m3 = sum(stage.remaining_m3 for stage in programme.stages)
    out_share = _out_share(asked, found, bank_m3)
    spoil = option_spoil(frame, asked.site, asked.ways, same.meters, bank_m3, out_share)
    return OptionResult(
        name=label(asked.option),
        changes=changes(frame.site, asked.option),
        formation=tuple(_formation(asked, reached) for reached in found.parts),
        bank_m3=bank_m3,
        mass_t=spoil.mass_t,
        belt_t=spoil.belt_t,
        lorry_t=spoil.lorry_t,
        loads=spoil.loads,
        movements=spoil.movements,
        carbon_kgco2e=spoil.carbon_kgco2e,
        energy_kwh=spoil.energy_kwh,
        governs=tuple(_governs(programme, found)),
        limits=tuple(_limits(asked, usual)),
        assumed=tuple(_assumed(asked, found, spoil, usual)),
    )


def _programme(asked: _Asked, built: Built) -> Programme:
    """The programme with other shifts and limits ahead; what was dug and left stays as it is.

    The record is judged by the site as it was: an option says nothing of the past.
    """
    if asked.option.as_set_up:
        return built.programme
    changed = programme_of(asked.frame, record=built.record, ways=asked.ways).programme
    return built.programme.changed(
        slots=changed.slots,
        zones_at_once=asked.option.zones_at_once or built.programme.zones_at_once,
    )


def _formation(asked: _Asked, reached: Reached) -> OptionFormation:
    excavation = asked.site.excavation(reached.part)
    target, p80 = excavation.target_formation, reached.p80
    return OptionFormation(
        excavation=excavation.excavation,
        name=excavation.name,
        target=target,
        p20=reached.p20,
        p50=reached.p50,
        p80=p80,
        days_to_p80=(p80 - asked.frame.as_of).days if p80 else None,
        chance_of_target=reached.chance_by(target) if target else None,
    )


def _out_share(asked: _Asked, found: Forecast, bank_m3: float) -> dict[str, float]:
    """Belt -> share of the ground ahead dug on days when it is out all day, by the middle walk [-].

    Both the days of the option and the stops of the set-up count; those of some hours do not, since
    the heap evens out a day.
    """
    dug_m3 = _dug_by_day(found)
    shares = {}
    for belt in dict.fromkeys(stop.about for stop in asked.site.stops if stop.kind == "belt"):
        out_m3 = sum(m3 for day, m3 in dug_m3.items() if m3 and _is_out(asked.site, belt, day))
        if out_m3:
            shares[belt] = out_m3 / bank_m3
    return shares


def _dug_by_day(found: Forecast) -> dict[date, float]:
    dug_m3: dict[date, float] = defaultdict(float)
    before: dict[str, float] = defaultdict(float)
    for day in found.fan:  # part by part, day after day
        dug_m3[day.work_date] += day.middle_m3 - before[day.part]
        before[day.part] = day.middle_m3
    return dug_m3


def _is_out(site: Site, belt: str, day: date) -> bool:
    """Whether a belt stands still through all shifts of a date that has any."""
    stops = (s for s in site.stops if (s.kind, s.about) == ("belt", belt) and is_stopped(s, day))
    if not any(stops):
        return False
    return not sum(shift_hours(site, day, s, "belt", belt) for s in shifts_on(site, day))


# --- what governs --------------------------------------------------------------------------------
def _governs(programme: Programme, found: Forecast) -> Iterator[GovernsLine]:
    """Shares of the shifts ahead, by excavation, the largest first."""
    shifts: Mapping[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for zone in found.governs:
        for cause, share in zone.shares.items():
            shifts[programme.part(zone.zone)][cause] += share * zone.shifts
    for part, by_cause in shifts.items():
        total = sum(by_cause.values()) or 1.0
        for cause, count in sorted(by_cause.items(), key=lambda item: -item[1]):
            if count:
                yield GovernsLine(part, "", cause, WORDS.get(cause, cause), count / total)


def _usual_day(site: Site, asked: list[_Asked]) -> date:
    """The first weekday ahead that no closure, stop or permission touches in either option.

    The day after the as-of date where there is none within four weeks.
    """
    first = asked[0].frame.as_of + timedelta(days=1)
    for day in days(first, first + timedelta(days=USUAL_WITHIN_DAYS - 1)):
        stops = [stop for one in asked for stop in one.site.stops]
        touched = any(stop.first_day <= day <= stop.last_day for stop in stops)
        leave = any(permission.holds_on(day) for permission in site.gate_permissions)
        if day.weekday() < 5 and shifts_on(site, day) and not touched and not leave:
            return day
    return first


def _limits(asked: _Asked, day: date) -> Iterator[tuple[str, float, str]]:
    """The most that each way out takes in a work date [bank m³], the least first."""
    capacities = Capacities(asked.site, asked.ways)
    most: dict[str, float] = defaultdict(float)
    how: dict[str, str] = {}
    for shift in shifts_on(asked.site, day):
        for limit in capacities.limits(day, shift):
            name = ": ".join(filter(None, (WORDS.get(limit.name, limit.name), limit.about)))
            most[name] += limit.bank_m3
            how[name] = limit.how
    for name, bank_m3 in sorted(most.items(), key=lambda item: item[1]):
        yield name, bank_m3, how[name]


# --- what is assumed -----------------------------------------------------------------------------
def _assumed(asked: _Asked, found: Forecast, spoil: OptionSpoil, usual: date) -> Iterator[str]:
    shift, option = asked.option.added_shift, asked.option
    if shift:
        yield (
            f"In the shift {shift.name} a zone gives what a shift of the record gave; where it is"
            " shorter, no more than the usual output of its hours."
        )
    if option.cap_day is not None or option.cap_hour is not None:
        yield "Other traffic through the gate stays as it was of late, within the changed cap too."
        yield "Permissions of the set-up stand on their days in place of the changed cap."
    if option.payload_t is not None:
        yield from _payload_assumed(asked, option.payload_t)
    if option.fleet:
        yield "Lorries more or fewer take as long for a round and to be loaded as those there are."
    if option.belt:
        yield "The drive, the feed and what the belt hands on to take the changed belt's flow."
    yield from spoil.said
    if any(reached.p80 is None for reached in found.parts):
        yield "Tonnes and movements are of all ground left, also what the walks do not reach."
    yield f"The usual weekday of the limits is {usual:%a} {usual.day} {usual:%b %Y}."
    holds = count_words(len(found.releases), "hold point")
    yield f"Nobody has released {holds} ahead yet: the walk assumes each after its own length."


def _payload_assumed(asked: _Asked, payload_t: float) -> Iterator[str]:
    yield "Gate and weighbridge keep every load at or below its plate."
    lorries = {leg.vehicle for r in asked.site.routes for leg in r.legs[:1] if leg.vehicle}
    for name in sorted(lorries):
        held = {
            stream.stream: Ways().payload_t(asked.site, name, stream.stream)
            for stream in asked.site.streams
        }
        less = [f"{stream} {held_t:.1f} t" for stream, held_t in held.items() if held_t < payload_t]
        if less:
            yield (
                f"By body and usual fill {asked.site.vehicle(name).name} holds less than"
                f" {payload_t:g} t of {', '.join(less)}: the payload asks for a fuller body."
            )


def what_if_of(ledger: LedgerReads, comparison: Comparison, *, as_of: date) -> WhatIfStatement:
    """The statement of a comparison; `as_of` where it names no day of its own."""
    return what_if_statement(
        ledger,
        comparison.as_of or as_of,
        comparison.a,
        comparison.b,
        known_at=comparison.known_at,
        seed=comparison.seed,
    )
