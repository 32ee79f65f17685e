"""What came and what went, by day and stream, as the amounts that a balance takes."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from tracker.domain.balance import BELT_U, LOAD_U_T, PAYLOAD_U, WEIGHBRIDGE_U, Amount
from tracker.domain.ground import ground_of
from tracker.domain.haulage import usual_payload_t
from tracker.domain.site import Site
from tracker.domain.survey_check import RETURN_U
from tracker.ledger.questions import summed
from tracker.statements.frame import Frame, set_up_periods

SIGNS: Mapping[str, int] = {"dug": 1, "belt": -1, "lorries": -1, "reused": -1}

# Measure of the totals -> (term, unit, what errs, its relative standard uncertainty).
_MEASURES: Mapping[str, tuple[str, str, str, float]] = {
    "dug_measured_l": ("dug", "bank", "returns measured", RETURN_U["measured"]),
    "dug_counted_l": ("dug", "loose", "returns counted", RETURN_U["counted"]),
    "dug_weighed_kg": ("dug", "mass", "returns weighed", RETURN_U["weighed"]),
    "dug_estimated_l": ("dug", "bank", "returns estimated", RETURN_U["estimated"]),
    "belt_kg": ("belt", "mass", "belt weigher", BELT_U),
    "reused_bank_l": ("reused", "bank", "re-use measured", RETURN_U["measured"]),
    "reused_compacted_l": ("reused", "compacted", "re-use measured", RETURN_U["measured"]),
    "reused_kg": ("reused", "mass", "re-use weighed", RETURN_U["weighed"]),
}
_LOADS = ("load_kg", "weighed_kg", "weighed_loads")


@dataclass(frozen=True, slots=True)
class Flow:
    """What one day added to one term of the balance of a stream."""

    day: date
    stream: str
    term: str  # of SIGNS
    part: Amount

    @property
    def signed(self) -> tuple[int, Amount]:
        """The amount with its sign: dug comes, everything else goes."""
        return SIGNS[self.term], self.part


def flows(frame: Frame, since: date, until: date) -> dict[str, list[Flow]]:
    """Stream -> what came and went between two dates, by the set-up of each work date.

    Lorries count on the calendar day on which they left, everything else on its work date.
    """
    found: dict[str, list[Flow]] = defaultdict(list)
    for site, start, end in set_up_periods(frame, since, until):
        asked: dict[str, Any] = {"since": start, "until": end, "known_at": frame.known_at}
        for flow in (*_stated(frame, site, asked), *_loads(frame, site, asked)):
            found[flow.stream].append(flow)
    return {stream: sorted(of, key=lambda flow: flow.day) for stream, of in sorted(found.items())}


def _stated(frame: Frame, site: Site, asked: dict[str, Any]) -> Iterator[Flow]:
    by = ("day", "stream", "detail")
    amounts: dict[tuple[date, str, str, str], int] = defaultdict(int)
    for (measure, day, stream, detail), amount in summed(
        frame.ledger, tuple(_MEASURES), by, **asked
    ).items():
        belt = detail if measure == "belt_kg" else ""  # each belt has a weigher of its own
        amounts[day, stream, measure, belt] += amount
    for (day, stream, measure, belt), whole in amounts.items():
        term, unit, errs, relative_u = _MEASURES[measure]
        stated = whole / 1000.0
        error = (f"{errs} {belt}".strip(), stated * relative_u)
        ground = ground_of(site.stream(stream))
        yield Flow(day, stream, term, Amount(stated, unit, ground, (error,), stream))


def _loads(frame: Frame, site: Site, asked: dict[str, Any]) -> Iterator[Flow]:
    by_day: dict[tuple[date, str], dict[str, int]] = defaultdict(lambda: dict.fromkeys(_LOADS, 0))
    for (measure, day, stream), amount in summed(
        frame.ledger, _LOADS, ("day", "stream"), **asked
    ).items():
        by_day[day, stream][measure] += amount
    for (day, stream), sums in by_day.items():
        yield from _weights(site, day, stream, sums)
    columns = ("day", "stream", "detail")
    for (_, day, stream, vehicle), loads in summed(
        frame.ledger, ["loads_no_weight"], columns, **asked
    ).items():
        mass_t = loads * usual_payload_t(site, vehicle, stream)
        yield _lorries(site, day, stream, mass_t, ("usual payload", mass_t * PAYLOAD_U))


def _weights(site: Site, day: date, stream: str, sums: Mapping[str, int]) -> Iterator[Flow]:
    weighed_t = sums["weighed_kg"] / 1000.0
    estimated_t = (sums["load_kg"] - sums["weighed_kg"]) / 1000.0
    if weighed_t:
        each = (f"loads of {stream} of {day}", LOAD_U_T * math.sqrt(sums["weighed_loads"]))
        yield _lorries(
            site, day, stream, weighed_t, ("weighbridge", weighed_t * WEIGHBRIDGE_U), each
        )
    if estimated_t:
        error = ("estimated loads", estimated_t * RETURN_U["estimated"])
        yield _lorries(site, day, stream, estimated_t, error)


def _lorries(site: Site, day: date, stream: str, mass_t: float, *errors: tuple[str, float]) -> Flow:
    ground = ground_of(site.stream(stream))
    return Flow(day, stream, "lorries", Amount(mass_t, "mass", ground, errors, stream))
