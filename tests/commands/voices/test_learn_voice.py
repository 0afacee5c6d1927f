"""fieldvoice learn-voice from end to end, on recorded lines of the demo (a synthetic voice)."""

import json
from dataclasses import replace
from importlib import resources
from pathlib import Path
from types import SimpleNamespace

import pytest

from fieldvoice.__main__ import main
from fieldvoice.acoustics.final_mdl import read_weights
from fieldvoice.commands.wiring.recorded_jobs import read_job
from fieldvoice.commands.wiring.voices import held_back, learning
from fieldvoice.commands.wiring.voices.used import laid_out
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.ownvoice.adapted_model import with_adaptation
from fieldvoice.ownvoice.network import Adaptation, identity
from fieldvoice.ownvoice.verdict import Hearing
from support.wav_file import write_wav

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")
DEMO = Path(str(resources.files("fieldvoice.recordings_demo"))) / "print-shop"
LINES = 22
DEAF = 9.0  # by so much it takes silence for likelier, as a logarithm


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


def _lean(by: float) -> Adaptation:
    """A change under which the model takes silence for less likely, or for more."""
    change = identity(read_weights((OWN_MODEL / "am" / "final.mdl").read_bytes()))
    change["output.shift"][0] = by
    return change


@pytest.fixture
def deaf(tmp_path, monkeypatch) -> Path:
    """A model that hears this speaker badly, and a fit that finds out why."""
    final = (OWN_MODEL / "am" / "final.mdl").read_bytes()
    monkeypatch.setattr(learning, "fit", lambda *_: _lean(-DEAF))
    return laid_out(OWN_MODEL, with_adaptation(final, _lean(DEAF)), tmp_path / "deaf-1")


def test_a_voice_is_learned_listed_used_and_forgotten(data, folder, deaf, capsys):
    model = ["--model", str(deaf)]
    assert main(["learn-voice", "dana", "--from", str(folder), *model]) == 0
    told = capsys.readouterr().out
    assert "rightly understood" in told
    assert "Use it with --voice-of dana" in told
    voice = data / "voices" / "dana" / "voice"
    assert voice.stat().st_size < 200_000
    assert main(["learn-voice", "--list", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert listed["name"] == "dana"
    assert listed["after"]["meaning"] > listed["before"]["meaning"]
    one = sorted(folder.glob("*.wav"))[0]
    for _ in range(2):  # laid out, and found there again
        assert main(["hear", "--voice-of", "dana", *model, str(one)]) == 0
    (laid,) = (data.parents[1] / "cache" / "fieldvoice" / "voices").iterdir()
    assert (laid / "am" / "final.mdl").read_bytes() != (deaf / "am" / "final.mdl").read_bytes()
    assert main(["learn-voice", "--forget", "dana"]) == 0
    assert not voice.parent.exists()
    assert not laid.exists()
    assert main(["hear", "--voice-of", "dana", *model, str(one)]) == 2
    assert "no voice of dana" in capsys.readouterr().err


def _old_voice(data: Path) -> Path:
    old = data / "voices" / "dana" / "voice"
    old.parent.mkdir(parents=True)
    old.write_bytes(b"the old one")
    return old


def test_a_voice_that_is_heard_worse_is_not_kept_and_the_old_one_stays(
    data, folder, monkeypatch, capsys
):
    old = _old_voice(data)
    monkeypatch.setattr(learning, "fit", lambda *_: _lean(50))  # silence, whatever is said
    assert main(["learn-voice", "dana", "--from", str(folder)]) == 1
    told = capsys.readouterr().out
    assert "Nothing new is kept" in told
    assert "are misunderstood with it" in told
    assert f"the voice learned earlier stays as it was, in {old}" in told
    assert old.read_bytes() == b"the old one"


def test_a_voice_that_is_heard_as_well_is_not_kept_either(data, folder, monkeypatch, capsys):
    old = _old_voice(data)
    monkeypatch.setattr(learning, "fit", lambda *_: _lean(0))
    assert main(["learn-voice", "dana", "--from", str(folder), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["kept"] is False
    assert told["why_not"] == "as many are misunderstood or asked back as without it"
    assert told["before"] == told["after"]
    assert old.read_bytes() == b"the old one"


def test_nothing_is_learned_from_the_lines_that_it_is_judged_by(data, folder, monkeypatch):
    fitted, judged = [], []

    def fit(weights, lines, *_):
        fitted.append({line.sound.tobytes() for line in lines})
        return _lean(0)

    def heard(model, lines):
        judged.append({line.sound.tobytes() for _, line in lines})
        return [Hearing(number, True, True, True, 1.0, None) for number, _ in lines for _ in "ab"]

    monkeypatch.setattr(learning, "fit", fit)
    monkeypatch.setattr(learning, "held_back", SimpleNamespace(parts=held_back.parts, heard=heard))
    main(["learn-voice", "dana", "--from", str(folder), "--from", str(folder)])
    of_a_part = [set.union(*judged[n::3]) for n in range(3)]  # at each strength one after another
    assert all(not learned & held for learned, held in zip(fitted, of_a_part, strict=True))
    assert len(set.union(*of_a_part)) == LINES


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
