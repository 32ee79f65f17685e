import numpy as np
import pytest
from scipy import sparse

from tracker.domain.reconcile.least_squares import Fit, least_squares
from tracker.errors import InputError, NotEnoughData


def fitted(matrix, stated, u) -> Fit:
    design = sparse.csr_array(np.array(matrix, dtype=float))
    start = np.zeros(design.shape[1])
    names = [f"unknown {k}" for k in range(len(start))]
    return least_squares(
        lambda x: (design @ x, design.copy()),
        np.array(stated),
        np.array(u),
        start,
        names,
        ["row"] * len(u),
    )


def test_a_mean_is_weighted_by_the_inverse_squares_of_the_uncertainties():
    fit = fitted([[1], [1]], [10.0, 16.0], [1.0, 2.0])
    assert fit.unknowns == pytest.approx([(10.0 + 16.0 / 4) / (1 + 1 / 4)])
    assert fit.covariance == pytest.approx(np.array([[1 / (1 + 1 / 4)]]))
    assert fit.chi_square == pytest.approx(6.0**2 / (1 + 4))
    assert fit.degrees == 1


def test_the_probability_of_a_misfit_is_that_of_a_normal_number_for_one_check():
    fit = fitted([[1], [1]], [0.0, 1.959964], [0.6, 0.8])
    assert fit.probability == pytest.approx(0.05, abs=1e-6)


def test_redundancy_adds_up_to_the_degrees_of_freedom():
    chance = np.random.default_rng(1)
    fit = fitted(chance.normal(size=(9, 4)), chance.normal(size=9), np.full(9, 0.3))
    redundancy = fit.redundancy(np.arange(9))
    assert redundancy.trace() == pytest.approx(5.0)
    assert redundancy @ redundancy == pytest.approx(redundancy)  # a projection
    errors = chance.normal(size=(9, 2))
    assert fit.evidence(errors) == pytest.approx(errors.T @ redundancy @ errors)


def test_what_nothing_determines_is_named_and_the_rest_is_not():
    with pytest.raises(NotEnoughData, match=r"unknown 1; unknown 2\.") as refused:
        fitted([[1, 0, 0], [1, 0, 0], [0, 1, 1]], [1.0, 1.0, 1.0], [1.0, 1.0, 1.0])
    assert "unknown 0" not in str(refused.value)


def test_an_unknown_that_no_statement_mentions_is_named():
    with pytest.raises(NotEnoughData, match="unknown 1"):
        fitted([[1, 0], [1, 0]], [1.0, 1.0], [1.0, 1.0])


def test_steps_that_do_not_settle_end_in_a_sentence():
    def away(x):  # whose slope points the wrong way, further at each step
        return np.array([x[0] ** 2 + 1.0, 0.0]), sparse.csr_array(np.array([[2.0 * x[0]], [0.0]]))

    with pytest.raises(InputError, match="Look first at the first row: a wrong unit"):
        least_squares(
            away,
            np.zeros(2),
            np.ones(2),
            np.array([0.9]),
            ["x"],
            ["the first row", "the second row"],
        )
