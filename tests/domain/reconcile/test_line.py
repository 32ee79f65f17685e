import numpy as np
import pytest
from scipy.stats import binom

from tracker.domain.reconcile.line import fitted_line
from tracker.errors import InputError, NotEnoughData


def diagonal(n: int, u: float) -> np.ndarray:
    return np.eye(n) * u**2


def test_exact_x_gives_the_ordinary_line():
    x, y = np.array([1.0, 2.0, 3.0, 4.0]), np.array([2.1, 3.9, 6.2, 7.8])
    line = fitted_line(x, y, np.zeros((4, 4)), diagonal(4, 0.2))
    slope, intercept = np.polyfit(x, y, 1)
    assert (line.slope, line.intercept) == (pytest.approx(slope), pytest.approx(intercept))
    assert line.u_slope == pytest.approx(0.2 / 5.0**0.5)


def test_equal_errors_in_both_give_the_line_of_least_perpendicular_distances():
    x, y = np.array([0.0, 1.0, 2.0, 3.0, 4.5]), np.array([0.3, 0.8, 2.4, 2.7, 4.9])
    line = fitted_line(x, y, diagonal(5, 0.1), diagonal(5, 0.1))
    (a, b), (_, c) = np.cov(x, y)
    assert line.slope == pytest.approx((c - a + np.hypot(c - a, 2 * b)) / (2 * b))


def test_through_the_origin_the_slope_is_the_ratio_where_only_y_errs_as_the_root_of_x():
    x, y = np.array([100.0, 150.0, 80.0]), np.array([205.0, 290.0, 166.0])
    line = fitted_line(x, y, np.zeros((3, 3)), np.diag(x), through_origin=True)
    assert line.slope == pytest.approx(y.sum() / x.sum())
    assert (line.intercept, line.u_intercept, line.degrees) == (0.0, 0.0, 2)


def test_x_and_y_may_change_places():
    chance = np.random.default_rng(1)
    true_x = np.linspace(1.0, 9.0, 9)
    x, y = true_x + chance.normal(0, 0.2, 9), 2.0 * true_x + chance.normal(0, 0.5, 9)
    there = fitted_line(x, y, diagonal(9, 0.2), diagonal(9, 0.5), through_origin=True)
    back = fitted_line(y, x, diagonal(9, 0.5), diagonal(9, 0.2), through_origin=True)
    assert there.slope * back.slope == pytest.approx(1.0, rel=1e-9)
    assert there.chi_square == pytest.approx(back.chi_square)


def test_an_error_common_to_all_y_cannot_average_out():
    x = np.linspace(1000.0, 2000.0, 20)
    own = diagonal(20, 10.0)
    common = own + np.outer(0.02 * 2 * x, 0.02 * 2 * x)
    line = fitted_line(x, 2 * x, diagonal(20, 1.0), common, through_origin=True)
    assert line.u_slope == pytest.approx(0.04, rel=0.01)
    assert fitted_line(x, 2 * x, diagonal(20, 1.0), own, through_origin=True).u_slope < 0.002


def test_slopes_are_unbiased_and_their_intervals_cover_at_the_stated_rate():
    chance, true_x = np.random.default_rng(7), np.linspace(500.0, 2500.0, 12)
    z = []
    for _ in range(200):
        x = true_x + chance.normal(0.0, 60.0, 12)
        y = 2.0 * true_x + chance.normal(0.0, 40.0, 12)
        line = fitted_line(x, y, diagonal(12, 60.0), diagonal(12, 40.0), through_origin=True)
        z.append((line.slope - 2.0) / line.u_slope)
    assert abs(np.mean(z)) < 3.3 / 200**0.5
    covered = int((np.abs(z) < 1.96).sum())
    assert binom.ppf(0.001, 200, 0.95) <= covered <= binom.ppf(0.999, 200, 0.95)


def test_too_few_points_and_no_spread_are_refused():
    one, two = np.array([1.0]), np.array([1.0, 1.0])
    with pytest.raises(NotEnoughData, match="at least 2"):
        fitted_line(one, one, diagonal(1, 1.0), diagonal(1, 1.0), through_origin=True)
    with pytest.raises(NotEnoughData, match="at least 3"):
        fitted_line(two, two, diagonal(2, 1.0), diagonal(2, 1.0))
    three = np.array([1.0, 1.0, 1.0])
    with pytest.raises(InputError, match="All points stand at 1"):
        fitted_line(three, three, diagonal(3, 1.0), diagonal(3, 1.0))
