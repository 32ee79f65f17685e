from dataclasses import replace
from datetime import timedelta

import pytest

from dashboard import theme
from dashboard.figures.bands import bands_figure, bands_summary
from dashboard.figures.carbon import carbon_figure, carbon_summary
from dashboard.figures.day import hours_figure, hours_summary
from dashboard.figures.lettering import text_width
from dashboard.figures.movements import movements_figure, movements_summary
from tests.dashboard import examples
from tracker.statements.gate_shapes import HourLine

WIDTHS = (358, 1240)


def words_of(figure):
    return " ".join(a.text for a in figure.layout.annotations)


@pytest.mark.parametrize("width_px", WIDTHS)
def test_every_figure_is_drawn_for_the_width_it_is_given(width_px):
    progress = examples.progress()
    for figure in (
        movements_figure(examples.movements(), width_px),
        carbon_figure(examples.carbon(), width_px),
        hours_figure(examples.HOURS, 16, width_px),
    ):
        assert figure.layout.width == width_px
    assert bands_figure(progress, "BOX", width_px).layout.width <= width_px


def test_figures_of_nothing_say_so():
    nothing = replace(examples.carbon(), legs=(), options=())
    for figure in (
        bands_figure(examples.EMPTY_PROGRESS, "BOX"),
        movements_figure(examples.movements(lines=())),
        carbon_figure(nothing),
        hours_figure((), 16),
    ):
        assert words_of(figure).startswith("No ")
    assert carbon_summary(nothing) == "Nothing moved yet."
    assert hours_summary((), 16) == "No lorry has passed the gate on this day."


def test_movements_made_and_avoided_stand_up_to_the_baseline():
    made, avoided = movements_figure(examples.movements()).data
    for line, low, high in zip(examples.PERIODS, made.y, avoided.y, strict=True):
        assert low + high == pytest.approx(max(line.baseline_movements, line.movements))


def test_a_period_with_more_lorries_than_the_baseline_shows_none_avoided():
    worse = examples.period("Nov 2026", examples.AS_OF, examples.AS_OF, 0.0, 10)
    worse = replace(worse, baseline_movements=12.0, avoided_movements=-8.0)
    avoided = movements_figure(examples.movements(lines=(worse,))).data[1]
    assert list(avoided.y) == [0.0]
    assert list(avoided.error_y.array) == [None]


def test_the_whiskers_of_avoided_movements_are_the_stated_range():
    error = movements_figure(examples.movements()).data[1].error_y
    line = examples.PERIODS[0]
    assert error.array[0] == pytest.approx(line.avoided_movements_high - line.avoided_movements)
    assert error.arrayminus[0] == pytest.approx(line.avoided_movements - line.avoided_movements_low)


@pytest.mark.parametrize("width_px", WIDTHS)
def test_the_names_of_many_days_never_touch(width_px):
    day = examples.PERIODS[0]
    many = tuple(replace(day, label=str(n), starts=day.starts + timedelta(n)) for n in range(170))
    statement = replace(examples.movements(lines=many), grain="day")
    figure = movements_figure(statement, width_px)
    axis = figure.layout.xaxis
    plot_px = width_px - figure.layout.margin.l - figure.layout.margin.r
    apart_px = (axis.tickvals[1] - axis.tickvals[0]) * plot_px / len(many)
    assert apart_px > max(text_width(text, 12) for text in axis.ticktext)
    assert figure.data[1].error_y.array is None


def test_the_movements_are_summed_up_with_their_dates():
    words = movements_summary(examples.movements())
    assert "Sat 1 Aug 2026 to Tue 27 Oct 2026" in words
    assert "1,660 movements made" in words


def test_operation_and_supply_of_every_leg_add_up_to_its_total():
    statement = examples.carbon()
    totals = {}
    for bars in carbon_figure(statement).data:
        for row, tonnes in zip(bars.y, bars.x, strict=True):
            totals[row] = totals.get(row, 0) + tonnes
    expected = [leg.total_kgco2e / 1000 for leg in statement.legs]
    assert [totals[row] for row in sorted(totals)] == pytest.approx(expected)


def test_carbon_is_said_over_the_same_tonnes():
    words = carbon_summary(examples.carbon())
    assert words == (
        "Over the same tonnes: as moved 110.0 t CO2e (2.59 kg a tonne), baseline 221.0 t CO2e"
        " (5.21 kg a tonne)."
    )


def test_bands_stand_at_their_own_levels():
    bars = bands_figure(examples.progress(), "BOX").data[0]
    assert bars.y[0] == pytest.approx((104.2 + 101.6) / 2)


def test_full_bands_are_counted():
    assert bands_summary(examples.progress(), "BOX") == (
        "8 of 20 level bands are dug out to their design volume."
    )


def test_an_hour_over_the_cap_is_vermilion_and_says_so():
    spoil, other = hours_figure(examples.HOURS, 16).data
    over = list(spoil.x).index(9)
    assert spoil.marker.color[over] == theme.BREACH
    assert other.text[over] == "over cap"
    assert spoil.marker.color.count(theme.BREACH) == 1


def test_other_traffic_stands_on_top_of_spoil_and_counts_to_the_cap():
    hours = (HourLine(9, 6, 6, 3, 2), HourLine(10, 6, 6))
    spoil, other = hours_figure(hours, 16).data
    assert (spoil.y, other.y) == ((12, 12), (5, 0))
    assert other.text == ("over cap", "12")
    assert hours_summary(hours, 16) == (
        "Busiest hour: 09:00, 17 movements. Paler: 5 movements of the day that carried no spoil."
        " 1 hour is over the cap of 16."
    )


def test_an_hour_at_the_cap_is_not_over_it():
    assert "No hours are over the cap of 18" in hours_summary(examples.HOURS, 18)


def test_a_site_without_a_cap_an_hour_shows_none():
    assert hours_summary(examples.HOURS, None).endswith("No cap an hour is set.")
    assert not hours_figure(examples.HOURS, None).layout.shapes
