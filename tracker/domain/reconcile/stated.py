"""What each party states of one stream in one period, with its standard uncertainty.

Every amount has two uncertainties. The independent one is new in each statement: the scatter of
weighings, of points, of estimates. The shared one is one and the same error in every statement of
the source, such as the span of a belt weigher or a density that was measured once: it does not
shrink when periods are added. A source without a shared uncertainty is taken to have no common
error at all, and is then never suspected of one.

Take an uncertainty from a typical amount, not as a share of the figure stated: else low figures
weigh more than high ones, and what comes out is too low.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from tracker.domain.ground import checked_bank_density, checked_loose_per_bank
from tracker.domain.limits import check_not_negative, check_positive
from tracker.errors import InputError, UnknownName


def _check_stated(field: str, value: float, independent: float, shared: float, unit: str) -> None:
    if not math.isfinite(value):
        raise InputError(f"{field} is {value:g} {unit}; give a finite number.", field=field)
    check_positive(f"independent uncertainty of {field}", independent, unit)
    check_not_negative(f"shared uncertainty of {field}", shared, unit)


@dataclass(frozen=True, slots=True)
class Bank:
    """A bank volume [m³] as stated, with its standard uncertainties [m³]. Raises InputError."""

    UNIT: ClassVar[str] = "bank m³"
    bank_m3: float
    u_independent_m3: float
    u_shared_m3: float = 0.0

    def __post_init__(self) -> None:
        _check_stated("bank_m3", *self.parts, "m³")

    @property
    def parts(self) -> tuple[float, float, float]:
        """Amount, independent and shared uncertainty [m³]."""
        return self.bank_m3, self.u_independent_m3, self.u_shared_m3


@dataclass(frozen=True, slots=True)
class Loose:
    """A loose volume [m³] as stated, with its standard uncertainties [m³]. Raises InputError."""

    UNIT: ClassVar[str] = "loose m³"
    loose_m3: float
    u_independent_m3: float
    u_shared_m3: float = 0.0

    def __post_init__(self) -> None:
        _check_stated("loose_m3", *self.parts, "m³")

    @property
    def parts(self) -> tuple[float, float, float]:
        """Amount, independent and shared uncertainty [m³]."""
        return self.loose_m3, self.u_independent_m3, self.u_shared_m3


@dataclass(frozen=True, slots=True)
class Mass:
    """A moist mass [t] as stated, with its standard uncertainties [t]. Raises InputError."""

    UNIT: ClassVar[str] = "t"
    mass_t: float
    u_independent_t: float
    u_shared_t: float = 0.0

    def __post_init__(self) -> None:
        _check_stated("mass_t", *self.parts, "t")

    @property
    def parts(self) -> tuple[float, float, float]:
        """Amount, independent and shared uncertainty [t]."""
        return self.mass_t, self.u_independent_t, self.u_shared_t


Amount = Bank | Loose | Mass


@dataclass(frozen=True, slots=True)
class SurveyedVoid:
    """The void made since the survey before, wherever in an earlier period that was.

    `void` has the errors of its own: single points, interpolation, the place of the wall. The level
    of a survey is an error apart: it makes this void too large and the next one too small by the
    same amount, `plan_area_m2` times the error, so that it does not grow over a season. The same
    holds for ground that a survey puts into the wrong stream (`u_split_m3`), stream by stream.
    `dug_after` is the ground dug after the survey and before the last ticket of its period.
    """

    void: Bank
    plan_area_m2: float = 0.0
    u_level_m: float = 0.0
    dug_after: Bank | None = None
    u_split_m3: float = 0.0

    def __post_init__(self) -> None:
        check_not_negative("u_split_m3", self.u_split_m3, "m³")
        check_not_negative("plan_area_m2", self.plan_area_m2, "m²")
        check_not_negative("u_level_m", self.u_level_m, "m")

    @property
    def has_level(self) -> bool:
        """Whether an error of level is allowed for."""
        return self.plan_area_m2 > 0.0 and self.u_level_m > 0.0


@dataclass(frozen=True, slots=True)
class Carried:
    """What one carrier took to one receiver: weighed on the way out and as the receiver accepted.

    `by` names the weigher, such as belt or lorries. Either figure may be missing, or both where
    ground left unweighed.
    """

    by: str
    receiver: str = ""
    weighed: Mass | None = None
    accepted: Mass | None = None


@dataclass(frozen=True, slots=True)
class Stated:
    """All statements on one stream in one period; None is a statement that is missing.

    `closing_stock` is what lies on site at the end of the period. A missing count is no empty heap.
    """

    period: str
    stream: str
    survey: SurveyedVoid | None = None
    returns: Amount | None = None
    carried: Sequence[Carried] = ()
    reused: Amount | None = None
    closing_stock: Mass | Loose | None = None


@dataclass(frozen=True, slots=True)
class AssumedGround:
    """The density and bulking that the set-up assumes of a stream, and its stock at the start.

    `u_independent_` is how far single periods scatter about the mean of the stream; `u_shared_` how
    well that mean is known. Without an opening stock the site starts empty.
    Raises OutOfRange for a factor in the wrong unit.
    """

    stream: str
    bank_density_t_per_m3: float
    u_independent_t_per_m3: float
    u_shared_t_per_m3: float
    loose_per_bank: float = 1.3
    u_independent_loose_per_bank: float = 0.03
    u_shared_loose_per_bank: float = 0.06
    opening_stock: Mass | Loose | None = None

    def __post_init__(self) -> None:
        checked_bank_density(self.bank_density_t_per_m3)
        checked_loose_per_bank(self.loose_per_bank)
        check_positive("u_independent_t_per_m3", self.u_independent_t_per_m3, "t/m³")
        check_not_negative("u_shared_t_per_m3", self.u_shared_t_per_m3, "t/m³")
        check_positive("u_independent_loose_per_bank", self.u_independent_loose_per_bank, "-")
        check_not_negative("u_shared_loose_per_bank", self.u_shared_loose_per_bank, "-")


@dataclass(frozen=True, slots=True)
class Season:
    """The periods in their order, the streams, and what was stated of them.

    Raises InputError for a period or a stream named twice, UnknownName for one that is not listed.
    """

    periods: Sequence[str]
    grounds: Sequence[AssumedGround]
    stated: Sequence[Stated]
    _at: dict[tuple[str, str], Stated] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        streams = [ground.stream for ground in self.grounds]
        for what, names in (("period", self.periods), ("stream", streams)):
            _check_once(what, names)
        _check_once("statement on", [f"{s.stream} in {s.period}" for s in self.stated])
        for one in self.stated:
            if one.period not in self.periods:
                raise UnknownName("period", one.period, self.periods)
            if one.stream not in streams:
                raise UnknownName("stream", one.stream, streams)
        object.__setattr__(self, "_at", {(s.stream, s.period): s for s in self.stated})

    def of_stream(self, stream: str) -> Iterator[tuple[int, Stated]]:
        """Place of the period, and what was stated in it, in order of time."""
        for place, period in enumerate(self.periods):
            if (stream, period) in self._at:
                yield place, self._at[stream, period]


def _check_once(what: str, names: Sequence[str]) -> None:
    twice = [name for name, times in Counter(names).items() if times > 1]
    if twice:
        raise InputError(f"The {what} {twice[0]} is given more than once. Give it once.")
