"""The computer beside its sound: disk, clock, terminal. Values in, a finding out."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from fieldvoice.commands.checks.finding import BAD, OK, WARN, Finding

SOUND_BYTES_AN_HOUR = 16_000 * 2 * 3600  # clips are 16 kHz, one channel of 16 bits
FEW_HOURS, TOO_FEW_HOURS = 20.0, 1.0  # of sound that fit; a day of work speaks for an hour or two
SLOW_SYNC_S, TOO_SLOW_SYNC_S = 0.05, 0.5  # each line waits for it; the budget is 0.01 s
FIRST_YEAR, LAST_YEAR = 2026, 2100  # this Fieldvoice was made in the first
LEAST_COLUMNS, LEAST_LINES = 40, 20
_BOOT = Path("/proc/sys/kernel/random/boot_id")


def disk(folder: Path) -> Finding:
    """Whether jobs can be kept there, for how long, and how fast a line is safe."""
    there = _existing(folder)
    try:
        sync_s = _sync_time(there)
    except OSError as error:
        return Finding("disk", BAD, f"{there} cannot be written: {error.strerror}",
                       "change its permissions, or keep jobs elsewhere: --job FOLDER/NAME, or set "
                       "XDG_DATA_HOME")
    return judge_disk(folder, shutil.disk_usage(there).free, sync_s)


def _existing(folder: Path) -> Path:
    """The folder, or the nearest one above it that exists."""
    return next(path for path in (folder, *folder.parents) if path.is_dir())


def _sync_time(folder: Path) -> float:
    """Seconds until a line is safe on the disk: the slowest of five."""
    with tempfile.TemporaryFile(dir=folder) as file:
        times = []
        for _ in range(5):
            began = time.perf_counter()
            file.write(b"x" * 300)
            file.flush()
            os.fsync(file.fileno())
            times.append(time.perf_counter() - began)
    return max(times)


def judge_disk(folder: Path, free_bytes: int, sync_s: float) -> Finding:
    """What that space and that speed mean."""
    hours = free_bytes / SOUND_BYTES_AN_HOUR
    figures = {"free_bytes": free_bytes, "hours_of_sound": round(hours, 1),
               "sync_s": round(sync_s, 4)}
    found = f"{folder}: {hours:,.0f} hours of sound fit, a line is safe in {sync_s * 1e3:.1f} ms"
    if hours < FEW_HOURS:
        return Finding("disk", BAD if hours < TOO_FEW_HOURS else WARN, found,
                       "free some space, or begin jobs with --no-clips", figures)
    if sync_s > SLOW_SYNC_S:
        return Finding("disk", BAD if sync_s > TOO_SLOW_SYNC_S else WARN, found,
                       "replies wait for it: keep the jobs on this computer's own disk", figures)
    return Finding("disk", OK, found, figures=figures)


def clock() -> Finding:
    """Whether times in the log will be right, and holds run by a clock that never jumps."""
    boot = _BOOT.read_text().strip() if _BOOT.is_file() else ""
    source = "boot time, which also counts sleep" if hasattr(time, "CLOCK_BOOTTIME") \
        else "monotonic time"
    return judge_clock(datetime.now().astimezone(), source, boot)


def judge_clock(now: datetime, source: str, boot_id: str) -> Finding:
    """What the clock says about itself; `boot_id` is "" where the system tells none."""
    figures = {"now": now.isoformat(timespec="seconds"), "holds_by": source, "boot_id": boot_id}
    found = f"{now:%Y-%m-%d %H:%M} {now:%Z}; holds run by {source}"
    if not FIRST_YEAR <= now.year <= LAST_YEAR:
        return Finding("clock", BAD, found, f"set the date: {now.year} cannot be", figures)
    if not boot_id:
        return Finding("clock", WARN, f"{found}; the system does not tell one start from another",
                       "after a restart, say whether a hold still runs", figures)
    return Finding("clock", OK, found, figures=figures)


def terminal() -> Finding:
    """Whether the screen can be drawn here."""
    size = shutil.get_terminal_size()
    drawn = sys.stdout.isatty() if sys.stdout else False
    return judge_terminal(os.environ, drawn, size.columns, size.lines,
                          getattr(sys.stdout, "encoding", None) or "ascii")


def judge_terminal(
    environment: Mapping[str, str], is_terminal: bool, columns: int, lines: int, encoding: str
) -> Finding:
    """What can be drawn on a terminal like that."""
    term = environment.get("TERM", "")
    colours = is_terminal and not environment.get("NO_COLOR") and term not in ("", "dumb")
    figures = {"term": term, "terminal": is_terminal, "columns": columns, "lines": lines,
               "encoding": encoding, "colours": colours}
    if not is_terminal:
        return Finding("terminal", OK, "output goes to a file or a program: plain lines",
                       figures=figures)
    found = f"{columns} by {lines}, {term or 'no TERM'}, {encoding}, " \
            f"{'colours' if colours else 'no colours'}"
    try:
        "█".encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return Finding("terminal", WARN, found, "large figures need UTF-8: set LC_ALL=C.UTF-8",
                       figures)
    if term in ("", "dumb"):
        return Finding("terminal", WARN, f"{found}: plain lines are shown",
                       "set TERM, for example TERM=xterm-256color, for the large screen", figures)
    if columns < LEAST_COLUMNS or lines < LEAST_LINES:
        return Finding("terminal", WARN, found, f"make the window larger: at least {LEAST_COLUMNS} "
                       f"by {LEAST_LINES}", figures)
    return Finding("terminal", OK, found, figures=figures)
