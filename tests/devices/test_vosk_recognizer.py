"""Vosk: wrong folders are refused before its library sees them; sound becomes words."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.devices.mouth.espeak import synthesize
from fieldvoice.devices.recognizer import ModelError, Recognizer
from fieldvoice.devices.soundfile import RATE, resample, to_int16
from fieldvoice.devices.vosk_recognizer import (
    OWN_MODEL,
    VoskRecognizer,
    check_model,
    is_own,
)
from fieldvoice.devices.vosk_result import sentences, utterance
from fieldvoice.language.parser import understand
from fieldvoice.training.evaluate.samples import Sample
from fieldvoice.training.speech.wordless_sound import minutes_of_sound

FST = bytes.fromhex("d6fdb27e") + b"\0" * 40
FILES = {
    "am/final.mdl": b"\0B<TransitionModel> ",
    "conf/mfcc.conf": b"",
    "conf/model.conf": b"",
    "graph/words.txt": b"<eps> 0\n",
    "graph/HCLr.fst": FST,
    "graph/Gr.fst": FST,
}
needs_model = pytest.mark.skipif(
    not (OWN_MODEL / "am" / "final.mdl").is_file(),
    reason="the speech model is not in this checkout",
)


def model_folder(folder: Path, **changes: bytes | None) -> Path:
    """A folder laid out like a model; each change replaces a file's bytes, or leaves it out."""
    for name, data in {**FILES, **{k.replace("__", "/"): v for k, v in changes.items()}}.items():
        if data is not None:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(data)
    return folder


def test_a_folder_in_either_layout_passes(tmp_path: Path) -> None:
    check_model(model_folder(tmp_path / "a"))
    whole = {"graph/HCLr.fst": None, "graph/Gr.fst": None, "graph/HCLG.fst": FST}
    check_model(model_folder(tmp_path / "b", **whole))


@pytest.mark.parametrize("name", FILES)
def test_a_missing_file_is_named(tmp_path: Path, name: str) -> None:
    with pytest.raises(ModelError, match=f"{name}.* is missing.*--model"):
        check_model(model_folder(tmp_path, **{name: None}))


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst", "graph/Gr.fst"])
def test_a_damaged_file_is_named(tmp_path: Path, name: str) -> None:
    with pytest.raises(ModelError, match=f"{name} is damaged"):
        check_model(model_folder(tmp_path, **{name: b"version https://large-file-pointer"}))


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="no speech model at"):
        check_model(tmp_path / "nowhere")


