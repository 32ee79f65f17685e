"""The page Reconciliation: bars, the suspect named, what is implied, what is missing."""

from __future__ import annotations

from datetime import date
from urllib.parse import parse_qs, urlsplit

import pytest

from dashboard.figures.calibration import calibration_figure
from dashboard.figures.drift import drift_figure
from dashboard.figures.misfits import misfits_figure, misfits_summary
from dashboard.figures.reconciliation import (
    BANK,
    MASS,
    bars_figure,
    bars_summary,
    is_suspected,
    shown_bars,
)
from dashboard.pages import reconciliation
from dashboard.reconciled import charts
from dashboard.reconciled.charts import belt_id, choices, first_telling, line_id
from dashboard.reconciled.shown import missing, records_address
from tests.dashboard.pieces import texts_of
from tests.statements.long_season import LongSeason
from tracker.ledger.store import open_ledger
from tracker.recording.demo import DEMO_DAY
from tracker.statements import reconciliation_statement
from tracker.statements.reconciliation_shapes import ALL, MissingLine


@pytest.fixture(scope="module")
def sound(demo):
    """The statement of the demonstration."""
    return reconciliation_statement(demo, DEMO_DAY)


@pytest.fixture(scope="module")
def drifting(tmp_path_factory):
    """The statement of a season in which the belt reads high from some week on."""
    season = LongSeason(5, 24, belt_ratio=0.06, belt_from=12)
    book = open_ledger(tmp_path_factory.mktemp("belt") / "a.sqlite", create=True)
    yield reconciliation_statement(season.entered(book), season.last_day)
    book.close()


@pytest.fixture(scope="module")
def nothing(tmp_path_factory):
    """The statement of a site that was never surveyed."""
    season = LongSeason(5, 1)
    season.entries = [e for e in season.entries if e.KIND != "survey_levels"]
    book = open_ledger(tmp_path_factory.mktemp("none") / "a.sqlite", create=True)
    yield reconciliation_statement(season.entered(book), season.last_day)
    book.close()


def words_of(figure):
    layout = figure.to_plotly_json()["layout"]
    ticks = [layout.get(axis, {}).get("ticktext") or () for axis in ("yaxis", "yaxis2")]
    return " ".join([*(note["text"] for note in layout["annotations"]), *ticks[0], *ticks[1]])


# --- the bars ------------------------------------------------------------------------------------
@pytest.mark.parametrize("unit", [BANK, MASS])
@pytest.mark.parametrize("width_px", [358, 1240])
def test_five_bars_stand_on_one_axis_with_their_amounts_and_intervals(sound, unit, width_px):
    figure = bars_figure(sound, ALL, unit, width_px)
    bars = shown_bars(sound, ALL)
    assert [bar.bar for bar in bars] == ["survey", "returns", "weighed", "receipts", "adjusted"]
    ends = [trace for trace in figure.data if trace.type == "scatter"]
    assert [end.x[0] for end in ends] == [
        pytest.approx(bar.mass_t if unit == MASS else bar.bank_m3) for bar in bars
    ]
    assert all(end.error_x.array[0] > 0 for end in ends)
    assert figure.layout.width == width_px
    for bar in bars:
        assert bar.name in words_of(figure)


def test_the_parts_of_what_left_make_up_its_bar(sound):
    figure = bars_figure(sound, ALL, MASS)
    row = [bar.bar for bar in shown_bars(sound, ALL)].index("weighed")
    parts = [trace.x[0] for trace in figure.data if trace.type == "bar" and trace.y[0] == row]
    assert sum(parts) == pytest.approx(shown_bars(sound, ALL)[row].mass_t)


def test_the_bar_of_the_suspect_says_so(drifting):
    assert "suspect" in words_of(bars_figure(drifting, ALL, BANK))
    assert is_suspected("weighed", "belt-1")
    assert is_suspected("receipts", "receipts quarry")
    assert not is_suspected("survey", "density of clay")


def test_the_sentence_of_the_bars_has_every_amount(sound):
    said = bars_summary(sound, ALL, BANK)
    assert said.startswith("All streams, in bank m³, ± 95 %: surveys ")
    assert "all together" in said


# --- the other charts ----------------------------------------------------------------------------
def test_the_drift_chart_marks_the_alarm_with_words(drifting):
    (drift,) = drifting.drifts
    for width_px in (358, 1240):
        figure = drift_figure(drift, width_px)
        said = " ".join(note.text for note in figure.layout.annotations)
        assert "first alarm" in said
        assert "alarm: reads high" in said
        assert max(figure.data[0].y) > drift.limit


def test_a_calibration_shows_each_period_with_both_values(sound):
    line = next(line for line in sound.calibrations if line.implied is not None)
    for width_px in (358, 1240):
        figure = calibration_figure(line, width_px)
        said = " ".join(note.text for note in figure.layout.annotations)
        assert f"implied {line.implied:.3f}" in said
        assert f"assumed {line.assumed:.3f}" in said
        assert len(figure.data[0].x) == len(line.points)
        low, high = figure.layout.yaxis.range
        assert low < min(line.implied, line.assumed) < max(line.implied, line.assumed) < high


