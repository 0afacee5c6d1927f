"""A real browser without a window: Debian's Chromium, driven from the test.

Needs Chromium as Debian brings it: apt-get install chromium.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

_NAMES = ("chromium", "chromium-browser")
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


def chromium() -> str:
    """Its path; skips the test where there is none, and in continuous integration fails it."""
    for name in _NAMES:
        if path := shutil.which(name):
            return path
    reason = "no Chromium: apt-get install chromium"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@contextmanager
def browser() -> Iterator[Browser]:
    """A running browser; pages are opened in it with `watched`."""
    from playwright.sync_api import sync_playwright

    path = chromium()
    with sync_playwright() as driver:
        # as root, as continuous integration runs, Chromium has no sandbox of its own
        running = driver.chromium.launch(
            executable_path=path,
            args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"])
        try:
            yield running
        finally:
            running.close()


class Watched:
    """A page of which everything that it asks for, says and throws is kept."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.requests: list[str] = []  # URLs, data: and blob: left out
        self.complaints: list[str] = []  # console warnings and errors, exceptions
        page.on("request", lambda request: self._asked(request.url))
        page.on("console", lambda said: self._said(said.type, said.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _asked(self, url: str) -> None:
        if not url.startswith(("data:", "blob:")):
            self.requests.append(url)

    def _said(self, kind: str, text: str) -> None:
        if kind in ("error", "warning"):
            self.complaints.append(f"{kind}: {text}")

    def open(self, where: str | Path) -> Watched:
        """Go to a URL or a file."""
        self.page.goto(where.as_uri() if isinstance(where, Path) else where)
        return self

    @property
    def wider_than_its_window(self) -> int:
        """By how many pixels it has to be scrolled sideways."""
        found: int = self.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth")
        return found


@contextmanager
def watched(running: Browser, size: dict[str, int] = DESK, **more: Any) -> Iterator[Watched]:
    """A new page of that size in a context of its own."""
    context = running.new_context(viewport=size, **more)  # type: ignore[arg-type]
    try:
        yield Watched(context.new_page())
    finally:
        context.close()


def accessibility_findings(page: Page) -> list[str]:
    """What axe-core finds wrong with the page as it stands: rule, how bad, where."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [f"{v['id']} ({v['impact']}): {', '.join(str(n['target']) for n in v['nodes'][:5])}"
            for v in found]
