"""Ground that nobody dug, measured by both surveys: what they differ by there is error."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.domain.surface.cleaning import clear_of_ring
from tracker.domain.surface.coverage import Finding, Gates
from tracker.domain.surface.region import Area, Floats
from tracker.errors import NotEnoughData

FEWEST_CELLS = 5


@dataclass(frozen=True, slots=True)
class PatchCheck:
    """Difference of level later minus earlier on a control patch [m], over `cells` cells."""

    cells: int
    difference_m: float
    spread_m: float
    finding: Finding | None


def control_patch_check(
    before_m: Floats,
    after_m: Floats,
    patch: Area,
    cell_m: float = 0.5,
    gates: Gates | None = None,
) -> PatchCheck:
    """Compare two surveys where the ground did not change, by the mean level of equal cells.

    Points and patch are in one grid. Raises NotEnoughData if fewer than five cells hold points of
    both.
    """
    earlier, _ = clear_of_ring(before_m, patch)
    later, _ = clear_of_ring(after_m, patch)
    west, south, _, north = patch.bounds
    rows = int((north - south) / cell_m) + 1
    means = []
    for points in (earlier, later):
        at = ((points[:, :2] - (west, south)) / cell_m).astype(np.int64)
        keys, index = np.unique(at[:, 0] * rows + at[:, 1], return_inverse=True)
        mean = np.bincount(index, points[:, 2]) / np.bincount(index) if len(points) else index
        means.append(dict(zip(keys.tolist(), np.asarray(mean).tolist(), strict=True)))
    shared = sorted(means[0].keys() & means[1].keys())
    if len(shared) < FEWEST_CELLS:
        raise NotEnoughData(
            f"Only {len(shared)} cells of {cell_m:g} m on the control patch hold points of both"
            f" surveys; {FEWEST_CELLS} are needed. Choose a patch that both measured."
        )
    change = np.array([means[1][key] - means[0][key] for key in shared])
    difference = float(np.median(change))
    return PatchCheck(
        cells=len(shared),
        difference_m=difference,
        spread_m=float(change.std(ddof=1)),
        finding=_finding(difference, gates or Gates()),
    )


def _finding(difference_m: float, gates: Gates) -> Finding | None:
    if abs(difference_m) <= gates.control_amber_m:
        return None
    severity = "red" if abs(difference_m) > gates.control_red_m else "amber"
    return Finding(
        severity,
        "control patch",
        f"Ground that was not dug differs by {difference_m:+.3f} m between the surveys: check"
        " control and datum before the volume is used.",
    )
