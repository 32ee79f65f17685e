"""A volume with everything that must stand beside it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass

from tracker.domain.surface.coverage import Coverage, Finding, Gates, coverage, gate_findings
from tracker.domain.surface.grid_method import second_method_difference_percent
from tracker.domain.surface.net import Net, net_dug
from tracker.domain.surface.reduced import ReducedSurvey, level_ground, reduced_survey
from tracker.domain.surface.region import Floats
from tracker.domain.surface.surface import Surface
from tracker.domain.surface.uncertainty import Accuracy, Uncertainty
from tracker.domain.surface.void_table import checked_levels, metre_levels
from tracker.domain.surface.volumes import ABOVE, BELOW, Band, bands, check_alike


@dataclass(frozen=True, eq=False)
class MeasuredVolume:
    """Net bank volume dug, by zone and band, with coverage, second method and uncertainty.

    Coverage is that of the less well covered of the two surveys.
    """

    net_m3: float
    bands: tuple[tuple[Band, Uncertainty], ...]
    coverage: Coverage
    second_method_difference_percent: float | None
    uncertainty: Uncertainty
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class SurveyReport:
    """What must be read of a survey before it is accepted, and stays beside its volumes."""

    points_in: int
    points_used: int
    rejected: dict[str, int]
    coverage: Coverage
    second_method_difference_percent: float | None
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]

    @property
    def is_red(self) -> bool:
        """Whether a gate is red, so that accepting the survey takes a reason."""
        return any(finding.severity == "red" for finding in self.findings)

    def text(self) -> str:
        """The report as JSON text."""
        return json.dumps(asdict(self), ensure_ascii=False)


def report_from_text(text: str) -> SurveyReport:
    """The report that a text holds."""
    data = json.loads(text)
    return SurveyReport(
        points_in=data["points_in"],
        points_used=data["points_used"],
        rejected=data["rejected"],
        coverage=Coverage(**data["coverage"]),
        second_method_difference_percent=data["second_method_difference_percent"],
        findings=tuple(Finding(**finding) for finding in data["findings"]),
        notes=tuple(data["notes"]),
    )


def measured_volume(
    after: Surface,
    before: Surface | float,
    levels_m: Iterable[float] | None = None,
    accuracy: Accuracy | None = None,
    gates: Gates | None = None,
    estimate_interpolation: bool = True,
) -> MeasuredVolume:
    """The volume between two surfaces, or down from a flat level, over one region.

    Bands lie between `levels_m`, or else between whole metres. Raises InputError for surfaces of
    unlike coverage.
    """
    levels = band_levels(after, before) if levels_m is None else checked_levels(levels_m)
    later = reduced_survey(after, levels, accuracy, estimate_interpolation)
    if isinstance(before, Surface):
        earlier = reduced_survey(before, levels, accuracy, estimate_interpolation)
        covered = _worse(coverage(before), coverage(after))
    else:
        earlier, covered = level_ground(after.region, before, levels), coverage(after)
    check_alike(earlier.table, later.table)
    whole = sum((net_dug(earlier, later, zone) for zone in after.region.zones), Net())
    total = whole.uncertainty
    second = second_method_difference_percent(whole.net_m3, after, before)
    share = 100.0 * total.combined_m3 / abs(whole.net_m3) if whole.net_m3 else None
    return MeasuredVolume(
        net_m3=whole.net_m3,
        bands=tuple(
            (band, _net_of(band, earlier, later, levels).uncertainty)
            for band in bands(earlier.table, later.table)
        ),
        coverage=covered,
        second_method_difference_percent=second,
        uncertainty=total,
        findings=tuple(gate_findings(covered, second, share, gates)),
    )


def _net_of(band: Band, before: ReducedSurvey, after: ReducedSurvey, levels: Floats) -> Net:
    """The band again with its uncertainty; the outermost ones reach as far as the ground does."""
    upper_m = ABOVE if band.from_level_m > levels[-1] else band.from_level_m
    lower_m = BELOW if band.to_level_m < levels[0] else band.to_level_m
    return net_dug(before, after, band.zone, upper_m, lower_m)


def band_levels(after: Surface, before: Surface | float) -> Floats:
    """The whole metres that enclose both surfaces [m]."""
    known = [after.xyz_m[after.triangles, 2]]
    if isinstance(before, Surface):
        known.append(before.xyz_m[before.triangles, 2])
    low, high = min(z.min() for z in known), max(z.max() for z in known)
    if not isinstance(before, Surface):
        low, high = min(low, before), max(high, before)
    return metre_levels(float(low), float(high))


def _worse(one: Coverage, other: Coverage) -> Coverage:
    return Coverage(
        area_m2=one.area_m2,
        covered_percent=min(one.covered_percent, other.covered_percent),
        wall_extrapolated_percent=max(
            one.wall_extrapolated_percent, other.wall_extrapolated_percent
        ),
        long_edge_percent=max(one.long_edge_percent, other.long_edge_percent),
        largest_gap_m=max(one.largest_gap_m, other.largest_gap_m),
        points_per_m2=min(one.points_per_m2, other.points_per_m2),
    )
