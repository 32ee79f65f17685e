"""The five figures of a small season worked by hand, its cut-offs, and what it says of gaps."""

from __future__ import annotations

import csv
import json
from datetime import UTC, date, datetime, timedelta

import pytest

from data_demo.dig import TRUE_DENSITY_T_PER_M3
from tests.statements import paper
from tests.statements.long_season import LongSeason
from tracker.domain.reconcile.usual import mean_u_of_returns, u_of_level_floor_m3
from tracker.domain.survey_check import RETURN_U
from tracker.ledger.picked import picked
from tracker.ledger.setups import site_of
from tracker.ledger.store import open_ledger
from tracker.recording.demo import DEMO_DAY
from tracker.recording.setup import adopt_setup
from tracker.statements import reconciliation_statement, records_statement, survey_statement
from tracker.statements.export import to_csv, to_json, to_xlsx
from tracker.statements.frame import framed
from tracker.statements.reconciliation_shapes import ALL
from tracker.statements.survey_cuts import survey_days, typed_volume

DAY = date(2026, 11, 30)


@pytest.fixture
def own(own, clock):
    clock.moment = datetime(2026, 12, 1, tzinfo=UTC)
    return own


@pytest.fixture
def pit(own):
    """The paper pit with one zone of clay that anybody digs."""
    tables = {name: [dict(row) for row in rows] for name, rows in paper.FIRST.items()}
    tables["zones"] = tables["zones"][1:2]
    tables["excavations"] = tables["excavations"][:1]
    for name in ("stages", "ground"):
        tables[name] = [row for row in tables[name] if row["zone"] == "B"]
    paper.adopt(own, tables, "one zone", date(2026, 10, 20))
    return own


def dig(book, day: str, bank_m3: str, shift: str = "day", zone: str = "B", **more: str) -> None:
    fields = {"work_date": day, "shift": shift, "zone": zone, "stage": "1"}
    given = {"stream": "clay", "basis": "measured", "bank_m3": bank_m3} | more
    paper.enter(book, "returns", **fields, **{k: v for k, v in given.items() if v})


def survey(book, name: str, moment: str, **zones_m3: str) -> None:
    for zone, bank_m3 in zones_m3.items():
        fields = {"survey": name, "surveyed_at": moment, "zone": zone}
        paper.enter(book, "surveys", **fields, lowest_level_m="101", dug_bank_m3=bank_m3)


def load(book, number: str, left: str, net_t: str = "20", route: str = "R-ROAD", **more: str):
    fields = {"ticket_number": number, "gate_out_at": left, "stream": "clay", "route": route}
    weight = {"net_t": net_t} if net_t else {}
    return paper.enter(book, "loads", **(fields | weight | more))


def count(book, moment: str, loose_m3: str, location: str = "bay", stream: str = "clay") -> None:
    fields = {"counted_at": moment, "location": location, "stream": stream}
    paper.enter(book, "stock", **fields, loose_m3=loose_m3, method="cone")


def belt(book, moment: str, total_t: str, shift: str = "day") -> None:
    fields = {"read_at": moment, "work_date": moment[:10], "shift": shift, "belt": "belt-1"}
    paper.enter(book, "belt", **fields, route="R-BELT", stream="clay", totaliser_t=total_t,
                event="reading")  # fmt: skip


def receipt(book, ticket: str, accepted_t: str) -> None:
    fields = {"receipt_number": f"R{ticket}", "receipt_date": "2026-10-30", "destination": "quarry"}
    paper.enter(book, "receipts", **fields, ticket_issuer="gate", ticket_number=ticket,
                waste_code="17 05 04", accepted_t=accepted_t, outcome="accepted")  # fmt: skip


def stated(book, **asked):
    return reconciliation_statement(book, DAY, **asked)


def bars(statement, stream: str = ALL):
    return {bar.bar: bar for bar in statement.bars if bar.stream == stream}


