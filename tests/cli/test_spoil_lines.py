"""The spoil balance as lines of text."""

from __future__ import annotations

DUG = {
    "work_date": "2026-10-22", "shift": "day", "zone": "B", "stage": "1", "stream": "clay",
    "basis": "measured", "bank_m3": "100",
}  # fmt: skip
READ = {"work_date": "2026-10-22", "shift": "day", "belt": "belt-1", "stream": "clay"}


def balance(pit, belt_t):
    """The lines of a day on which 200 t were dug and some went by belt."""
    reads = [
        READ | {"read_at": "2026-10-22 07:00", "totaliser_t": "0"},
        READ | {"read_at": "2026-10-22 19:00", "totaliser_t": belt_t},
    ]
    pit.done("import", "returns", pit.write("returns.csv", [DUG]))
    pit.done("import", "belt", pit.write("belt.csv", reads))
    return pit.done("statement", "balance", "--as-of", "2026-10-22").splitlines()


def test_a_line_that_nothing_is_missing_from_says_which_loss_would_not_show(pit):
    lines = balance(pit, "195")
    shown = [line for line in lines if "explained by the uncertainty; a loss under 1" in line]
    assert len(shown) == 2  # clay, and all streams
    assert all("% of what was dug) cannot be seen here" in line for line in shown)


def test_no_number_of_a_balance_is_minus_nothing(pit):
    lines = balance(pit, "200.08")
    (clay,) = [line for line in lines if "Clay" in line and "explained" in line]
    assert "+0 ± " in clay
    assert "+0.0 %" in clay
    assert "Unexplained: 0 ± " in lines[0]
