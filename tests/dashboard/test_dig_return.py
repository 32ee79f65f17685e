from datetime import date

import pytest
from dash import no_update

from dashboard.pages import dig_return
from dashboard.returns import form
from dashboard.returns.words import in_words, permit_of, permit_panel
from dashboard.returns.writing import RETURN, checked, saved
from dashboard.writing import last_rows, taken_back
from tests.dashboard.pieces import texts_of
from tracker.recording.demo import DEMO_DAY
from tracker.statements import day_statement, history_statement, records_statement

NEW = {"mode": "new", "entry": ""}
NIGHT = {
    "work_date": "2026-10-27",
    "shift": "night",
    "zone": "B",
    "stage": "4",
    "stream": "stiff_clay",
    "basis": "measured",
    "bank_m3": "60.5",
    "from_level_m": "88.05",
    "to_level_m": "87.96",
    "lowest_level_m": "87.9",
    "by": "AB",
}


BELOW = {"zone": "D", "stage": "3", "from_level_m": "90.7", "to_level_m": "90.61"}
BELOW |= {"lowest_level_m": "90.35"}


def values(**changed):
    held = dict.fromkeys(form.FIELDS, "") | NIGHT | changed
    return [*held.values(), False, [None] * 3, [""] * 3]


def own_returns(ledger, by="AB"):
    lines = records_statement(ledger, kind="dig_returns", text=by, limit=50).lines
    return [line for line in lines if line.recorded_by == by]


def test_the_check_says_what_a_return_means_in_every_unit_and_writes_nothing(own_desk):
    answer = checked(own_desk, NEW, values())
    words = texts_of(answer["echo"])
    assert answer["locked"] is False
    assert "60.5 m³ bank" in words
    assert "loads" in words
    assert "Not saved yet." in words
    assert own_returns(own_desk.ledger) == []


def test_a_decimal_comma_is_refused_beside_its_field(own_desk):
    answer = checked(own_desk, NEW, values(bank_m3="240,5"))
    assert answer["locked"] is True
    assert "240,5" in answer["errors"]["bank_m3"]
    assert "Not saved. Correct what is marked" in texts_of(answer["echo"])


def test_every_problem_is_said_at_once(own_desk):
    answer = checked(own_desk, NEW, values(bank_m3="", stream="", by=""))
    wrong = {name for name, words in answer["errors"].items() if words}
    assert {"bank_m3", "stream", "by"} <= wrong


def test_a_level_below_permitted_is_told_first_and_asks_for_a_tick(own_desk):
    answer = checked(own_desk, NEW, values(**BELOW))
    first = answer["echo"][0].children[0]
    assert "stop and ask" in texts_of(first).lower()
    assert "breach" in first.children.className
    assert answer["locked"] is False
    assert (answer["told"], answer["untold"]) == (False, False)
    assert answer["told_words"].startswith("Yes, 90.350 m is right")


def test_a_level_above_permitted_asks_for_no_tick(own_desk):
    assert checked(own_desk, NEW, values())["untold"] is True


def test_a_level_below_permitted_is_saved_only_with_the_tick_and_answered_in_vermilion(own_desk):
    refused = saved(own_desk, NEW, "f" * 32, "", False, values(**BELOW))
    assert "Tick that it is right" in texts_of(refused["saved"])
    assert own_returns(own_desk.ledger) == []
    answer = saved(own_desk, NEW, "f" * 32, "", True, values(**BELOW))
    assert "Saved." in texts_of(answer["saved"])
    assert answer["saved"].className == "notice breach"
    assert len(own_returns(own_desk.ledger)) == 1


def test_a_second_return_of_the_same_shift_is_refused_at_the_check_with_the_way_to_the_first(
    own_desk,
):
    saved(own_desk, NEW, "f" * 32, "", False, values())
    for answer in (
        checked(own_desk, NEW, values(bank_m3="61")),
        saved(own_desk, NEW, "e" * 32, "", False, values(bank_m3="61")),
    ):
        words = texts_of(answer["saved"])
        assert "have a return already, recorded by AB" in words
        assert "f" * 32 not in words
        assert answer["saved"].children[-1].href == f"/dig-return?amend={'f' * 32}"
    assert len(own_returns(own_desk.ledger)) == 1


