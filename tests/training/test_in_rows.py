"""Lines said one after another: which of what is heard belongs to which line."""

import numpy as np
from numpy.typing import NDArray

from fieldvoice.devices.recognizer import CHUNK, RATE, Recognizer, Utterance, Way, Word
from fieldvoice.training.evaluate import listeners, samples
from fieldvoice.training.evaluate.listeners import Heard
from fieldvoice.training.evaluate.samples import Sample


class Told(Recognizer):
    """Stands in for the recognizer: says given words once so many chunks were heard."""

    def __init__(self, said: dict[int, str], at_the_end: str = "") -> None:
        self.said, self.chunks, self.at_the_end = said, 0, at_the_end

    def forget(self) -> None:
        self.chunks = 0

    def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
        self.chunks += 1
        return _utterance(self.said.get(self.chunks))

    def finish(self) -> Utterance | None:
        last, self.at_the_end = self.at_the_end, ""
        return _utterance(last or None)


def _utterance(words: str | None) -> Utterance | None:
    if words is None:
        return None
    parts = tuple(Word(w, 0.0, 1.0, 0.9) for w in words.split())
    if words == "[unk]":
        return Utterance("", 0.0, parts)
    return Utterance(words, 0.9, parts, (Way(words, 1.0),))


def _heard(told: Told, chunks: int, ends: list[int]) -> list[Heard]:
    sound = np.zeros(chunks * CHUNK, np.int16)
    return listeners._by_end(told, sound, [end * CHUNK for end in ends], CHUNK)


def test_what_ends_after_a_line_and_before_the_end_of_the_next_is_that_line() -> None:
    told = Told({5: "next", 9: "no leak"}, at_the_end="stop")
    heard = _heard(told, 12, [2, 6, 11])
    assert [one.words for one in heard] == [("next",), ("no", "leak"), ("stop",)]
    assert heard[1].ways == (("no leak", 1.0),)


def test_lines_that_run_together_are_heard_as_the_second_and_not_as_the_first() -> None:
    heard = _heard(Told({9: "next no leak"}), 12, [2, 6])
    assert [one.words for one in heard] == [(), ("next", "no", "leak")]


def test_a_line_in_pieces_is_no_sentence_and_noise_is_no_piece() -> None:
    heard = _heard(Told({4: "four hundred", 6: "[unk]", 7: "microns"}), 10, [3])
    assert heard[0].words == ("four", "hundred", "microns")
    assert heard[0].ways == ()
    assert _heard(Told({4: "four", 6: "[unk]"}), 10, [3])[0].ways == (("four", 1.0),)


def test_the_ends_are_where_each_sentence_falls_silent() -> None:
    loud = [Sample(np.full(n, 9000, np.int16), ("one",), "made up") for n in (8000, 4000)]
    sound, ends = samples.in_a_row(loud, 0.7, seed=1)
    for end in ends:
        assert np.abs(sound[end - 400 : end]).min() > 8000
        assert np.abs(sound[end : end + round(0.6 * RATE)]).max() < 100


def test_silence_that_a_voice_leaves_behind_a_sentence_is_no_part_of_it() -> None:
    voice = np.concatenate([np.full(8000, 9000, np.int16), np.full(6000, 2, np.int16)])
    lines = [Sample(voice, ("one",), "made up") for _ in range(2)]
    sound, (first, second) = samples.in_a_row(lines, 0.6, seed=1)
    assert second - first == len(voice) + 0.6 * RATE
    assert np.abs(sound[first - 400 : first]).min() > 8000
    assert np.abs(sound[first : first + 6000]).max() < 100


def test_live_work_is_measured_as_it_hears_and_a_noise_lies_over_the_pauses_too() -> None:
    loud = [Sample(np.full(8000, 9000, np.int16), ("one",), "made up") for _ in range(2)]
    quiet, ends = listeners._row(loud, "0.7 s apart", 1, 0)
    noisy, noisy_ends = listeners._row(loud, "0.7 s apart, fan 10", 1, 0)
    assert (noisy_ends, len(noisy)) == (ends, len(quiet))
    pause = slice(ends[0] + 800, ends[0] + 8000)
    assert np.abs(quiet[pause]).max() < 100 < np.abs(noisy[pause]).max()


class Late(Told):
    """Passes a line on when the next one is being said, and tells that."""

    def open_s(self) -> float:
        return 1.5


def test_a_line_that_is_passed_on_late_is_told_by_where_its_sound_ends() -> None:
    heard = _heard(Late({11: "next", 18: "no leak"}), 20, [4, 10])
    assert [one.words for one in heard] == [("next",), ("no", "leak")]
