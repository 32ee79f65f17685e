"""Spoil that left the site by route: tonnes by belt and lorry, weighed or not, and loads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from tracker.domain.haulage import usual_payload_t
from tracker.ledger.questions import summed
from tracker.statements.frame import Frame, set_up_periods

_MEASURES = (
    "belt_kg",
    "belt_wh",
    "belt_metered_kg",
    "load_kg",
    "weighed_kg",
    "weighed_loads",
    "loads",
    "loads_rejected",
)


@dataclass(slots=True)
class SpoilSum:
    """What left by one route, or in one period."""

    belt_t: float = 0.0
    belt_kwh: float = 0.0
    belt_metered_t: float = 0.0
    weight_given_t: float = 0.0  # lorry loads with a net weight, weighed or estimated
    weighed_t: float = 0.0
    assumed_t: float = 0.0  # lorry loads without a weight, at the usual payload of their vehicle
    weighed_loads: int = 0
    assumed_loads: int = 0
    loads: int = 0
    loads_rejected: int = 0

    @property
    def lorry_t(self) -> float:
        """Tonnes that left by lorry [t]."""
        return self.weight_given_t + self.assumed_t

    @property
    def mass_t(self) -> float:
        """Tonnes that left [t]."""
        return self.belt_t + self.lorry_t

    @property
    def observed_payload_t(self) -> float | None:
        """Mean weighed payload [t]; None if nothing was weighed."""
        return self.weighed_t / self.weighed_loads if self.weighed_loads else None


def spoil(
    frame: Frame, by: Sequence[str], since: date, until: date
) -> Mapping[tuple[Any, ...], SpoilSum]:
    """Spoil that left between two dates, by the named columns of the totals."""
    found: dict[tuple[Any, ...], SpoilSum] = defaultdict(SpoilSum)
    for site, start, end in set_up_periods(frame, since, until):
        asked: dict[str, Any] = {"since": start, "until": end, "known_at": frame.known_at}
        for (measure, *key), amount in summed(frame.ledger, _MEASURES, by, **asked).items():
            _add(found[tuple(key)], measure, amount)
        columns = ("stream", "detail", *by)
        without = summed(frame.ledger, ["loads_no_weight"], columns, **asked)
        for (_, stream, vehicle, *key), count in without.items():
            total = found[tuple(key)]
            total.assumed_loads += count
            total.assumed_t += count * usual_payload_t(site, vehicle, stream)
    return found


def _add(total: SpoilSum, measure: str, amount: int) -> None:
    thousandth = amount / 1000.0
    match measure:
        case "belt_kg":
            total.belt_t += thousandth
        case "belt_wh":
            total.belt_kwh += thousandth
        case "belt_metered_kg":
            total.belt_metered_t += thousandth
        case "load_kg":
            total.weight_given_t += thousandth
        case "weighed_kg":
            total.weighed_t += thousandth
        case "weighed_loads":
            total.weighed_loads += amount
        case "loads":
            total.loads += amount
        case "loads_rejected":
            total.loads_rejected += amount


def total_of(parts: Mapping[tuple[Any, ...], SpoilSum]) -> SpoilSum:
    """The sum of parts."""
    whole = SpoilSum()
    for part in parts.values():
        for name in SpoilSum.__slots__:
            setattr(whole, name, getattr(whole, name) + getattr(part, name))
    return whole
