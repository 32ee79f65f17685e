import logging
import re

import pytest

from dashboard import app as dashboard_app
from dashboard.app import PAGES, breach_banner, create_app, opened, serve
from dashboard.desk import Desk
from dashboard.guard import known_host
from tests.dashboard.pieces import texts_of
from tracker.errors import NotAllowed, OutOfRange
from tracker.recording.demo import DEMO_DAY


@pytest.fixture
def app(demo):
    return create_app(demo, today=lambda: DEMO_DAY, user="A. Tester")


@pytest.fixture
def client(app):
    return app.server.test_client()


def callback_body(output):
    return {
        "output": f"{output}.children",
        "outputs": {"id": output, "property": "children"},
        "inputs": [],
        "changedPropIds": [],
    }


def test_two_applications_in_one_process_keep_all_their_callbacks(demo):
    first, second = (create_app(demo, today=lambda: DEMO_DAY, user="x") for _ in range(2))
    for one in (first, second):
        one.server.test_client().get("/")
    assert len(first.callback_map) > 20
    assert first.callback_map.keys() == second.callback_map.keys()


def test_the_page_names_its_language_and_fits_a_phone(client):
    text = client.get("/").text
    assert '<html lang="en-GB">' in text
    assert 'name="viewport" content="width=device-width, initial-scale=1"' in text


def test_the_page_loads_nothing_from_another_address(client):
    addresses = re.findall(r'(?:src|href)="([^"]+)"', client.get("/").text)
    assert addresses
    assert all(a.startswith("/") and not a.startswith("//") for a in addresses)


def test_every_answer_carries_the_security_headers(client):
    headers = client.get("/").headers
    policy = headers["Content-Security-Policy"]
    for rule in ("default-src 'self'", "object-src 'none'", "frame-ancestors 'none'", "'sha256-"):
        assert rule in policy
    assert "script-src 'self' 'unsafe" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_a_write_without_the_token_of_the_page_is_refused(client):
    client.get("/")
    answer = client.post("/_dash-update-component", json=callback_body("shell-breach"))
    assert answer.status_code == 403


def test_a_write_with_the_token_of_another_page_is_refused(client):
    client.get("/")
    answer = client.post(
        "/_dash-update-component",
        json=callback_body("shell-breach"),
        headers={"X-CSRFToken": "guessed"},
    )
    assert answer.status_code == 403


def test_a_write_with_the_token_passes_the_guard(client):
    client.get("/")
    token = client.get_cookie("_csrf_token").value
    body = callback_body("shell-breach")
    body["inputs"] = [
        {"id": "shell-url", "property": "pathname", "value": "/progress"},
        {"id": "shell-changed", "property": "data", "value": None},
    ]
    answer = client.post("/_dash-update-component", json=body, headers={"X-CSRFToken": token})
    assert answer.status_code == 200
    assert "Open level breach in zone D" in answer.text


@pytest.mark.parametrize("host", ["example.org", "127.0.0.1.example.org", "10.0.0.7", ""])
def test_a_request_by_another_name_is_refused(client, host):
    assert client.get("/", headers={"Host": host}).status_code == 400


def test_a_request_on_another_port_is_refused(app):
    app.server.config["SPOIL_PORT"] = 8050
    client = app.server.test_client()
    assert client.get("/", headers={"Host": "localhost:9999"}).status_code == 400
    assert client.get("/", headers={"Host": "localhost:8050"}).status_code == 200


@pytest.mark.parametrize("host", ["[::1]:8050", "127.0.0.1:8050", "localhost:8050"])
def test_this_machine_is_known_by_its_three_names(host):
    assert known_host(host, 8050)


def test_listening_to_other_machines_is_refused_until_accounts_exist(app):
    with pytest.raises(NotAllowed, match="until accounts exist"):
        serve(app, "0.0.0.0", 8050)


def test_an_unknown_address_shows_the_pages_there_are(desk):
    article, _notice, site = opened({}, desk, "/nowhere", "")
    assert "There is no page at /nowhere" in texts_of(article)
    assert site == "Invented Box and Shaft"


def test_a_ledger_without_a_set_up_says_what_to_do_on_every_page(empty):
    desk = Desk(empty, lambda: DEMO_DAY, "x")
    by_path = {page.PATH: page for page in PAGES}
    for path, page in by_path.items():
        article, _notice, site = opened(by_path, desk, path, "")
        assert page.NAME in texts_of(article)
        assert "spoil init" in texts_of(article)
        assert site == "No site yet"
    assert breach_banner(desk) is None


def test_a_page_takes_its_query_and_ignores_what_it_does_not_know(desk):
    by_path = {page.PATH: page for page in PAGES}
    for path in by_path:
        article, _notice, _site = opened(by_path, desk, path, "?entry=abc&unknown=1")
        assert article is not None


def test_an_open_breach_is_said_on_every_page(desk):
    assert "Open level breach in zone D" in texts_of(breach_banner(desk))


def test_an_error_of_ours_is_shown_as_its_sentence(monkeypatch):
    shown = {}
    monkeypatch.setattr(dashboard_app, "set_props", lambda id, props: shown.update(props))
    dashboard_app.show_error(OutOfRange("level_m", 212.0, high=110.0, unit="m"))
    assert "level_m is 212 m; it must be at most 110 m." in texts_of(shown["children"])


def test_an_error_that_is_a_bug_is_logged_under_the_id_that_is_shown(monkeypatch, caplog):
    shown = {}
    monkeypatch.setattr(dashboard_app, "set_props", lambda id, props: shown.update(props))
    with caplog.at_level(logging.ERROR, "spoil.dashboard"):
        dashboard_app.show_error(KeyError("secret"))
    words = texts_of(shown["children"])
    number = re.search(r"\(error (\w{8})\)", words)[1]
    assert number in caplog.text
    assert "secret" not in words
