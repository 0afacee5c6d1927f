"""Prompted lines: recorded one after the other, kept at once, gone on with later."""

import numpy as np
import pytest

from fieldvoice.commands.wiring.voices.prompting import HELP, Prompting, Taken
from fieldvoice.commands.wiring.voices.recordings import Recordings, prompts
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand

RNG = np.random.default_rng(1)
SPOKEN = (3000 * RNG.standard_normal(16_000)).astype(np.int16)


class FakeEar:
    """Gives what it was given: sounds, typed words, or an end of everything."""

    def __init__(self, *comes):
        self.comes = list(comes)

    def line(self):
        if not self.comes:
            raise KeyboardInterrupt
        what = self.comes.pop(0)
        return Taken(typed=what) if isinstance(what, str) else Taken(what)


@pytest.fixture
def recordings(tmp_path):
    return Recordings(tmp_path / "lines")


def ask(recordings, *comes, fits=lambda sound, words: ""):
    told = []
    prompting = Prompting(recordings, FakeEar(*comes), told.append, fits)
    try:
        return told, prompting.ask_all()
    except KeyboardInterrupt:
        return told, None


def recorded(recordings):
    return [line.words for line in recordings.lines([])]


def test_what_was_recorded_before_an_interruption_is_kept_and_gone_on_with(recordings):
    ask(recordings, SPOKEN, SPOKEN)
    assert recorded(recordings) == prompts()[:2]
    told, _ = ask(recordings, SPOKEN)
    assert told[0] == f"3 of {len(prompts())}:   {prompts()[2]}"
    assert recorded(recordings) == prompts()[:3]


def test_the_sound_is_kept_as_it_was_heard(recordings):
    ask(recordings, SPOKEN)
    assert np.array_equal(recordings.lines([])[0].sound, SPOKEN)


def test_again_asks_for_the_line_before_and_replaces_it(recordings):
    other = SPOKEN[::-1].copy()
    told, _ = ask(recordings, SPOKEN, "again\n", other)
    assert [line.partition(":   ")[2] for line in told] == [*prompts()[:2], *prompts()[:2]]
    assert np.array_equal(recordings.lines([])[0].sound, other)


def test_a_line_can_be_left_out_and_the_rest_ended(recordings):
    _, to_the_end = ask(recordings, "skip\n", SPOKEN, "stop\n")
    assert to_the_end is False
    assert recorded(recordings) == [prompts()[1]]


@pytest.mark.parametrize("typed", ["\n", "what\n", "\x1b[A\n"])
def test_other_typed_words_are_answered_with_what_can_be_typed(recordings, typed):
    told, _ = ask(recordings, typed, SPOKEN)
    assert told[1] == HELP
    assert recorded(recordings) == prompts()[:1]


def test_a_silent_line_is_asked_for_again_and_given_up_after_the_third_time(recordings):
    silent = np.zeros(16_000, np.int16)
    told, _ = ask(recordings, silent, silent, silent, SPOKEN)
    assert told[1] == "   not kept: it is silent; say it again"
    assert told[3] == "   not kept: it is silent"
    assert recorded(recordings) == [prompts()[1]]


def test_another_line_than_the_one_shown_is_not_kept(recordings):
    told, _ = ask(recordings, SPOKEN, fits=lambda sound, words: "it does not sound like it")
    assert told[1] == "   not kept: it does not sound like it; say it again"
    assert not recorded(recordings)


def test_every_line_shown_is_understood_and_shown_once():
    assert len(set(prompts())) == len(prompts())
    assert not [line for line in prompts()
                if isinstance(understand(line, typed=False), NotUnderstood)]


def test_the_lines_hold_every_digit_and_take_about_three_minutes():
    words = " ".join(prompts()).split()
    for digit in ("zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight",
                  "nine"):
        assert digit in words
    assert 240 <= len(words) <= 360
