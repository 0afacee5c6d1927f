"""Spoken lines of a job whose words are certain."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldvoice.commands.wiring.voices.spoken_lines import SpokenLine, plain
from fieldvoice.devices.joblog import JobLogError, clip_path, read_log
from fieldvoice.devices.soundfile import SoundFileError, read_sound
from fieldvoice.dialogue.confidence import ACCEPT_FROM
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry

REVIEWED = "marked right or written down in a review"
CONFIRMED = "confirmed on the job"
UNDISPUTED = "taken and never corrected"


@dataclass(frozen=True)
class Certain:
    """The words of a line, and why they are certain: REVIEWED, CONFIRMED or UNDISPUTED."""

    heard: e.LineHeard
    words: str
    why: str


def from_job(folder: Path, skipped: list[str]) -> tuple[list[SpokenLine], Counter[str]]:
    """The lines with their sound, and how many there are of each sort.

    What was heard of a line that no reviewer looked at proves nothing of how well it is heard: it
    is learned from, and never judged by (SpokenLine.known). A line without its sound, or whose
    sound cannot be read, is left out; the latter joins `skipped`. Raises JobLogError where there is
    no job; a lossy one is taken as far as it proves itself.
    """
    found, counts = list[SpokenLine](), Counter[str]()
    for line in certain(read_log(folder).entries):
        if line.heard.clip is None:
            continue
        try:
            path = clip_path(folder, line.heard.clip)
            sound = read_sound(path)
        except (JobLogError, SoundFileError) as error:
            skipped.append(str(error))
            continue
        found.append(SpokenLine(sound, plain(line.words), str(path), line.why == REVIEWED))
        counts[line.why] += 1
    return found, counts


def certain(entries: Sequence[Entry]) -> Iterator[Certain]:
    """Spoken lines of a log, in order; what a reviewer said of one stands before all else."""
    marks = {x.event.line: x.event for x in entries if isinstance(x.event, e.LineReviewed)}
    disputed, confirmed = _disputed(entries), _confirmed(entries)
    for entry in entries:
        heard, mark = entry.event, marks.get(entry.seq)
        if not isinstance(heard, e.LineHeard) or heard.confidence is None:
            continue
        if mark is not None:
            if words := heard.words if mark.right else mark.words:
                yield Certain(heard, words, REVIEWED)
        elif heard.words and entry.seq not in disputed:
            if entry.seq in confirmed:
                yield Certain(heard, heard.words, CONFIRMED)
            elif heard.outcome == "accepted" and heard.confidence >= ACCEPT_FROM:
                yield Certain(heard, heard.words, UNDISPUTED)


def _confirmed(entries: Sequence[Entry]) -> set[int]:
    """Lines that were asked back and answered with yes."""
    asked = {x.seq: x.event.line for x in entries if isinstance(x.event, e.Asked)}
    return {asked[x.event.asked] for x in entries
            if isinstance(x.event, e.Answered) and x.event.answer == "yes"
            and x.event.asked in asked}


def _disputed(entries: Sequence[Entry]) -> set[int]:
    """Lines of which anything was corrected, taken back or amended since, or that a question said
    no to; those that did so themselves are not.
    """
    deeds = {x.seq: x.event for x in entries}
    found = set[int]()
    for entry in entries:
        event = entry.event
        about = (event.corrects if isinstance(event, e.ReadingCorrected) else
                 event.withdraws if isinstance(event, e.Withdrawn) else
                 event.amends if isinstance(event, e.ReadingAmended) else
                 event.asked if isinstance(event, e.Answered) and event.answer != "yes" else None)
        line = None if about is None else getattr(deeds.get(about), "line", None)
        if isinstance(line, int) and line != getattr(event, "line", None):
            found.add(line)
    return found
