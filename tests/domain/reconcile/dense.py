"""The same season solved another way: full covariances, the mass constraint put in elsewhere.

Here the lorries follow from volume and density, where the tracker lets the volume follow from the
masses; common errors are covariances, where the tracker makes them unknowns; and a general
minimiser finds its derivatives by differences. For seasons of one stream as `seasons.Drawn` makes
them, with receipts.
"""

from __future__ import annotations

import numpy as np
from scipy.linalg import block_diag, solve_triangular
from scipy.optimize import least_squares

from tracker.domain.reconcile.stated import Season


def _stack(amounts):
    """Values and covariance of statements of one source."""
    value, own, shared = np.array([a.parts for a in amounts]).T
    return value, np.diag(own**2) + np.outer(shared, shared)


def _assumed(n, value, own, shared):
    return np.full(n, value), np.diag(np.full(n, own**2)) + shared**2


def dense_adjusted(season: Season) -> np.ndarray:
    """Adjusted bank volume and density, one row each [m³, t/m³]."""
    ground, stated = season.grounds[0], list(season.stated)
    n = len(stated)
    surveys = [one.survey for one in stated]
    density = (
        ground.bank_density_t_per_m3,
        ground.u_independent_t_per_m3,
        ground.u_shared_t_per_m3,
    )
    bulking = (
        ground.loose_per_bank,
        ground.u_independent_loose_per_bank,
        ground.u_shared_loose_per_bank,
    )
    parts = [
        _stack([survey.void for survey in surveys]),
        _stack([survey.dug_after for survey in surveys]),
        _assumed(n, *density),
        _stack([one.returns for one in stated]),
        _stack([one.carried[0].weighed for one in stated]),
        _stack([one.carried[0].accepted for one in stated]),
        _stack([one.carried[1].weighed for one in stated]),
        _stack([one.carried[1].accepted for one in stated]),
        _stack([one.closing_stock for one in stated]),
        _assumed(n, *bulking),
    ]
    level = np.diff(np.eye(n + 1), axis=0) * surveys[0].plan_area_m2 * surveys[0].u_level_m
    split = np.diff(np.eye(n + 1), axis=0)[:, 1:] * surveys[0].u_split_m3  # none before the first
    parts[0] = (parts[0][0], parts[0][1] + level @ level.T + split @ split.T)
    observed = np.concatenate([value for value, _ in parts])
    root = np.linalg.cholesky(block_diag(*[cov for _, cov in parts]))
    start = np.concatenate(
        [parts[3][0], parts[2][0], parts[4][0], parts[8][0] * 1.5, parts[9][0], parts[1][0]]
    )

    def misfit(scaled):
        bank, rho, belt, stock, loose, after = (scaled * start).reshape(6, n)
        lorries = bank * rho - belt - np.diff(stock, prepend=0.0)
        void = bank - after + np.concatenate([[0.0], after[:-1]])
        heap = stock * loose / rho
        expected = [void, after, rho, bank, belt, belt, lorries, lorries, heap, loose]
        return solve_triangular(root, observed - np.concatenate(expected), lower=True)

    found = least_squares(misfit, np.ones(6 * n), xtol=1e-14, ftol=1e-14, gtol=1e-12)
    return (found.x * start).reshape(6, n)[:2]
