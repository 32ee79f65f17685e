import pytest

from dashboard.forms import form
from dashboard.forms.fields import DECISIONS, ONES, asked, choices, in_words
from dashboard.forms.wording import ROWS
from dashboard.forms.writing import FORMS
from dashboard.ids import SpoilEntry
from tests.dashboard.pieces import ids_of
from tracker.recording.columns import KINDS
from tracker.statements import site_in_force


def fields_of(part):
    """The names of the fields in a form."""
    return [form.name_of(i) for i in ids_of(part) if isinstance(i, dict) and "part" in i]


@pytest.mark.parametrize("kind", ONES)
def test_every_column_of_a_kind_is_asked_for_once(kind):
    names = [name for field in asked(KINDS[kind]).values() for name in form.names_of(field)]
    assert sorted(fields_of(form.form(kind))) == sorted(names)


@pytest.mark.parametrize("kind", ONES)
def test_what_must_be_filled_is_in_sight_and_marked(kind):
    for field in asked(KINDS[kind]).values():
        assert field.in_sight or not field.required, field.column


@pytest.mark.parametrize("kind", ROWS)
def test_no_row_of_a_form_asks_for_a_column_that_its_kind_has_not(kind):
    known = {c.name for c in KINDS[kind].columns}
    assert {name for row in ROWS[kind] for name in row} <= known


@pytest.mark.parametrize("kind", ONES)
def test_every_choice_offers_something(kind, desk):
    site = site_in_force(desk.ledger, desk.today())
    for field in asked(KINDS[kind]).values():
        if field.control == "choice":
            assert choices(field, site, kind), field.column


def test_the_words_of_a_kind_are_those_its_reader_knows(desk):
    words = {c["value"] for c in choices(asked(KINDS["belt"])["event"], None)}
    assert {"reading", "reset", "swap"} <= words


def test_a_message_names_the_fields_as_the_form_does():
    assert in_words("receipts", "accepted_t is wrong.") == "“Accepted” is wrong."


def test_a_moment_is_put_together_from_its_date_and_its_time():
    held = {"gate_out_at date": "2026-10-27", "gate_out_at clock": "725"}
    fields = form.written("loads", held | {"gate_in_at date": "2026-10-27"})
    assert fields["gate_out_at"] == "2026-10-27 07:25"
    assert fields["gate_in_at"] == ""


def test_a_missing_time_that_must_be_given_leaves_the_date_for_the_reader_to_refuse():
    fields = form.written("loads", {"gate_out_at date": "2026-10-27"})
    assert fields["gate_out_at"] == "2026-10-27"


@pytest.mark.parametrize(
    ("utc", "day", "clock"),
    [
        ("2026-10-24T23:30:00+00:00", "2026-10-25", "00:30"),
        ("2026-10-25T00:30:00+00:00", "2026-10-25", "01:30+01:00"),
        ("2026-10-25T01:30:00+00:00", "2026-10-25", "01:30+00:00"),
        ("2026-10-25T12:00:05+00:00", "2026-10-25", "12:00:05"),
    ],
)
def test_a_stored_moment_opens_by_the_clock_of_the_site_also_in_the_hour_that_comes_twice(
    utc, day, clock
):
    held = form.held_of("belt", {"read_at": utc}, "Europe/London")
    assert (held["read_at date"], held["read_at clock"]) == (day, clock)
    assert form.written("belt", held)["read_at"] == f"{day} {clock}"


def test_a_form_opens_with_today_and_what_was_written_last(desk):
    last = {"carrier choice": "carrier_1", "ticket_number": "40117"}
    held = form.fresh_values("loads", desk.today(), last)
    assert held["gate_out_at date"] == "2026-10-27"
    assert held["carrier choice"] == "carrier_1"
    assert held["ticket_number"] == ""
    assert held["outcome choice"] == "accepted"


def test_after_saving_only_what_is_anew_each_time_is_emptied():
    names = fields_of(form.form("loads"))
    emptied = form.emptied("loads", names)
    assert {"ticket_number", "gate_out_at clock", "gross_t", "registration"} <= set(emptied)
    assert not {"carrier choice", "ticket_issuer known", "gate_out_at date"} & set(emptied)
    assert emptied["outcome choice"] == "accepted"


def test_an_address_that_amends_says_so_to_the_page():
    mode = form.stores("loads", "a" * 32, "", "")[0]
    assert mode.id == SpoilEntry.MODE
    assert (mode.data["mode"], mode.data["entry"]) == ("amend", "a" * 32)


def test_a_hold_point_is_chosen_from_the_stages_and_never_kept_from_last_time(desk):
    site = site_in_force(desk.ledger, desk.today())
    hold = asked(KINDS["holds"])["hold"]
    offered = [choice["value"] for choice in choices(hold, site, "holds")]
    assert offered == ["1", "2", "3", "4", "5", "formation"]
    held = form.fresh_values("holds", desk.today(), {"hold choice": "3", "zone choice": "E"})
    assert held["zone choice"] == "E"
    assert not held["hold choice"]


def test_a_condition_is_asked_of_a_release_and_an_area_of_formation_only():
    held = {"status choice": "suspended", "condition": "steps of 0.5 m", "hold choice": "4"}
    fields = form.written("holds", held | {"accepted_m2": "20"})
    assert fields["condition"] == fields["accepted_m2"] == ""
    released = form.written("holds", held | {"status choice": "released"})
    assert released["condition"] == "steps of 0.5 m"


def test_decisions_are_amended_on_progress():
    for kind in DECISIONS:
        assert FORMS[kind].change_address("amend", "x") == f"/progress?record={kind}&amend=x"