def two_periods(book) -> None:
    """100 and 60 m³ of clay at 2.0 t/m³: 200 t and 120 t, by lorry and by belt."""
    dig(book, "2026-10-22", "60")
    dig(book, "2026-10-23", "40")
    belt(book, "2026-10-22 08:00", "500")
    belt(book, "2026-10-22 18:00", "600")
    for number in range(5):
        load(book, f"1{number}", f"2026-10-23 {10 + number}:00")
    survey(book, "S-1", "2026-10-24 09:00", B="100")
    dig(book, "2026-10-27", "60")
    belt(book, "2026-10-27 18:00", "680")
    for number in range(2):
        load(book, f"2{number}", f"2026-10-27 {10 + number}:00")
    survey(book, "S-2", "2026-10-31 09:00", B="160")


# --- the figures ---------------------------------------------------------------------------------
def test_five_figures_that_agree_are_the_sums_of_the_records(pit):
    two_periods(pit)
    statement = stated(pit)
    found = bars(statement)
    assert found["survey"].bank_m3 == pytest.approx(160)
    assert found["returns"].bank_m3 == pytest.approx(160)
    assert found["weighed"].mass_t == pytest.approx(100 + 80 + 5 * 20 + 2 * 20)
    assert found["weighed"].bank_m3 == pytest.approx(320 / 2.0)
    assert found["adjusted"].bank_m3 == pytest.approx(160)
    assert found["adjusted"].mass_t == pytest.approx(320)
    parts = {part.part: part.mass_t for part in found["weighed"].parts}
    assert parts == {"belt-1": pytest.approx(180), "lorries": pytest.approx(140)}
    assert (statement.verdict, statement.suspect) == ("agree", None)
    assert "surveys say 160 m³ bank were dug; belt, lorries and heaps say 160 m³" in (
        statement.headline
    )
    assert "Nobody is named. A lasting error would have been seen" in statement.suspect_words


def test_an_adjusted_figure_is_surer_than_any_statement(pit):
    two_periods(pit)
    found = bars(stated(pit))
    others = [found[name].u_bank_m3 for name in ("survey", "returns", "weighed")]
    assert 0 < found["adjusted"].u_bank_m3 < min(others)


def test_periods_have_each_party_in_its_own_unit(pit):
    two_periods(pit)
    one, two = stated(pit).periods
    assert (one.period, two.period) == ("2026-10-24", "2026-10-31")
    assert (one.surveyed_m3, one.returned_m3) == (pytest.approx(100), pytest.approx(100))
    assert (one.belt_t, one.lorry_t, one.loads) == (pytest.approx(100), pytest.approx(100), 5)
    assert (two.belt_t, two.lorry_t, two.loads) == (pytest.approx(80), pytest.approx(40), 2)
    assert one.since_at is None
    assert two.since_at == datetime(2026, 10, 24, 8, 0, tzinfo=UTC)  # summer time until the 25th
    assert two.adjusted_m3 == pytest.approx(60, abs=0.5)


def test_what_was_re_used_on_site_is_weighed_out_too(pit):
    two_periods(pit)
    dig(pit, "2026-10-28", "40")
    survey(pit, "S-3", "2026-11-07 09:00", B="200")
    assert bars(stated(pit))["weighed"].bank_m3 == pytest.approx(160)
    paper.enter(pit, "reuse", placed_at="2026-11-02 10:00", location="ramp", stream="clay",
                basis="bank", bank_m3="40")  # fmt: skip
    found = bars(stated(pit))["weighed"]
    assert found.bank_m3 == pytest.approx(200)
    assert {part.part: part.bank_m3 for part in found.parts}["re-used on site"] == pytest.approx(40)


def test_ground_after_the_last_survey_is_said_and_in_no_figure(pit):
    two_periods(pit)
    dig(pit, "2026-11-03", "30")
    load(pit, "31", "2026-11-03 12:00")
    statement = stated(pit)
    assert bars(statement)["returns"].bank_m3 == pytest.approx(160)
    assert "the returns say 30 m³ bank, and 20 t left: not surveyed yet" in statement.after_words


