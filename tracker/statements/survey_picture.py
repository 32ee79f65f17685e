"""The picture of a survey for the screen, and its profile along an excavation."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tracker.domain.surface.picture import Picture, picture_from_text
from tracker.ledger.surveys import picture_of_survey
from tracker.statements.shapes import ProfilePoint

if TYPE_CHECKING:
    from tracker.ledger.reads import LedgerReads

STEP_M = 1.0
_Point = tuple[float, float]


def survey_picture(ledger: LedgerReads, entry_id: str) -> Picture:
    """The thinned surface of a survey and what was left out of it. Raises EntryNotFound."""
    return picture_from_text(picture_of_survey(ledger, entry_id))


def zone_profile(
    picture: Picture, zone: str, axis: _Point, start_m: float, span_m: tuple[float, float]
) -> tuple[ProfilePoint, ...]:
    """Mean, lowest and highest level across a zone, in steps along an axis [m].

    `axis` is a unit vector in the site grid, `start_m` where its distances count from.
    """
    if zone not in picture.zones:
        return ()
    mine = picture.triangles[picture.zone == picture.zones.index(zone)]
    corners = picture.xyz_m[mine]
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area_m2 = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2.0
    middle = corners.mean(axis=1)
    along_m = middle[:, 0] * axis[0] + middle[:, 1] * axis[1] - start_m
    count = max(1, round((span_m[1] - span_m[0]) / STEP_M))
    step_m = (span_m[1] - span_m[0]) / count
    at = np.clip(((along_m - span_m[0]) / step_m).astype(np.int64), 0, count - 1)
    points = []
    for step in range(count):
        here = at == step
        if area_m2[here].sum() > 0.0:
            level_m = middle[here, 2]
            points.append(
                ProfilePoint(
                    along_m=span_m[0] + (step + 0.5) * step_m,
                    mean_level_m=float(np.average(level_m, weights=area_m2[here])),
                    low_level_m=float(level_m.min()),
                    high_level_m=float(level_m.max()),
                )
            )
    return tuple(points)
