"""A line ends by its words and the silence after them; nothing said is lost or comes twice."""

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.early_end import EarlyEnd
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance, Way

CHUNK_S = 0.05
WORDS = {1000: "four", 2000: "hundred", 3000: "microns", 4000: "next", 5000: "start", 6000: "hold"}
FORCED = {"start": "hold", "start microns": "start hold"}  # what is no line, if it has to be one
MISFIT = {"start": 10.0, "start microns": 30.0}  # of the sound to these
LINES = {"four", "four hundred", "four hundred microns", "microns", "next", "start hold", "hold",
         "four hundred four"}  # fmt: skip
TWO_IN_A_BREATH = {("four hundred", "four")}  # a line that means what two mean


@dataclass(frozen=True)
class End:
    silence_s: float
    is_line: bool
    may_go_on: bool


def end_of(words: str) -> End:
    """Lines that end in a number may go on; a beginning of a line is half said."""
    begins = any(line.startswith(f"{words} ") for line in LINES)
    if words in LINES:
        return End(0.8 if begins else 0.4, True, begins)
    return End(1.2 if begins else 0.6, False, begins)


def one_line(first: str, second: str) -> bool:
    """Whether the two are more than one line after the other."""
    return f"{first} {second}" in LINES and (first, second) not in TWO_IN_A_BREATH


class Engine(Recognizer):
    """Hears a word where the loudness changes to that of one; ends a line after 2 s by itself."""

    level: int
    silent: int

    def __init__(self) -> None:
        self.forget()

    def hear(self, pcm: NDArray[np.int16]) -> Utterance:
        self.forget()
        Engine.feed(self, pcm)
        return Engine.finish(self) or Utterance("", 0.0)

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        for at in range(0, len(chunk), 100):
            loud = int(np.abs(chunk[at : at + 100].astype(int)).max())
            level = next((level for level in WORDS if abs(level - loud) < 50), 0)
            if level and level != self.level:
                self.words.append(WORDS[level])
            self.silent = 0 if level else self.silent + 100
            self.level = level
        return self.finish() if self.silent > 2 * RATE else None

    def hearing(self) -> str:
        return " ".join(self.words)

    def finish(self) -> Utterance | None:
        words, misfit = self.hearing(), MISFIT.get(self.hearing(), 0.0)
        if words and words not in LINES:  # an engine leaves no sentence half said
            words = FORCED.get(words, words)
        self.forget()
        return Utterance(words, 0.9, (), (Way(words, 1.0),), -misfit) if words else None

    def forget(self) -> None:
        self.words: list[str] = []
        self.level = self.silent = 0


class Hasty(Engine):
    """Ends a line after 0.25 s by itself, but decodes in steps of 0.65 s and tells it late."""

    ends_s = 0.25
    rest = np.zeros(0, dtype=np.int16)

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        self.rest = np.concatenate([self.rest, chunk])
        return self._decode() if len(self.rest) >= 0.65 * RATE else None

    def finish(self) -> Utterance | None:
        return self._decode() or super().finish()

    def forget(self) -> None:
        super().forget()
        self.rest = self.rest[:0]

    def _decode(self) -> Utterance | None:
        waiting, self.rest = self.rest, self.rest[:0]
        for at in range(0, len(waiting), 100):
            super().feed(waiting[at : at + 100])
            if self.silent > self.ends_s * RATE and (found := super().finish()):
                self.rest = waiting[at + 100 :]
                return found
        return None


def sound(*parts: str | float) -> NDArray[np.int16]:
    """Words of a third of a second, and silences of so many seconds, in a quiet room."""
    levels = {word: level for level, word in WORDS.items()}
    whole = np.concatenate([
        np.full(round(part * RATE), 3) if isinstance(part, float)
        else np.full(round(0.3 * RATE), levels[part])
        for part in (0.5, *parts)
    ])  # fmt: skip
    return (whole * np.where(np.arange(len(whole)) % 2, 1, -1)).astype(np.int16)


def heard(pcm: NDArray[np.int16], ear: Recognizer | None = None) -> list[tuple[str, float]]:
    """The words of each utterance, and the second in which it came."""
    found = (ear or EarlyEnd(Engine(), end_of, one_line, 0.4)).hear_ends(pcm, round(CHUNK_S * RATE))
    return [(utterance.words, round(end / RATE, 2)) for utterance, end in found]


def test_a_whole_line_ends_soon_and_the_engine_alone_ends_it_late() -> None:
    said = sound("next", 3.0)
    ((words, end),) = heard(said)
    assert words == "next"
    assert 0.39 < end - 0.8 < 0.51
    assert heard(said, Engine())[0][1] - 0.8 > 2.0


