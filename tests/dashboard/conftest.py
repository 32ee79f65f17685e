"""A demonstration ledger built once, the application over it, and a browser that looks at it."""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
import waitress

from dashboard.app import create_app
from dashboard.desk import Desk
from tracker.ledger.store import Ledger, open_ledger
from tracker.recording.demo import DEMO_DAY, build_demo

# Of Debian: the one without a window of its own draws pages with a fifth of the work.
CHROMIUM = next(
    (
        found
        for name in ("chromium-headless-shell", "chromium")
        if (found := shutil.which(name, path="/usr/bin:/usr/lib/chromium"))
    ),
    "/usr/bin/chromium",
)
ARGUMENTS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
USER = "A. Tester"


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration ledger, built once; tests that write take a copy."""
    path = tmp_path_factory.mktemp("demo") / "demo.sqlite"
    ledger = open_ledger(path, create=True)
    build_demo(ledger)
    ledger.close()
    return path


@pytest.fixture(scope="session")
def demo(demo_file: Path) -> Iterator[Ledger]:
    """The demonstration ledger, to read from."""
    ledger = open_ledger(demo_file)
    yield ledger
    ledger.close()


@pytest.fixture
def own_demo(demo_file: Path, tmp_path: Path) -> Iterator[Ledger]:
    """A copy of the demonstration ledger, to write to."""
    shutil.copy(demo_file, tmp_path / "own.sqlite")
    ledger = open_ledger(tmp_path / "own.sqlite")
    yield ledger
    ledger.close()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Ledger]:
    """A ledger without a set-up."""
    ledger = open_ledger(tmp_path / "empty.sqlite", create=True)
    yield ledger
    ledger.close()


@pytest.fixture
def desk(demo: Ledger) -> Desk:
    return Desk(demo, lambda: DEMO_DAY, USER)


@pytest.fixture
def own_desk(own_demo: Ledger) -> Desk:
    return Desk(own_demo, lambda: DEMO_DAY, USER)


# --- the browser ---------------------------------------------------------------------------------
def served(ledger: Ledger) -> tuple[str, Callable[[], None]]:
    """Serve an application over a ledger on a free port; gives its address and what stops it."""
    app = create_app(ledger, today=lambda: DEMO_DAY, user=USER)
    listens = socket.socket()  # bound here, so that no other process can take the port before
    listens.bind(("127.0.0.1", 0))
    port = listens.getsockname()[1]
    app.server.config["SPOIL_PORT"] = port
    server = waitress.create_server(app.server, sockets=[listens], threads=8)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()

    def stop() -> None:
        server.task_dispatcher.shutdown()  # first let what is under way finish
        server.close()
        thread.join(5)

    return f"http://127.0.0.1:{port}", stop


@pytest.fixture(scope="session")
def site(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[SimpleNamespace]:
    """The dashboard over a copy of the demonstration ledger, served for the whole run."""
    path = tmp_path_factory.mktemp("served") / "demo.sqlite"
    shutil.copy(demo_file, path)
    ledger = open_ledger(path)
    address, stop = served(ledger)
    yield SimpleNamespace(address=address, ledger=ledger)
    stop()
    ledger.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """Debian's Chromium; skipped where it is missing, unless everything must run."""
    if not Path(CHROMIUM).exists():
        if os.environ.get("SPOIL_TESTS_REQUIRE_ALL") == "1":
            pytest.fail(f"{CHROMIUM} is missing and SPOIL_TESTS_REQUIRE_ALL=1", pytrace=False)
        pytest.skip(f"{CHROMIUM} is missing")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


class Seen:
    """A page that notes what should not happen: errors, and requests to other addresses."""

    def __init__(self, browser: object, address: str, width_px: int) -> None:
        high = 844 if width_px < 700 else 900
        self.context = browser.new_context(viewport={"width": width_px, "height": high})
        self.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=address)
        self.page = self.context.new_page()
        self.address = address
        self.errors: list[str] = []
        self.strangers: list[str] = []
        self.page.on("console", self._note)
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("request", self._check)

    def _note(self, message: object) -> None:
        if message.type in ("error", "warning"):
            self.errors.append(message.text)

    def _check(self, request: object) -> None:
        if not request.url.startswith((self.address, "data:", "blob:")):
            self.strangers.append(request.url)

    def open(self, path: str) -> object:
        """Open a page of the dashboard and wait until it has its answers."""
        self.page.goto(self.address + path)
        self.settle()
        return self.page

    def settle(self) -> None:
        """Wait until no callback is under way."""
        self.page.wait_for_selector("#shell-main h1")
        self.page.wait_for_load_state("networkidle")
        self.until("!document.querySelector('[data-dash-is-loading=true]')")

    def until(self, script: str) -> None:
        """Wait until a script says true. The page's own policy forbids the browser's waiting."""
        deadline = time.monotonic() + 30
        while not self.page.evaluate(script):
            assert time.monotonic() < deadline, f"never came true: {script}"
            self.page.wait_for_timeout(50)


@pytest.fixture
def seen(browser: object, site: SimpleNamespace) -> Iterator[Callable[[int], Seen]]:
    """Opens a fresh browser session of a given width."""
    opened: list[Seen] = []

    def at(width_px: int) -> Seen:
        opened.append(Seen(browser, site.address, width_px))
        return opened[-1]

    yield at
    for one in opened:
        one.context.close()
