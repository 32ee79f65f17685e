import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.domain import haulage as h
from tracker.errors import InputError, OutOfRange


@given(
    st.floats(0.5, 40.0), st.floats(0.5, 40.0), st.floats(1.0, 2.5), st.floats(0.8, 3.5),
    st.floats(0.1, 1.2),
)  # fmt: skip
def test_a_load_is_never_above_the_plate_nor_the_body(plated_t, body_m3, swell, density, fill):
    load = h.payload(plated_t, body_m3, swell, density, fill)
    assert load.payload_t <= plated_t
    assert load.loose_m3_per_load <= body_m3 * fill * (1 + 1e-12)
    assert load.payload_t == pytest.approx(load.bank_m3_per_load * density)
    assert load.loose_m3_per_load == pytest.approx(load.bank_m3_per_load * swell)


def test_volume_governs_light_ground_and_weight_governs_heavy_ground():
    assert h.payload(20.0, 12.0, 1.30, 1.90).governs == "volume"
    assert h.payload(20.0, 12.0, 1.12, 1.90).governs == "weight"
    assert h.payload(20.0, 12.0, 1.12, 1.90).payload_t == 20.0


@given(st.integers(1, 100_000), st.floats(0.1, 44.0))
def test_loads_are_whole_and_carry_everything(loads, payload_t):
    assert h.loads_needed(loads * payload_t, payload_t) == loads
    assert h.loads_needed(loads * payload_t + 0.01 * payload_t, payload_t) == loads + 1


def test_no_ground_needs_no_load():
    assert h.loads_needed(0.0, 20.0) == 0


@pytest.mark.parametrize(
    "lorry",
    [(0, 12, 1.3, 2.0), (20, -1, 1.3, 2.0), (20, 12, 30, 2.0), (20, 12, 1.3, 19)],
)
def test_an_impossible_lorry_or_ground_is_refused(lorry):
    with pytest.raises(InputError):
        h.payload(*lorry)


def test_a_fill_given_as_a_percentage_is_refused_with_what_to_write():
    with pytest.raises(OutOfRange, match=r"write 0\.95"):
        h.payload(20.0, 12.0, 1.3, 2.0, 95.0)


def test_waiting_lengthens_the_cycle_and_wants_more_lorries():
    quick = h.haul_cycle(12.0, 95.0, 11.0, 48.0, 64.0, 3.0)
    slow = h.haul_cycle(12.0, 95.0, 11.0, 48.0, 64.0, 3.0, wait_min=6.0)
    assert slow.cycle_h - quick.cycle_h == pytest.approx(0.1)
    assert slow.lorries_to_balance > quick.lorries_to_balance


def test_a_tare_above_the_gross_is_refused():
    with pytest.raises(OutOfRange, match="swapped"):
        h.weighbridge_error(12.0, 32.0)


def test_a_weight_beyond_the_weighbridge_is_refused():
    with pytest.raises(OutOfRange, match="10,000 intervals"):
        h.permitted_error_kg(201.0, 20.0)