@pytest.mark.parametrize(
    ("words", "silence_s"), [(("four", "hundred"), 0.8), (("start",), 1.2)]
)
def test_what_may_go_on_waits_longer(words: tuple[str, ...], silence_s: float) -> None:
    ((_, end),) = heard(sound(*words, 3.0))
    assert silence_s - 0.01 < end - 0.5 - 0.3 * len(words) < silence_s + 0.11


@pytest.mark.parametrize("pause_s", [0.3, 0.5, 0.7])
def test_a_reading_with_a_pause_in_it_is_one_line(pause_s: float) -> None:
    found = heard(sound("four", "hundred", pause_s, "microns", 2.0))
    assert [words for words, _ in found] == ["four hundred microns"]


@pytest.mark.parametrize("pause_s", [0.5, 0.8, 1.1])
def test_half_a_sentence_goes_on_after_a_pause(pause_s: float) -> None:
    found = heard(sound("start", pause_s, "hold", 2.0))
    assert [words for words, _ in found] == ["start hold"]


@pytest.mark.parametrize("gap_s", [0.5, 0.6, 0.8, 1.3])
def test_what_does_not_go_on_a_line_is_the_next_one(gap_s: float) -> None:
    found = heard(sound("four", "hundred", gap_s, "next", gap_s, "four", 2.0))
    assert [words for words, _ in found] == ["four hundred", "next", "four"]


def test_a_line_before_one_that_does_not_go_on_it_does_not_wait_for_its_end() -> None:
    found = heard(sound("four", "hundred", 0.6, "start", "hold", "hold", "hold", 2.0))
    first, second = found
    assert first[0] == "four hundred"
    assert second[1] - first[1] > 0.6


def test_the_words_so_far_are_told_while_they_are_held_and_while_they_go_on() -> None:
    ear = EarlyEnd(Engine(), end_of, one_line, 0.4)
    pcm, told = sound("four", "hundred", 0.6, "microns", 1.0), list[str]()
    for at in range(0, len(pcm), 800):
        ear.feed(pcm[at : at + 800])
        if ear.hearing() != (told or [""])[-1]:
            told.append(ear.hearing())
    assert told == ["four", "four hundred", "four hundred microns", ""]


@pytest.mark.parametrize("words", [("next",), ("four", "hundred"), ("microns",)])
@pytest.mark.parametrize("silence_s", [0.1, 0.5, 1.0])
def test_the_end_of_the_sound_ends_what_is_open_once(
    words: tuple[str, ...], silence_s: float
) -> None:
    found = heard(sound(*words, silence_s))
    assert [text for text, _ in found] == [" ".join(words)]


def test_the_end_of_the_sound_brings_both_of_two_lines_that_are_open() -> None:
    found = heard(sound("four", "hundred", 0.5, "four", 0.2))
    assert [words for words, _ in found] == ["four hundred", "four"]


def test_what_is_forgotten_does_not_come_back() -> None:
    ear = EarlyEnd(Engine(), end_of, one_line, 0.4)
    for chunk in np.array_split(sound("four", "hundred", 0.5), 20):
        ear.feed(chunk)
    ear.forget()
    assert ear.hearing() == ""
    assert [words for words, _ in heard(sound("next", 1.0), ear)] == ["next"]


@pytest.mark.parametrize("gap_s", [0.45, 0.7])
def test_two_lines_that_would_mean_the_same_in_one_breath_stay_two(gap_s: float) -> None:
    found = heard(sound("four", "hundred", gap_s, "four", 2.0))
    assert [words for words, _ in found] == ["four hundred", "four"]


@pytest.mark.parametrize("pause_s", [0.35, 0.5, 0.7])
def test_a_reading_in_three_pieces_is_one_line(pause_s: float) -> None:
    found = heard(sound("four", pause_s, "hundred", pause_s, "microns", 2.0))
    assert [words for words, _ in found] == ["four hundred microns"]


@pytest.mark.parametrize("second", ["next", "microns"])
def test_half_a_sentence_and_a_line_that_does_not_fit_it_stay_two(second: str) -> None:
    found = heard(sound("start", 0.6, second, 0.6, "four", 2.0))
    assert [words for words, _ in found] == ["hold", second, "four"]


def test_a_line_ends_after_a_pause_that_is_too_short_to_end_one() -> None:
    found = heard(sound("next", 0.35, "four", 0.35, "next", 2.0))
    assert [words for words, _ in found] == ["next", "four", "next"]


def test_a_long_line_ends_as_soon_as_a_short_one() -> None:
    long = [part for _ in range(15) for part in ("start", 0.1, "hold", 0.1)]
    ((_, end),) = heard(sound(*long, 3.0))
    assert end - 0.5 - 0.4 * 30 < 0.75


