"""Which source does not fit the others, in what way, by how much; and what could not be told.

A suspicion is a source and the pattern of its error: in all its statements by one ratio, in all
from some period on, in one statement, or (survey) in the level of one survey or of all from one on.
With `shape` the pattern over the statements, in their uncertainties (the data snooping of baarda):

    error  = shape' * misfit / evidence,   u_error = evidence ** -1/2
    test   = error / u_error                        (standard normal if nothing is wrong)

How probable chance is allows for how many patterns were tried, a third of the rate for each kind.

Several sources may explain the same misfit. They are ranked by how much more probable the records
become if the source may be wrong by FAULT times its own stated uncertainty, u_own:

    rank = test² * fault² / (fault² + u_error²) - log(1 + fault² / u_error²) - 2 log(patterns tried)

so that a source which would have to be wrong by many times what it states comes last. That is a
preference, no proof: a source is not told from the first if the records are at least a twentieth as
probable with it, be it by rank or by the test alone. One error at a time: with two at once the
first named may be the wrong one.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from tracker.domain.reconcile.equations import Row
from tracker.domain.reconcile.least_squares import Fit, Floats

Places = NDArray[np.intp]
FAULT = 3.0  # standard uncertainties that a fault is of the order of: common practice, no source
TOLD_APART = 2.0 * math.log(20.0)
POWER = 0.9
FEWEST_ON_EITHER_SIDE = 3  # periods before and after a change
INTENSIVE = ("t/m³", "loose/bank")  # units of which a mean is given, not a sum
_SEEN = 1e-9  # of the evidence there would be if everything else were known


class Pattern(StrEnum):
    """How an error runs through the statements of a source."""

    THROUGHOUT = "in every statement"
    FROM = "in every statement from a period on"
    ONE = "in one statement"
    LEVEL = "in the level of one survey"
    DATUM = "in the level of every survey from one on"


KIND = {Pattern.THROUGHOUT: 0, Pattern.FROM: 1, Pattern.ONE: 2, Pattern.LEVEL: 2, Pattern.DATUM: 2}
KINDS = len(set(KIND.values()))


@dataclass(frozen=True, slots=True)
class Suspect:
    """A source, the pattern of its error, and how wrong it would have to be.

    `error` is stated minus true, as `error_unit` says: a ratio (-), a level too low by so much (m),
    or an amount. `stated` is the sum of the statements in the pattern and `left_out` what the
    others say of it. `times_stated` is the error over the source's own stated uncertainty.
    `chance` allows for the patterns tried. `period` is the first one concerned; `stream` is empty
    if more than one is.
    """

    source: str
    pattern: Pattern
    period: str
    stream: str
    error: float
    u_error: float
    error_unit: str
    stated: float
    left_out: float
    u_left_out: float
    unit: str
    test: float
    chance: float
    times_stated: float
    rank: float


@dataclass(frozen=True, slots=True)
class Detectability:
    """The smallest error throughout a source, as a ratio, that would be named nine times in ten.

    None if no other statement checks the source. `not_told_from`: sources whose errors of such a
    size look so alike that the wrong one would come first more than once in ten.
    """

    source: str
    smallest_ratio: float | None
    not_told_from: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Shapes:
    """Patterns over the rows of one source, one a line of `per_row`.

    `u_own` is what the source states of such an error; `known` the part of it that the fit allows
    for already.
    """

    patterns: list[Pattern]
    periods: list[int]
    per_row: Floats
    u_own: Floats
    known: Floats

    def only(self, which: Places) -> _Shapes:
        """Some of them."""
        return _Shapes(
            [self.patterns[k] for k in which],
            [self.periods[k] for k in which],
            self.per_row[which],
            self.u_own[which],
            self.known[which],
        )


@dataclass(frozen=True, slots=True)
class _Tried:
    """What the fit says of the patterns of one source that anything else checks."""

    at: Places
    shapes: _Shapes
    error: Floats
    u_error: Floats


def standardised_residuals(fit: Fit, count: int) -> Floats:
    """Misfit of each of the first `count` rows over its own standard deviation [-].

    0 for a row that nothing else checks.
    """
    some = fit.jacobian[:count]
    redundancy = 1.0 - np.asarray(some.multiply(some @ fit.covariance).sum(axis=1)).ravel()
    seen = redundancy > _SEEN
    found: Floats = np.zeros(count)
    found[seen] = fit.misfit[:count][seen] / np.sqrt(redundancy[seen])
    return found


def suspicions(fit: Fit, rows: Sequence[Row], periods: Sequence[str]) -> list[Suspect]:
    """The likeliest pattern of each source that others check, the likeliest source first."""
    tried = _all_tried(fit, rows)
    counts = Counter(KIND[pattern] for one in tried for pattern in one.shapes.patterns)
    found = []
    for one in tried:
        many = np.array([counts[KIND[pattern]] for pattern in one.shapes.patterns])
        test = one.error / one.u_error
        odds = (FAULT * one.shapes.u_own / one.u_error) ** 2
        rank = test**2 * odds / (1.0 + odds) - np.log1p(odds) - 2.0 * np.log(many)
        best = int(np.argmax(rank))
        chance = min(1.0, KINDS * float(many[best]) * 2.0 * float(norm.sf(abs(test[best]))))
        found.append(_suspect(one, best, rows, periods, chance, float(rank[best])))
    return sorted(found, key=lambda suspect: -suspect.rank)


def not_told_from(suspect: Suspect, found: Sequence[Suspect]) -> tuple[str, ...]:
    """The sources that explain the records nearly as well."""
    return tuple(
        other.source
        for other in found
        if other.source != suspect.source
        and (other.rank > suspect.rank - TOLD_APART or other.test**2 > suspect.test**2 - TOLD_APART)
    )


def detectabilities(fit: Fit, rows: Sequence[Row], false_alarms: float) -> list[Detectability]:
    """What error throughout a source could be seen, and for which other one it could be taken."""
    sources, errors = _throughout(fit, rows)
    evidence = fit.evidence(errors)
    own = evidence.diagonal()
    seen = own > _SEEN * (errors**2).sum(axis=0)
    u = np.where(seen, own, 1.0) ** -0.5
    alike = np.abs(evidence) * u[:, None] * u
    reach = float(norm.isf(false_alarms / (2.0 * KINDS * max(1, len(sources)))) + norm.ppf(POWER))
    # of two standard normal tests correlated so, at `reach` and `alike` times it, the right leads
    told = norm.cdf(reach * np.sqrt(np.clip(1.0 - alike, 0.0, 1.0) / 2.0)) >= POWER
    return [
        Detectability(
            source,
            reach * float(u[k]) if seen[k] else None,
            tuple(
                other
                for j, other in enumerate(sources)
                if j != k and seen[k] and seen[j] and not told[k, j]
            ),
        )
        for k, source in enumerate(sources)
    ]


def _throughout(fit: Fit, rows: Sequence[Row]) -> tuple[list[str], Floats]:
    """Sources that may have a common error, and its shape over all rows, one a column."""
    found = {}
    for source, at in _rows_of_sources(rows).items():
        shapes = _proportional(source, _Rows(fit, rows, at))
        if shapes.patterns:
            found[source] = np.zeros(len(fit.misfit))
            found[source][at] = shapes.per_row[0]
    errors = np.array(list(found.values())).reshape(len(found), len(fit.misfit)).T
    return list(found), errors


def _rows_of_sources(rows: Sequence[Row]) -> dict[str, Places]:
    found: dict[str, list[int]] = {}
    for place, row in enumerate(rows):
        found.setdefault(row.source, []).append(place)
    return {source: np.array(places) for source, places in found.items()}


class _Rows:
    """The columns of the rows of one source."""

    def __init__(self, fit: Fit, rows: Sequence[Row], at: Places) -> None:
        of = [rows[k] for k in at]
        self.period = np.array([row.period for row in of])
        self.u = np.array([row.u_independent for row in of])
        self.u_shared = np.array([row.u_shared for row in of])
        self.u_level_m = np.array([row.u_level_m for row in of])
        self.area_m2 = np.array([row.plan_area_m2 for row in of]) * (self.u_level_m > 0.0)
        self.stream = [row.stream for row in of]
        self.predicted = np.array([row.stated for row in of]) - self.u * fit.misfit[at]


def _all_tried(fit: Fit, rows: Sequence[Row]) -> list[_Tried]:
    tried = []
    for source, at in _rows_of_sources(rows).items():
        of = _Rows(fit, rows, at)
        parts = [_proportional(source, of), _levels(of), _single(of)]
        shapes = _Shapes(
            [pattern for part in parts for pattern in part.patterns],
            [period for part in parts for period in part.periods],
            np.vstack([part.per_row for part in parts]),
            np.concatenate([part.u_own for part in parts]),
            np.concatenate([part.known for part in parts]),
        )
        evidence = np.einsum("ij,ij->i", shapes.per_row @ fit.redundancy(at), shapes.per_row)
        seen = np.flatnonzero(evidence > _SEEN * (shapes.per_row**2).sum(axis=1))
        if len(seen):
            pull = shapes.per_row[seen] @ fit.misfit[at]
            size, u = pull / evidence[seen], evidence[seen] ** -0.5
            tried.append(_Tried(at, shapes.only(seen), size, u))
    return tried


def _none(rows: int) -> _Shapes:
    return _Shapes([], [], np.zeros((0, rows)), np.zeros(0), np.zeros(0))


def _proportional(source: str, of: _Rows) -> _Shapes:
    """One ratio in all statements, then in all from each period on; none without a shared part.

    A survey has no ratio that begins some day: its errors are those of its level and of the wall.
    """
    if not (of.u_shared.any() and of.predicted.any()):
        return _none(len(of.u))
    size = of.predicted / of.u
    ratio = float(np.linalg.norm(of.u_shared / of.u) / np.linalg.norm(size))
    apart = sorted(set(of.period.tolist()))
    least = FEWEST_ON_EITHER_SIDE
    starts = apart[least : len(apart) - least + 1] if source != "survey" else []
    begun = of.period >= np.array([apart[0], *starts])[:, None]
    return _Shapes(
        [Pattern.THROUGHOUT] + [Pattern.FROM] * len(starts),
        [apart[0], *starts],
        size * begun,
        np.full(1 + len(starts), ratio),
        np.array([ratio] + [0.0] * len(starts)),
    )


def _levels(of: _Rows) -> _Shapes:
    """The level of each survey, which the next void has with the other sign, and of all from it."""
    before = np.full(len(of.u), -1)  # the period of the survey before, of the same stream
    last: dict[str, int] = {}
    for place, stream in enumerate(of.stream):  # in order of time within a stream
        before[place] = last.get(stream, -1)
        last[stream] = int(of.period[place])
    patterns, periods, per_row, u_own, known = [], [], [], [], []
    for survey in sorted(set(of.period[of.area_m2 > 0.0].tolist())):
        here = np.where(of.period == survey, of.area_m2, 0.0)
        after = np.where(before == survey, of.area_m2, 0.0)
        u_level_m = float(of.u_level_m[of.period == survey].max())
        for pattern, shape in ((Pattern.LEVEL, here - after), (Pattern.DATUM, here)):
            if pattern is Pattern.LEVEL or after.any():  # else the two are the same
                patterns.append(pattern)
                periods.append(survey)
                per_row.append(shape / of.u)
                u_own.append(u_level_m)
                known.append(u_level_m if pattern is Pattern.LEVEL else 0.0)
    if not patterns:
        return _none(len(of.u))
    return _Shapes(patterns, periods, np.array(per_row), np.array(u_own), np.array(known))


def _single(of: _Rows) -> _Shapes:
    """Each statement alone, unless the level of its survey is the same."""
    _, of_period, times = np.unique(of.period, return_inverse=True, return_counts=True)
    own = np.flatnonzero((of.area_m2 == 0.0) | (times[of_period] > 1))
    return _Shapes(
        [Pattern.ONE] * len(own),
        of.period[own].tolist(),
        np.eye(len(of.u))[own] / of.u,
        of.u[own],
        of.u[own],
    )


def _suspect(
    tried: _Tried,
    best: int,
    rows: Sequence[Row],
    periods: Sequence[str],
    chance: float,
    rank: float,
) -> Suspect:
    shapes, error, u_error = tried.shapes, float(tried.error[best]), float(tried.u_error[best])
    pattern, shape = shapes.patterns[best], shapes.per_row[best]
    of_level = pattern in (Pattern.LEVEL, Pattern.DATUM)  # the void made too large, not the next
    within = np.flatnonzero(shape > 0.0 if of_level else shape)
    concerned = [rows[k] for k in tried.at[within]]
    unit = concerned[0].unit
    share = 1.0 / len(concerned) if unit in INTENSIVE else 1.0
    stated = sum(row.stated for row in concerned) * share
    u = np.array([row.u_independent for row in concerned])
    moved = float(shape[within] @ u) * share
    streams = {row.stream for row in concerned}
    return Suspect(
        source=concerned[0].source,
        pattern=pattern,
        period=periods[shapes.periods[best]],
        stream=streams.pop() if len(streams) == 1 else "",
        error=error,
        u_error=u_error,
        error_unit="m" if of_level else unit if pattern is Pattern.ONE else "-",
        stated=stated,
        left_out=stated - error * moved,
        u_left_out=math.sqrt(max(u_error**2 - float(shapes.known[best]) ** 2, 0.0)) * moved,
        unit=unit,
        test=error / u_error,
        chance=chance,
        times_stated=abs(error) / float(shapes.u_own[best]),
        rank=rank,
    )