def test_a_return_sent_again_with_other_values_is_refused_with_the_way_to_it(own_desk):
    saved(own_desk, NEW, "f" * 32, "", False, values())
    answer = saved(own_desk, NEW, "f" * 32, "", False, values(bank_m3="61"))
    assert answer["saved"].children[-1].href == f"/dig-return?amend={'f' * 32}"


def test_an_amended_return_cannot_be_amended_or_withdrawn_again_and_says_so(own_desk):
    entry = saved(own_desk, NEW, "f" * 32, "", False, values())["changed"]
    mode = {"mode": "amend", "entry": entry}
    saved(own_desk, mode, "", "Misread.", False, values(bank_m3="61"))
    again = saved(own_desk, mode, "", "Misread.", False, values(bank_m3="62"))
    back = taken_back(own_desk, RETURN, {"mode": "withdraw", "entry": entry}, "Wrong zone.", "AB")
    for answer in (again, back):
        assert "amended or withdrawn meanwhile" in texts_of(answer["saved"])
        assert entry not in texts_of(answer["saved"])


def test_a_withdrawal_needs_a_reason_and_a_name(own_desk):
    answer = taken_back(own_desk, RETURN, {"mode": "withdraw", "entry": "any"}, " ", "")
    assert answer["reason"] == "Say why it is withdrawn."
    assert answer["by"] == "Write your name or initials."


@pytest.mark.parametrize("check_only", [True, False])
def test_a_work_date_after_today_is_refused_beside_its_field(own_desk, check_only):
    late = values(work_date="2026-10-28")
    if check_only:
        answer = checked(own_desk, NEW, late)
    else:
        answer = saved(own_desk, NEW, "f" * 32, "", False, late)
    assert "Tue 27 Oct 2026 is today" in answer["errors"]["work_date"]
    assert own_returns(own_desk.ledger) == []


def test_the_calendar_ends_today_by_the_clock_of_the_application(desk):
    assert dig_return.offered(desk, NEW)["last_day"] == DEMO_DAY.isoformat()


def test_without_a_name_the_last_returns_are_asked_for(desk):
    assert texts_of(last_rows(desk, RETURN, "")) == "Give your name to see your last entries."


def test_saving_the_same_entry_twice_stores_it_once(own_desk):
    for _ in range(2):
        answer = saved(own_desk, NEW, "f" * 32, "", False, values())
        assert "Saved." in texts_of(answer["saved"])
    assert [line.entry_id for line in own_returns(own_desk.ledger)] == ["f" * 32]


def test_after_saving_the_typed_fields_are_empty_and_the_next_entry_has_a_new_id(own_desk):
    answer = saved(own_desk, NEW, "f" * 32, "", False, values())
    assert set(answer["typed"].values()) == {""}
    assert answer["entry"] != "f" * 32
    assert answer["last"]["zone"] == "B"
    assert answer["last"]["by"] == "AB"


def test_a_return_that_may_not_be_saved_loses_nothing(own_desk):
    answer = saved(own_desk, NEW, "f" * 32, "", False, values(bank_m3="240,5"))
    assert "240,5" in answer["errors"]["bank_m3"]
    assert all(value is no_update for value in answer["typed"].values())
    assert own_returns(own_desk.ledger) == []


def test_an_amendment_needs_a_reason(own_desk):
    entry = saved(own_desk, NEW, "f" * 32, "", False, values())["changed"]
    mode = {"mode": "amend", "entry": entry}
    answer = saved(own_desk, mode, "", " ", False, values(bank_m3="61"))
    assert answer["reason"] == "Say why the return is amended."
    assert len(history_statement(own_desk.ledger, entry).lines) == 1


def test_an_amendment_opens_with_what_was_written_and_keeps_both_versions(own_desk):
    entry = saved(own_desk, NEW, "f" * 32, "", False, values())["changed"]
    mode = {"mode": "amend", "entry": entry}
    opened = dig_return.opening(own_desk, mode, None, {})
    assert opened["values"]["bank_m3"] == "60.5"
    assert opened["values"]["zone"] == "B"
    saved(own_desk, mode, "", "Misread.", False, values(bank_m3="61"))
    lines = history_statement(own_desk.ledger, entry).lines
    assert [line.reason for line in lines] == ["", "Misread."]


def test_a_new_form_opens_today_with_the_rest_as_last_time(desk):
    last = {"zone": "E", "stage": "3", "stream": "stiff_clay", "shift": "day", "by": "AB"}
    opened = dig_return.opening(desk, NEW, None, last)
    assert opened["values"]["work_date"] == DEMO_DAY.isoformat()
    assert opened["values"]["zone"] == "E"
    assert opened["values"]["bank_m3"] == ""
    assert opened["note"] is None


