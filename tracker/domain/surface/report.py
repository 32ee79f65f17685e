"""A volume with everything that must stand beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracker.domain.surface.coverage import Coverage, Finding, Gates, coverage, gate_findings
from tracker.domain.surface.grid_method import second_method_difference_percent
from tracker.domain.surface.region import Floats
from tracker.domain.surface.surface import Surface
from tracker.domain.surface.uncertainty import Accuracy, Uncertainty, uncertainties
from tracker.domain.surface.void_table import (
    VoidTable,
    checked_levels,
    flat_void_table,
    metre_levels,
    void_table,
)
from tracker.domain.surface.volumes import Band, band_edges, bands_m3, check_alike


@dataclass(frozen=True, eq=False)
class MeasuredVolume:
    """Net bank volume dug, by zone and band, with coverage, second method and uncertainty.

    Coverage is that of the less well covered of the two surveys.
    """

    net_m3: float
    bands: tuple[tuple[Band, Uncertainty], ...]
    before: VoidTable
    after: VoidTable
    coverage: Coverage
    second_method_difference_percent: float | None
    uncertainty: Uncertainty
    findings: tuple[Finding, ...]


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
    later = void_table(after, levels)
    if isinstance(before, Surface):
        earlier = void_table(before, levels)
        covered = _worse(coverage(before), coverage(after))
    else:
        earlier, covered = flat_void_table(after.region, before, levels), coverage(after)
    check_alike(earlier, later)
    net = bands_m3(earlier, later)
    edges = band_edges(earlier, later)
    total, by_band = uncertainties(
        after, before, (earlier, later), accuracy or Accuracy(), estimate_interpolation
    )
    rows = [
        (Band(zone, float(edges[row, k + 1]), float(edges[row, k]), float(net[row, k])), u)
        for row, zone in enumerate(later.zones)
        for k, u in reversed(list(enumerate(by_band[row])))
        if edges[row, k + 1] > edges[row, k]
    ]
    net_m3 = float((earlier.level_integral_m3 - later.level_integral_m3).sum())
    second = second_method_difference_percent(net_m3, after, before)
    share = 100.0 * total.combined_m3 / abs(net_m3) if net_m3 else None
    return MeasuredVolume(
        net_m3=net_m3,
        bands=tuple(rows),
        before=earlier,
        after=later,
        coverage=covered,
        second_method_difference_percent=second,
        uncertainty=total,
        findings=tuple(gate_findings(covered, second, share, gates)),
    )


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