# --- cut-offs ------------------------------------------------------------------------------------
def test_loads_count_when_they_left_and_returns_when_their_shift_ended(pit):
    dig(pit, "2026-10-23", "50")
    dig(pit, "2026-10-23", "20", shift="night")  # ends at 06:00 on Saturday
    dig(pit, "2026-10-24", "10")  # ends at 19:00: after the survey
    load(pit, "1", "2026-10-24 08:59")
    load(pit, "2", "2026-10-24 09:01")
    survey(pit, "S-1", "2026-10-24 09:00", B="70")
    dig(pit, "2026-10-26", "20")
    survey(pit, "S-2", "2026-10-31 09:00", B="100")
    one, two = stated(pit).periods
    assert (one.returned_m3, two.returned_m3) == (pytest.approx(70), pytest.approx(30))
    assert (one.loads, two.loads) == (1, 1)


def test_a_belt_run_across_a_survey_is_shared_over_the_hours_of_its_shift(pit):
    dig(pit, "2026-10-23", "50")
    belt(pit, "2026-10-22 18:00", "100")
    belt(pit, "2026-10-24 19:00", "220")  # the day shift began at 07:00
    survey(pit, "S-1", "2026-10-24 09:00", B="50")
    dig(pit, "2026-10-26", "20")
    survey(pit, "S-2", "2026-10-31 09:00", B="70")
    one, two = stated(pit).periods
    assert one.belt_t == pytest.approx(120 * 2 / 12)
    assert two.belt_t == pytest.approx(120 * 10 / 12)


def test_a_belt_that_ran_longer_than_its_shift_is_shared_over_all_the_time(pit):
    dig(pit, "2026-10-23", "50")
    belt(pit, "2026-10-22 19:00", "100")
    paper.enter(pit, "belt", read_at="2026-10-24 19:00", work_date="2026-10-24", shift="day",
                belt="belt-1", route="R-BELT", stream="clay", totaliser_t="220", event="reading",
                running_min="900")  # fmt: skip
    survey(pit, "S-1", "2026-10-24 09:00", B="50")
    dig(pit, "2026-10-26", "20")
    survey(pit, "S-2", "2026-10-31 09:00", B="70")
    assert stated(pit).periods[0].belt_t == pytest.approx(120 * 38 / 48)


def test_the_count_of_the_heaps_after_a_survey_ends_its_period(pit):
    dig(pit, "2026-10-23", "60")
    survey(pit, "S-1", "2026-10-24 09:00", B="60")
    dig(pit, "2026-10-24", "10")  # after the survey, before the count
    load(pit, "1", "2026-10-24 15:00")
    count(pit, "2026-10-26 06:00", "62.5")  # 62.5 / 1.25 = 50 m³ bank: 70 - 20 t / 2
    dig(pit, "2026-10-27", "30")
    survey(pit, "S-2", "2026-10-31 09:00", B="100")
    load(pit, "2", "2026-10-30 15:00", net_t="18")
    count(pit, "2026-10-31 12:00", "88.75")
    statement = stated(pit)
    one, two = statement.periods
    assert (one.surveyed_m3, one.dug_after_m3) == (pytest.approx(60), pytest.approx(10))
    assert (one.to_count_m3, two.to_count_m3) == (pytest.approx(70), pytest.approx(30))
    assert (one.returned_m3, one.loads) == (pytest.approx(70), 1)
    assert one.stock_m3 == pytest.approx(62.5)
    assert (two.surveyed_m3, two.returned_m3) == (pytest.approx(40), pytest.approx(30))
    assert bars(statement)["weighed"].bank_m3 == pytest.approx(38 / 2 + 71)
    assert one.adjusted_m3 == pytest.approx(70, abs=0.5)


def test_a_count_later_than_three_days_is_missing_and_no_empty_heap(pit):
    two_periods(pit)
    count(pit, "2026-10-24 12:00", "0")
    count(pit, "2026-11-03 10:00", "5")  # 73 hours after the second survey
    statement = stated(pit)
    assert [line.stock_m3 for line in statement.periods] == [0.0, None]
    assert bars(statement)["weighed"].missing == "the heaps of clay of Sat 31 Oct 2026"
    assert "The weighed figure lacks the heaps of clay of Sat 31 Oct 2026." in statement.headline
    (line,) = [line for line in statement.missing if line.what == "heaps not counted"]
    assert "No whole count of the heaps of clay" in line.sentence


