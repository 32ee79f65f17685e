"""serve, run as people run it."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from urllib.error import URLError
from urllib.request import urlopen

import pytest

SPOIL = [sys.executable, "-c", "from tracker.cli import main; main()"]


@pytest.fixture
def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_serve_says_where_and_answers_there(season, free_port):
    command = [*SPOIL, "serve", "--port", str(free_port), "--as-of", "2026-11-02", "--json"]
    server = subprocess.Popen(
        command, cwd=season.folder, env=os.environ | {"PYTHONUNBUFFERED": "1"},
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    try:
        assert server.stdout is not None
        said = json.loads(server.stdout.readline())
        address = f"http://127.0.0.1:{free_port}/"
        assert said == {"ledger": "site.sqlite", "dashboard": address}
        assert "<html" in _page(address)
    finally:
        server.terminate()
        server.communicate(timeout=20)


def _page(address: str, patience_s: float = 30.0) -> str:
    deadline = time.monotonic() + patience_s
    while True:
        try:
            with urlopen(address, timeout=5) as answer:
                return answer.read().decode()
        except URLError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)


def test_a_port_that_is_taken_is_said(season):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        done = subprocess.run(
            [*SPOIL, "serve", "--port", port], cwd=season.folder, stdin=subprocess.DEVNULL,
            capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == (
        f"Port {port} of 127.0.0.1 cannot be opened (Address already in use)."
        " Give another with --port.\n"
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--host", "0.0.0.0"], "0.0.0.0 is not an address of this machine"),
        (["--port", "0"], "--port"),
        (["--port", "web"], "--port"),
        (["--as-of", "today"], "--as-of is “today”; write the date"),
        (["--ledger", "nowhere.sqlite"], "spoil init"),
    ],
)
def test_serve_refuses_what_it_cannot_do(season, words, said):
    assert said in season.refused("serve", *words)
