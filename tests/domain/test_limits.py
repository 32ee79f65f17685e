import math

import pytest

from tracker.domain.limits import check_between, check_not_negative, check_positive
from tracker.errors import InputError, OutOfRange


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_positive_number_is_finite_and_more_than_zero(value):
    with pytest.raises(InputError, match="must be more than 0 km"):
        check_positive("distance_km", value, "km")


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_a_number_that_is_not_negative_may_be_zero(value):
    assert check_not_negative("mass_t", 0.0, "t") == 0.0
    with pytest.raises(InputError, match="must be 0 t or more"):
        check_not_negative("mass_t", value, "t")


def test_a_number_between_two_bounds_may_touch_them():
    assert check_between("fill", 1.2, 0.0, 1.2, "-") == 1.2
    with pytest.raises(OutOfRange, match=r"between 0 and 1\.2"):
        check_between("fill", math.nan, 0.0, 1.2, "-")
