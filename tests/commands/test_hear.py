"""Hearing sound files: words, confidence and meaning, and what a job would decide."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from fieldvoice.__main__ import main
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from support.heard_back import sound
from support.wav_file import write_wav

Capture = pytest.CaptureFixture[str]
RECORDED = Path(str(resources.files("fieldvoice.recordings_demo")))
pytestmark = pytest.mark.skipif(
    not (OWN_MODEL / "am" / "final.mdl").is_file(),
    reason="the speech model is not in this checkout",
)


def heard(capsys: Capture, *arguments: str) -> list[dict[str, Any]]:
    assert main(["hear", "--json", *arguments]) == 0
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_hear_prints_words_confidence_and_meaning(
    tmp_path: Path, capsys: Capture
) -> None:
    paths = [tmp_path / "a.wav", tmp_path / "empty.wav", tmp_path / "b.wav"]
    write_wav(paths[0], sound("vacuum four hundred twelve microns"))
    paths[1].write_bytes(b"")
    write_wav(paths[2], sound("next"))
    assert main(["hear", "--json", *map(str, paths)]) == 2  # one of them is no sound
    told = capsys.readouterr()
    first, second = map(json.loads, told.out.splitlines())
    assert first["file"] == str(paths[0])
    assert (first["quantity"], first["value"], first["unit"]) == ("vacuum", "412", "microns")
    assert 0.0 < first["confidence"] <= 1.0
    assert (second["intent"], second["words"]) == ("next", "next")
    assert "empty.wav is empty" in told.err


@pytest.mark.parametrize(
    ("file", "words", "decision"),
    [
        ("bakery-unit-two/35.flac", "mildly flammable", "taken"),
        ("clinic-east-wing/25.flac", "six fifty", "asked-back"),  # or six fifteen, which was said
        ("bakery-unit-two/10.flac", "", "lost"),  # talk, not one word of ours in it
    ],
)
def test_what_a_job_would_decide_is_told(
    file: str, words: str, decision: str, capsys: Capture
) -> None:
    (told,) = heard(capsys, str(RECORDED / file))
    assert (told["words"], told["decision"]) == (words, decision)


@pytest.mark.parametrize(
    ("file", "begin", "end", "decision"),
    [
        ("clinic-east-wing/25-again.flac", 0.3, 0.8, "asked-back"),  # of "six fifteen"
        ("bakery-unit-two/13.flac", 0.3, 0.8, "asked-back"),  # "two three hundred": a range?
    ],
)
def test_of_a_line_cut_off_no_part_is_taken(
    file: str, begin: float, end: float, decision: str, tmp_path: Path, capsys: Capture
) -> None:
    pcm = read_sound(RECORDED / file)
    write_wav(tmp_path / "part.wav", pcm[int(begin * len(pcm)) : int(end * len(pcm))])
    (told,) = heard(capsys, str(tmp_path / "part.wav"))
    assert told["words"]
    assert told["decision"] == decision


def test_the_likeliest_meanings_are_told_with_their_fields_and_confidence(capsys: Capture) -> None:
    unsure, sure, none = heard(capsys, *(
        str(RECORDED / file)
        for file in ("clinic-east-wing/25-again.flac", "bakery-unit-two/35.flac",
                     "bakery-unit-two/10.flac")
    ))  # fmt: skip
    assert len(unsure["meanings"]) == 4
    assert [m["value"] for m in unsure["meanings"][:2]] == ["650", "615"]
    confidences = [m["confidence"] for m in unsure["meanings"]]
    assert confidences == sorted(confidences, reverse=True)
    assert sum(confidences) < 1
    for told in (unsure, sure):
        first = told["meanings"][0]
        assert first == {name: told[name] for name in first}
    assert [m["option"] for m in sure["meanings"]] == ["mildly-flammable"]
    assert none["meanings"] == []


def test_the_help_says_what_each_decision_means(capsys: Capture) -> None:
    assert main(["hear", "--help"]) == 0
    told = capsys.readouterr().out
    assert all(f"\n  {name} " in told for name in ("taken", "asked-back", "ignored", "lost"))
