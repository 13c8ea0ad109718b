"""Chromium without a window, driven through its WebDriver interface by the standard library alone."""

from __future__ import annotations

import base64
import json
import os
import re
import shutil
import subprocess
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""
DRIVER = shutil.which("chromedriver") or ""
MISSING = "" if CHROMIUM and DRIVER else "chromium and chromedriver are system packages, and are not on this machine"

QUIET = (
    "--headless=new", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip


class Page:
    """One page in the browser."""

    def __init__(self, address: str, session: str) -> None:
        self._at = f"{address}/session/{session}"

    def open(self, path: Path) -> None:
        """Open a file from the disk, forget what the console said before, and wait for a grid that it builds."""
        ask(f"{self._at}/url", {"url": path.resolve().as_uri()})
        ready = "const g = document.getElementById('grid'); return g === null || g.querySelector('thead th') !== null"
        end = time.monotonic() + 20.0
        while not self.script(ready) and time.monotonic() < end:
            time.sleep(0.05)

    def script(self, text: str, *arguments: Any) -> Any:
        """Run a function body in the page; its value."""
        return ask(f"{self._at}/execute/sync", {"script": text, "args": list(arguments)})

    def press(self, selector: str, keys: str) -> None:
        """Send keys to an element, as a keyboard would."""
        found = ask(f"{self._at}/element", {"using": "css selector", "value": selector})
        ask(f"{self._at}/element/{next(iter(found.values()))}/value", {"text": keys})

    def click(self, selector: str) -> None:
        """Click into the middle of an element."""
        found = ask(f"{self._at}/element", {"using": "css selector", "value": selector})
        ask(f"{self._at}/element/{next(iter(found.values()))}/click", {})

    def text(self, selector: str) -> str:
        """Text of an element."""
        return str(self.script("return document.querySelector(arguments[0]).textContent", selector))

    def complaints(self) -> list[str]:
        """What the console has said that is a warning or worse, since last asked."""
        return [str(line["message"]) for line in ask(f"{self._at}/se/log", {"type": "browser"})]

    def size(self, width: int, height: int) -> None:
        """Set the size of the window."""
        ask(f"{self._at}/window/rect", {"width": width, "height": height})

    def picture(self) -> bytes:
        """What is seen, as a PNG."""
        return base64.b64decode(ask(f"{self._at}/screenshot", None))


def ask(address: str, body: dict[str, Any] | None, method: str = "") -> Any:
    """Ask the driver."""
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(
        address, data=data, method=method or ("GET" if body is None else "POST"),
        headers={"Content-Type": "application/json"},
    )  # fmt: skip
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    with opener.open(request, timeout=60) as answer:
        return json.loads(answer.read())["value"]


@contextmanager
def browser(folder: Path, *more: str) -> Iterator[Page]:
    """A browser with a new profile in `folder`; `more` are flags of its command line."""
    flags = [*QUIET, f"--user-data-dir={folder / 'profile'}", *more]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        flags.append("--no-sandbox")  # it refuses to sandbox itself for root
    wanted = {
        "goog:chromeOptions": {"binary": CHROMIUM, "args": flags},
        "goog:loggingPrefs": {"browser": "WARNING"},
    }
    with subprocess.Popen([DRIVER, "--port=0"], stdout=subprocess.PIPE, text=True, cwd=folder) as driver:
        assert driver.stdout is not None
        try:
            started = (re.search(r"started successfully on port (\d+)", line) for line in driver.stdout)
            port = next(found[1] for found in started if found)
            address = f"http://127.0.0.1:{port}"
            session = ask(f"{address}/session", {"capabilities": {"alwaysMatch": wanted}})["sessionId"]
            try:
                yield Page(address, session)
            finally:
                ask(f"{address}/session/{session}", None, "DELETE")
        finally:
            driver.terminate()
