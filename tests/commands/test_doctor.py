"""`fieldvoice doctor`: each finding says what is, and what to do; all are made whatever fails."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.checks import computer, sound
from fieldvoice.commands.checks import sound_figures as figures
from fieldvoice.commands.checks import sound_judged as judged
from fieldvoice.commands.checks.finding import BAD, OK, SKIPPED, WARN, Finding, looked_at
from fieldvoice.commands.checks.model import judge_model, spoken_words
from fieldvoice.devices.ears import Found
from fieldvoice.language.decoding_graph import words
from fieldvoice.language.grammar import grammar

Capture = pytest.CaptureFixture[str]
RATE = 16_000
RANDOM = np.random.default_rng(17)
GB = 1_000_000_000


def noise(level_db: float, seconds: float = 2.0) -> figures.Sound:
    wanted = 32_768 * 10 ** (level_db / 20)
    return np.rint(RANDOM.normal(0.0, wanted, int(RATE * seconds))).clip(-32_768, 32_767).astype(
        np.int16)


SPEECH = noise(-18.0)
MIC = Found("Headset", "usb-headset", b"", default=True)
OTHER = Found("Webcam", "usb-webcam", b"")
MONITOR = Found("Monitor of Loudspeaker", "loud.monitor", b"", default=True)


@pytest.mark.parametrize(
    ("finding", "standing", "words"),
    [
        (computer.judge_disk(Path("jobs"), 100 * GB, 0.004), OK, "868 hours of sound fit"),
        (computer.judge_disk(Path("jobs"), GB, 0.004), WARN, "free some space"),
        (computer.judge_disk(Path("jobs"), GB // 100, 0.004), BAD, "--no-clips"),
        (computer.judge_disk(Path("jobs"), 100 * GB, 0.2), WARN, "own disk"),
        (computer.judge_disk(Path("jobs"), 100 * GB, 2.0), BAD, "own disk"),
        (computer.judge_clock(datetime(2026, 11, 27, tzinfo=UTC), "x", "ab"), OK, "2026-11-27"),
        (computer.judge_clock(datetime(1970, 1, 1, tzinfo=UTC), "x", "ab"), BAD, "set the date"),
        (computer.judge_clock(datetime(2026, 11, 27, tzinfo=UTC), "x", ""), WARN, "restart"),
        (computer.judge_terminal({"TERM": "xterm"}, True, 80, 24, "utf-8"), OK, "80 by 24"),
        (computer.judge_terminal({"TERM": "xterm"}, True, 30, 24, "utf-8"), WARN, "larger"),
        (computer.judge_terminal({"TERM": "dumb"}, True, 80, 24, "utf-8"), WARN, "set TERM"),
        (computer.judge_terminal({}, True, 80, 24, "utf-8"), WARN, "set TERM"),
        (computer.judge_terminal({"TERM": "xterm"}, True, 80, 24, "ascii"), WARN, "UTF-8"),
        (computer.judge_terminal({}, False, 80, 24, "ascii"), OK, "plain lines"),
        (judge_model(Path("m"), 1.0, [], True), OK, "our own"),
        (judge_model(Path("m"), 1.0, ["torque"], True), BAD, "cannot hear torque"),
        (judge_model(Path("m"), 1.0, [], False), WARN, "foreign"),
        (judge_model(Path("m"), 9.0, [], True), WARN, "slow start"),
        (judged.judge_microphones([OTHER, MIC]), OK, "Headset, the system's usual one; others: W"),
        (judged.judge_microphones([OTHER]), OK, "Webcam, the first one"),
        (judged.judge_microphones([]), BAD, "none found"),
        (judged.judge_microphones([MONITOR]), BAD, "only a monitor"),
        (judged.judge_microphones([MONITOR, OTHER]), OK, "Webcam, the first one"),
        (judged.judge_microphones([MIC, OTHER], "cam"), OK, "Webcam, as asked; others: Headset"),
        (judged.judge_microphones([MIC, OTHER], "desk"), BAD, "there is: Headset, Webcam"),
        (judged.judge_microphones([MONITOR], "desk"), BAD, "only a monitor"),
        (judged.judge_microphones([MONITOR, OTHER], "loud"), WARN, "name another one: Webcam"),
        (judged.judge_microphones([MONITOR], "loud"), WARN, "plug one in"),
        (judged.judge_loudspeakers(["Room", "Headset"]), OK, "Room"),
        (judged.judge_loudspeakers([]), BAD, "none found"),
        (judged.judge_room(noise(-60.0)), OK, "60 dB below full scale"),
        (judged.judge_room(noise(-20.0)), WARN, "loud"),
        (judged.judge_room(np.zeros(RATE, np.int16)), BAD, "muted or dead"),
        (judged.judge_room(np.zeros(0, np.int16)), BAD, "muted or dead"),
        (judged.judge_sentence(SPEECH, "a b", 0.9, "a b", -60.0), OK, '"a b" (90% sure), 42 dB'),
        (judged.judge_sentence(SPEECH, "a c", 0.9, "a b", -60.0), BAD, "say it once more"),
        (judged.judge_sentence(SPEECH, "", 0.0, "a b", -20.0), BAD, "2 dB above the room"),
        (judged.judge_sentence(SPEECH, "a b", 0.9, "a b", -24.0), WARN, "come closer"),
        (judged.judge_sentence(noise(3.0), "a b", 0.9, "a b", -60.0), BAD, "move away"),
        (judged.judge_sentence(SPEECH[:0], "", 0.0, "a b", -60.0), BAD, "no sound at all"),
    ],
)  # fmt: skip
def test_each_finding_says_how_it_stands_and_what_to_do(
    finding: Finding, standing: str, words: str
) -> None:
    assert finding.standing == standing
    assert words in f"{finding.found} {finding.to_do}"
    assert bool(finding.to_do) == (standing in (WARN, BAD))
    json.dumps(finding.to_dict(), allow_nan=False)


@pytest.mark.parametrize("echo_db", [-3.0, -20.0, -35.0])
def test_what_comes_back_of_the_voice_is_measured(echo_db: float) -> None:
    room = np.concatenate([np.zeros(3_000, np.int16), SPEECH, np.zeros(9_000, np.int16)])
    heard = np.rint(room * 10 ** (echo_db / 20)).astype(np.int16) + noise(-60.0, len(room) / RATE)
    back, clear = figures.came_back_db(SPEECH, heard)
    assert back == pytest.approx(echo_db, abs=1.0)
    assert clear > judged.CLEARLY
    found = judged.judge_voice_back(SPEECH, heard)
    assert found.standing == (WARN if echo_db > -6.0 else OK)
    assert f"{echo_db:.0f} dB" in found.found


def test_moments_that_drop_out_of_the_voice_do_not_make_it_softer() -> None:
    quarter = len(SPEECH) // 4
    parts = [SPEECH[at : at + quarter] for at in range(0, len(SPEECH), quarter)]
    gaps = [np.zeros(320 * k, np.int16) for k in range(1, len(parts) + 1)]
    late = np.concatenate([one for pair in zip(parts, gaps, strict=True) for one in pair])
    room = np.concatenate([np.zeros(3_000, np.int16), late, np.zeros(9_000, np.int16)])
    heard = np.rint(room / 10).astype(np.int16) + noise(-60.0, len(room) / RATE)
    assert figures.came_back_db(SPEECH, heard)[0] == pytest.approx(-20.0, abs=3.0)


@pytest.mark.parametrize("heard", [np.zeros(RATE * 3, np.int16), noise(-40.0, 3.0), SPEECH[:99]])
def test_noise_and_silence_are_no_voice_heard_back(heard: figures.Sound) -> None:
    assert "was not heard back" in judged.judge_voice_back(SPEECH, heard).found


def test_the_words_that_are_looked_for_are_those_that_can_be_said() -> None:
    assert spoken_words(grammar()) == set(words())


def test_the_disk_is_written_for_real_and_a_folder_of_nobody_is_told(tmp_path: Path) -> None:
    found = computer.disk(tmp_path / "not" / "there" / "yet")
    assert found.figures["free_bytes"] > 0
    assert list(tmp_path.iterdir()) == []
    assert computer.disk(Path("/proc/1")).standing == BAD


def test_a_check_that_breaks_down_is_a_finding() -> None:
    def broken() -> Finding:
        raise KeyError("partial")

    found = looked_at("microphone", broken)
    assert (found.standing, found.about) == (BAD, "microphone")
    assert "KeyError: 'partial'" in found.found


@pytest.fixture
def devices(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> pytest.MonkeyPatch:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(sound, "microphone", lambda wanted: Finding("microphone", OK, "good"))
    monkeypatch.setattr(sound, "loudspeaker", partial(Finding, "loudspeaker", OK, "good"))
    for about in ("room", "speech", "voice"):
        monkeypatch.setattr(sound.Listening, about, _good(about))
    return monkeypatch


def _good(about: str) -> Callable[..., Finding]:
    return lambda *args: Finding(about, OK, "good")


def _doctor(capsys: Capture, *options: str) -> tuple[int, dict[str, Finding]]:
    code = main(["doctor", "--json", *options])
    told = json.loads(capsys.readouterr().out)
    assert told["fine"] == (code == 0)
    return code, {f["about"]: Finding(**f) for f in told["findings"]}


def test_all_is_looked_at_even_where_much_fails(
    devices: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def broken(*args: object) -> Finding:
        raise OSError("gone")

    devices.setattr(sound, "microphone", broken)
    devices.setattr(computer, "clock", broken)
    code, found = _doctor(capsys, "--model", "nowhere")
    assert code == 1
    assert list(found) == ["disk", "clock", "terminal", "model", "microphone", "loudspeaker",
                           "room", "speech", "voice"]
    assert [a for a, f in found.items() if f.standing == BAD] == ["clock", "model", "microphone"]
    assert found["speech"].standing == SKIPPED


def test_quick_makes_no_sound(devices: pytest.MonkeyPatch, capsys: Capture) -> None:
    def loud(*args: object) -> Finding:
        raise AssertionError("sound was made or heard")

    for check in ("room", "speech", "voice"):
        devices.setattr(sound.Listening, check, loud)
    _, found = _doctor(capsys, "--quick")
    assert [f.standing for a, f in found.items() if a in ("room", "speech", "voice")] == [
        SKIPPED] * 3


def test_it_leaves_with_0_when_all_is_fine_and_says_so(
    devices: pytest.MonkeyPatch, capsys: Capture
) -> None:
    for about in ("disk", "clock", "terminal"):
        devices.setattr(computer, about, _good(about))
    devices.setattr("fieldvoice.commands.checks.model.model", _good("model"))
    assert main(["doctor"]) == 0
    assert capsys.readouterr().out.endswith("\nNothing has to be fixed.\n")
