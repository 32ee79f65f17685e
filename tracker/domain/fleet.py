"""Lorries and loaders as a pair: how well they match, who waits, what chance takes from the output.

A timetable would keep every lorry or every loader busy; real lorries bunch. The queue here is the
exact answer for times that vary as much as the exponential law says, which is more than on most
sites (common practice, no source): expect an output between the queue's and the timetable's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tracker.domain.haulage import HaulCycle
from tracker.domain.limits import check_between, check_positive
from tracker.errors import InputError

MOST_LORRIES = 10_000


@dataclass(frozen=True, slots=True)
class FiniteQueue:
    """A fleet at its loaders in the long run: `probabilities[n]` that n lorries are there."""

    probabilities: tuple[float, ...]
    p_idle: float  # nobody is at the loaders
    queue_length: float  # lorries waiting
    in_system: float  # lorries waiting or being loaded
    wait_h: float
    time_in_system_h: float
    p_wait: float  # all loaders are busy, at any moment
    p_arrival_waits: float  # all loaders are busy at the moment a lorry arrives
    output_per_h: float  # loads


@dataclass(frozen=True, slots=True)
class FleetOutput:
    """A number of lorries with its match, its loads by timetable and by queue, and what is lost."""

    lorries: int
    loaders: int
    match_factor: float
    timetable_per_h: float
    output_per_h: float
    bunching_loss: float


@dataclass(frozen=True, slots=True)
class LorryClass:
    """Lorries of one kind: how many, their cycle without waiting, and their time at each loader."""

    lorries: int
    cycle_h: float
    load_h: tuple[float, ...]


def finite_queue(
    lorries: int, arrivals_per_h: float, services_per_h: float, loaders: int = 1
) -> FiniteQueue:
    """The long-run queue of a fleet that comes back to be loaded again (M/M/s//N).

    p[n + 1] = p[n] * (lorries - n) * arrivals_per_h / (min(n + 1, loaders) * services_per_h)
    output_per_h = arrivals_per_h * (lorries - in_system);  wait_h = queue_length / output_per_h

    `arrivals_per_h` is that of one lorry while it is away, one over its mean time away;
    `services_per_h` that of one loader while it loads. Both times follow the exponential law,
    lorries and loaders are alike, nobody overtakes. `p_wait` is the share of time with all loaders
    busy, as textbooks print it; a lorry that arrives meets that less often (`p_arrival_waits`),
    because it is not itself in the queue.
    Raises InputError. References: (anderson, chapter 11).

    >>> round(finite_queue(6, 0.05, 0.50).queue_length, 4)
    0.3297
    """
    fleet, served_by = _counted("lorries", lorries), _counted("loaders", loaders)
    away = check_positive("arrivals_per_h", arrivals_per_h, "an hour")
    served = check_positive("services_per_h", services_per_h, "an hour")
    there = np.arange(fleet + 1)
    arriving = (fleet - there) * away
    leaving = np.minimum(there, served_by) * served
    # By logarithms, because the product of ten thousand ratios leaves the range of a float.
    weight = np.concatenate(([0.0], np.cumsum(np.log(arriving[:-1]) - np.log(leaving[1:]))))
    p = np.exp(weight - weight.max())
    p /= p.sum()
    waiting = float(p @ np.maximum(there - served_by, 0))
    present = float(p @ there)
    output_per_h = float(p @ arriving)
    busy = there >= served_by
    return FiniteQueue(
        probabilities=tuple(p.tolist()),
        p_idle=float(p[0]),
        queue_length=waiting,
        in_system=present,
        wait_h=waiting / output_per_h,
        time_in_system_h=present / output_per_h,
        p_wait=float(p[busy].sum()),
        p_arrival_waits=float((p * arriving)[busy].sum()) / output_per_h,
        output_per_h=output_per_h,
    )


def match_factor(lorries: int, load_h: float, cycle_h: float, loaders: int = 1) -> float:
    """Lorries that arrive over lorries that can be loaded, if nobody waited [-].

    match_factor = lorries * load_h / (loaders * cycle_h)

    1 is balance; below it the loaders wait, above it the lorries. `cycle_h` holds the loading, and
    no waiting. Raises InputError. References: (burt_caccetta, equation of one kind), from memory.

    >>> match_factor(4, 0.125, 0.5)
    1.0
    """
    return mixed_match_factor(
        [LorryClass(lorries, cycle_h, (load_h,) * _counted("loaders", loaders))]
    )


def mixed_match_factor(fleet: Sequence[LorryClass]) -> float:
    """The match factor of lorries of several kinds at loaders of several kinds [-].

    arrivals_per_h = sum of lorries / cycle_h over the kinds
    mean_load_h[j] = sum of lorries / cycle_h * load_h[j] over the kinds / arrivals_per_h
    match_factor = arrivals_per_h / (sum of 1 / mean_load_h[j] over the loaders)

    A kind with a short cycle comes more often and weighs more in the mean: that is why the mean is
    over arrivals, not over lorries. The published form for mixed fleets was corrected later (from
    memory); neither was opened here, so this one is derived from the definition, and equals the
    plain one for lorries and loaders of one kind. Every lorry may use every loader.
    Raises InputError. References: (burt_caccetta, page 262: the definition).

    >>> rigid, artic = LorryClass(4, 0.5, (0.1,)), LorryClass(2, 0.8, (0.16,))
    >>> round(mixed_match_factor([rigid, artic]), 3)
    1.2
    """
    if not fleet:
        raise InputError("A fleet without lorries has no match. Give one kind of lorry at least.")
    loaders = len(fleet[0].load_h)
    if not loaders or any(len(kind.load_h) != loaders for kind in fleet):
        raise InputError("Give each kind of lorry one loading time for each loader.")
    arrivals_per_h = 0.0
    loading = [0.0] * loaders
    for kind in fleet:
        cycle_h = check_positive("cycle_h", kind.cycle_h, "h")
        coming = _counted("lorries", kind.lorries) / cycle_h
        arrivals_per_h += coming
        for place, load_h in enumerate(kind.load_h):
            hint = "The cycle holds the loading."
            check_between("load_h", check_positive("load_h", load_h, "h"), 0.0, cycle_h, "h", hint)
            loading[place] += coming * load_h
    services_per_h = sum(arrivals_per_h / of_loader for of_loader in loading)
    return arrivals_per_h / services_per_h


def fleet_output(lorries: int, load_h: float, cycle_h: float, loaders: int = 1) -> FleetOutput:
    """Loads an hour of a fleet by timetable and by queue, and the share that bunching takes.

    timetable_per_h = min(lorries / cycle_h, loaders / load_h)
    bunching_loss = 1 - output_per_h / timetable_per_h

    The queue is `finite_queue` with a mean time away of cycle_h - load_h; its times vary more than
    on most sites, so the loss is rather too large. Raises InputError.
    References: (anderson, chapter 11).

    >>> round(fleet_output(5, 0.125, 0.58).bunching_loss, 2)
    0.17
    """
    match = match_factor(lorries, load_h, cycle_h, loaders)
    away_h = check_positive("cycle_h less load_h", cycle_h - load_h, "h")
    queue = finite_queue(lorries, 1.0 / away_h, 1.0 / load_h, loaders)
    timetable_per_h = min(lorries / cycle_h, loaders / load_h)
    loss = max(1.0 - queue.output_per_h / timetable_per_h, 0.0)  # a fleet of one rounds below 0
    return FleetOutput(lorries, loaders, match, timetable_per_h, queue.output_per_h, loss)


def balanced_fleets(cycle: HaulCycle, loaders: int = 1) -> tuple[FleetOutput, ...]:
    """The whole numbers of lorries on either side of balance; one only where it is whole.

    lorries = lorries_to_balance * loaders, rounded down and up

    Rounded down the loader waits, rounded up the lorries do. References: (earthwork_notes, example
    of the cycle).

    >>> from tracker.domain.haulage import haul_cycle
    >>> [fleet.lorries for fleet in balanced_fleets(haul_cycle(12, 95, 7, 30, 40, 3))]
    [4, 5]
    """
    exact = cycle.lorries_to_balance * _counted("loaders", loaders)
    # 0.1 h of loading in a cycle of 0.3 h is three lorries although the quotient is a hair less.
    few, many = math.floor(exact * (1.0 + 1e-12)), math.ceil(exact * (1.0 - 1e-12))
    return tuple(
        fleet_output(lorries, cycle.load_h, cycle.cycle_h, loaders)
        for lorries in dict.fromkeys((few, many))
    )


def _counted(name: str, value: int) -> int:
    check_between(name, value, 1, MOST_LORRIES, "")
    if value != int(value):
        raise InputError(f"{name} is {value:g}; give a whole number.", field=name)
    return int(value)