def test_a_count_that_leaves_out_a_heap_is_no_whole_count(pit):
    two_periods(pit)
    count(pit, "2026-10-24 12:00", "10")
    count(pit, "2026-10-24 12:00", "20", location="wall")
    count(pit, "2026-10-31 12:00", "10")
    assert [line.stock_m3 for line in stated(pit).periods] == [pytest.approx(30), None]


def test_a_period_goes_on_until_every_zone_that_was_dug_is_surveyed(own):
    dig(own, "2026-10-22", "60")
    dig(own, "2026-10-22", "40", zone="A", stream="made")
    survey(own, "S-1", "2026-10-24 09:00", B="60")
    dig(own, "2026-10-27", "20")
    load(own, "1", "2026-10-27 10:00")
    survey(own, "S-2", "2026-10-31 09:00", A="40", B="80")
    statement = stated(own)
    assert {line.period for line in statement.periods} == {"2026-10-31"}
    (line,) = [line for line in statement.missing if line.what == "zones not surveyed"]
    assert "S-1 of Sat 24 Oct 2026 does not cover zone A, which had been dug" in line.sentence


def test_a_zone_not_dug_since_its_survey_need_not_be_surveyed_again(own):
    dig(own, "2026-10-22", "40", zone="A", stream="made")
    survey(own, "S-1", "2026-10-24 09:00", A="40")
    dig(own, "2026-10-27", "20")
    survey(own, "S-2", "2026-10-31 09:00", B="20")
    found = {(line.period, line.stream): line.surveyed_m3 for line in stated(own).periods}
    assert found["2026-10-24", "made"] == pytest.approx(40)
    assert found["2026-10-31", "clay"] == pytest.approx(20)
    assert not [line for line in stated(own).missing if line.what == "zones not surveyed"]


def test_from_a_survey_on_the_heap_at_its_count_is_the_opening_stock(pit):
    two_periods(pit)
    count(pit, "2026-10-24 12:00", "25")  # 20 m³ bank
    count(pit, "2026-10-31 12:00", "25")
    whole, later = stated(pit), stated(pit, since=date(2026, 10, 25))
    assert later.since == date(2026, 10, 24)
    assert [line.period for line in later.periods] == ["2026-10-31"]
    assert bars(later)["survey"].bank_m3 == pytest.approx(60)
    assert bars(later)["weighed"].bank_m3 == pytest.approx(120 / 2)
    assert bars(whole)["weighed"].bank_m3 == pytest.approx(320 / 2 + 20)


# --- a volume over the streams -------------------------------------------------------------------
def test_a_typed_volume_lies_on_the_ground_bands_from_the_top_down(own):
    site = site_of(own.revision().tables)
    zone = site.zone("A")  # 100 m²: made ground to 102 m, then clay
    assert typed_volume(site, zone, 150).by_stream_m3 == {"made": 150}
    assert typed_volume(site, zone, 250).by_stream_m3 == {"made": 200, "clay": 50}
    assert typed_volume(site, zone, 2000).by_stream_m3 == {"made": 200, "clay": 1800}
    near, far = typed_volume(site, zone, 195), typed_volume(site, zone, 50)
    assert near.u_split_m3["made"] == near.u_split_m3["clay"] > 5 > far.u_split_m3["clay"]
    assert (near.floor, typed_volume(site, zone, 250).floor) == ("made", "clay")


def test_half_a_floor_at_a_border_lies_beyond_it_by_four_tenths_of_its_relief():
    # The mean of what a standard normal number exceeds 0 by is 1 / sqrt(2 pi) = 0.3989.
    assert u_of_level_floor_m3(1000.0, 0.0) == pytest.approx(1000 * 0.3 * 0.39894, rel=1e-4)
    assert u_of_level_floor_m3(1000.0, 1.5) < 0.1


