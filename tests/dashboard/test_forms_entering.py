import pytest
from dash import no_update

from dashboard.forms.entering import answered, known_words, offered, opening, stored_values
from dashboard.forms.form import fresh_values
from dashboard.forms.writing import FORMS, beside, checked, saved
from dashboard.pages import progress, records
from dashboard.writing import last_rows, taken_back
from tests.dashboard.pieces import parts_of, texts_of
from tracker.statements import history_statement, records_statement, site_in_force

NEW = {"kind": "loads", "mode": "new", "entry": ""}
ID = "f" * 32
LOAD = {
    "ticket_issuer known": "WB1",
    "ticket_number": "99001",
    "gate_out_at date": "2026-10-27",
    "gate_out_at clock": "14:20",
    "carrier choice": "carrier_1",
    "vehicle choice": "rigid_32",
    "registration": "DEMO-R05",
    "stream choice": "stiff_clay",
    "route choice": "R-LORRY-CLAY",
    "gross_t": "30.5",
    "tare_t": "11.7",
}


def held(desk, **changed):
    changed = {name.replace("__", " "): value for name, value in changed.items()}
    return fresh_values("loads", desk.today(), {}) | LOAD | changed


def written(desk, kind="lorry_loads", by="AB"):
    lines = records_statement(desk.ledger, kind=kind, text=by, limit=20).lines
    return [line for line in lines if line.recorded_by == by]


def save(desk, mode=NEW, reason="", by="AB", entry=ID, **changed):
    return saved(desk, mode, entry, reason, held(desk, **changed), by)


# --- checking ------------------------------------------------------------------------------------
def test_the_check_says_what_a_load_means_and_writes_nothing(own_desk):
    answer = checked(own_desk, NEW, held(own_desk), "AB")
    words = texts_of(answer["echo"])
    assert "18.800 t" in words
    assert "One load, two movements." in words
    assert "Not saved yet." in words
    assert answer["locked"] is False
    assert written(own_desk) == []


def test_every_problem_is_said_at_once_beside_its_field(own_desk):
    wrong = held(own_desk, gross_t="30,5", gate_out_at__clock="", carrier__choice=None)
    answer = checked(own_desk, NEW, wrong, "")
    errors = {name for name, words in answer["errors"].items() if words}
    assert {"gross_t", "gate_out_at clock", "carrier choice"} <= errors
    assert answer["errors"]["gate_out_at clock"] == "Give the time as HH:MM."
    assert answer["by"] == "Write your name or initials."
    assert answer["locked"] is True
    assert "Correct what is marked" in texts_of(answer["echo"])


def test_a_load_above_its_plate_is_said_and_may_be_recorded(own_desk):
    answer = checked(own_desk, NEW, held(own_desk, gross_t="32.9"), "AB")
    assert "above the plate of 32 t" in texts_of(answer["echo"])
    assert answer["locked"] is False


def test_a_date_after_today_is_refused_beside_the_date_by_the_clock_of_the_page(own_desk):
    answer = checked(own_desk, NEW, held(own_desk, gate_out_at__date="2026-10-28"), "AB")
    assert "Tue 27 Oct 2026 is today" in answer["errors"]["gate_out_at date"]
    assert answer["errors"]["gate_out_at clock"] is None
    late = save(own_desk, gate_out_at__date="2026-10-28")
    assert "is today" in texts_of(late["saved"])
    assert written(own_desk) == []


def test_a_ticket_recorded_already_is_told_with_the_way_to_it(own_desk):
    save(own_desk)
    answer = checked(own_desk, NEW, held(own_desk, gross_t="30.6"), "CD")
    assert "This load is recorded already, by AB" in texts_of(answer["saved"])
    assert answer["saved"].children[-1].href == f"/spoil-out?record=loads&amend={ID}"
    assert answer["locked"] is True


# --- writing -------------------------------------------------------------------------------------
def test_a_load_sent_twice_is_stored_once(own_desk):
    for _ in range(2):
        assert "Saved." in texts_of(save(own_desk)["saved"])
    assert [line.entry_id for line in written(own_desk)] == [ID]


def test_after_saving_the_typed_fields_are_empty_and_the_next_entry_has_a_new_id(own_desk):
    answer = save(own_desk)
    assert answer["values"]["ticket_number"] == ""
    assert "carrier choice" not in answer["values"]
    assert answer["entry"] != ID
    assert answer["last"]["carrier choice"] == "carrier_1"
    assert "ticket_number" not in answer["last"]


