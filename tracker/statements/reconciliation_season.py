"""The season that is reconciled: what each party states of each stream from survey to survey.

A period of a stream ends at the count of its heaps soonest after the survey, or at the survey if
there was none within three days; what was dug between the two is taken from the returns.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from statistics import median

from tracker.domain.factors import Factor
from tracker.domain.reconcile import usual
from tracker.domain.reconcile.stated import (
    Amount,
    AssumedGround,
    Bank,
    Carried,
    Loose,
    Mass,
    Season,
    Stated,
    SurveyedVoid,
)
from tracker.domain.site import Stream
from tracker.domain.survey_check import RETURN_U
from tracker.statements.frame import Frame
from tracker.statements.reconciliation_inputs import (
    LOST,
    Heaps,
    Load,
    Recorded,
    Returned,
    Reused,
    count_after,
)
from tracker.statements.survey_cuts import Cut

LORRIES, NOT_WEIGHED = "lorries", "lorries not weighed"
FIRST = datetime(1970, 1, 2, tzinfo=UTC)
LAST = datetime(9999, 1, 1, tzinfo=UTC)
NEXT_TO_NOTHING_M3 = 0.5


@dataclass(slots=True)
class Flow:
    """What was recorded of one stream in one period."""

    dug: list[Returned] = field(default_factory=list)
    dug_after: list[Returned] = field(default_factory=list)
    belt_t: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    belt_runs: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    loads: list[Load] = field(default_factory=list)
    reused: list[Reused] = field(default_factory=list)
    heaps: Heaps | None = None

    @property
    def moved(self) -> bool:
        """Whether anything was recorded at all."""
        return bool(self.dug or self.belt_t or self.loads or self.reused)


@dataclass(frozen=True, slots=True)
class Cells:
    """The flows by stream and period, and when the tickets of each period end."""

    cuts: Sequence[Cut]  # the first one opens the season where `opened` is set
    opened: Cut | None
    ends: Mapping[str, Sequence[datetime]]
    flows: Mapping[tuple[str, int], Flow]
    keeps_heaps: frozenset[str]
    opening: Mapping[str, Heaps]
    dug_before: Mapping[str, float]  # after the opening survey, and in the tickets before it

    @property
    def names(self) -> list[str]:
        """The periods by the date of the survey that ends each."""
        return [cut.work_date.isoformat() for cut in self.cuts]


def cells(frame: Frame, data: Recorded, cuts: Sequence[Cut], opened: Cut | None) -> Cells:
    """Sort what was recorded into streams and periods."""
    flows: dict[tuple[str, int], Flow] = defaultdict(Flow)
    ends: dict[str, Sequence[datetime]] = {}
    starts: dict[str, datetime] = {}
    opening: dict[str, Heaps] = {}
    every = [opened, *cuts] if opened else list(cuts)
    for stream in (one.stream for one in frame.site.streams):
        counts = _counts(data.heaps.get(stream, ()), [cut.at for cut in every])
        moments = [one.at if one else cut.at for one, cut in zip(counts, every, strict=True)]
        starts[stream] = moments.pop(0) if opened else FIRST
        first = counts.pop(0) if opened else None
        if first:
            opening[stream] = first
        ends[stream] = moments
        for place, count in enumerate(counts):
            flows[stream, place].heaps = count
    _sort_in(flows, data, ends, starts)
    _sort_in_dug_after(flows, data, ends, cuts)
    dug_before: dict[str, float] = defaultdict(float)
    for dug in data.returned:
        if opened and opened.at < dug.at <= starts.get(dug.stream, FIRST):
            dug_before[dug.stream] += dug.bank_m3
    keeps = frozenset(stream for stream in ends if data.heaps.get(stream))
    return Cells(cuts, opened, ends, flows, keeps, opening, dug_before)


def _counts(heaps: Sequence[Heaps], moments: Sequence[datetime]) -> list[Heaps | None]:
    """The count of the heaps that belongs to each survey."""
    following = [*moments[1:], LAST][: len(moments)]
    return [count_after(heaps, at, then) for at, then in zip(moments, following, strict=True)]


def _sort_in_dug_after(
    flows: dict[tuple[str, int], Flow],
    data: Recorded,
    ends: Mapping[str, Sequence[datetime]],
    cuts: Sequence[Cut],
) -> None:
    """Returns between a survey and the count of the heaps."""
    for dug in data.returned:
        place = bisect_left(ends.get(dug.stream, ()), dug.at)
        if dug.stream in ends and place < len(cuts) and cuts[place].at < dug.at:
            flows[dug.stream, place].dug_after.append(dug)


def _sort_in(
    flows: dict[tuple[str, int], Flow],
    data: Recorded,
    ends: Mapping[str, Sequence[datetime]],
    starts: Mapping[str, datetime],
) -> None:
    for dug in data.returned:
        place = _place(dug.at, ends.get(dug.stream, ()), starts.get(dug.stream, FIRST))
        if place is not None:
            flows[dug.stream, place].dug.append(dug)
    for load in data.loads:
        place = _place(load.at, ends.get(load.stream, ()), starts.get(load.stream, FIRST))
        if place is not None:
            flows[load.stream, place].loads.append(load)
    for reused in data.reused:
        place = _place(reused.at, ends.get(reused.stream, ()), starts.get(reused.stream, FIRST))
        if place is not None:
            flows[reused.stream, place].reused.append(reused)
    for run in data.runs:
        borders = [starts.get(run.stream, FIRST), *ends.get(run.stream, ())]
        length = run.ends - run.starts
        for place in range(max(bisect_left(borders, run.starts) - 1, 0), len(borders) - 1):
            within = min(run.ends, borders[place + 1]) - max(run.starts, borders[place])
            if within <= timedelta():
                break
            flow = flows[run.stream, place]
            flow.belt_t[run.belt] += within / length * run.mass_t
            flow.belt_runs[run.belt] += 1


def _place(at: datetime, ends: Sequence[datetime], starts: datetime) -> int | None:
    """The period of a moment; None before the first and after the last."""
    place = bisect_left(ends, at)
    return place if place < len(ends) and at > starts else None


# --- as statements -------------------------------------------------------------------------------
def season(frame: Frame, found: Cells) -> Season:
    """What every party states, with its uncertainties, for the domain to reconcile."""
    u_level_m = math.sqrt(_mean([cut.u_level_m**2 for cut in found.cuts]))
    grounds, stated = [], []
    for stream in frame.site.streams:
        of_stream = _Stream(found, stream, u_level_m)
        rows = of_stream.stated()
        if rows:
            grounds.append(of_stream.ground())
            stated += rows
    return Season(found.names, grounds, stated)


def counted_season(found: Cells, whole: Season) -> Season:
    """The season with counted returns alone, and voids without what other returns state.

    For the implied bulking: a period of which less than half was counted has no returns in it.
    """
    return replace(whole, stated=[_counted(found, whole, one) for one in whole.stated])


def _counted(found: Cells, whole: Season, one: Stated) -> Stated:
    flow = found.flows.get((one.stream, whole.periods.index(one.period)), Flow())
    counted = [dug for dug in flow.dug if dug.basis == "counted"]
    others: dict[str, float] = defaultdict(float)
    for dug in flow.dug:
        if dug.basis != "counted":
            others[dug.basis] += dug.bank_m3
    bank_m3, other_m3 = sum(dug.bank_m3 for dug in counted), sum(others.values())
    if one.survey is None or not counted or bank_m3 < other_m3:
        return replace(one, returns=None)
    loose_m3, void = sum(dug.loose_m3 for dug in counted), one.survey.void
    u_m3 = math.hypot(void.u_independent_m3, usual.mean_u_of_returns(others) * other_m3)
    own_m3 = RETURN_U["counted"] * loose_m3
    left = replace(void, bank_m3=void.bank_m3 - other_m3, u_independent_m3=u_m3)
    returns = Loose(loose_m3, max(own_m3, NEXT_TO_NOTHING_M3), own_m3)
    return replace(one, survey=replace(one.survey, void=left), returns=returns)


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def u_of(factor: Factor) -> float:
    """Standard uncertainty of an assumed factor, also where the set-up states no range."""
    return factor.standard_uncertainty or usual.U_FACTOR_WITHOUT_RANGE * factor.value


class _Stream:
    """The statements of one stream, period by period, carrying over what was not stated yet."""

    def __init__(self, found: Cells, stream: Stream, u_level_m: float) -> None:
        self.found, self.stream, self.u_level_m = found, stream, u_level_m
        name = stream.stream
        self.flows = [found.flows.get((name, place), Flow()) for place in range(len(found.cuts))]
        heaps = [flow.heaps.loose_m3 for flow in self.flows if flow.heaps and flow.heaps.loose_m3]
        typical_m3 = median(heaps) if heaps else 0.0
        self.typical_heap_m3 = typical_m3
        runs = [
            t / self.flows[k].belt_runs[belt]
            for k, flow in enumerate(self.flows)
            for belt, t in flow.belt_t.items()
        ]
        self.typical_run_t = median(runs) if runs else 0.0

    def ground(self) -> AssumedGround:
        density, loose = self.stream.bank_density_t_per_m3, self.stream.loose_per_bank
        opening = self.found.opening.get(self.stream.stream)
        return AssumedGround(
            self.stream.stream,
            density.value,
            usual.U_DENSITY_OF_PERIOD * density.value,
            u_of(density),
            loose.value,
            usual.U_BULKING_OF_PERIOD * loose.value,
            u_of(loose),
            self._heaps(opening) if opening else None,
        )

    def stated(self) -> list[Stated]:
        name, rows = self.stream.stream, []
        opened = self.found.opened
        known_m3 = opened.by_stream_m3.get(name, 0.0) if opened else 0.0
        known_m3 += self.found.dug_before.get(name, 0.0)
        for place, (cut, flow) in enumerate(zip(self.found.cuts, self.flows, strict=True)):
            void_m3 = cut.by_stream_m3.get(name, 0.0) - known_m3
            if not flow.moved and abs(void_m3) < self._nothing_m3(cut):
                continue
            rows.append(self._period(self.found.names[place], cut, flow, void_m3))
            known_m3 += void_m3
        return rows

    def _nothing_m3(self, cut: Cut) -> float:
        """A void that a survey of idle ground may show [m³]."""
        area_m2 = cut.floor_m2.get(self.stream.stream, 0.0)
        return max(NEXT_TO_NOTHING_M3, 3.0 * area_m2 * self.u_level_m)

    def _period(self, name: str, cut: Cut, flow: Flow, void_m3: float) -> Stated:
        stock = self._heaps(flow.heaps) if flow.heaps else None
        carried = [*self._belts(flow), *self._lorries(flow)]
        if not carried and self.stream.stream not in self.found.keeps_heaps:
            carried = [Carried(LORRIES)]  # it must have gone somewhere: no record says where
        return Stated(
            period=name,
            stream=self.stream.stream,
            survey=self._survey(cut, flow, void_m3),
            returns=self._returns(flow, void_m3),
            carried=carried,
            reused=_reused(flow.reused),
            closing_stock=stock,
        )

    def _survey(self, cut: Cut, flow: Flow, void_m3: float) -> SurveyedVoid:
        u_m3 = math.hypot(cut.u_border_m3.get(self.stream.stream, 0.0), NEXT_TO_NOTHING_M3)
        after_m3 = sum(one.bank_m3 for one in flow.dug_after)
        dug_after = None
        if after_m3 > 0.0:
            dug_after = Bank(after_m3, max(usual.U_DUG_AFTER * after_m3, NEXT_TO_NOTHING_M3))
        return SurveyedVoid(
            Bank(void_m3, u_m3, usual.U_WALL_LINE * abs(void_m3)),
            cut.floor_m2.get(self.stream.stream, 0.0),
            self.u_level_m,
            dug_after,
            cut.u_split_m3.get(self.stream.stream, 0.0),
        )

    def _returns(self, flow: Flow, void_m3: float) -> Amount | None:
        """The returns of a period; uncertain by a share of the surveyed void, not of themselves."""
        if not flow.dug:
            return None
        by_basis: dict[str, float] = defaultdict(float)
        for one in flow.dug:
            by_basis[one.basis] += one.bank_m3
        bank_m3 = sum(by_basis.values())
        typical_m3 = max(void_m3, 0.25 * bank_m3)
        own_m3 = max(usual.mean_u_of_returns(by_basis) * typical_m3, NEXT_TO_NOTHING_M3)
        if set(by_basis) == {"counted"}:
            loose = self.stream.loose_per_bank.value
            return Loose(sum(one.loose_m3 for one in flow.dug), own_m3 * loose, own_m3 * loose)
        u_factors_m3 = sum(one.u_factors_m3 for one in flow.dug)
        return Bank(bank_m3, own_m3, math.hypot(own_m3, u_factors_m3))

    def _belts(self, flow: Flow) -> list[Carried]:
        return [
            Carried(
                belt,
                weighed=Mass(
                    mass_t,
                    max(
                        usual.U_BELT_RUN * self.typical_run_t * flow.belt_runs[belt] ** 0.5,
                        usual.U_NET_T,
                    ),
                    usual.U_BELT_SPAN * mass_t,
                ),
            )
            for belt, mass_t in sorted(flow.belt_t.items())
        ]

    def _lorries(self, flow: Flow) -> list[Carried]:
        """Loads, weighed or not: those with a receipt by receiver, all others together.

        What a receiver accepted under a ticket that nobody has counts among its receipts, and what
        the lorries say is uncertain by as much: so the receipt decides, and one lost ticket does
        not drown every other misfit.
        """
        groups: dict[tuple[str, str], list[Load]] = defaultdict(list)
        for load in flow.loads:
            by = LORRIES if load.basis in ("weighed", LOST) else NOT_WEIGHED
            groups[by, "" if load.accepted_t is None else load.destination].append(load)
        return [
            Carried(by, receiver, _weighed(loads), _accepted(loads) if receiver else None)
            for (by, receiver), loads in sorted(groups.items())
        ]

    def _heaps(self, heaps: Heaps) -> Loose:
        u_m3 = max(heaps.u_share * self.typical_heap_m3, usual.U_STOCK_LEAST_M3)
        return Loose(heaps.loose_m3, u_m3)


def _reused(some: Sequence[Reused]) -> Amount | None:
    """What was placed again on site: a mass if all of it was weighed, else a bank volume."""
    if not some:
        return None
    weighed = all(one.weighed for one in some)
    amount = sum(one.mass_t if weighed else one.bank_m3 for one in some)
    u = max(usual.U_REUSED * amount, usual.U_NET_T)
    return Mass(amount, u) if weighed else Bank(amount, u)


def _weighed(loads: Sequence[Load]) -> Mass:
    mass_t = {"weighed": 0.0, "estimated": 0.0, "none": 0.0, LOST: 0.0}
    for load in loads:
        mass_t[load.basis] += load.mass_t
    lost_t = sum(load.accepted_t or 0.0 for load in loads if load.basis == LOST)
    weighed = sum(load.basis in ("weighed", LOST) for load in loads)
    own_t = math.hypot(
        usual.U_NET_T * weighed**0.5,
        usual.U_PAYLOAD_T * (len(loads) - weighed) ** 0.5,
        usual.U_PAPERS * sum(mass_t.values()),
        lost_t,
    )
    shared_t = (
        usual.U_WEIGHBRIDGE_SPAN * mass_t["weighed"]
        + usual.U_ESTIMATED * mass_t["estimated"]
        + usual.U_NO_WEIGHT * mass_t["none"]
    )
    return Mass(sum(mass_t.values()), own_t, shared_t)


def _accepted(loads: Sequence[Load]) -> Mass:
    mass_t = sum(load.accepted_t or 0.0 for load in loads)
    own_t = math.hypot(usual.U_NET_T * len(loads) ** 0.5, usual.U_PAPERS * mass_t)
    return Mass(mass_t, own_t, usual.U_WEIGHBRIDGE_SPAN * mass_t)
