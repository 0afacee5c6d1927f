"""A page as PDF, printed by a browser of this computer without a window and without a network."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError

BROWSERS = (  # programs that print a page headless, as they are called on the path
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome",
    "microsoft-edge", "microsoft-edge-stable", "msedge",
)
LIMIT_S = 120.0
_QUIET = (
    "--headless", "--disable-gpu", "--no-first-run", "--no-default-browser-check",
    "--disable-background-networking", "--disable-sync", "--disable-extensions",
    "--disable-component-update", "--disable-default-apps", "--mute-audio",
    "--proxy-server=127.0.0.1:1", "--host-resolver-rules=MAP * ~NOTFOUND",  # nothing is fetched
    "--no-pdf-header-footer",
)


def find_browser() -> str:
    """The path of a browser. Raises CommandError where there is none."""
    for name in BROWSERS:
        if path := shutil.which(name):
            return path
    raise CommandError(
        f"no browser to print with: none of {', '.join(BROWSERS)} is on the path; open report.html "
        "in any browser and print it to a file there")


def pdf_of(page: str, browser: str, limit_s: float = LIMIT_S) -> bytes:
    """The page printed on the paper that it names. Raises CommandError."""
    with tempfile.TemporaryDirectory(prefix="fieldvoice-", ignore_cleanup_errors=True) as place:
        folder = Path(place)
        (folder / "report.html").write_text(page, encoding="utf-8")
        out = folder / "report.pdf"
        _run([browser, *_QUIET, *_as_root(), f"--user-data-dir={folder / 'profile'}",
              f"--print-to-pdf={out}", (folder / "report.html").as_uri()], limit_s)
        if not out.is_file() or not out.stat().st_size:
            raise CommandError(f"{browser} printed nothing; open report.html in it and print there")
        return out.read_bytes()


def _as_root() -> list[str]:
    """Without a sandbox where the browser could not start with one: run by root."""
    return ["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []


def _run(command: list[str], limit_s: float) -> None:
    try:
        with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL, start_new_session=True) as browser:
            try:
                browser.wait(limit_s)
            except BaseException:
                _end(browser)
                raise
    except subprocess.TimeoutExpired:
        raise CommandError(f"{command[0]} did not print within {limit_s:g} s and was ended; open "
                           "report.html in it and print there") from None
    except OSError as error:
        raise CommandError(f"cannot run {command[0]}: {error.strerror}") from None


def _end(browser: subprocess.Popen[bytes]) -> None:
    """End it with all processes that it started: they are in a group of its own."""
    if hasattr(os, "killpg"):
        os.killpg(browser.pid, signal.SIGKILL)
    else:
        browser.kill()