def test_the_uncertainty_of_returns_is_that_of_their_bases():
    assert mean_u_of_returns({"measured": 10.0}) == RETURN_U["measured"]
    mixed = mean_u_of_returns({"measured": 50.0, "counted": 50.0})
    assert mixed == pytest.approx(0.5 * (0.02**2 + 0.05**2) ** 0.5)
    assert mean_u_of_returns({}) == max(RETURN_U.values())


def test_surfaces_of_the_demonstration_give_the_volumes_of_their_survey(demo):
    frame = framed(demo, DEMO_DAY)
    days = {day.work_date: day for day in survey_days(frame)}
    for line in survey_statement(demo, DEMO_DAY, survey="SV3").volumes:
        if line.stage is None:
            volume = days[date(2026, 9, 5)].zones[line.zone]
            assert sum(volume.by_stream_m3.values()) == pytest.approx(line.surveyed_m3)
    assert "S" in days[date(2026, 9, 5)].zones  # typed on the same day


# --- missing and unmatched -----------------------------------------------------------------------
def test_receipts_are_held_against_their_own_loads_and_the_rest_is_counted(pit):
    two_periods(pit)
    for number in range(4):
        receipt(pit, f"1{number}", "19.5")
    receipt(pit, "999", "18")
    statement = stated(pit)
    one = statement.periods[0]
    assert (one.accepted_t, one.loads, one.loads_without_receipt) == (pytest.approx(78), 5, 1)
    parts = {part.part: part.mass_t for part in bars(statement)["receipts"].parts}
    assert parts["accepted by receivers"] == pytest.approx(78 + 18)  # that of a lost ticket, too
    assert parts["lorries"] == pytest.approx(3 * 20)
    assert (statement.unmatched_count, statement.unmatched_t) == (3, pytest.approx(60))
    assert {one.ticket for one in statement.unmatched} == {"gate 14", "gate 20", "gate 21"}
    (line,) = [line for line in statement.missing if line.what == "receipts without load"]
    assert (line.count, line.mass_t) == (1, pytest.approx(18))


def test_a_gap_leads_to_the_records_that_it_is_made_of(demo):
    statement = reconciliation_statement(demo, DEMO_DAY)
    lines = [one for one in statement.missing if "weight" in one.what]
    assert lines
    for line in lines:
        found = records_statement(
            demo, kind=line.kind, text=line.text, since=line.since, until=line.until
        )
        assert found.found == line.count


def test_the_demonstration_agrees_with_what_its_ground_truly_is(demo):
    statement = reconciliation_statement(demo, DEMO_DAY)
    assert statement.verdict == "look"  # two checks of the weigher failed
    assert "BELT1 +1.5 % off with weighed material" in statement.headline
    implied = {x.of: x for x in statement.calibrations if x.quantity == "bank density"}
    for stream, true in TRUE_DENSITY_T_PER_M3.items():
        assert implied[stream].low < true < implied[stream].high
    for stream, _ in statement.streams:
        found = bars(statement, stream)
        assert found["adjusted"].u_bank_m3 < found["survey"].u_bank_m3


def test_checks_with_weighed_material_stand_beside_the_drift_chart(demo):
    statement = reconciliation_statement(demo, DEMO_DAY)
    for drift in statement.drifts:
        assert [check.work_date for check in drift.checks] == [
            date(2026, 8, 7),
            date(2026, 8, 12),
        ]
        assert drift.checks[0].percent == pytest.approx(100 * (39.08 / 38.52 - 1))
        assert "weighed material: 7 Aug 2026 +1.5 %, 12 Aug 2026 +0.1 %." in drift.sentence


def test_loads_that_were_not_weighed_stand_apart_at_their_usual_payload(pit):
    two_periods(pit)
    load(pit, "22", "2026-10-27 14:00", net_t="")
    load(pit, "23", "2026-10-27 15:00", net_t="17", weight_basis="estimated")
    parts = {part.part: part.mass_t for part in bars(stated(pit))["weighed"].parts}
    usual_t = 12 / 1.25 * 2.0
    assert parts["lorries not weighed"] == pytest.approx(usual_t + 17)
    assert {line.what for line in stated(pit).missing} >= {
        "loads of estimated weight",
        "loads without weight",
    }