def test_of_a_line_that_is_too_long_to_hear_again_nothing_is_lost() -> None:
    long = [part for _ in range(15) for part in ("start", 0.1, "next", 0.1)]
    found = heard(sound(*long, "start", 0.6, "hold", 2.0))
    assert [words for words, _ in found] == ["start next " * 15 + "start", "hold"]


def test_silence_alone_is_no_line() -> None:
    assert heard(sound(8.0)) == []


@pytest.mark.parametrize("pause_s", [0.3, 0.36, 0.5])
def test_a_line_that_the_engine_ends_while_someone_speaks_on_is_one(pause_s: float) -> None:
    said = sound("four", "hundred", pause_s, "microns", 0.2, 2.0)
    assert [words for words, _ in heard(said, Hasty())] == ["four hundred", "microns"]
    found = heard(said, EarlyEnd(Hasty(), end_of, one_line, 0.4))
    assert [words for words, _ in found] == ["four hundred microns"]


@pytest.mark.parametrize("bang_s", [0.02, 0.06, 0.3])
def test_a_bang_after_a_reading_does_not_keep_it_until_someone_speaks(bang_s: float) -> None:
    bang = np.where(np.arange(round(bang_s * RATE)) % 2, 9000, -9000).astype(np.int16)
    said = np.concatenate([sound("four", "hundred", 0.5), bang, sound(6.0)])
    ((words, end),) = heard(said)
    assert words == "four hundred"
    assert end < 0.5 + 0.6 + 1.3


def test_a_machine_that_starts_after_a_reading_does_not_keep_it() -> None:
    machine = np.where(np.arange(6 * RATE) % 2, 9000, -9000).astype(np.int16)
    ((words, end),) = heard(np.concatenate([sound("four", "hundred", 0.5), machine]))
    assert words == "four hundred"
    assert end < 0.5 + 0.6 + 0.5 + 1.7


@pytest.mark.parametrize("silence_s", [5.0, 9.0, 30.0])
def test_after_a_long_silence_a_line_ends_as_soon(silence_s: float) -> None:
    ((words, end),) = heard(sound(silence_s, "next", 3.0))
    assert words == "next"
    assert 0.39 < end - 0.5 - silence_s - 0.3 < 0.51


def test_half_a_sentence_after_a_long_silence_goes_on() -> None:
    assert [words for words, _ in heard(sound(30.0, "start", 0.8, "hold", 2.0))] == ["start hold"]


def test_the_sound_of_a_line_let_go_late_ends_where_the_next_one_begins() -> None:
    ear, shares = EarlyEnd(Engine(), end_of, one_line, 0.4), list[tuple[str, float]]()
    pcm, step = sound("four", 0.6, "next", 1.0), round(CHUNK_S * RATE)
    for at in range(0, len(pcm), step):
        if found := ear.feed(pcm[at : at + step]):
            shares.append((found.words, at / RATE + CHUNK_S - ear.open_s()))
    (four, four_ends), (next_, next_ends) = shares
    assert (four, next_) == ("four", "next")
    assert 0.8 < four_ends < 1.4  # in the silence between them
    assert next_ends > 1.7


def test_a_line_before_a_long_one_does_not_wait_until_that_is_over() -> None:
    long = ["hundred"] * 9  # one word, drawn out
    (four, four_s), (_, hundred_s) = heard(sound("four", 0.6, *long, 2.0))
    assert four == "four"
    assert four_s < 0.5 + 0.3 + 0.6 + 2.2
    assert hundred_s > 0.5 + 0.3 + 0.6 + 2.7


def test_a_line_comes_as_soon_as_the_next_ones_words_are_known_to_be_another_line() -> None:
    (first, first_s), (second, second_s) = heard(sound("four", "hundred", 0.6, "four", 2.0))
    said_s = 0.5 + 0.6 + 0.6 + 0.3
    assert (first, second) == ("four hundred", "four")
    assert first_s - said_s < 0.45
    assert second_s - said_s > 0.75


def test_an_engine_is_not_asked_for_its_words_at_every_piece_of_sound() -> None:
    asked = list[str]()

    class Asked(Engine):
        def hearing(self) -> str:
            asked.append(super().hearing())
            return asked[-1]

    ear, pcm = EarlyEnd(Asked(), end_of, one_line, 0.4), sound(10.0)
    for at in range(0, len(pcm), round(CHUNK_S * RATE)):
        ear.feed(pcm[at : at + round(CHUNK_S * RATE)])
        ear.hearing()
    assert 10 < len(asked) < 100  # of 200 pieces
