"""What a voice is learned from, and what is left out."""

import numpy as np
import pytest

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.voices.spoken_lines import from_folder, plain
from fieldvoice.commands.wiring.voices.usable import speech_of, trouble
from support.wav_file import write_wav

NOISE = (2000 * np.random.default_rng(1).standard_normal(16_000)).astype(np.int16)


def test_a_folder_is_read_by_its_list(tmp_path):
    write_wav(tmp_path / "a.wav", NOISE)
    (tmp_path / "lines.txt").write_text("# mine\n\na.wav  Vacuum, four-hundred microns.\n")
    (line,) = from_folder(tmp_path, [])
    assert line.words == "vacuum four hundred microns"
    assert np.array_equal(line.sound, NOISE)


def test_sounds_that_are_missing_or_lie_elsewhere_are_left_out_and_told(tmp_path):
    (tmp_path / "b.wav").write_bytes(b"")
    (tmp_path / "lines.txt").write_text("a.wav next\nb.wav next\n../c.wav next\n/etc/d.wav next\n")
    skipped: list[str] = []
    assert from_folder(tmp_path, skipped) == []
    assert len(skipped) == 4
    assert "own folder only" in skipped[2]


@pytest.mark.parametrize(("text", "why"), [
    (None, "it lists the sounds of the folder"), ("a.wav\n", "has no words"),
    ("\0\xff", "cannot read")])
def test_a_bad_list_is_refused(tmp_path, text, why):
    if text is not None:
        (tmp_path / "lines.txt").write_bytes(text.encode("latin-1"))
    with pytest.raises(CommandError, match=why):
        from_folder(tmp_path, [])


@pytest.mark.parametrize(("sound", "why"), [
    (np.zeros(0, np.int16), "too short"), (NOISE[:2000], "too short"),
    (np.zeros(16_000, np.int16), "silent"), (np.ones(16_000, np.int16), "silent"),
    (np.clip(NOISE.astype(int) * 40, -32_768, 32_767).astype(np.int16), "too loud"),
    (np.tile(NOISE, 16), "longer than 15 s"), (NOISE, "")])
def test_sound_that_says_nothing_is_left_out(sound, why):
    assert why in trouble(sound)
    assert bool(trouble(sound)) == bool(why)


def test_quiet_around_a_line_is_cut_away():
    whole = np.concatenate([NOISE // 500, NOISE // 500, NOISE, NOISE // 500])
    assert 16_000 < len(speech_of(whole)) < 16_000 * 1.7


def test_words_are_written_as_the_model_has_them():
    assert plain("It\u2019s \u201cR-410\u201d, OKAY?") == "it's r 410 okay"
