"""fieldvoice learn-voice from end to end, on recorded lines of the demo (a synthetic voice)."""

import json
from dataclasses import replace
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.recorded_jobs import read_job
from fieldvoice.commands.wiring.voices import held_back, learning
from fieldvoice.commands.wiring.voices.spoken_lines import from_job
from fieldvoice.devices.joblog import JobLog, read_log
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.jobstate.events import LineHeard, LineReviewed
from fieldvoice.ownvoice.network import identity
from support.job_with_sound import AT, job_with_sound, tone
from support.wav_file import write_wav

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")
DEMO = Path(str(resources.files("fieldvoice.recordings_demo"))) / "print-shop"
LINES = 22


@pytest.fixture(scope="module")
def spoken() -> dict[str, str]:
    """Files of the demo and their words."""
    found = {line.sound.name: line.text for line in read_job(DEMO).lines if line.sound}
    return dict(list(found.items())[:LINES])


@pytest.fixture
def data(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(learning, "HOW", replace(learning.HOW, rounds=1))
    monkeypatch.setattr(held_back, "EVERY", 11)
    return tmp_path / "data" / "fieldvoice"


@pytest.fixture
def folder(tmp_path, spoken) -> Path:
    place = tmp_path / "sounds"
    place.mkdir()
    listed = []
    for name, words in spoken.items():
        write_wav(place / f"{name}.wav", read_sound(DEMO / name))
        listed.append(f"{name}.wav {words}\n")
    (place / "lines.txt").write_text("".join(listed))
    return place


def test_a_voice_is_learned_listed_used_and_forgotten(data, folder, capsys):
    assert main(["learn-voice", "dana", "--from", str(folder)]) == 0
    told = capsys.readouterr().out
    assert "rightly understood" in told
    voice = data / "voices" / "dana" / "voice"
    assert voice.stat().st_size < 200_000
    assert main(["learn-voice", "--list", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["name"] == "dana"
    one = sorted(folder.glob("*.wav"))[0]
    for _ in range(2):  # laid out, and found there again
        assert main(["hear", "--voice-of", "dana", str(one)]) == 0
    (laid_out,) = (data.parents[1] / "cache" / "fieldvoice" / "voices").iterdir()
    final = (laid_out / "am" / "final.mdl").read_bytes()
    assert final != (OWN_MODEL / "am" / "final.mdl").read_bytes()
    assert main(["learn-voice", "--forget", "dana"]) == 0
    assert not voice.parent.exists()
    assert not laid_out.exists()
    assert main(["hear", "--voice-of", "dana", str(one)]) == 2
    assert "no voice of dana" in capsys.readouterr().err


def test_a_voice_that_is_heard_worse_is_not_kept_and_the_old_one_stays(
    data, folder, monkeypatch, capsys
):
    old = data / "voices" / "dana" / "voice"
    old.parent.mkdir(parents=True)
    old.write_bytes(b"the old one")

    def spoilt(weights, *_):
        change = identity(weights)
        change["output.shift"] = np.full(len(change["output.shift"]), -50, np.float32)
        change["output.shift"][0] = 0  # silence, whatever is said
        return change

    monkeypatch.setattr(learning, "fit", spoilt)
    assert main(["learn-voice", "dana", "--from", str(folder)]) == 1
    assert "worse than without it, so nothing new is kept" in capsys.readouterr().out
    assert old.read_bytes() == b"the old one"


def test_wrong_text_is_left_out_and_too_few_lines_are_refused(data, folder, spoken, capsys):
    words = list(spoken.values())
    listed = [f"{name}.wav {other}\n" for name, other in
              zip(spoken, [*words[1:], words[0]], strict=True)]
    (folder / "lines.txt").write_text("".join(listed))
    assert main(["learn-voice", "dana", "--from", str(folder)]) == 2
    told = capsys.readouterr().err
    assert "lines can be learned from, and 20 are needed" in told
    assert told.count("does not sound like") > LINES / 2
    assert not (data / "voices").exists()


@pytest.mark.parametrize("name", ["../up", "a/b", "", " ", ".", "..", "-x", "a\nb", "n" * 61])
def test_a_name_that_leads_elsewhere_is_refused(data, name, capsys):
    assert main(["learn-voice", f"--forget={name}"]) == 2
    assert "is not a name for a voice" in capsys.readouterr().err


def test_without_a_name_it_says_how(data, capsys):
    assert main(["learn-voice"]) == 2
    assert "fieldvoice learn-voice NAME" in capsys.readouterr().err


def test_an_unknown_voice_is_refused_before_a_job_is_begun(data, capsys):
    assert main(["work", "evacuate-and-release", "--typed", "--voice-of", "nobody"]) == 2
    assert "no voice of nobody; fieldvoice learn-voice nobody learns it" in capsys.readouterr().err
    assert not (data / "jobs").exists()


def test_reviewed_lines_of_a_job_are_learned_from(tmp_path):
    job = tmp_path / "job"
    job_with_sound(job, "next", "make that back", "done", "undone")
    heard = [x.seq for x in read_log(job).entries if isinstance(x.event, LineHeard)]
    with JobLog(job) as log:
        log.append(LineReviewed(heard[0], True, "ann"), AT)
        log.append(LineReviewed(heard[1], False, "ann", words="Take that back."), AT)
        log.append(LineReviewed(heard[2], False, "ann"), AT)  # what was said is not known
    found = from_job(job, [])
    assert [line.words for line in found] == ["next", "take that back"]
    assert found[1].sound.tobytes() == tone(hertz=400.0)


def test_the_newest_word_on_a_line_holds(tmp_path):
    job = tmp_path / "job"
    job_with_sound(job, "next")
    (heard,) = (x.seq for x in read_log(job).entries if isinstance(x.event, LineHeard))
    with JobLog(job) as log:
        log.append(LineReviewed(heard, True, "ann"), AT)
        log.append(LineReviewed(heard, False, "bob"), AT)
    assert from_job(job, []) == []


def test_recordings_are_removed_where_they_are_not_to_be_kept(data, folder, spoken):
    lines = data / "voices" / "dana" / "lines"
    lines.parent.mkdir(parents=True)
    folder.rename(lines)
    assert main(["learn-voice", "dana", "--from", str(another(lines)), "--no-keep"]) in (0, 1)
    assert not lines.exists()


def another(lines: Path) -> Path:
    """A folder with a list of nothing."""
    empty = lines.parents[3] / "empty"
    empty.mkdir()
    (empty / "lines.txt").write_text("")
    return empty