def test_a_draft_is_restored_with_its_date_and_says_so(desk):
    draft = NIGHT | {
        "nil": False,
        "causes": ["rain", None, None],
        "minutes": ["30", "", ""],
        "saved_at": "2026-10-27T14:32:11.000Z",
    }
    opened = dig_return.opening(desk, NEW, draft, {})
    assert opened["values"]["bank_m3"] == "60.5"
    assert opened["minutes"] == ["30", "", ""]
    assert texts_of(opened["note"]) == "Draft of Tue 27 Oct 2026 14:32 UTC restored. Start afresh"


def test_a_form_started_afresh_leaves_the_draft_behind(desk):
    draft = NIGHT | {"nil": False, "causes": [], "minutes": [], "saved_at": "2026-10-27T14:32"}
    opened = dig_return.opening(desk, NEW | {"fresh": "yes"}, draft, {})
    assert opened["values"]["bank_m3"] == ""
    assert opened["note"] is None


def test_a_draft_never_enters_an_amendment(own_desk):
    entry = saved(own_desk, NEW, "f" * 32, "", False, values())["changed"]
    draft = NIGHT | {"bank_m3": "999", "nil": False, "causes": [], "minutes": []}
    opened = dig_return.opening(own_desk, {"mode": "amend", "entry": entry}, draft, {})
    assert opened["values"]["bank_m3"] == "60.5"


@pytest.mark.parametrize(
    ("mode", "hidden"),
    [
        ("new", {"reason", "withdraw"}),
        ("amend", {"withdraw"}),
        ("withdraw", {"form", "check"}),
    ],
)
def test_each_use_of_the_page_shows_its_own_parts(desk, mode, hidden):
    entry = records_statement(desk.ledger, kind="dig_returns", limit=1).lines[0].entry_id
    blocks = dig_return.offered(desk, {"mode": mode, "entry": entry})["blocks"]
    assert {name for name, off in blocks.items() if off} == hidden


def test_a_zone_offers_its_open_stage_and_the_ground_that_lies_there(desk):
    stages, stage, streams, stream, panel = dig_return.followed(desk, "D", DEMO_DAY, None, None)
    assert [s["value"] for s in stages] == ["1", "2", "3", "4"]
    assert stage == "3"
    assert stream == "stiff_clay"
    assert {s["value"] for s in streams} == {"made_ground", "gravel", "stiff_clay"}
    assert "Permitted level 90.60 m" in texts_of(panel)


def test_the_permit_is_shown_with_the_permitted_level_before_any_level_is_typed(desk):
    statement = day_statement(desk.ledger, DEMO_DAY)
    level = next(z for z in statement.zones if z.zone == "D")
    holds = records_statement(desk.ledger, kind="hold_releases", limit=500, current_only=True)
    permit = permit_of(level, holds.lines)
    assert permit.startswith("PTD-D3")
    words = texts_of(permit_panel(level, holds.lines, statement.basis.datum))
    assert f"permit {permit}" in words
    assert "0.19 m below permitted: stop and ask" in words


def test_before_the_first_release_there_is_no_permit_to_show(desk):
    day = date(2026, 3, 20)
    level = day_statement(desk.ledger, day).zones[0]
    assert permit_of(level, ()) == ""
    assert "no stage released" in texts_of(permit_panel(level, (), ""))


def test_messages_speak_of_the_fields_of_the_form_not_of_columns():
    assert in_words("to_level_m is above from_level_m.") == "finish level is above start level."


def test_my_last_ten_are_mine_and_the_newest(own_desk):
    for n, zone in enumerate(("B", "E")):
        stage = {"B": "4", "E": "3"}[zone]
        levels = {"B": {}, "E": {"from_level_m": "94.7", "to_level_m": "94.6"}}[zone]
        levels |= {"E": {"lowest_level_m": "94.5"}}.get(zone, {})
        saved(own_desk, NEW, f"{n}" * 32, "", False, values(zone=zone, stage=stage, **levels))
    table = last_rows(own_desk, RETURN, "AB")
    assert len(table.children[2].children) == 2
    assert "none" in texts_of(last_rows(own_desk, RETURN, "nobody here"))
