"""Lines of a job that a voice is learned from: those whose words are certain."""

from pathlib import Path

import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.voices.job_lines import (
    CONFIRMED,
    REVIEWED,
    UNDISPUTED,
    certain,
    from_job,
)
from fieldvoice.devices.joblog import JobLog, read_log
from fieldvoice.jobstate import events as e
from support.job_with_sound import AT, job_with_sound, tone
from support.review_job import Book, started


def _words(book: Book) -> dict[str, str]:
    return {line.words: line.why for line in certain(book.entries)}


@pytest.fixture
def book() -> Book:
    book = Book()
    book.add(started())
    return book


def test_reviewed_lines_come_with_their_sound(tmp_path: Path) -> None:
    job = tmp_path / "job"
    job_with_sound(job, "next", "make that back", "done", "undone")
    heard = [x.seq for x in read_log(job).entries if isinstance(x.event, e.LineHeard)]
    with JobLog(job) as log:
        log.append(e.LineReviewed(heard[0], True, "ann"), AT)
        log.append(e.LineReviewed(heard[1], False, "ann", words="Take that back."), AT)
        log.append(e.LineReviewed(heard[2], False, "ann"), AT)  # what was said is not known
    found, counts = from_job(job, [])
    assert [line.words for line in found] == ["next", "take that back"]
    assert found[1].sound.tobytes() == tone(hertz=400.0)
    assert all(line.known for line in found)
    assert counts == {REVIEWED: 2}


def test_the_newest_word_on_a_line_holds(book: Book) -> None:
    line = book.heard("next", confidence=0.99)
    book.add(e.LineReviewed(line, True, "ann"))
    assert _words(book) == {"next": REVIEWED}
    book.add(e.LineReviewed(line, False, "bob"))
    assert _words(book) == {}


def test_lines_that_were_taken_for_sure_and_never_corrected(book: Book) -> None:
    book.heard("next", confidence=0.99)
    book.heard("what now", confidence=0.9)
    book.heard("go back", confidence=0.99, outcome="refused")
    book.heard("done", source="typed")
    assert _words(book) == {"next": UNDISPUTED}


def test_what_was_corrected_taken_back_or_amended_is_left_out(book: Book) -> None:
    sure = {"confidence": 0.99}
    corrected = book.read("vacuum", "500", "microns", "five hundred", **sure)
    line = book.heard("correction four hundred", **sure)
    book.add(e.ReadingCorrected(corrected, "400", "micron", 53.0, "Pa", line))
    book.add(e.StepDone("pull-down", book.heard("next", **sure)))
    book.add(e.Withdrawn(len(book.entries), book.heard("take that back", **sure)))
    amended = book.read("vacuum", "310", "microns", "three ten", **sure)
    book.add(e.ReadingAmended(amended, "301", "micron", 40.0, "Pa", "ann", "misheard"))
    assert _words(book) == {"correction four hundred": UNDISPUTED, "take that back": UNDISPUTED}


def test_a_line_that_was_asked_about_counts_when_the_answer_was_yes(book: Book) -> None:
    for words, answer in (("fifty", "yes"), ("sixty", "no"), ("seventy", "replaced")):
        line = book.heard(words, outcome="asked-back")
        asked = book.add(e.Asked(line, "confidence", {"intent": "reading"}))
        book.add(e.Answered(asked, answer))
    assert _words(book) == {"fifty": CONFIRMED}


def test_what_was_only_heard_is_never_judged_by(tmp_path: Path, capsys, monkeypatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    job = tmp_path / "job"
    job_with_sound(job, *["next"] * 3)
    with JobLog(job) as log:
        log.append(e.LineHeard("done", "voice", {"intent": "done"}, 0.99, "clips/gone.wav"), AT)
        log.append(e.LineHeard("next", "voice", {"intent": "next"}, 0.99,
                               log.save_clip(tone()).path), AT)  # fmt: skip
    skipped: list[str] = []
    found, counts = from_job(job, skipped)
    assert [(line.words, line.known) for line in found] == [("next", False)]
    assert counts == {UNDISPUTED: 1}
    assert len(skipped) == 1
    assert main(["learn-voice", "dana", "--from-job", str(job)]) == 2
    told = capsys.readouterr()
    assert f"Lines of job {job}: 1 taken and never corrected" in told.out
    assert "nothing is sent anywhere" in told.out
    assert "only 0 of 1 lines can be learned from" in told.err