def test_a_load_that_may_not_be_saved_loses_nothing(own_desk):
    answer = save(own_desk, tare_t="40")
    assert "may be swapped" in answer["errors"]["tare_t"]
    assert "values" not in answer
    assert written(own_desk) == []


def test_an_id_of_ones_own_is_kept(own_desk):
    save(own_desk, entry_id="gate-7")
    assert [line.entry_id for line in written(own_desk)] == ["gate-7"]


def test_an_amendment_opens_as_written_needs_a_reason_and_keeps_both_versions(own_desk):
    save(own_desk)
    mode = NEW | {"mode": "amend", "entry": ID}
    values, note = opening(own_desk, mode, {"loads": {"values": {}, "saved_at": ""}}, {})
    assert note is None
    assert values["gross_t"] == "30.5"
    assert values["net_t"] == ""  # worked out anew from the two
    assert values["gate_out_at clock"] == "14:20"
    assert saved(own_desk, mode, "", " ", values, "AB") == {
        "reason": "Say why the load is amended."
    }
    done = saved(own_desk, mode, "", "Misread.", values | {"gross_t": "30.7"}, "AB")
    assert "Amended." in texts_of(done["saved"])
    lines = history_statement(own_desk.ledger, ID).lines
    assert [line.reason for line in lines] == ["", "Misread."]
    assert "19.000 t" in lines[-1].what


def test_an_entry_changed_meanwhile_is_not_changed_again(own_desk):
    save(own_desk)
    mode = NEW | {"mode": "amend", "entry": ID}
    values = stored_values(own_desk, "loads", ID)
    saved(own_desk, mode, "", "Misread.", values | {"gross_t": "30.7"}, "AB")
    again = saved(own_desk, mode, "", "Misread.", values | {"gross_t": "30.8"}, "AB")
    back = taken_back(own_desk, FORMS["loads"], NEW | {"entry": ID}, "Wrong.", "AB")
    for answer in (again, back):
        assert "This load was amended or withdrawn meanwhile" in texts_of(answer["saved"])


def test_a_withdrawal_needs_a_reason_and_a_name_and_keeps_the_history(own_desk):
    save(own_desk)
    mode = NEW | {"mode": "withdraw", "entry": ID}
    missing = taken_back(own_desk, FORMS["loads"], mode, "", "")
    assert (missing["reason"], missing["by"]) == (
        "Say why it is withdrawn.",
        "Write your name or initials.",
    )
    done = taken_back(own_desk, FORMS["loads"], mode, "Never left.", "AB")
    assert "Withdrawn." in texts_of(done["saved"])
    assert len(history_statement(own_desk.ledger, ID).lines) == 2


def test_my_last_entries_lead_to_their_forms(own_desk):
    save(own_desk)
    rows = last_rows(own_desk, FORMS["loads"], "AB")
    links = [part.href for part in parts_of(rows) if hasattr(part, "href")]
    assert links == [f"/spoil-out?record=loads&{verb}={ID}" for verb in ("amend", "withdraw")]


def test_records_lead_to_the_form_of_a_load(own_desk):
    save(own_desk)
    line = history_statement(own_desk.ledger, ID).lines[-1]
    links = [p.href for p in parts_of(records.changes(line)) if hasattr(p, "href")]
    assert links[0] == f"/spoil-out?record=loads&amend={ID}"


# --- opening -------------------------------------------------------------------------------------
def test_a_draft_is_restored_with_its_moment_unless_one_starts_afresh(desk):
    draft = {"values": {"ticket_number": "77", "gone": "x"}, "saved_at": "2026-10-27T06:10:00Z"}
    values, note = opening(desk, NEW, {"loads": draft}, {})
    assert values["ticket_number"] == "77"
    assert "gone" not in values
    assert "Draft of Tue 27 Oct 2026 06:10 UTC restored." in texts_of(note)
    values, note = opening(desk, NEW | {"fresh": "yes"}, {"loads": draft}, {})
    assert (values["ticket_number"], note) == ("", None)


def test_the_choices_are_the_names_of_the_set_up(desk):
    wanted = {"choices": ["carrier", "outcome"], "known": ["ticket_issuer"], "last_days": []}
    answer = offered(desk, NEW, wanted)
    assert [c["value"] for c in answer["choices"][0]] == ["carrier_1", "carrier_2"]
    assert answer["known"][0][0] == "WB1"
    assert answer["blocks"]["reason"] is True


