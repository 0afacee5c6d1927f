"""The shipped speech model fits the grammar and hears the recorded jobs without a wrong value."""

import random
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands.wiring.recorded_jobs import RecordedLine, read_job, shipped_jobs
from fieldvoice.devices.recognizer import UNKNOWN, Recognizer, Utterance
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.devices.vosk_result import BEGINS
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.language.decoding_graph import compile_acceptor, random_sentence, words
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand
from fieldvoice.training.evaluate.alignment import edits
from fieldvoice.training.evaluate.scoring import Result, judged
from fieldvoice.training.graph import graph_digest
from support.shipped_acceptor import shipped_acceptor

LINES = {
    f"{folder.name} {line.sound.stem}": line
    for folder in shipped_jobs()
    for line in read_job(folder).lines
    if line.sound is not None
}


@cache
def recognizer() -> Recognizer:
    return VoskRecognizer(OWN_MODEL)


@cache
def heard(sound: Path) -> Utterance:
    return recognizer().hear(read_sound(sound))


def result(line: RecordedLine) -> Result:
    assert line.sound is not None
    utterance = heard(line.sound)
    parts = utterance.parts if utterance.words else ()
    return Result(tuple(line.text.split()), tuple(p.text for p in parts),
                  tuple(p.confidence for p in parts), 1.0, 0.0,
                  tuple((way.words, way.share) for way in utterance.ways))  # fmt: skip


def is_for_us(line: RecordedLine) -> bool:
    return shipped_acceptor().cost(line.text.split()) is not None


@pytest.mark.parametrize("name", LINES)
def test_a_recorded_line_is_heard_right_or_not_believed(name: str) -> None:
    line = LINES[name]
    verdict = judged(result(line), talk=not is_for_us(line))
    believed = verdict.decision is Decision.ACCEPT and not isinstance(verdict.heard, NotUnderstood)
    assert verdict.same_meaning or not believed, f"{line.text!r} was heard as {heard(line.sound)}"


def test_nine_in_ten_recorded_lines_are_heard_word_for_word() -> None:
    ours = [result(line) for line in LINES.values() if is_for_us(line)]
    right = sum(r.said == r.heard for r in ours)
    missed = [(" ".join(r.said), " ".join(r.heard)) for r in ours if r.said != r.heard]
    assert right >= 0.9 * len(ours), missed


def test_the_recordings_hold_talk_for_others_and_readings() -> None:
    assert any(not is_for_us(line) for line in LINES.values())
    assert sum(understand(line.text).name() == "reading" for line in LINES.values()) >= 10


def test_the_graph_is_made_from_the_present_grammar() -> None:
    made_from = (OWN_MODEL / "graph" / graph_digest.NAME).read_text().strip()
    assert made_from == graph_digest.digest(shipped_acceptor()), (
        "the grammar has changed: run python -m fieldvoice.training.graph.export"
    )


def test_another_grammar_has_another_digest() -> None:
    assert graph_digest.digest(compile_acceptor(root="number")) != graph_digest.digest(
        shipped_acceptor()
    )


def test_the_graph_knows_exactly_the_words_of_the_grammar() -> None:
    listed = (OWN_MODEL / "graph" / "words.txt").read_text().splitlines()
    heard = {line.split()[0].removeprefix(BEGINS) for line in listed}
    assert heard == {"<eps>", UNKNOWN, *words()}


def test_the_model_is_small_enough_to_ship_and_large_enough_to_be_whole() -> None:
    size = sum(path.stat().st_size for path in OWN_MODEL.rglob("*") if path.is_file())
    assert 5e6 <= size <= 15e6


def test_silence_is_no_line() -> None:
    quiet = np.random.default_rng(3).normal(0, 3, 32_000).round().astype(np.int16)
    assert recognizer().hear(quiet).words == ""


@pytest.mark.parametrize(
    ("said", "heard", "expected"),
    [
        ("four hundred", "four hundred", 0),
        ("four hundred", "four hundred ten", 1),
        ("four hundred ten", "hundred ten", 1),
        ("four hundred ten", "nine hundred ten", 1),
        ("four", "", 1),
        ("one two three", "two three four", 2),
    ],
)
def test_word_errors_are_counted(said: str, heard: str, expected: int) -> None:
    assert edits(said.split(), heard.split()) == expected


def test_word_errors_are_the_same_both_ways_and_no_more_than_the_words() -> None:
    rng = random.Random(5)
    for _ in range(200):
        said, other = random_sentence(rng), random_sentence(rng)
        distance = edits(said, other)
        assert abs(len(said) - len(other)) <= distance <= max(len(said), len(other))
        assert distance == edits(other, said)
