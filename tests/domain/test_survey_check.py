"""A survey against the returns: difference, uncertainty, verdict."""

from __future__ import annotations

import pytest

from tracker.domain.survey_check import CheckLine, returned_u_m3


def line(returned_m3, surveyed_m3=1000.0, u_surveyed_m3=3.0, u_returned_m3=4.0):
    return CheckLine("A", 1, surveyed_m3, u_surveyed_m3, returned_m3, u_returned_m3)


def test_the_difference_is_what_the_returns_say_above_the_survey():
    assert line(1050.0).difference_m3 == 50.0
    assert line(1050.0).percent == pytest.approx(5.0)
    assert line(1050.0).u_difference_m3 == pytest.approx(5.0)


def test_within_twice_its_uncertainty_a_difference_says_nothing():
    assert line(1010.0).verdict == line(990.0).verdict == "agree within their uncertainty"
    assert line(1010.1).verdict == "returns say too much"
    assert line(989.9).verdict == "returns say too little"


def test_limits_count_only_what_the_uncertainty_cannot_explain():
    assert [line(r).severity(30, 60) for r in (1010.0, 1025.0, 1045.0, 1061.0)] == [
        "",
        "",
        "amber",
        "red",
    ]
    assert line(1061.0, u_returned_m3=100.0).severity(30, 60) == ""
    assert line(930.0).severity(30, 60) == "red"


def test_where_nothing_was_surveyed_there_is_no_percentage_and_still_a_verdict():
    assert line(50.0, surveyed_m3=0.0).percent is None
    assert line(50.0, surveyed_m3=5.0).percent is None
    assert line(50.0, surveyed_m3=0.0).severity(30, 60) == "red"


def test_returns_err_by_basis_alike_and_by_their_factors():
    assert returned_u_m3({"measured": 1000.0}, 0.0) == pytest.approx(20.0)
    assert returned_u_m3({"measured": 150.0, "estimated": 40.0}, 0.0) == pytest.approx(5.0)
    assert returned_u_m3({"measured": 150.0, "estimated": 40.0}, 12.0) == pytest.approx(13.0)
