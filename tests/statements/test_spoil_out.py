"""The spoil statement of the paper pit, against what a reader works out by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.statements import paper
from tracker.domain import rules
from tracker.errors import InputError, NotEnoughData
from tracker.recording.entry import amend
from tracker.statements import exceptions_statement, spoil_statement

THURSDAY, FRIDAY, SATURDAY = (date(2026, 10, day) for day in (22, 23, 24))
OCTOBER = date(2026, 10, 31)


def load(book, number, left="2026-10-22 08:30", **fields):
    given = {"stream": "clay", "route": "R-ROAD", "registration": f"INV {number}"} | fields
    if not {"net_t", "gross_t", "weight_basis"} & fields.keys():
        given["net_t"] = "18"
    return paper.enter(book, "loads", ticket_number=number, gate_out_at=left, **given)


def receipt(book, number, accepted_t="18", outcome="accepted", **fields):
    given = {"receipt_date": "2026-10-23", "destination": "quarry", "waste_code": "17 05 04"}
    return paper.enter(
        book,
        "receipts",
        receipt_number=f"R-{number}",
        ticket_issuer="gate",
        ticket_number=number,
        accepted_t=accepted_t,
        outcome=outcome,
        **(given | fields),
    )


def note(book, number, form="season", **fields):
    given = {
        "made_out_at": "2026-10-21 08:00",
        "valid_to": "2026-12-31" if form == "season" else "",
        "stream": "clay",
        "waste_code": "17 05 04",
        "description": "stiff clay",
        "container": "loose",
        "place": "site gate",
        "transferor": "Invented builder",
        "transferor_status": "producer",
        "carrier": "haul",
        "destination": "quarry",
        "industry_code": "43.12",
        "hierarchy_confirmed": "yes",
        "signed_out_by": "foreman",
        "signed_in_by": "driver",
    }
    return paper.enter(book, "notes", note_number=number, form=form, **(given | fields))


def read(book, at, totaliser_t, **fields):
    given = {"work_date": at[:10], "shift": "day", "belt": "belt-1", "stream": "clay"} | fields
    return paper.enter(book, "belt", read_at=at, totaliser_t=totaliser_t, **given)


def stated(book, as_of=OCTOBER, **asked):
    return spoil_statement(book, as_of, **asked)


# --- what left -----------------------------------------------------------------------------------
def test_the_day_and_the_period_say_what_left_by_belt_and_lorry(book):
    day, period = stated(book, FRIDAY).moved
    # Friday: belt 100 by day and 50 by night, 40 kWh for the 100; ticket 4 refused, 5 sent on.
    assert (day.belt_t, day.lorry_t, day.loads) == (150, 19, 1)
    assert (day.belt_kwh, day.belt_kwh_per_t) == (40, pytest.approx(0.4))
    assert (period.starts, period.lorry_t, period.loads) == (date(2026, 10, 19), 53 + 19, 4)
    assert day.belt_running_h is None


def test_running_hours_and_energy_are_added_up_as_read(own):
    read(own, "2026-10-22 07:00", "0")
    read(own, "2026-10-22 19:00", "60", running_min="90", energy_kwh="30")
    read(own, "2026-10-23 19:00", "100", running_min="60")
    day, period = stated(own, FRIDAY).moved
    assert (day.belt_running_h, period.belt_running_h) == (1.0, 2.5)
    assert (day.belt_kwh, day.belt_kwh_per_t) == (None, None)
    assert period.belt_kwh_per_t == pytest.approx(0.5)  # of the 60 t that were metered


def test_the_month_of_the_date_is_taken_unless_told(book):
    assert stated(book, paper.LAST_DAY).since == date(2026, 11, 1)
    assert stated(book, paper.LAST_DAY, since=THURSDAY).since == THURSDAY
    assert stated(book).headline == (
        "Mon 19 Oct 2026 to Sat 31 Oct 2026: 240 t by belt and 110 t in 6 lorry loads. Loads with"
        " no receipt after 2 working days: 6; ticket numbers missing: 0."
    )


def test_nothing_left_is_a_sentence(own):
    assert stated(own).headline.endswith("no spoil left the site.")
    with pytest.raises(InputError, match="swap the dates"):
        stated(own, FRIDAY, since=SATURDAY)


def test_without_a_set_up_nothing_is_stated(empty):
    with pytest.raises(NotEnoughData, match="No set-up yet"):
        stated(empty)


# --- receivers -----------------------------------------------------------------------------------
def test_receipts_are_held_against_the_loads_they_answer(own):
    load(own, "1")
    load(own, "2", "2026-10-22 10:00", net_t="19")
    load(own, "3", "2026-10-22 12:00")
    load(own, "4", "2026-10-24 10:00")
    receipt(own, "1", "17.9")
    receipt(own, "2", "0", outcome="rejected")
    statement = stated(own, date(2026, 10, 27))
    (quarry,) = statement.destinations
    assert (quarry.loads, quarry.receipts, quarry.refused_by_receipt) == (4, 2, 1)
    assert (quarry.dispatched_t, quarry.accepted_t) == (pytest.approx(73), pytest.approx(17.9))
    assert quarry.difference_t == pytest.approx(18 + 19 - 17.9)
    assert (quarry.without_receipt, quarry.without_receipt_t) == (2, pytest.approx(36))
    assert quarry.overdue == 1  # ticket 4 left on Saturday and is not due before Wednesday
    (late,) = statement.missing_receipts
    assert (late.ticket, late.days_waiting) == ("gate 3", 5)
    assert late.destination == "Invented quarry"


def test_a_load_sent_on_is_no_second_load(book):
    lines = {x.destination: x for x in stated(book).destinations}
    assert (lines["quarry"].loads, lines["quarry"].loads_rejected) == (3, 1)
    assert (lines["tip"].loads, lines["tip"].carried_on) == (3, 1)
    assert lines["tip"].dispatched_t == pytest.approx(18 + 17 + 18 + 19)


# --- tickets -------------------------------------------------------------------------------------
def test_each_book_of_each_issuer_says_from_where_to_where(own):
    for number, hour in (("9", "08"), ("12", "09"), ("A-1", "10"), ("loose", "11")):
        load(own, number, f"2026-10-22 {hour}:00")
    lines = [(i.book, i.first_number, i.last_number, i.tickets) for i in stated(own).issuers]
    assert lines == [
        ("", "9", "12", 2),
        ("A-", "A-1", "A-1", 1),
        ("no digits at the end", "loose", "loose", 1),
    ]
    numbered = stated(own).issuers[0]
    assert (numbered.gaps, numbered.missing) == (1, 2)
    (gap,) = stated(own).gaps
    assert (gap.missing_numbers, gap.after_number, gap.before_number) == ("10 to 11", "9", "12")


def test_loads_to_look_at_are_named_with_the_reason(own):
    load(own, "1", gross_t="33", tare_t="12")  # plated 32 t
    load(own, "2", "2026-10-22 10:00", net_t="10.7")  # usual 19.2 t: 55.7 %
    load(own, "3", "2026-10-22 11:00", net_t="11.6")  # 60.4 %
    load(own, "4", "2026-10-22 12:00", weight_basis="none")
    load(own, "5", "2026-10-22 13:00", weight_basis="estimated", net_t="18")
    load(own, "6", "2026-10-22 10:20", registration="INV 2")
    found = {(f.ticket, f.what): f.sentence for f in stated(own).tickets}
    assert set(found) == {
        ("gate 1", "above the plate"),
        ("gate 2", "part load"),
        ("gate 4", "not weighed"),
        ("gate 5", "not weighed"),
        ("gate 6", "impossible turn-round"),
    }
    assert found["gate 1", "above the plate"] == "gross 33.00 t is above the plate (32 t gross)"
    assert found["gate 2", "part load"] == "net 10.70 t is 56 % of the usual 19.2 t"


def test_a_tare_that_strays_from_its_own_registration_is_named(own):
    for number, tare in (("1", "12.0"), ("2", "12.1"), ("3", "12.41")):
        left = f"2026-10-2{number} 09:00"
        load(own, number, left, gross_t="30", tare_t=tare, registration="INV 7")
    (stray,) = stated(own).tickets
    assert (stray.ticket, stray.what) == ("gate 3", "tare strays")
    assert stray.sentence.startswith("tare 12.41 t, +310 kg from the 12.10 t that INV 7 usually")


def test_two_tares_are_too_few_to_say_which_strays(own):
    load(own, "1", "2026-10-21 09:00", gross_t="30", tare_t="12", registration="INV 7")
    load(own, "2", "2026-10-22 09:00", gross_t="30", tare_t="13", registration="INV 7")
    assert stated(own).tickets == ()


def test_rejected_loads_are_followed_to_where_they_went(own):
    load(own, "1", outcome="rejected")
    load(own, "2", "2026-10-22 11:00", route="R-TIP", reconsigned_from="1")
    load(own, "3", "2026-10-22 12:00", outcome="rejected")
    load(own, "4", "2026-10-22 13:00", reconsigned_from="99")
    chains = [(c.rejected_ticket, c.sent_on_ticket, c.state) for c in stated(own).chains]
    assert chains == [
        ("gate 1", "gate 2", "sent on"),
        ("gate 3", "", "rejected, not sent on"),
        ("99", "gate 4", "sent on; the rejected load is not recorded"),
    ]
    assert stated(own).chains[0].sent_on_to == "Invented tip"


def test_a_load_rejected_before_the_period_is_found(own):
    load(own, "1", outcome="rejected")
    load(own, "2", "2026-10-23 11:00", reconsigned_from="1")
    (chain,) = stated(own, since=FRIDAY).chains
    assert (chain.rejected_ticket, chain.rejected_on, chain.state) == (
        "gate 1",
        THURSDAY,
        "sent on",
    )


# --- papers --------------------------------------------------------------------------------------
def test_waste_without_a_note_or_under_one_that_is_not_recorded_is_found(own):
    load(own, "1")
    load(own, "2", "2026-10-22 10:00", transfer_note="N-1")
    load(own, "3", "2026-10-22 11:00", transfer_note="N-1")
    found = [(f.rule, f.ticket) for f in stated(own).papers]
    assert found == [(rules.NO_NOTE, "gate 1"), (rules.NOTE_NOT_RECORDED, "gate 2")]
    assert "loads under it in the period: 2" in stated(own).papers[1].sentence
    (line,) = stated(own).notes
    assert (line.note_number, line.state, line.loads, line.keep_until) == (
        "N-1",
        "not on record",
        2,
        None,
    )


def test_a_note_that_does_not_cover_its_load_is_found_and_one_that_does_says_how_long_to_keep(own):
    load(own, "1", transfer_note="N-1")
    load(own, "2", "2026-10-23 10:00", transfer_note="N-1", route="R-TIP")
    note(own, "N-1")
    statement = stated(own)
    (found,) = statement.papers
    assert (found.rule, found.ticket) == (rules.NOTE_DOES_NOT_COVER, "gate 2")
    assert found.sentence == "Note N-1 is for destination quarry; the load has tip."
    (line,) = statement.notes
    assert (line.loads, line.mass_t, line.last_load_on) == (2, pytest.approx(36), FRIDAY)
    assert line.keep_until == date(2028, 10, 23)


def test_a_note_for_one_load_covers_no_second_but_a_load_sent_on_is_none(own):
    load(own, "1", transfer_note="T-1", outcome="rejected")
    load(own, "2", "2026-10-22 10:00", transfer_note="T-1", reconsigned_from="1")
    load(own, "3", "2026-10-22 11:00", transfer_note="T-1")
    note(own, "T-1", form="transfer", valid_to="2026-10-22")
    found = [(f.rule, f.ticket) for f in stated(own).papers]
    assert found == [(rules.NOTE_USED_TWICE, "gate 3")]


def test_a_note_that_was_valid_and_not_used_is_listed(own):
    note(own, "N-1")
    note(own, "N-2", valid_to="2026-10-21")
    lines = stated(own, since=THURSDAY).notes
    assert [(x.note_number, x.loads, x.keep_until) for x in lines] == [("N-1", 0, None)]


@pytest.fixture
def reused(empty):
    """The paper pit with clay declared for re-use at the quarry, 100 t of it."""
    tables = paper.second_setup()
    tables["streams"][0] |= {"regime": "declared re-use elsewhere", "waste_code": ""}
    paper.adopt(empty, tables, "declared")
    paper.enter(
        empty,
        "declarations",
        declaration="D-1",
        received_on="2026-10-22",
        stream="clay",
        destination="quarry",
        declared_t="100",
    )
    return empty


def test_what_was_moved_is_held_against_what_was_declared(reused):
    for number in ("1", "2", "3", "4", "5"):
        load(reused, number, f"2026-10-22 1{number}:00", net_t="17")
    (line,) = stated(reused).declarations
    assert (line.declared_t, line.moved_t, line.reached_percent) == (100, 85, 80)
    assert line.percent == pytest.approx(85)
    assert line.warning.startswith("Re-use declaration D-1: 85 t of 100 t moved (85.0 %).")
    assert stated(reused).papers == ()


def test_a_load_without_a_weight_counts_as_moved_at_the_payload_of_its_vehicle(reused):
    """12 m³ / 1.5 x 2.2 t/m³ = 17.6 t by the body: five of them are 88 t of 100 t."""
    for number in ("1", "2", "3", "4", "5"):
        load(reused, number, f"2026-10-22 1{number}:00", weight_basis="none")
    statement = stated(reused)
    (line,) = statement.declarations
    assert (line.moved_t, line.reached_percent) == (pytest.approx(88), 80)
    (found,) = [
        e.sentence
        for e in exceptions_statement(reused, OCTOBER).lines
        if e.rule == "reuse_at_80_percent"
    ]
    assert found == line.warning
    assert any("without a weight, the usual payload" in said for said in statement.basis.quality)


def test_what_was_declared_in_bank_volume_is_stated_in_tonnes_as_well(reused):
    entry = reused.current("reuse_declarations")[0]
    amend(
        reused,
        entry.entry_id,
        {"declared_t": "", "declared_m3": "50"},
        reason="declared by volume",
        by="office",
        now=reused.now(),
    )
    for number in ("1", "2", "3", "4", "5", "6"):
        load(reused, number, f"2026-10-22 1{number}:00", net_t="16.6")
    (line,) = stated(reused).declarations
    assert (line.declared_t, line.moved_t) == (pytest.approx(50 * 2.2), pytest.approx(99.6))
    assert (line.percent, line.reached_percent) == (pytest.approx(100 * 99.6 / 110), 90)
    assert line.warning.startswith("Re-use declaration D-1: 45 m³ bank of 50 m³ bank moved")


def test_a_stream_that_went_before_its_declaration_is_found_once(reused):
    load(reused, "1", "2026-10-21 10:00", override_reason="agreed by the planner")
    load(reused, "2", "2026-10-21 11:00", override_reason="agreed by the planner")
    load(reused, "3", "2026-10-22 11:00", route="R-TIP")
    found = [(f.rule, f.ticket) for f in stated(reused).papers]
    assert found == [(rules.NO_DECLARATION, "gate 1"), (rules.NO_DECLARATION, "gate 3")]


def test_authorisations_are_listed_from_thirty_days_before_their_end(own):
    assert stated(own, date(2026, 11, 30)).authorisations == ()
    lines = stated(own, date(2026, 12, 1)).authorisations
    assert {(a.what, a.code, a.state) for a in lines} == {
        ("carrier", "haul", "ends in 30 days"),
        ("destination", "quarry", "ends in 30 days"),
        ("destination", "tip", "ends in 30 days"),
    }
    assert {a.state for a in stated(own, date(2027, 1, 5)).authorisations} == {"ended"}


def test_an_authorisation_that_is_not_known_is_listed(empty):
    tables = paper.second_setup()
    tables["carriers"][0] |= {"valid_to": ""}
    paper.adopt(empty, tables, "not known")
    (line,) = stated(empty).authorisations
    assert (line.code, line.days_left, line.state) == ("haul", None, "number or end not known")


# --- belt ----------------------------------------------------------------------------------------
def test_each_reading_says_what_the_belt_carried_and_what_happened_to_the_count(own):
    read(own, "2026-10-22 07:00", "900")
    read(own, "2026-10-22 12:00", "950")
    read(own, "2026-10-22 15:00", "10", rollover_t="1000")
    read(own, "2026-10-22 19:00", "0", event="reset")
    read(own, "2026-10-23 19:00", "30", running_min="45")
    lines = [(r.event, r.run_t, r.running_h) for r in stated(own).readings]
    assert lines == [
        ("reading", None, None),
        ("reading", 50, None),
        ("rollover", 60, None),
        ("reset", None, None),
        ("reading", 30, 0.75),
    ]


def test_the_reading_before_the_period_counts_for_the_first_in_it(own):
    read(own, "2026-10-22 19:00", "10")
    read(own, "2026-10-23 19:00", "30")
    (line,) = stated(own, since=FRIDAY).readings
    assert line.run_t == 20


def test_checks_of_the_weigher_are_held_against_what_is_allowed(own):
    for hour, fields in (
        ("08", {"method": "zero", "shown_t": "-0.03", "allowed_t": "0.02"}),
        ("09", {"method": "material", "shown_t": "20.1", "reference_t": "20", "allowed_t": "0.2"}),
        ("10", {"method": "material", "shown_t": "19", "reference_t": "20"}),
    ):
        paper.enter(own, "belt_checks", belt="belt-1", checked_at=f"2026-10-22 {hour}:00", **fields)
    checks = stated(own).checks
    assert [c.verdict for c in checks] == [
        "more than is allowed",
        "within what is allowed",
        "nothing stated as allowed",
    ]
    assert [c.error_t for c in checks] == [pytest.approx(x) for x in (-0.03, 0.1, -1.0)]
    assert [c.error_percent for c in checks] == [None, pytest.approx(0.5), pytest.approx(-5)]


def test_days_dug_and_not_read_are_named_with_what_lorries_took(own):
    read(own, "2026-10-22 19:00", "10")
    for day in ("2026-10-22", "2026-10-23", "2026-10-24"):
        paper.enter(
            own,
            "returns",
            work_date=day,
            shift="day",
            zone="B",
            stage="1",
            stream="clay",
            basis="measured",
            bank_m3="20",
        )
    load(own, "1", "2026-10-23 10:00")
    read(own, "2026-10-24 19:00", "60")
    (unread,) = stated(own).unread_days
    assert (unread.belt, unread.day, unread.stream) == ("belt-1", FRIDAY, "clay")
    assert (unread.dug_t, unread.lorries_t) == (pytest.approx(40), pytest.approx(18))


# --- as known ------------------------------------------------------------------------------------
def test_everything_is_stated_as_it_was_known(own, clock):
    load(own, "1", transfer_note="N-1")
    before = stated(own)
    then, clock.moment = clock.moment, clock.moment + timedelta(hours=1)
    note(own, "N-1")
    receipt(own, "1")
    load(own, "3", "2026-10-22 12:00", transfer_note="N-1")
    read(own, "2026-10-22 19:00", "10")
    paper.enter(
        own,
        "belt_checks",
        belt="belt-1",
        checked_at="2026-10-22 08:00",
        method="zero",
        shown_t="0",
        allowed_t="0.1",
    )
    known = stated(own, known_at=then)
    for name in ("moved", "destinations", "gaps", "papers", "notes", "readings", "checks"):
        assert getattr(known, name) == getattr(before, name), name
        assert getattr(stated(own), name) != getattr(before, name), name
