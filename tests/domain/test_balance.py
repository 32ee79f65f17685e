"""The balance of a stream and the endurance of its heaps, worked by hand."""

from __future__ import annotations

import math

import pytest

from tracker.domain.balance import LOAD_U_T, Amount, endurance, net, stock_u
from tracker.domain.factors import Factor
from tracker.domain.ground import Ground
from tracker.domain.haulage import weighbridge_error
from tracker.errors import FactorMissing, NotEnoughData, UnknownName

ROOT12 = math.sqrt(12.0)
CLAY = Ground(
    Factor(1.25, "-", 1.15, 1.35), Factor(2.0, "t/m³", 1.9, 2.1), Factor(0.9, "-", 0.85, 0.95)
)
U_DENSITY, U_BULKING = 0.2 / ROOT12, 0.2 / ROOT12


def test_each_unit_becomes_bank_volume_and_mass():
    found = net(
        [
            (1, Amount(100.0, "bank", CLAY)),
            (1, Amount(125.0, "loose", CLAY)),
            (1, Amount(90.0, "compacted", CLAY)),
            (1, Amount(200.0, "mass", CLAY)),
        ]
    )
    assert (found.bank_m3, found.mass_t) == (pytest.approx(400.0), pytest.approx(800.0))


def test_the_density_errs_in_mass_where_volume_was_stated_and_the_other_way_round():
    volume, mass = net([(1, Amount(100.0, "bank", CLAY))]), net([(1, Amount(200.0, "mass", CLAY))])
    assert (volume.u_bank_m3, volume.u_mass_t) == (0.0, pytest.approx(100 * U_DENSITY))
    assert (mass.u_mass_t, mass.u_bank_m3) == (0.0, pytest.approx(100 / 2.0 * U_DENSITY))


def test_a_factor_cancels_between_what_was_dug_and_what_lies_in_stock():
    # 1,000 m3 bank dug by measure; 900 m3 bank of it, 1,125 m3 loose, lies in the heap.
    dug, stock = Amount(1000.0, "bank", CLAY), Amount(1125.0, "loose", CLAY)
    found = net([(1, dug), (-1, stock)])
    assert found.bank_m3 == pytest.approx(100.0)
    # Density: on the 100 m3 that remain, not on 1,000 and 900. Bulking: on the heap.
    assert found.u_mass_t == pytest.approx(
        math.hypot(100 * U_DENSITY, 900 / 1.25 * U_BULKING * 2.0)
    )
    counted = net([(1, Amount(1125.0, "loose", CLAY)), (-1, stock)])
    assert (counted.u_bank_m3, counted.u_mass_t) == (0.0, 0.0)


def test_one_error_adds_up_and_others_combine():
    same = net([(1, Amount(10.0, "mass", CLAY, (("belt", 0.3),))) for _ in range(2)])
    apart = net([(1, Amount(10.0, "mass", CLAY, ((f"belt {n}", 0.3),))) for n in range(2)])
    assert (same.u_mass_t, apart.u_mass_t) == (pytest.approx(0.6), pytest.approx(math.sqrt(0.18)))


def test_the_same_count_on_both_sides_leaves_nothing():
    count = Amount(50.0, "loose", CLAY, (("count 1", 15.0),))
    found = net([(1, count), (-1, count)])
    assert (found.bank_m3, found.u_bank_m3, found.u_mass_t) == (0.0, 0.0, 0.0)


def test_a_stream_with_the_same_factor_errs_alike_and_other_streams_or_factors_apart():
    other = Ground(CLAY.loose_per_bank, Factor(2.2, "t/m³", 2.1, 2.3))
    alike = net([(1, Amount(100.0, "bank", CLAY)), (1, Amount(100.0, "bank", CLAY))])
    apart = net([(1, Amount(100.0, "bank", CLAY)), (1, Amount(100.0, "bank", other))])
    assert alike.u_mass_t == pytest.approx(200 * U_DENSITY)
    streams = net([(1, Amount(100.0, "bank", CLAY, stream=name)) for name in ("clay", "gravel")])
    assert streams.u_mass_t == pytest.approx(math.sqrt(2) * 100 * U_DENSITY)
    assert apart.u_mass_t == pytest.approx(math.sqrt(2) * 100 * U_DENSITY)


@pytest.mark.parametrize(
    ("mass_t", "said"),
    [
        (1.9, "explained by the uncertainty"),
        (-1.9, "explained by the uncertainty"),
        (2.1, "more dug than accounted for"),
        (-2.1, "more left than was dug"),
    ],
)
def test_the_verdict_is_at_twice_the_uncertainty(mass_t, said):
    assert net([(1, Amount(mass_t, "mass", CLAY, (("belt", 1.0),)))]).verdict == said


def test_of_nothing_nothing_remains():
    assert net([]).verdict == "explained by the uncertainty"


def test_what_cannot_be_converted_is_refused():
    bare = Ground(CLAY.loose_per_bank, CLAY.bank_density_t_per_m3)
    with pytest.raises(FactorMissing, match=r"5\.0 m³ compacted .* put one with its source"):
        net([(1, Amount(5.0, "compacted", bare))])
    with pytest.raises(UnknownName, match="bank, compacted, loose, mass"):
        net([(1, Amount(5.0, "heaped", CLAY))])


def test_one_load_weighs_as_surely_as_its_weighbridge_may_err():
    """Class III, e 20 kg, in service, gross 32 t, tare 12 t: SI 1995/1907 and SI 2000/932."""
    assert weighbridge_error(32.0, 12.0).u_net_kg / 1000.0 == pytest.approx(LOAD_U_T, abs=5e-5)


def test_a_count_by_an_unknown_method_is_as_sure_as_an_estimate():
    assert (stock_u(" Cone "), stock_u("survey")) == (0.10, 0.03)
    assert stock_u("paced out") == stock_u("estimate") == 0.30


def test_heaps_fill_at_the_rate_of_digging_less_what_lorries_take():
    found = endurance(300.0, 60.0, 40.0)
    assert (found.hours, found.with_lorries_h) == (5.0, 15.0)
    assert endurance(300.0, 60.0, 60.0).with_lorries_h is None
    assert endurance(-20.0, 60.0).hours == 0.0


@pytest.mark.parametrize(
    ("free", "rate", "said"),
    [(None, 60.0, "temporary works"), (300.0, None, "no rate"), (300.0, 0.0, "no rate")],
)
def test_without_a_limit_or_a_rate_no_hours_are_stated(free, rate, said):
    with pytest.raises(NotEnoughData, match=said):
        endurance(free, rate)