def test_what_the_library_cannot_load_is_one_clear_error_and_no_chatter(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(ModelError, match="cannot load the speech model"):
        VoskRecognizer(model_folder(tmp_path))
    assert capfd.readouterr().err == ""


def test_a_model_with_our_mark_is_our_own(tmp_path: Path) -> None:
    assert not is_own(model_folder(tmp_path))
    (tmp_path / "fieldvoice.json").write_text("{}")
    assert is_own(tmp_path)
    assert is_own(OWN_MODEL)


def way(score: float, *words: str) -> dict[str, object]:
    """A way of hearing as Vosk tells it, each word a tenth of a second long."""
    timed = [{"word": w, "start": 0.1 * n, "end": 0.1 * n + 0.1} for n, w in enumerate(words)]
    return {"confidence": score, "text": " ".join(words), "result": timed}


def told(*ways: dict[str, object]) -> str:
    return json.dumps({"alternatives": ways})


NO_WORDS = json.dumps({"alternatives": [{"confidence": 1.0, "text": ""}]})


@pytest.mark.parametrize(
    ("result", "words", "confidence"),
    [
        (told(way(9.0, "four", "hundred", "microns")), "four hundred microns", 1.0),
        (told(way(math.log(3), "four", "ten"), way(0.0, "nine", "ten")), "four ten", 0.75),
        (told(way(math.log(3), "four"), way(0.0, "[unk]")), "four", 0.75),
        (told(way(9.0, "[unk]", "[unk]")), "", 0.0),
        (told(way(9.0, "[unk]", "next")), "[unk] next", 1.0),
        (NO_WORDS, "", 0.0),
    ],
)
def test_the_least_certain_word_counts_and_unknown_sound_alone_is_no_words(
    result: str, words: str, confidence: float
) -> None:
    found = utterance(result)
    assert (found.words, found.confidence) == (words, pytest.approx(confidence))


def test_sentences_with_a_pause_between_them_are_told_one_by_one() -> None:
    one, two = sentences(told(
        way(math.log(6), "four", "hundred", "|next", "step"),
        way(math.log(2), "nine", "hundred", "|next", "step"),
        way(math.log(1), "four", "hundred", "next", "step"),
        way(math.log(1), "four", "hundred", "|next"),
    ))  # fmt: skip
    assert (one.words, two.words) == ("four hundred", "next step")
    assert {w.words: round(w.share, 3) for w in one.ways} == {
        "four hundred": 0.7, "nine hundred": 0.2, "four hundred next step": 0.1}  # fmt: skip
    assert one.ways[0].words == one.words
    assert {w.words: round(w.share, 3) for w in two.ways} == {
        "next step": 0.8, "four hundred next step": 0.1, "next": 0.1}  # fmt: skip
    assert (one.confidence, two.confidence) == (pytest.approx(0.8), pytest.approx(0.9))
    assert [p.text for p in two.parts] == ["next", "step"]


def test_talk_before_or_after_a_sentence_is_no_part_of_it() -> None:
    talk, line = sentences(told(way(1.0, "[unk]", "|next")))
    assert (talk.words, line.words) == ("", "next")
    assert sentences(NO_WORDS) == []


def test_times_are_seconds_whatever_step_the_network_takes() -> None:
    (one,) = sentences(told(way(1.0, "four", "hundred")), pace=4 / 3)
    assert one.parts[1].end == pytest.approx(0.2 * 4 / 3)


def test_a_word_is_believed_as_far_as_the_ways_that_have_it_at_its_place() -> None:
    found = utterance(told(way(math.log(6), "one", "two"), way(math.log(3), "one", "three"),
                            way(0.0, "two", "one")))  # fmt: skip
    assert [p.confidence for p in found.parts] == pytest.approx([0.9, 0.6])
    assert [(w.words, round(w.share, 3)) for w in found.ways] == [
        ("one two", 0.6), ("one three", 0.3), ("two one", 0.1),
    ]  # fmt: skip


# --- with the model -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def ear() -> Recognizer:
    return VoskRecognizer(OWN_MODEL)


def spoken(text: str) -> NDArray[np.int16]:
    samples, rate = synthesize(text, 140)
    return to_int16(resample(samples / 32768.0, rate, RATE))


@needs_model
@pytest.mark.parametrize("word", ["two", "eight", "no", "tight"])
def test_a_short_word_by_itself_is_heard(ear: Recognizer, word: str) -> None:
    assert ear.hear(spoken(word)).words == word


@needs_model
@pytest.mark.parametrize(
    "sample", minutes_of_sound(0.5, seed=5), ids=lambda sample: sample.voice
)
def test_knocks_and_machines_are_no_words(ear: Recognizer, sample: Sample) -> None:
    assert [u.words for u in ear.hear_lines(sample.sound) if u.words] == []


@needs_model
@pytest.mark.parametrize(
    "text", ["four hundred twelve microns", "start a ten minute hold", "next", "take that back"]
)
def test_a_spoken_line_is_heard_in_order_and_with_confidence(
    text: str, ear: Recognizer
) -> None:
    found = ear.hear(spoken(text))
    # "ten minute hold" and "ten minutes hold" ask for the same; what counts is what is understood.
    assert understand(found.words, typed=False) == understand(text, typed=False)
    assert 0.0 < found.confidence <= 1.0
    starts = [part.start for part in found.parts]
    assert starts == sorted(starts)
    assert all(part.start < part.end for part in found.parts)


@needs_model
@pytest.mark.parametrize("pause_s", [0.8, 1.2])
def test_a_line_ends_with_its_pause_though_its_last_word_begins_a_longer_one(
    pause_s: float, ear: Recognizer
) -> None:
    # "pound" begins "pounds", "leak" begins "leaks": neither may wait for the rest
    lines = ["no leak", "never mind", "enter three pound", "end of note", "where am i"]
    pause = np.zeros(round(pause_s * 16_000), dtype=np.int16)
    sounds = [spoken(line) for line in lines]
    ends = [np.flatnonzero(np.abs(sound) > 60)[-1] for sound in sounds]
    whole = [p for sound, end in zip(sounds, ends, strict=True) for p in (sound[:end], pause)]
    found = [u.words for u in ear.hear_lines(np.concatenate(whole)) if u.words]
    assert [understand(w, typed=False) for w in found] == [
        understand(line, typed=False) for line in lines
    ]


@needs_model
def test_hearing_the_same_sound_again_gives_the_same_words(ear: Recognizer) -> None:
    pcm = spoken("suction one eighteen")
    assert ear.hear(pcm).words == ear.hear(pcm).words


@needs_model
@pytest.mark.parametrize("level", [0, 3, 300])
def test_silence_and_hiss_are_no_words(level: int, ear: Recognizer) -> None:
    hiss = np.random.default_rng(1).normal(0, level + 1e-9, 32_000).astype(np.int16)
    assert ear.hear(hiss).words == ""


@needs_model
def test_nothing_is_open_while_a_long_silence_goes_on(ear: Recognizer) -> None:
    ear.forget()
    silence = np.zeros(1_600, dtype=np.int16)
    for _ in range(80):  # the recognizer ends an utterance without words after five seconds
        assert ear.feed(silence) is None
        assert ear.hearing() == ""
    said = spoken("next")
    found = [ear.feed(part) for part in np.array_split(np.concatenate([said, *[silence] * 8]), 20)]
    assert [u.words for u in found if u] == ["next"]


@needs_model
def test_a_stream_is_cut_at_silences(ear: Recognizer) -> None:
    pause = np.zeros(24_000, dtype=np.int16)
    lines = ["four hundred twelve microns", "next"]
    sound = np.concatenate([part for line in lines for part in (spoken(line), pause)])
    assert [u.words for u in ear.hear_lines(sound, chunk=1_600)] == lines


@needs_model
@pytest.mark.parametrize("text", ["take that back", "next", "start the hold"])
def test_a_foreign_model_hears_the_phrases_of_the_same_grammar(
    text: str, tmp_path: Path
) -> None:
    foreign = tmp_path / "foreign"
    foreign.mkdir()
    for part in ("am", "conf", "graph"):  # without fieldvoice.json nobody knows whose it is
        (foreign / part).symlink_to(OWN_MODEL / part)
    heard = load_recognizer(foreign).hear(spoken(text))
    assert understand(heard.words, typed=False) == understand(text, typed=False)


@needs_model
def test_a_foreign_model_hears_nothing_but_the_phrases() -> None:
    foreign = VoskRecognizer(OWN_MODEL, ["four hundred", "microns"])
    pcm = spoken("four hundred twelve microns")
    assert set(foreign.hear(pcm).words.split()) <= {"four", "hundred", "microns", "[unk]"}
