"""What a job would make of a heard line: taken, asked back, ignored or lost."""

import pytest

from fieldvoice.commands.wiring.heard_line import decision, meanings
from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.assistant import Heard
from fieldvoice.dialogue.belief.clarity import Clarity
from fieldvoice.dialogue.confidence import Interpretation
from fieldvoice.jobstate.events import LineHeard
from fieldvoice.language.parser import sounds_like_a_range, understand
from support.bench import Bench


def heard(words: str, confidence: float = 0.99) -> Interpretation:
    return Interpretation(understand(words, typed=False), words, confidence)


LINES = [
    ("next", 0.99, "taken"),
    ("next", 0.9, "asked-back"),
    ("next", 0.2, "asked-back"),
    ("next", 0.1, "ignored"),
    ("what now", 0.6, "taken"),  # wrongly heard, it costs nothing
    ("vacuum four hundred twelve microns", 0.99, "taken"),
    ("vacuum four hundred twelve microns", 0.9, "asked-back"),
    ("vacuum thirty degrees", 0.99, "taken"),  # refused then, as where it is typed
    ("vacuum ninety thousand torr", 0.99, "asked-back"),  # far above what is usual
    ("vacuum five two eight microns", 0.99, "asked-back"),  # five to eight?
    ("make that five two eight", 0.99, "asked-back"),
    ("five to eight", 0.99, "asked-back"),
    ("four five hundred microns", 0.99, "asked-back"),
    ("[unk] [unk] next", 0.99, "ignored"),
    ("[unk] next hold suction", 0.99, "lost"),
    ("[unk] next hold suction", 0.9, "ignored"),
    ("", 0.0, "lost"),
]
IDLE = 'procedure idle "Idle"\nstage s "S"\nstep rest\n  say "Rest."\n  end done "Done."\n'
ON_A_JOB = {  # what becomes of such lines there
    "taken": {"accepted", "refused"}, "asked-back": {"asked-back", "refused"},
    "ignored": {"ignored"}, "lost": {"refused", "ignored"},
}  # fmt: skip


@pytest.mark.parametrize(("words", "confidence", "expected"), LINES)
def test_a_line_is_taken_asked_back_ignored_or_lost(
    words: str, confidence: float, expected: str
) -> None:
    assert decision(heard(words, confidence)) == expected


@pytest.mark.parametrize(("words", "confidence", "expected"), LINES)
def test_a_job_decides_the_same(words: str, confidence: float, expected: str) -> None:
    bench, line = Bench(IDLE), heard(words, confidence)
    range_too = sounds_like_a_range(words)
    came = Heard(line.intent, words, "voice", confidence, range_too=range_too)
    bench.take_in(assistant.handle(bench.state, came, bench.now))
    (logged,) = bench.events(LineHeard)
    assert isinstance(logged, LineHeard)
    assert logged.outcome in ON_A_JOB[expected]
    assert (logged.outcome == "asked-back") <= (expected == "asked-back")


def test_meanings_come_likeliest_first_and_count_what_means_the_same_together() -> None:
    ways = [("nine hundred microns", 0.4), ("four hundred microns", 0.35),
            ("four hundred micron", 0.25)]  # fmt: skip
    first, second = meanings(ways)
    assert (first.words, second.words) == ("four hundred microns", "nine hundred microns")
    assert first.confidence > second.confidence
    assert 0.98 < first.confidence + second.confidence < 1.0


def test_a_number_that_was_too_loud_is_asked_back_here_too() -> None:
    ways = [("four hundred microns", 1.0)]
    (clear,), (clipped,) = meanings(ways), meanings(ways, Clarity(40.0, 0.02))
    assert decision(clear) == "taken"
    assert decision(clipped) == "asked-back"
