"""When releases and levels were first written down, amendments apart."""

from __future__ import annotations

from dataclasses import replace

from tests.ledger.samples import DAY, a_release, a_return, a_survey, at
from tracker.ledger.recorded import first_report_at, releases_recorded, reported_before


def amended(ledger, entry, **changes):
    new = replace(entry, entry_id=f"{entry.entry_id}+", **changes)
    ledger.supersede(entry.entry_id, new, reason="a slip", by="engineer")
    return new


def test_a_release_whose_permit_number_is_corrected_keeps_its_first_moment(ledger, clock):
    first = a_release(entry_id="h")
    said = clock.moment
    ledger.append([first], by="coordinator")
    clock.forward(60)
    new = amended(ledger, first, permit="PTD-9")
    assert releases_recorded(ledger, [new]) == {"h+": said}


def test_a_release_that_an_amendment_dates_back_counts_as_recorded_then(ledger, clock):
    first = a_release(entry_id="h", decided_at=at(0))
    ledger.append([first], by="coordinator")
    clock.forward(60)
    said = clock.moment
    new = amended(ledger, first, decided_at=at(-3))
    assert releases_recorded(ledger, [new]) == {"h+": said}


def test_the_first_level_of_all_is_known_by_its_moment(ledger, clock):
    assert first_report_at(ledger) is None
    said = clock.moment
    ledger.append([a_return()], by="engineer")
    clock.forward(60)
    ledger.append([a_survey()], by="engineer")
    assert first_report_at(ledger) == said


def test_a_report_whose_remark_is_amended_was_recorded_when_its_level_was(ledger, clock):
    first = a_return(entry_id="r", lowest_level_mm=101_000)
    said = clock.moment
    ledger.append([first], by="engineer")
    clock.forward(60)
    amended(ledger, first, note="by the ramp")
    clock.forward(60)
    asked = {"since": DAY, "until": DAY, "recorded_before": clock.moment}
    ((report, recorded_at),) = reported_before(ledger, "A", 102_000, **asked)
    assert (report.entry_id, recorded_at) == ("r+", said)
    assert reported_before(ledger, "A", 101_000, **asked) == []
    assert reported_before(ledger, "A", 102_000, **(asked | {"recorded_before": said})) == []