def test_misfits_stand_by_period_and_source(drifting):
    figure = misfits_figure(drifting)
    assert {"survey", "belt", "lorries", "heaps"} <= set(figure.layout.yaxis.ticktext)
    assert "by chance" in misfits_summary(drifting, ALL)


def test_charts_of_nothing_say_so(nothing):
    assert "Nothing to compare yet." in words_of(bars_figure(nothing))
    assert "No statement" in words_of(misfits_figure(nothing))
    assert bars_summary(nothing, ALL, BANK) == "Nothing to compare yet."
    assert misfits_summary(nothing, ALL).startswith("No statement")


def test_too_few_periods_leave_words_in_place_of_an_empty_chart(sound):
    line = next(line for line in sound.calibrations if line.implied is None)
    assert "Not enough periods" in words_of(calibration_figure(line))
    assert "at least 5 are needed" in charts.implied(sound, line_id(line), 1240)[1]


# --- the page ------------------------------------------------------------------------------------
def test_every_choice_has_its_chart_and_its_sentence(sound):
    offered = choices(sound)
    for option in offered["streams"]:
        for unit in (BANK, MASS):
            assert charts.bars(sound, option["value"], unit, 1240)[1]
        assert charts.misfits(sound, option["value"], 1240)[0].data
    for group, draw in (("implied", charts.implied), ("belts", charts.drift)):
        said = [draw(sound, option["value"], 1240)[1] for option in offered[group]]
        assert len(set(said)) == len(said) > 0


def test_what_is_not_chosen_yet_is_what_tells_most(sound):
    quantity, belt = first_telling(sound)
    assert charts.implied(sound, None, 1240)[1] == charts.implied(sound, quantity, 1240)[1]
    assert charts.drift(sound, None, 1240)[1] == charts.drift(sound, belt, 1240)[1]


def test_the_page_opens_with_a_chart_that_says_something(sound):
    quantity, belt = first_telling(sound)
    line = next(line for line in sound.calibrations if line_id(line) == quantity)
    drift = next(drift for drift in sound.drifts if belt_id(drift) == belt)
    assert line.implied is not None
    assert drift.points


def test_the_suspect_stands_beside_whom_it_cannot_be_told_from(drifting):
    said = texts_of(reconciliation.shown(drifting, None, None)["suspect"])
    assert "Likeliest: belt-1" in said
    assert "The records do not tell it from an error of the assumed density of clay" in said
    assert "chance alone would name somebody" in said


def test_a_choice_stays_through_a_change_of_the_survey_to_begin_at(sound):
    kept = line_id(sound.calibrations[-1])
    shown = reconciliation.shown(sound, kept, "no such belt")
    assert shown["quantity"] == kept
    assert shown["belt"] == first_telling(sound)[1]


def test_the_surveys_to_begin_at_are_all_but_the_last(sound):
    options = reconciliation.sinces(sound)
    assert options[0] == {"value": "", "label": "From the start"}
    days = [option["value"] for option in options[1:]]
    assert days == sorted(days, reverse=True)
    assert sound.until.isoformat() not in days


def test_a_later_beginning_shows_fewer_periods(desk, sound):
    later = reconciliation.stated(desk, "2026-09-05")
    assert later.since == date(2026, 9, 5)
    assert 0 < later.periods_reconciled < sound.periods_reconciled


def test_what_is_implied_comes_with_rows_to_copy_that_nobody_adopts_by_themselves(sound):
    said = texts_of(reconciliation.shown(sound, None, None)["implied"])
    assert "Rows to copy into the set-up, if a person adopts them" in said
    assert "Only a person adopts it" in said
    assert "stream,name,loose_per_bank_low" in said


def test_gaps_lead_to_their_records(sound):
    line = MissingLine(
        "loads without weight", "", "clay", 2, 40.0, "Two loads.", "lorry_loads",
        date(2026, 5, 1), date(2026, 5, 3), "stream clay",
    )  # fmt: skip
    asked = parse_qs(urlsplit(records_address(line)).query)
    assert asked == {
        "kind": ["lorry_loads"],
        "since": ["2026-05-01"],
        "until": ["2026-05-03"],
        "text": ["stream clay"],
    }
    said = texts_of(missing(sound))
    assert f"Loads without a receipt: {sound.unmatched_count}" in said
    assert "See the row" in said


def test_without_a_survey_the_page_says_what_to_do(nothing):
    shown = reconciliation.shown(nothing, None, None)
    assert "Not reconciled: no survey gives a dug volume yet." in texts_of(shown["headline"])
    assert shown["suspect"] is None
    assert shown["fit"] is None
    assert (shown["quantity"] is None) == (not nothing.calibrations)