def test_a_name_that_the_set_up_has_no_more_can_still_be_amended(own_desk):
    save(own_desk)
    mode = NEW | {"mode": "amend", "entry": ID}
    wanted = {"choices": ["carrier"], "known": [], "last_days": ["gate_out_at"]}
    answer = offered(own_desk, mode, wanted)
    assert {"carrier_1", "carrier_2"} == {c["value"] for c in answer["choices"][0]}
    assert answer["last_days"] == ["2026-10-27"]


def test_places_written_before_are_offered_latest_first(desk):
    places = known_words(desk, "stock", ["location"])["location"]
    assert "H1 loading bay" in places
    assert len(places) == len(set(places))


def test_what_was_not_answered_stays_as_it_is():
    ids = [{"column": "gross_t", "part": ""}, {"column": "carrier", "part": "choice"}]
    outputs = {key: [{"id": one} for one in ids] for key in ("errors", "values")}
    out = answered({"reason": "Say why."}, "loads", None, "AB", outputs)
    assert out["values"] == [no_update, no_update]
    assert out["errors"] == [no_update, no_update]
    assert out["saved"] is no_update
    out = answered({"values": {"carrier choice": ""}, "errors": {}}, "loads", None, "AB", outputs)
    assert out["values"] == [no_update, None]


# --- beside the fields ---------------------------------------------------------------------------
def test_a_payload_is_never_suggested_above_the_plate(desk):
    site = site_in_force(desk.ledger, desk.today())
    for vehicle in site.vehicles:
        for stream in site.streams:
            values = {"vehicle choice": vehicle.vehicle, "stream choice": stream.stream}
            words = texts_of(beside(desk, "loads", values))
            suggested_t = float(words.split("at most ")[1].split(" t")[0])
            assert suggested_t <= vehicle.plated_payload_t


def test_nothing_stands_beside_an_empty_form(desk):
    assert beside(desk, "loads", {}) is None


@pytest.mark.parametrize(("name", "text"), [("gross_t", "30,5"), ("tare_t", "x"), ("gross_t", "-")])
def test_half_typed_numbers_disturb_nobody(desk, name, text):
    assert beside(desk, "loads", LOAD | {name: text}) is not None


# --- decisions -----------------------------------------------------------------------------------
RELEASE = {
    "zone choice": "E",
    "hold choice": "4",
    "decided_at date": "2026-10-27",
    "decided_at clock": "09:30",
    "status choice": "released",
    "permit": "PTD-TEST-1",
    "decided_by known": "temporary works coordinator",
    "condition": "steps of 0.5 m",
}
DECIDE = {"kind": "holds", "mode": "new", "entry": ""}


def test_a_release_is_checked_then_written_and_found_on_its_own_page(own_desk):
    given = fresh_values("holds", own_desk.today(), {}) | RELEASE
    answer = checked(own_desk, DECIDE, given, "AB")
    assert answer["locked"] is False
    said = texts_of(answer["echo"])
    assert "Zone E, hold 4: released (permit PTD-TEST-1), on condition: steps of 0.5 m." in said
    assert (
        "The permitted level of zone E goes from 90.600 to 84.800 m, from Tue 27 Oct 2026 09:30."
        in said
    )
    done = saved(own_desk, DECIDE, ID, "", given, "AB")
    assert done["changed"] == ID
    (line,) = written(own_desk, "hold_releases")
    assert dict(line.fields)["condition"] == "steps of 0.5 m"
    assert "permit" in done["values"]


def test_a_release_below_ground_that_is_not_dug_out_is_marked_as_a_breach_is(own_desk):
    given = fresh_values("holds", own_desk.today(), {}) | RELEASE
    (echo,) = checked(own_desk, DECIDE, given, "AB")["echo"]
    marked = [p.children for p in echo.children if "breach" in str(p.children)]
    assert "Is it zone E?" in texts_of(marked)


def test_a_hold_says_what_must_be_in_place_and_that_a_record_releases_nothing(own_desk):
    said = texts_of(beside(own_desk, "holds", RELEASE))
    assert "To be in place: lower props" in said
    assert "Nothing may be dug on the strength of this entry" in said


def test_a_step_of_formation_says_how_long_it_may_lie_open(own_desk):
    said = texts_of(beside(own_desk, "formation", {"zone choice": "A"}))
    assert "It may lie open for 48 h" in said


def test_a_decision_opens_on_progress_with_the_way_back():
    shown = progress.layout(record="holds")
    assert "Record a hold decision" in texts_of(shown)
    assert "Back to Progress" in texts_of(shown)
    assert "Withdraw a formation step" in texts_of(progress.layout(record="formation", withdraw=ID))
