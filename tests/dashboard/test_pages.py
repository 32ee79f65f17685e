import re
from collections import Counter
from enum import StrEnum
from pathlib import Path

import pytest
from dash import dcc

import dashboard
from dashboard import ids
from dashboard.app import PAGES, create_app, every_layout, shell
from dashboard.components import graph
from tests.dashboard.pieces import ids_of, parts_of, texts_of
from tracker.recording.demo import DEMO_DAY

SOURCE = Path(dashboard.__file__).parent
KNOWN = {
    member
    for enum in vars(ids).values()
    if isinstance(enum, type) and issubclass(enum, StrEnum)
    for member in enum
}


def plain(id):
    return id["type"] if isinstance(id, dict) else id


def test_the_layout_of_a_page_is_a_shell_that_needs_no_ledger():
    for page in PAGES:
        assert page.layout() is not None


def test_every_id_stands_once_in_the_whole_application():
    layouts = [shell("x"), *every_layout()]
    counts = Counter(str(id) for layout in layouts for id in ids_of(layout))
    assert [id for id, count in counts.items() if count > 1] == []


def test_every_id_comes_from_the_list_of_ids():
    for layout in every_layout():
        assert {plain(id) for id in ids_of(layout)} <= KNOWN


def test_no_two_names_of_ids_have_the_same_value():
    assert len({str(member) for member in KNOWN}) == len(KNOWN)


def test_every_id_in_the_list_is_used():
    code = "".join(p.read_text() for p in SOURCE.rglob("*.py") if p.name != "ids.py")
    for member in KNOWN:
        name = f"{type(member).__name__}.{member.name}"
        by_name = f'"{member.name}"'  # blocks are looked up by name in one list
        handed_on = f"close_dialog({type(member).__name__})" in code  # a set handed on whole
        by_part = handed_on and f"ids.{member.name}" in code
        assert name in code or by_name in code or by_part, f"{name} is never used"


def test_charts_are_made_by_one_function_only():
    makers = [p for p in SOURCE.rglob("*.py") if "dcc.Graph(" in p.read_text()]
    assert [p.name for p in makers] == ["components.py"]


def test_a_chart_has_no_tool_bar_and_sends_nothing_to_a_cloud():
    config = graph("x", "words").children.config
    assert config["displayModeBar"] is False
    assert config["showSendToCloud"] is False
    assert config["plotlyServerURL"] == ""


def test_every_chart_has_a_place_for_its_sentence():
    for page in PAGES:
        placed = {str(id) for id in ids_of(page.layout())}
        for part in parts_of(page.layout()):
            if isinstance(part, dcc.Graph):
                assert f"{part.id}-note" in placed


def test_every_page_opens_with_one_heading_that_can_take_the_focus():
    for page in PAGES:
        headings = [p for p in parts_of(page.layout()) if type(p).__name__ == "H1"]
        assert len(headings) == 1
        assert headings[0].tabIndex == -1
        assert texts_of(headings[0]) == page.NAME


def test_no_page_sets_a_style_inline_or_registers_a_callback_on_import():
    for path in SOURCE.rglob("*.py"):
        code = path.read_text()
        assert "style=" not in code.replace("span style='color", ""), path.name
        assert not re.search(r"^@callback", code, re.M), path.name
        assert "suppress_callback_exceptions" not in code, path.name


def test_pages_do_not_reach_past_recording_and_statements():
    for path in SOURCE.rglob("*.py"):
        code = path.read_text()
        assert "sqlalchemy" not in code, path.name
        assert "tracker.ledger" not in code, path.name


def test_no_file_of_the_dashboard_names_another_address():
    for path in SOURCE.rglob("*"):
        if path.suffix in (".py", ".css", ".js"):
            assert not re.search(r"https?://", path.read_text()), path.name


def test_the_columns_the_browser_knows_are_those_of_the_form():
    from dashboard.returns.form import FIELDS, TYPED

    script = (SOURCE / "assets" / "entry.js").read_text()
    named = [re.findall(r'"(\w+)"', block) for block in re.findall(r"= \[(.*?)\];", script, re.S)]
    assert named[0] == list(TYPED)
    assert named[1] == list(FIELDS)


def test_the_font_is_packaged_with_its_licence():
    fonts = SOURCE / "assets" / "fonts"
    assert "SIL OPEN FONT LICENSE" in (fonts / "Inter-OFL.txt").read_text()
    styles = (SOURCE / "assets" / "app.css").read_text()
    for name in re.findall(r'url\("(.+?)"\)', styles):
        assert (SOURCE / "assets" / name).exists()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.NAME)
def test_every_output_of_a_callback_is_on_the_page_or_in_the_shell(demo, page):
    app = create_app(demo, today=lambda: DEMO_DAY, user="x")
    app.server.test_client().get("/")
    placed = {str(plain(id)) for layout in every_layout() for id in ids_of(layout)}
    placed |= {str(id) for id in ids_of(shell("x"))}
    for key in app.callback_map:
        for id in re.findall(r"\.\.?([a-z]+-[a-z-]+)(?=[.@])|^([a-z]+-[a-z-]+)\.", key):
            assert (id[0] or id[1]) in placed