def test_a_rejected_load_counts_under_the_ticket_that_carries_it_on(pit):
    two_periods(pit)
    before = bars(stated(pit))["weighed"].mass_t
    load(pit, "24", "2026-10-27 16:00", outcome="rejected")
    assert bars(stated(pit))["weighed"].mass_t == pytest.approx(before)
    load(pit, "25", "2026-10-27 17:00", reconsigned_from="24")
    assert bars(stated(pit))["weighed"].mass_t == pytest.approx(before + 20)


def test_survey_and_returns_alone_are_held_against_each_other(pit):
    dig(pit, "2026-10-22", "60")
    survey(pit, "S-1", "2026-10-24 09:00", B="64")
    statement = stated(pit)
    found = bars(statement)
    assert 60 < found["adjusted"].bank_m3 < 64
    assert found["weighed"].missing == "where clay to Sat 24 Oct 2026 went"
    assert "The weighed figure lacks where clay" in statement.headline


def test_loads_of_ground_that_nobody_dug_are_no_crash_and_do_not_agree(own):
    dig(own, "2026-10-22", "60")
    for number in range(6):
        load(own, str(number), f"2026-10-22 1{number}:00")
    load(own, "odd", "2026-10-23 10:00", route="R-TIP", stream="made")
    survey(own, "S-1", "2026-10-24 09:00", B="60")
    statement = stated(own)
    assert [line.stream for line in statement.periods] == ["clay", "made"]
    assert statement.verdict == "disagree"
    assert bars(statement, "made")["weighed"].mass_t == pytest.approx(20)


def test_without_a_survey_it_says_what_to_do_and_shows_nothing(pit):
    dig(pit, "2026-10-22", "60")
    statement = stated(pit)
    assert statement.headline.startswith("Not reconciled: no survey gives a dug volume yet.")
    assert (statement.bars, statement.verdict, statement.chi_square) == ((), "unknown", None)


def test_a_survey_without_all_zones_says_which_one_it_lacks(own):
    dig(own, "2026-10-22", "60")
    dig(own, "2026-10-22", "40", zone="A", stream="made")
    survey(own, "S-1", "2026-10-24 09:00", B="60")
    assert "the last one lacks zone A" in stated(own).headline


def test_a_slip_too_large_to_be_adjusted_is_named_and_the_bars_still_stand(pit):
    two_periods(pit)
    dig(pit, "2026-10-28", "40")
    survey(pit, "S-3", "2026-11-07 09:00", B="799")
    statement = stated(pit)
    assert statement.verdict == "unknown" or statement.suspect is not None
    assert bars(statement)["survey"].bank_m3 == pytest.approx(799)


def test_too_few_periods_give_a_sentence_in_place_of_a_calibration(pit):
    two_periods(pit)
    statement = stated(pit)
    assert {line.implied for line in statement.calibrations} == {None}
    assert all("at least 5 are needed" in line.missing for line in statement.calibrations)
    assert all("at least 8 are needed" in drift.missing for drift in statement.drifts)
    assert statement.proposals == ()


def test_an_earlier_moment_knows_only_what_was_entered_by_then(pit, clock):
    two_periods(pit)
    before = stated(pit)
    then = clock.moment
    clock.moment = then + timedelta(hours=1)
    load(pit, "late", "2026-10-27 18:00")
    assert bars(stated(pit))["weighed"].mass_t == pytest.approx(340)
    assert bars(stated(pit, known_at=then))["weighed"].mass_t == pytest.approx(320)
    assert stated(pit, known_at=then).bars == before.bars


def test_columns_can_be_picked_as_known_at_a_moment(pit, clock):
    two_periods(pit)
    then = clock.moment
    clock.moment = then + timedelta(hours=1)
    load(pit, "late", "2026-10-27 18:00")
    assert len(picked(pit, "lorry_loads", ("ticket_number",), until=DAY)) == 8
    asked = {"until": date(2026, 10, 23), "known_at": then}
    rows = picked(pit, "lorry_loads", ("ticket_number", "net_kg"), **asked)
    assert sorted(tuple(row) for row in rows) == [(f"1{n}", 20_000) for n in range(5)]


