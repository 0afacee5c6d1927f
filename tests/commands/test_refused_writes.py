"""A log that cannot be written: said, worked past, and nothing is told as kept."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldvoice.commands.wiring.keeping.refused_writes import (
    ASIDE,
    IN_MEMORY,
    KEPT_ASIDE,
    NOT_KEPT,
    NOT_ON_DISK,
    ON_AGAIN,
    RefusedWrites,
)
from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import JobLog, RescueFile, WriteRefused, read_log
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate.events import Entry, ReadingTaken, TimerFinished
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.check import load
from fieldvoice.session import NotLogged, Session
from support.small_procedure import TEXT

TROUBLE = "The log cannot be written: the disk is full."


class Desk:
    """A session whose log can be made to refuse, guarded as in live work."""

    def __init__(self, log: JobLog | None = None) -> None:
        self.clock = SimulatedClock(datetime(2026, 3, 2, 14, tzinfo=UTC))
        self.full = False
        self.entries: list[Entry] = []
        self.replies: list[str] = []
        self.refused = RefusedWrites(self._reply)
        self.session = Session(
            JobState.empty(load(TEXT)), self._never, self._reply, self.clock.now,
            self.refused.counted,
            append_all=self._append_all if log is None else log.append_all)
        self.session.begin("job", {})
        if log is not None:
            log.file.keep_aside(RescueFile("job", self.clock.now()))
            self.refused.file = log.file
        self.say("understood")

    def _never(self, *_: object) -> Entry:
        raise AssertionError("a turn is written at once")

    def _append_all(self, entries: Sequence[Entry]) -> None:
        if self.full and entries:
            raise WriteRefused("cannot write in /job: No space left", "the disk is full")
        self.entries += entries

    def _reply(self, reply: Reply) -> None:
        self.replies.append(reply.text)

    def say(self, words: str) -> list[str]:
        """A typed line; what was said to it."""
        self.replies.clear()
        self.refused.guard(lambda: self.session.hear_line(words, "typed"))
        return list(self.replies)

    def wait(self, seconds: int) -> list[str]:
        """Time passes, four ticks a second; what was said meanwhile."""
        self.replies.clear()
        for _ in range(4 * seconds):
            self.clock.move(timedelta(seconds=0.25))
            self.refused.guard(self.session.tick)
        return list(self.replies)


def test_a_line_that_is_refused_is_told_as_not_kept_and_did_not_happen() -> None:
    desk = Desk()
    desk.full, before = True, (desk.session.job, len(desk.entries))
    assert desk.say("900 microns") == [f"{TROUBLE} {NOT_KEPT}"]
    assert (desk.session.job, len(desk.entries)) == before
    assert desk.say("910 microns") == [f"{TROUBLE} {NOT_KEPT}"]
    desk.full = False
    assert desk.say("480 microns")[0] == ON_AGAIN
    assert [t.said for t in (r.now for r in desk.session.state.readings)] == ["480"]


def test_an_announcement_comes_once_though_it_cannot_be_logged() -> None:
    desk = Desk()
    desk.say("start a two minute oil timer")
    desk.full = True
    assert desk.wait(130) == [TROUBLE, "Oil: 10 seconds left.", "Oil finished: 2 minutes."]
    desk.full = False
    said = desk.wait(5)
    assert said[0] == ON_AGAIN
    assert said[1].startswith("Oil finished 10 seconds ago: 2 minutes.")
    assert sum(isinstance(v.event, TimerFinished) for v in desk.entries) == 1
    assert [v.seq for v in desk.entries] == list(range(1, len(desk.entries) + 1))


def test_a_fault_that_is_no_refusal_is_not_hidden() -> None:
    desk = Desk()

    def broken() -> None:
        raise ValueError("a fault of ours")

    with pytest.raises(ValueError, match="a fault of ours"):
        desk.refused.guard(broken)


def test_a_turn_is_refused_whole() -> None:
    desk = Desk()
    desk.full = True
    with pytest.raises(NotLogged) as refused:
        desk.session.hear_line("480 microns", "typed")
    assert len(refused.value.outcome.entries) > 1
    assert str(refused.value) == "cannot write in /job: No space left"


@pytest.fixture
def kept_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Desk, JobLog]]:
    """A desk with a real log that lets lines wait."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with JobLog.create(tmp_path / "job", TEXT) as log:
        yield Desk(log), log


def _full(fd: int, data: object) -> int:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_line_that_waits_counts_is_told_as_kept_aside_and_is_logged_in_the_end(
    kept_aside: tuple[Desk, JobLog], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, log = kept_aside
    monkeypatch.setattr(os, "write", _full)
    first = desk.say("900 microns")
    assert first[0] == f"{TROUBLE} {ASIDE}"
    assert first[1].startswith("900 microns.")
    later = desk.say("480 microns")
    assert later[-1] == KEPT_ASIDE
    assert TROUBLE not in later[0]
    assert "wait" not in (log.folder / "log.jsonl").read_text()
    monkeypatch.undo()
    assert desk.wait(1)[0] == ON_AGAIN
    entries = read_log(log.folder).entries
    assert [v.event.value for v in entries if isinstance(v.event, ReadingTaken)] == ["900", "480"]
    assert log.file.rescue is None


def test_a_timer_ends_once_while_lines_wait(
    kept_aside: tuple[Desk, JobLog], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, log = kept_aside
    desk.say("start a two minute oil timer")
    monkeypatch.setattr(os, "write", _full)
    said = desk.wait(130)
    assert said == [f"{TROUBLE} {ASIDE}", "Oil: 10 seconds left.", "Oil finished: 2 minutes."]
    monkeypatch.undo()
    assert desk.wait(5) == [ON_AGAIN]
    ends = [v for v in read_log(log.folder).entries if isinstance(v.event, TimerFinished)]
    assert len(ends) == 1
    assert ends[0].at < desk.clock.now() - timedelta(seconds=10)  # its own time


def test_with_no_disk_at_all_lines_are_said_to_be_in_memory_only(
    kept_aside: tuple[Desk, JobLog], monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, log = kept_aside

    def broken(*_: object) -> int:
        raise OSError(errno.EMFILE, "Too many open files")

    monkeypatch.setattr(os, "fsync", broken)
    assert desk.say("900 microns")[0].endswith(IN_MEMORY)
    assert desk.say("480 microns")[-1] == NOT_ON_DISK
    monkeypatch.undo()
    assert desk.wait(1) == [ON_AGAIN]
    assert len(read_log(log.folder).entries) == log.next_seq - 1
