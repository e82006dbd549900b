"""The app in a browser: served on loopback by textual-serve, opened in a headless Chromium.

The page draws on a canvas, so the words are read where they come in, from the terminal's own
stream, and the picture is compared before and after a key.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
from urllib.parse import urlsplit

import pytest

from fieldnotes.cli.main import main

CHROMIUM = "/usr/bin/chromium"
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
NOW = "2026-11-26T08:10:00+00:00"
LONGEST_S = 60
_CONTROL = re.compile(
    r"\x1b\[[0-9;?<>=]*[ -/]*[@-~]|\x1b[\]PX^_].*?(?:\x07|\x1b\\)|\x1b.", re.DOTALL
)

pytestmark = pytest.mark.long


def waited(found, what):
    """Wait until `found` gives something."""
    ends = time.monotonic() + LONGEST_S
    while time.monotonic() < ends:
        if got := found():
            return got
        time.sleep(0.1)
    raise AssertionError(f"no {what} within {LONGEST_S} s")


def answers(port):
    try:
        socket.create_connection(("127.0.0.1", port), 1).close()
    except OSError:
        return False
    return True


@pytest.fixture
def served(tmp_path):
    """The demo served on a free port of this machine alone; gives the address."""
    pytest.importorskip("textual_serve", reason="textual-serve is not installed: see .ci/long")
    store = tmp_path / "store"
    assert main(["--now", NOW, "demo", "--no-open", "--dir", str(store)]) == 0
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = f"{sys.executable} -m fieldnotes --now {NOW} --data {store}"
    code = f"""from textual_serve.server import Server
Server({app!r}, host="127.0.0.1", port={port}).serve()"""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    with (tmp_path / "log").open("wb") as log:
        server = subprocess.Popen(
            [sys.executable, "-c", code], stdout=log, stderr=log, env=environment
        )
        try:
            waited(lambda: answers(port), "server")
            yield f"http://127.0.0.1:{port}/"
        finally:
            server.terminate()
            server.wait(30)


@pytest.fixture
def page():
    """A page that reaches this machine only; what else it asks for is turned away."""
    play = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"there is no {CHROMIUM}")
    with play.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        opened = browser.new_page(viewport={"width": 1200, "height": 800})
        opened.route(
            "**/*",
            lambda r: (
                r.continue_() if urlsplit(r.request.url).hostname == "127.0.0.1" else r.abort()
            ),
        )
        yield opened
        browser.close()


def test_the_app_in_a_browser_shows_today_and_goes_where_a_key_leads(served, page, tmp_path):
    came, asked = [], []

    def heard(payload):
        came.append(payload if isinstance(payload, str) else payload.decode("utf-8", "replace"))

    def words():
        return _CONTROL.sub("", "".join(came))

    def seen(*wanted):
        def there():
            page.wait_for_timeout(100)  # what comes in is only handed over while it is waited for
            return all(word in words() for word in wanted)

        waited(there, " and ".join(wanted))

    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: socket.on("framereceived", heard))
    page.goto(served, wait_until="domcontentloaded")
    seen("Today", "Bracken Field", "To load")
    page.locator("body.-first-byte").wait_for()
    page.wait_for_timeout(3000)
    today = page.screenshot(path=tmp_path / "today.png")
    came.clear()
    page.focus(".xterm-helper-textarea")
    page.keyboard.press("2")
    seen("Cases", "Bramble")
    page.wait_for_timeout(3000)
    cases = page.screenshot(path=tmp_path / "cases.png")
    assert cases != today
    came.clear()
    page.keyboard.press("Slash")
    page.keyboard.type("bram")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.keyboard.press("p")
    seen("Plan")
    page.wait_for_timeout(2000)
    page.screenshot(path=tmp_path / "case.png")
    # the page's one foreign request, of which the README warns
    hosts = {urlsplit(address).hostname for address in asked}
    assert hosts <= {"127.0.0.1", "fonts.googleapis.com"}