def test_the_statement_can_be_taken_away_in_every_format(pit):
    two_periods(pit)
    statement = stated(pit)
    assert "bars" in to_csv(statement)
    assert json.loads(to_json(statement))["verdict"] == "agree"
    assert to_xlsx(statement)[:2] == b"PK"


# --- a season ------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def seasons(tmp_path_factory):
    """Statements of seasons in ledgers of their own, by what is planted in them."""
    planted = {
        "sound": LongSeason(5, 20),
        "tickets lost": LongSeason(5, 20, tickets_lost=0.04),
        "belt from week 12": LongSeason(5, 24, belt_ratio=0.06, belt_from=12),
        "counted": LongSeason(5, 8, counted=True),
    }
    found = {}
    for name, season in planted.items():
        book = open_ledger(tmp_path_factory.mktemp("season") / "a.sqlite", create=True)
        season.entered(book)
        found[name] = (season, book, reconciliation_statement(book, season.last_day))
    yield found
    for _, book, _ in found.values():
        book.close()


def test_a_sound_season_agrees_and_holds_the_truth_within_its_interval(seasons):
    season, _, statement = seasons["sound"]
    adjusted = bars(statement)["adjusted"]
    assert statement.verdict == "agree"
    assert abs(adjusted.bank_m3 - season.dug_m3) < 2.5 * adjusted.u_bank_m3
    assert statement.periods_reconciled == 20


def test_tickets_left_out_are_found_as_what_the_lorries_say_too_little(seasons):
    _, _, statement = seasons["tickets lost"]
    assert statement.verdict == "look"
    assert "receipts, " in statement.headline
    assert "as many loads are not on record" in statement.headline
    whole = next(b for b in statement.bars if (b.bar, b.stream) == ("adjusted", ALL))
    weighed = next(b for b in statement.bars if (b.bar, b.stream) == ("weighed", ALL))
    (lost,) = [line for line in statement.missing if line.what == "receipts without load"]
    assert whole.mass_t - weighed.mass_t == pytest.approx(lost.mass_t, rel=0.25)


def test_a_belt_that_reads_wrong_from_some_week_on_raises_the_alarm(seasons):
    _, _, statement = seasons["belt from week 12"]
    assert statement.suspect.name == "belt-1"
    assert "too high, from the period to" in statement.suspect.sentence
    (drift,) = statement.drifts
    assert drift.reads == "high"
    assert drift.since >= "2027-01-16"
    assert "It reads high against the surveys" in drift.sentence


def test_counted_returns_imply_the_bulking(seasons):
    _, _, statement = seasons["counted"]
    lines = {line.quantity: line for line in statement.calibrations}
    bulking = lines["bulking"]
    assert bulking.low < 1.25 < bulking.high
    assert (bulking.periods, bulking.agrees) == (8, True)
    assert lines["bank density"].implied == pytest.approx(2.0, abs=0.05)
    assert lines["mean payload"].implied == pytest.approx(19.0, abs=0.2)


def test_a_proposed_row_is_one_that_a_person_can_adopt(seasons):
    _, book, statement = seasons["counted"]
    tables = json.loads(book.revision().tables)
    for one in statement.proposals:
        table = one.table.removesuffix(".csv")
        (row,) = csv.DictReader([one.heading, one.row])
        key = table.removesuffix("s")
        tables[table] = [row if old[key] == one.of else old for old in tables[table]]
    starts = date(2027, 3, 1)
    adopted = adopt_setup(book, tables, title="implied", by="planner", effective_date=starts)
    assert adopted.revision is not None, adopted.problems
    site = site_of(book.revision(date(2027, 3, 2)).tables)
    lines = {line.quantity: line for line in statement.calibrations}
    density = site.stream("clay").bank_density_t_per_m3
    assert density.value == pytest.approx(lines["bank density"].implied, abs=5e-4)
    assert (density.low, density.high) == (1.9, 2.1)  # as assumed: no record testifies twice
    assert "periods to" in statement.proposals[0].row
    assert "Only a person adopts it" in statement.proposals[0].sentence
